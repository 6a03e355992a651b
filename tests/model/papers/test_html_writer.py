"""The HTML: every tag and QR text an anchor, the figures of the other papers, no request, nothing a name
can break.
"""

from __future__ import annotations

import csv
import io
import re
from html.parser import HTMLParser

import pytest

from model import editing
from model.harness import Harness
from model.labels.content import wire_labels
from model.papers.contrast import AA, contrast, dark
from model.papers.csv_writer import papers_csv
from model.papers.html_writer import papers_html, script_hash
from model.papers.page_script import SCRIPT
from model.papers.page_style import STYLE
from model.papers.shelf import PAPERS
from model.papers.table import used_columns
from model.papers.wire_list import wire_table
from model.routing.allot import settle
from model.standards.colours import COLOURS
from tests.model.papers.looms import big, planned
from tests.model.tracing.loom import gritter, moved

DAY = "2026-03-03"
VOID = {"meta", "input", "link", "br", "img"}


class Page(HTMLParser):
    """Ids, links, tables, the open elements, and everything that could ask for something."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.ids: list[str] = []
        self.hrefs: list[str] = []
        self.scripts = 0
        self.asks: list[tuple[str, str]] = []
        self.open: list[str] = []
        self.tables: dict[str, list[list[str]]] = {}
        self.facts: dict[str, dict[str, str]] = {}
        self.elements: set[str] = set()
        self._table = ""
        self._cell: list[str] | None = None
        self._wire = ""
        self._term = ""
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = {name: value or "" for name, value in attrs}
        self.elements.add(tag)
        if tag not in VOID and tag not in ("polyline", "circle", "rect"):
            self.open.append(tag)
        if "id" in found:
            self.ids.append(found["id"])
        if tag == "a":
            self.hrefs.append(found["href"])
        self.scripts += tag == "script"
        for name, value in found.items():
            if name in (
                "src",
                "srcset",
                "action",
                "data",
                "poster",
                "background",
                "xlink:href",
            ) or name.startswith("on"):
                self.asks.append((name, value))
        if tag == "article":
            self._wire = found["id"]
            self.facts[self._wire] = {}
        if tag in ("td", "th", "dd", "dt", "caption"):
            self._cell = []
        if tag == "tr" and self._table:
            self.tables[self._table].append([])

    def handle_endtag(self, tag: str) -> None:
        if tag not in VOID and tag not in ("polyline", "circle", "rect"):
            assert self.open.pop() == tag
        text = " ".join("".join(self._cell or ()).split())
        if tag == "caption":
            self._table = text
            self.tables[self._table] = []
        elif tag in ("td", "th") and self._table:
            self.tables[self._table][-1].append(text)
        elif tag == "dt":
            self._term = text
        elif tag == "dd" and self._wire:
            self.facts[self._wire][self._term] = text
        elif tag == "table":
            self._table = ""
        elif tag == "article":
            self._wire = ""
        if tag in ("td", "th", "dd", "dt", "caption"):
            self._cell = None

    def handle_data(self, data: str) -> None:
        if self._cell is not None:
            self._cell.append(data)


def made(harness: Harness) -> tuple[str, Page]:
    text = papers_html(PAPERS, harness, day=DAY)
    assert text is not None
    return text, Page(text)


@pytest.mark.parametrize("harness", [planned("gritter"), big(60), moved()], ids=["gritter", "big", "moved"])
def test_every_tag_and_every_qr_text_is_an_anchor_and_every_link_has_its_end(harness: Harness) -> None:
    _, page = made(harness)
    assert len(set(page.ids)) == len(page.ids)
    for record in harness.ledger:
        assert record.tag in page.ids
    for label in wire_labels(harness):
        assert label.qr_text() in page.ids
    assert {href.removeprefix("#") for href in page.hrefs} <= set(page.ids)
    assert all(href.startswith("#") for href in page.hrefs)
    assert page.open == []


def test_a_retired_tag_says_what_took_its_place() -> None:
    _, page = made(moved())
    assert page.facts["N6H"]["why"].endswith(moved().ledger.get("N6H").replaced_by[0])
    assert "GRT-N6H-L" in page.ids


def test_the_tables_are_those_of_the_spreadsheets() -> None:
    harness = planned("gritter")
    _, page = made(harness)
    files = papers_csv(PAPERS, harness)
    checked = 0
    for paper in PAPERS:
        tables = paper.tables(harness) if paper.tables is not None else ()
        names = [name for name in files if name.startswith(f"GRT-{paper.key}")]
        assert len(names) == len(tables)
        for table, name in zip(tables, names, strict=True):
            rows = list(csv.reader(io.StringIO(files[name])))
            assert rows[0] == list(table.columns)
            if not table.rows:
                continue
            used = used_columns(table)
            shown = page.tables[table.title]
            wanted = [[" ".join(row[place].removeprefix("'").split()) for place in used] for row in rows]
            if len(shown) == len(wanted):
                assert shown == wanted
                checked += 1
    assert checked >= 15


def test_a_wire_has_the_figures_of_the_wire_list() -> None:
    harness = planned("gritter")
    _, page = made(harness)
    table = wire_table(harness)
    for row in table.rows:
        fields = dict(zip(table.columns, row, strict=True))
        facts = page.facts[fields["tag"]]
        assert facts["cut"] == f"{fields['cut mm']} mm"
        assert facts["from"].startswith(fields["from"])
        assert facts["to"].startswith(fields["to"])
        assert facts["wire"].endswith(fields["gauge"])


NASTY = [
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "</style></script><!--",
    "javascript:alert(1)",
    "&lt;b&gt; ]]>",
    "=cmd|' /C calc'!A0",
    "\u05d0\u05d1 right to left",
]


@pytest.mark.parametrize("name", NASTY)
def test_a_name_is_only_ever_text(name: str) -> None:
    harness = editing.rename(gritter(), name=name)
    harness = editing.edit_lamp(harness, "L1", name=name)
    harness = editing.edit_waypoint(harness, "W2", name=name)
    harness = settle(editing.edit_output(harness, 5, function=name))
    text, page = made(harness)
    assert page.scripts == 1
    assert page.asks == []
    assert page.elements <= made(gritter())[1].elements | {"bdi"}
    lamps = [row for title, rows in page.tables.items() if title.startswith("Wires, lengths") for row in rows]
    assert any(" ".join(name.split()) in cell for row in lamps for cell in row)
    assert f"<script>{SCRIPT}</script>" in text


def test_nothing_in_it_asks_for_anything() -> None:
    text, page = made(planned("gritter"))
    assert page.asks == []
    assert not re.search(
        r"https?:|//[a-z]|url\(|@import|@font-face|fetch\(|XMLHttp|sendBeacon|WebSocket", text
    )
    rules = re.search(r'Content-Security-Policy" content="([^"]+)"', text)
    assert rules
    assert "default-src 'none'" in rules.group(1)
    assert f"script-src '{script_hash(SCRIPT)}'" in rules.group(1)


def _variables(block: str) -> dict[str, tuple[int, int, int]]:
    return {
        name: (int(hexes[:2], 16), int(hexes[2:4], 16), int(hexes[4:], 16))
        for name, hexes in re.findall(r"--(\w+): #([0-9a-f]{6})", block)
    }


def test_contrast_is_that_of_level_aa_on_light_and_dark_ground() -> None:
    light, dim = (_variables(block) for block in re.findall(r":root \{([^}]*)\}", STYLE))
    assert set(light) == set(dim) == {"ground", "ink", "dim", "faint", "accent", "mark"}
    for colours in (light, dim):
        for ink in ("ink", "dim", "accent"):
            for ground in ("ground", "mark"):
                assert contrast(colours[ink], colours[ground]) >= AA, (ink, ground)
    for colour in COLOURS.values():
        ink = (255, 255, 255) if dark(colour.rgb) else (0, 0, 0)
        assert contrast(ink, colour.rgb) >= AA, colour.name
    assert contrast((0, 0, 0), (255, 255, 255)) == pytest.approx(21)
    assert contrast((119, 119, 119), (255, 255, 255)) == pytest.approx(4.48, abs=0.01)  # WCAG's own example


def test_file_names_hold_nothing_of_a_name() -> None:
    harness = editing.rename(gritter(), name="../../x")
    harness = settle(editing.set_controller(harness, name="../../etc/passwd"))
    for name in papers_csv(PAPERS, harness):
        assert re.fullmatch(r"GRT-[a-z-]+(-\d+)?\.csv", name)


def test_it_can_be_stopped() -> None:
    assert papers_html(PAPERS, gritter(), going=lambda done, total: done < 3) is None
