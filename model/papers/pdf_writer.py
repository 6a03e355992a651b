"""All papers as one PDF, at a page size the person's printer has.

fpdf2 and the fonts are loaded when the first page is made. The same papers of the same day give the same
bytes.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from model import lengths
from model.cautions import CAUTIONS
from model.errors import BadValue
from model.harness import Harness
from model.labels.stock import PAGES
from model.papers.bench_cards import WireCard, joint_table, wire_cards
from model.papers.board import board, board_tables
from model.papers.drawing import drawing, unplaced
from model.papers.figure import (
    ACCENT,
    DIM,
    FAINT,
    INK,
    Figure,
    Stroke,
    touches,
)
from model.papers.pdf_canvas import FOOT_MM, MARGIN_MM, RGB, Canvas
from model.papers.pdf_table import best_across, fits_below, natural_width_mm, set_table
from model.papers.summary import summary
from model.papers.table import Table, to_read
from model.papers.type_metrics import shortened, width_mm, wrapped

if TYPE_CHECKING:
    from model.papers.shelf import Paper

Going = Callable[[int, int], bool]
"""Called with (done, of how many); what it returns says whether to go on."""

CROP_MM = 11.0
"""Between the edge of a board's page and the line along which it is cut."""

RULER_MM = 50.0

_SLANT = math.radians(40)

POSTER_MM = (9.0, 3.0)
"""Largest and smallest size of the cautions as a page of their own."""


def papers_pdf(
    papers: Sequence[Paper], harness: Harness, *, page: str = "A4", day: str = "", going: Going | None = None
) -> bytes | None:
    """The papers, with a cover that lists them and says the cautions; None where `going` said to stop.

    `page` is a key of `PAGES`; `day` (YYYY-MM-DD) stands on every page. BadValue for an unknown page size.
    """
    if page not in PAGES:
        raise BadValue("paper size", page, limit=", ".join(PAGES))
    book = _Book(harness, *PAGES[page], day=day)
    book.cover_first()
    for done, paper in enumerate(papers):
        if going is not None and not going(done, len(papers)):
            return None
        book.add(paper)
    book.cover(papers)
    if going is not None and not going(len(papers), len(papers)):
        return None
    return book.finish()


