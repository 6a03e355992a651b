"""All papers as one HTML file for a phone: works offline, every tag and every QR text is an anchor.

Nothing in it asks a network for anything, and its own rules (Content-Security-Policy) would forbid it.
Without scripts everything is there and the anchors work; the script only searches.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable, Iterator, Sequence
from html import escape
from typing import TYPE_CHECKING

import attrs

from model import lengths
from model.bench import bench_order, steps
from model.cautions import CAUTIONS
from model.harness import Harness
from model.papers.board import board
from model.papers.drawing import drawing, unplaced
from model.papers.page_script import SCRIPT
from model.papers.page_style import STYLE
from model.papers.record import day_tested
from model.papers.summary import summary
from model.papers.svg import chip, figure_svg
from model.papers.table import TAG_COLUMNS, Table, number_columns, to_read, used_columns
from model.papers.wire_list import made, printed
from model.routing.wires import EndKind, Wire, derive
from model.routing.words import colour_words, end_words, net_words
from model.standards.colours import COLOURS
from model.tags import TagRecord

if TYPE_CHECKING:
    from model.papers.shelf import Paper

Going = Callable[[int, int], bool]

WIDE_FROM = 24
WIDEST_FROM = 90
"""Cells of more characters than these are kept wide enough to be read on a phone, in low rows."""


def papers_html(
    papers: Sequence[Paper], harness: Harness, *, day: str = "", going: Going | None = None
) -> str | None:
    """The page; None where `going` said to stop. Every wire is in it, whichever papers are chosen."""
    page = _Page(harness)
    parts: list[str] = []
    for done, paper in enumerate(papers):
        if going is not None and not going(done, len(papers)):
            return None
        parts.append(page.paper(paper))
    if going is not None and not going(len(papers), len(papers)):
        return None
    return page.whole(papers, "\n".join(parts), day)


def script_hash(script: str) -> str:
    """What Content-Security-Policy calls a script that may run."""
    return "sha256-" + base64.b64encode(hashlib.sha256(script.encode()).digest()).decode()


@attrs.frozen(kw_only=True)
class _Link:
    """A tag and what it is to the wire at hand."""

    words: str
    tags: tuple[str, ...]


class _Page:
    def __init__(self, harness: Harness) -> None:
        self.harness = harness
        self.plan = derive(harness)
        self.live = harness.ledger.live()
        self.known = {record.tag for record in harness.ledger}
        self.lamps = {lamp.id: lamp.name for lamp in harness.lamps}
        self.into_plug: dict[str, list[Wire]] = {}
        for wire in self.plan.wires:
            for end in (wire.lamp_end, wire.controller_end):
                if end.kind is EndKind.PLUG:
                    self.into_plug.setdefault(end.ref, []).append(wire)

    def whole(self, papers: Sequence[Paper], body: str, day: str) -> str:
        harness = self.harness
        title = f"{harness.code} {harness.name}"
        links = "".join(f'<a href="#paper-{paper.key}">{escape(paper.title)}</a>' for paper in papers)
        facts = "".join(
            f"<dt>{escape(what)}</dt><dd>{escape(value)}</dd>" for what, value in summary(harness)
        )
        wires = "\n".join(self.wires()) or '<p class="dim">No run is accepted yet, so there is no wire.</p>'
        rules = (
            f"default-src 'none'; style-src 'unsafe-inline'; script-src '{script_hash(SCRIPT)}'; "
            "base-uri 'none'; form-action 'none'"
        )
        return f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{rules}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<meta name="referrer" content="no-referrer">
<title>{escape(title)}</title>
<style>{STYLE}</style>
</head>
<body>
<a class="skip" href="#wires">To the wires</a>
<header>
<h1><b>{escape(harness.code)}</b> {_said(harness.name)}</h1>
<div class="search" role="search">
<label for="q">Tag, lamp, output or place</label>
<input id="q" type="search" data-code="{escape(harness.code)}"
 data-scheme="{harness.settings.tag_scheme.value}"
 autocomplete="off" autocapitalize="characters" spellcheck="false"
 enterkeyhint="go"
 placeholder="{escape(harness.code)}-K7L-C, K?L, beacon" aria-describedby="hits">
<p id="hits" role="status"></p>
</div>
<nav aria-label="Papers"><a href="#wires">Wires</a>{links}</nav>
</header>
<main>
<dl class="facts">{facts}</dl>
<section id="wires" aria-labelledby="wires-title">
<h2 id="wires-title">Wires</h2>
{wires}
</section>
{body}
</main>
<footer><p class="dim">{escape(day)}</p></footer>
<script>{SCRIPT}</script>
</body>
</html>
"""

    # --- wires ---

    def wires(self) -> Iterator[str]:
        """An article for every wire in the order of the work, then for every retired tag."""
        for wire in bench_order(self.harness):
            record = self.live.get(wire.key)
            if record is not None:
                yield self.wire(wire, record)
        for record in self.harness.ledger:
            if not record.live:
                yield self.retired(record)

    def anchors(self, tag: str) -> str:
        """The QR texts of both ends, so that a scanned label is an address of this page."""
        code = self.harness.code
        return "".join(f'<span class="anchor" id="{escape(f"{code}-{tag}-{end}")}"></span>' for end in "LC")

    def wire(self, wire: Wire, record: TagRecord) -> str:
        harness = self.harness
        tag = record.tag
        cut = wire.cut_mm if record.cut_mm is None else record.cut_mm
        lamp_end = end_words(harness, wire.lamp_end, wire)
        controller_end = end_words(harness, wire.controller_end, wire)
        net = net_words(harness, wire.output)
        lamps = [self.lamps[lamp_id] for lamp_id in wire.lamps if lamp_id in self.lamps]
        rows = [
            ("from", _said(lamp_end) + self.links(self.meets(wire, at_lamp=True))),
            ("to", _said(controller_end) + self.links(self.meets(wire, at_lamp=False))),
            ("net", f"{_said(net)}, {wire.polarity.word}"),
            ("wire", f"{escape(colour_words(wire.colour))} {escape(wire.gauge)}"),
            ("cut", lengths.text(cut)),
            ("feeds", _said(", ".join(lamps))),
            ("made", escape(made(record, wire) or "not begun")),
            ("labels", escape(printed(record) or "not printed")),
        ]
        day = day_tested(record)
        if day:
            rows.append(("tested", escape(day)))
        facts = "".join(f"<dt>{what}</dt><dd>{value}</dd>" for what, value in rows if value)
        todo = "".join(
            f"<li{' class=done' if step.id in record.steps else ''}>{_said(step.words)}"
            f"{' <b>done</b>' if step.id in record.steps else ''}</li>"
            for step in steps(harness, wire)
        )
        find = self.find(tag, lamp_end, controller_end, net, *lamps)
        return (
            f'<article class="wire" id="{escape(tag)}" tabindex="-1" data-find="{find}">{self.anchors(tag)}'
            f'<h3><span class="tag">{escape(tag)}</span> {chip(wire.colour)}</h3>'
            f"<dl>{facts}</dl><details><summary>bench steps</summary><ol>{todo}</ol></details></article>"
        )

    def retired(self, record: TagRecord) -> str:
        tag = record.tag
        now = self.links((_Link(words="now", tags=record.replaced_by),)) if record.replaced_by else ""
        find = self.find(tag)  # its words are those of wires that took its place
        return (
            f'<article class="wire retired" id="{escape(tag)}" tabindex="-1" data-find="{find}">'
            f"{self.anchors(tag)}"
            f'<h3><span class="tag">{escape(tag)}</span> retired</h3>'
            f"<dl><dt>was</dt><dd>{_said(record.meaning)}</dd><dt>why</dt><dd>{_said(record.retired)}{now}</dd></dl>"
            "</article>"
        )

    def find(self, tag: str, *words: str) -> str:
        """What the search looks at: tag, both QR texts, and each name, in capitals."""
        code = self.harness.code
        names = [tag, f"{code}-{tag}-L", f"{code}-{tag}-C", *(word.replace("|", " ") for word in words)]
        return escape("|".join(names).upper())

    def meets(self, wire: Wire, *, at_lamp: bool) -> tuple[_Link, ...]:
        """The wires that meet this one at one of its ends."""
        end = wire.lamp_end if at_lamp else wire.controller_end
        if end.kind is EndKind.JOINT:
            others = [other for other in self.plan.at_joint(end.ref) if other.key != wire.key]
            words = "meets"
        elif end.kind is EndKind.PLUG:
            others = [other for other in self.into_plug.get(end.ref, ()) if other.key != wire.key]
            words = "goes on as"
        else:
            return ()
        tags = tuple(self.live[other.key].tag for other in others if other.key in self.live)
        return (_Link(words=words, tags=tags),) if tags else ()

    def links(self, links: Sequence[_Link]) -> str:
        return "".join(
            f' <span class="dim">{escape(link.words)}</span> ' + " ".join(map(self.link, link.tags))
            for link in links
        )

    def link(self, tag: str) -> str:
        """A tag as a link to its wire, or plain where there is none."""
        text = escape(tag)
        return f'<a class="tag" href="#{text}">{text}</a>' if tag in self.known else text

    # --- papers ---

    def paper(self, paper: Paper) -> str:
        inner = "".join(self.inside(paper))
        name = f"paper-{paper.key}"
        return (
            f'<section id="{name}" aria-labelledby="{name}-title">'
            f'<h2 id="{name}-title">{escape(paper.title)}</h2>'
            f'<p class="dim">{escape(paper.about)}</p>{inner}</section>'
        )

    def inside(self, paper: Paper) -> Iterator[str]:
        if paper.key == "drawing":
            figure = drawing(self.harness)
            left_out = ", ".join(lamp.name for lamp in unplaced(self.harness))
            yield f"<p>{_said(figure.about)}</p>"
            if left_out:
                yield f"<p>Without a place and not drawn: {_said(left_out)}.</p>"
            yield figure_svg(figure, known=self.known)
        elif paper.key == "board":
            laid = board(self.harness)
            yield (
                "<p>To build it at its true size, print the PDF at 100 %. This is what it looks like; spread "
                "two fingers to read it.</p>"
            )
            for words in laid.missing:
                yield f"<p>{_said(words)}</p>"
            if laid.stretches:
                yield figure_svg(laid.figure, known=self.known, fit=True)
        elif paper.key == "cautions":
            rows = "".join(
                f"<dt>{escape(caution.about)}</dt><dd>{escape(caution.words)}</dd>" for caution in CAUTIONS
            )
            yield f'<dl class="facts">{rows}</dl>'
            return
        for table in paper.tables(self.harness) if paper.tables is not None else ():
            yield self.table(to_read(table))

    def table(self, table: Table) -> str:
        """A table that scrolls sideways by itself where the screen is narrow."""
        used = used_columns(table)
        right = number_columns(table)
        title = escape(table.title)
        if not table.rows:
            return f'<h3>{title}</h3><p class="dim">Nothing yet.</p>'
        head = "".join(
            f'<th scope="col"{" class=n" if place in right else ""}>{escape(table.columns[place])}</th>'
            for place in used
        )
        body = "".join(
            "<tr>" + "".join(self.cell(table, row, place, place in right) for place in used) + "</tr>"
            for row in table.rows
        )
        note = f'<p class="dim">{escape(table.note)}</p>' if table.note else ""
        return (
            f'{note}<div class="scroll" role="region" aria-label="{title}" tabindex="0"><table>'
            f"<caption><span>{title}</span></caption><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table></div>"
        )

    def cell(self, table: Table, row: Sequence[str], place: int, right: bool) -> str:
        text, column = row[place], table.columns[place]
        if column in TAG_COLUMNS and text:
            inner = " ".join(map(self.link, text.split()))
        elif column == "colour" and text in COLOURS:
            inner = chip(text)
        else:
            inner = _said(text)
        wide = " class=x" if len(text) > WIDEST_FROM else " class=w" if len(text) > WIDE_FROM else ""
        kind = " class=n" if right else wide
        return f"<td{kind}>{inner}</td>"


def _said(text: str) -> str:
    """A person's text: no markup, and its direction stays its own."""
    return escape(text) if text.isascii() else f"<bdi>{escape(text)}</bdi>"