class _Book(Canvas):
    """The papers one after the other, and the cover."""

    def __init__(self, harness: Harness, width_mm: float, height_mm: float, *, day: str) -> None:
        super().__init__(harness, width_mm, height_mm, day=day)
        self.begins: dict[str, tuple[int, int]] = {}

    # --- papers ---

    def add(self, paper: Paper) -> None:
        """One paper on pages of its own."""
        self.title = paper.title
        first = self.pdf.page + 1
        if paper.key == "drawing":
            self.figure(drawing(self.harness))
        elif paper.key == "board":
            self.board()
        elif paper.key == "bench-cards":
            self.cards(wire_cards(self.harness))
        elif paper.key == "cautions":
            self.poster()
        elif paper.tables is not None:
            self.tables(paper.tables(self.harness))
        self.begins[paper.key] = (first, self.pdf.page)

    def tables(self, tables: Sequence[Table]) -> None:
        """Tables one below the other; wide ones, and long ones that then take fewer pages, across."""
        tables = [to_read(table) for table in tables]
        for place, table in enumerate(tables):
            if not table.rows and place:
                continue
            if place:
                self.y += 5
                if natural_width_mm(table, self.clean) <= self.room and (
                    not self.across or fits_below(self, table)
                ):
                    set_table(self, table)
                    continue
            self.page(across=best_across(self, [one for one in tables[place:] if one.rows] or [table]))
            set_table(self, table)

    def figure(self, figure: Figure) -> None:
        """A figure at its own size on as many pages as it takes."""
        start = 0.0
        first = True
        while first or start < figure.height_mm - 0.5:
            self.page()
            if first:
                self.say(figure.title, 3.4, bold=True)
                self.say(figure.about, ink=DIM)
                left_out = ", ".join(lamp.name for lamp in unplaced(self.harness))
                if left_out:
                    self.say(f"Without a place and not drawn: {left_out}.", ink=DIM)
            else:
                self._head_again(figure, start)
            top = self.y
            room = self.bottom - top
            ends = [at for at in figure.breaks if start + 5 < at <= start + room]
            end = figure.height_mm if figure.height_mm - start <= room else max(ends, default=start + room)
            self._part(figure, start, end, top)
            start, first = end, False

    def _part(self, figure: Figure, start: float, end: float, top: float) -> None:
        """What lies between two heights of a figure, from `top` of the page down."""
        window = (0.0, start, figure.width_mm, end)
        shown = [item for item in figure.items if touches(item.extent, window)]
        x = (self.wide - figure.width_mm) / 2
        with self.pdf.rect_clip(x - 1, top, figure.width_mm + 2, end - start):
            self.items(shown, x, top - start)
        self.font = None

    def _head_again(self, figure: Figure, start: float) -> None:
        """The ruler, and whose lines go on from the page before."""
        begin, end = figure.head_mm
        self._part(figure, begin, end, self.y - 4)
        self.y += end - begin - 4
        left = (self.wide - figure.width_mm) / 2
        cut = [one for one in figure.uprights if one.top_mm < start - 0.1 and one.bottom_mm > start + 0.1]
        if not cut:
            self.y += 2
            return
        names = [(one, shortened(self.clean(one.name), 22.0, 2.3, bold=True)) for one in cut]
        self.y += 3.5 + max(width_mm(name, 2.3, bold=True) for _, name in names) * math.sin(_SLANT)
        for one, name in names:
            x = left + one.x_mm
            self.line((x, self.y - 1.0), (x, self.y), 0.12, DIM)
            self.text(x + 0.6, self.y - 1.4, name, 2.3, bold=True, turn=-math.degrees(_SLANT))

    def board(self) -> None:
        """An overview, then the loom at 1:1 page by page."""
        wide, high = (side - 2 * CROP_MM for side in self.size)
        laid = board(self.harness, ((high, wide), (wide, high)))
        sheets = laid.tiles
        across = bool(sheets) and sheets[0].wide_mm == high
        self.page()
        self.say("The loom at 1 : 1, to build it flat on a board", 3.4, bold=True)
        if not laid.stretches:
            for words in (*laid.missing, "There is no leg yet, so there is nothing to lay out."):
                self.say(words, ink=DIM)
            return
        follow = "1 page follows" if len(sheets) == 1 else f"{len(sheets)} pages follow"
        self.say(
            f"{follow}. Print them at 100 %, not fitted to the page, and check the "
            "ruler on each. Cut along the crop marks, lay them edge to edge as below and tape them to a "
            "board. A filled dot is a waypoint where a joint can be made, a ring one where it can't. "
            "Lines are as long as they were measured, moving joints with their loop (dashed); slack, "
            "spare and the service loop are extra and hang out at the ends. Which way a line points "
            "says nothing of the model."
        )
        for words in laid.missing:
            self.say(words, ink=DIM)
        self.y += 3
        self._overview(laid.figure, sheets)
        for table in board_tables(self.harness):
            self.y += 5
            set_table(self, to_read(table))
        for tile in sheets:
            self.page(across=across, bare=True)
            self._tile(laid.figure, tile)

    def _overview(self, figure: Figure, sheets: Sequence[Any]) -> None:
        left, top = min(tile.x_mm for tile in sheets), min(tile.y_mm for tile in sheets)
        right = max(tile.x_mm + tile.wide_mm for tile in sheets)
        bottom = max(tile.y_mm + tile.high_mm for tile in sheets)
        scale = min(self.room / (right - left), (self.bottom - self.y - 2) / (bottom - top), 0.5)
        x0, y0 = MARGIN_MM - left * scale, self.y - top * scale
        for tile in sheets:
            x, y = x0 + tile.x_mm * scale, y0 + tile.y_mm * scale
            self.pdf.set_draw_color(*RGB[FAINT])
            self.pdf.set_line_width(0.3)
            self.pdf.rect(x, y, tile.wide_mm * scale, tile.high_mm * scale)
            self.text(x + 1.2, y + 4, tile.name, 3.2, ink=ACCENT, bold=True)
        for item in figure.items:
            if isinstance(item, Stroke) and item.ink != DIM:
                points = tuple((x * scale, y * scale) for x, y in item.points)
                self._stroke(
                    Stroke(points=points, width_mm=max(item.width_mm * scale, 0.15), ink=item.ink), x0, y0
                )
        self.y = y0 + bottom * scale + 4

    def _tile(self, figure: Figure, tile: Any) -> None:
        dx, dy = CROP_MM - tile.x_mm, CROP_MM - tile.y_mm
        # A little more than the page shows is drawn, so that a cut beside the line leaves no gap.
        window = (tile.x_mm - 3, tile.y_mm - 3, tile.x_mm + tile.wide_mm + 3, tile.y_mm + tile.high_mm + 3)
        shown = [item for item in figure.items if touches(item.extent, window)]
        with self.pdf.rect_clip(CROP_MM - 3, CROP_MM - 3, tile.wide_mm + 6, tile.high_mm + 6):
            self.items(shown, dx, dy)
        self.font = None
        left, top = CROP_MM, CROP_MM
        right, bottom = left + tile.wide_mm, top + tile.high_mm
        for x in (left, right):
            for y in (top, bottom):
                out_x, out_y = (-1 if x == left else 1), (-1 if y == top else 1)
                self.line((x + out_x * 3.5, y), (x + out_x * 8, y), 0.15)
                self.line((x, y + out_y * 3.5), (x, y + out_y * 8), 0.15)
        self.text(left + 8, top - 5, f"{self.harness.code} board {tile.name}", 3.0, bold=True)
        self.text(left + 42, top - 5, "Print at 100 %. This line is 50 mm long:", 2.5, ink=DIM)
        start = left + 92
        self.line((start, top - 6), (start + RULER_MM, top - 6), 0.2)
        for x in (start, start + RULER_MM):
            self.line((x, top - 7.2), (x, top - 4.8), 0.2)
        self.text(right - 8, top - 5, self.day, 2.5, ink=DIM, anchor="end")

    def cards(self, cards: Sequence[WireCard]) -> None:
        """Bench cards in two columns, then the joints."""
        self.page()
        if not cards:
            self.say("No run is accepted yet, so there is no wire to make.", ink=DIM)
            return
        gap = 5.0
        wide = (self.room - gap) / 2
        column, top = 0, self.y - 4
        y = top
        for card in cards:
            high = self._card(card, 0, 0, wide, draw=False)
            if y + high > self.bottom:
                column, y = column + 1, top
                if column > 1:
                    self.page()
                    column, y = 0, top
            y += self._card(card, MARGIN_MM + column * (wide + gap), y, wide, draw=True) + 3.2
        joints = joint_table(self.harness)
        if joints.rows:
            self.tables((joints,))

    def _card(self, card: WireCard, x: float, y: float, wide: float, *, draw: bool) -> float:
        """One card; returns its height."""
        steps = [wrapped(self.clean(words), wide - 8.5, 2.5) for words, _ in card.steps]
        route = wrapped(self.clean(f"{card.lamp_end}  to  {card.controller_end}"), wide - 2.5, 2.6)
        high = 10.5 + len(route) * 3.4 + sum(max(len(lines) * 3.3, 4.0) + 0.5 for lines in steps) + 1.0
        if not draw:
            return high
        self.pdf.set_draw_color(*RGB[DIM])
        self.pdf.set_line_width(0.2)
        self.pdf.rect(x, y, wide, high)
        self.text(x + 2, y + 6.6, card.tag, 6.6, mono=True)
        self.chip(x + 17, y + 4.6, card.colour, 3.2)
        self.text(x + 25, y + 5.8, f"{card.gauge}, {lengths.text(card.cut_mm)}", 3.6, bold=True)
        self.text(x + wide - 2, y + 5.8, f"{card.number}", 2.6, ink=DIM, anchor="end")
        at = y + 11.2
        for line in route:
            self.text(x + 2, at, line, 2.6, ink=DIM)
            at += 3.4
        for (_, done), lines in zip(card.steps, steps, strict=True):
            self.pdf.set_draw_color(*RGB[INK])
            self.pdf.set_line_width(0.2)
            self.pdf.rect(x + 2, at - 2.1, 2.7, 2.7)
            if done:
                self.line((x + 2.4, at - 0.8), (x + 3.1, at + 0.1), 0.4)
                self.line((x + 3.1, at + 0.1), (x + 4.5, at - 1.9), 0.4)
            for number, line in enumerate(lines):
                self.text(x + 6.4, at + number * 3.3, line, 2.5)
            at += max(len(lines) * 3.3, 4.0) + 0.5
        return high

    def poster(self) -> None:
        """The cautions as large as the page allows, to be read across a bench."""
        self.page()
        size, room = POSTER_MM[0], self.bottom - self.y - 8
        while size > POSTER_MM[1]:
            lines = [wrapped(caution.words, self.room, size) for caution in CAUTIONS]
            if sum(1.35 * len(one) + 2.1 for one in lines) * size <= room:
                break
            size -= 0.1
        self.y += size
        for caution in CAUTIONS:
            self.say(caution.about, 0.8 * size, bold=True, ink=ACCENT)
            self.y += 0.25 * size
            self.say(caution.words, size)
            self.y += 0.75 * size

    def cautions(self) -> None:
        """The cautions, each under its catchword."""
        self.say("Before you solder", 3.4, bold=True)
        self.y += 1
        for caution in CAUTIONS:
            lines = wrapped(caution.words, self.room - 28, 3.0)
            self.text(MARGIN_MM, self.y, caution.about, 3.0, bold=True)
            for line in lines:
                self.text(MARGIN_MM + 28, self.y, line, 3.0)
                self.y += 4.3
            self.y += 1

    # --- cover ---

    def cover_first(self) -> None:
        """Keeps the first page for the cover, which is written last."""
        self.title = "Papers"
        self.page(bare=True)

    def cover(self, papers: Sequence[Paper]) -> None:
        """Name, figures, the list of papers with their pages, what the font lacks, the cautions."""
        self.across = False
        self.pdf.page = 1
        self.font = None
        self.y = 30.0
        self.text(MARGIN_MM, self.y, self.harness.code, 9.0, mono=True)
        for line in wrapped(self.clean(self.harness.name), self.room - 26, 6.4, bold=True):
            self.text(MARGIN_MM + 24, self.y, line, 6.4, bold=True)
            self.y += 8
        self.y += 2
        self.rule(self.y - 4, 0.4, INK)
        self.y += 2
        for what, value in summary(self.harness):
            self.text(MARGIN_MM, self.y, what, 3.0, ink=DIM)
            for line in wrapped(self.clean(value), self.room - 44, 3.0):
                self.text(MARGIN_MM + 44, self.y, line, 3.0)
                self.y += 4.4
        self.y += 4
        for paper in papers:
            first, last = self.begins[paper.key]
            pages = f"page {first}" if first == last else f"pages {first} to {last}"
            link = self.pdf.add_link(page=first)
            self.text(MARGIN_MM, self.y, paper.title, 3.2, bold=True)
            self.text(MARGIN_MM + 44, self.y, paper.about, 3.0, ink=DIM)
            self.text(self.wide - MARGIN_MM, self.y, pages, 3.0, anchor="end")
            self.pdf.link(MARGIN_MM, self.y - 3.4, self.room, 4.8, link)
            self.y += 5.2
        if self.lacking:
            self.y += 3
            names = ", ".join(
                unicodedata.name(sign, f"U+{ord(sign):04X}").lower() for sign in list(self.lacking)[:12]
            )
            more = f" and {len(self.lacking) - 12} more" if len(self.lacking) > 12 else ""
            self.say(
                f"Shown as ? because this font lacks them: {names}{more}. The HTML file shows them.", ink=DIM
            )
        self.y += 6
        self.cautions()
        foot = self.high - FOOT_MM + 4
        self.text(MARGIN_MM, foot, self.day, 2.4, ink=DIM)
