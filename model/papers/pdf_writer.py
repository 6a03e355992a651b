"""All papers as one PDF, at a page size the person's printer has.

fpdf2 and the fonts are loaded when the first page is made. The same papers of the same day give the same bytes.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from model.cautions import CAUTIONS
from model.errors import BadValue
from model.harness import Harness
from model.labels.stock import PAGES
from model.papers.bench_cards import WireCard, joint_table, wire_cards
from model.papers.board import board, tiles
from model.papers.contrast import dark
from model.papers.drawing import drawing, unplaced
from model.papers.figure import (
    ACCENT,
    DIM,
    FAINT,
    INK,
    Box,
    Chip,
    Disc,
    Figure,
    Item,
    Stroke,
    Words,
    touches,
)
from model.papers.summary import summary
from model.papers.table import Table, number_columns, used_columns
from model.papers.type_metrics import (
    BOLD,
    CAP_EM,
    MONO,
    MONO_WEIGHT,
    REGULAR,
    SANS,
    shortened,
    width_mm,
    wrapped,
)
from model.standards.colours import COLOURS

if TYPE_CHECKING:
    from model.papers.shelf import Paper

Going = Callable[[int, int], bool]
"""Called with (done, of how many); what it returns says whether to go on."""

MARGIN_MM = 12.0
HEAD_MM = 17.0
FOOT_MM = 11.0
BODY_MM = 2.75
LINE_MM = 3.7
HAND_MM = 6.4
GAP_MM = 3.0
HAND_COLUMN_MM = 19.0
COLUMN_MOST_MM = 62.0
CROP_MM = 11.0
"""Between the edge of a board's page and the line along which it is cut."""

RULER_MM = 50.0

_RGB = {"paper": (255, 255, 255), INK: (22, 22, 22), DIM: (92, 92, 92), FAINT: (212, 212, 212), ACCENT: (0, 84, 150)}
_PALE = frozenset({"WH", "YE", "SR", "GD", "PK", "TQ"})
"""Wires that are drawn with an edge, as they would not be seen on paper."""

POINTS_PER_MM = 72 / 25.4


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


class _Book:
    """The PDF being made."""

    def __init__(self, harness: Harness, width_mm: float, height_mm: float, *, day: str) -> None:
        import fontpkg
        from fpdf import FPDF, ViewerPreferences

        self.harness = harness
        self.size = (width_mm, height_mm)
        self.day = day
        self.lacking: dict[str, None] = {}
        self.begins: dict[str, tuple[int, int]] = {}
        self.title = ""
        self.across = False
        pdf: Any = FPDF(unit="mm", format=self.size)
        sans, mono = fontpkg.path(SANS, REGULAR), fontpkg.path(MONO, 500)
        pdf.add_font("sans", "", sans, variations={"wght": REGULAR})
        pdf.add_font("sans", "B", sans, variations={"wght": BOLD})
        pdf.add_font("mono", "", mono, variations={"wght": MONO_WEIGHT})
        pdf.set_auto_page_break(False)
        pdf.set_title(f"{harness.code} {self.clean_for(harness.name)}: papers")
        pdf.set_creator("loomtag")
        pdf.set_producer("loomtag")
        pdf.set_creation_date(_moment(day))
        pdf.viewer_preferences = ViewerPreferences(print_scaling="None")
        pdf.set_compression(True)
        self.pdf = pdf
        self.font: tuple[str, str, float] | None = None
        self.cmap = self._cmap()
        self.y = 0.0

    def _cmap(self) -> frozenset[int]:
        self.pdf.set_font("sans", "", 8)
        return frozenset(self.pdf.current_font.cmap)

    @staticmethod
    def clean_for(text: str) -> str:
        """Text for the document's own entry, without what is not shown."""
        return "".join(sign for sign in text if sign.isprintable())

    def clean(self, text: str) -> str:
        """Text as the font can draw it, a question mark for what it lacks."""
        if text.isascii():
            return text
        kept = []
        for sign in unicodedata.normalize("NFC", text):
            if ord(sign) in self.cmap:
                kept.append(sign)
            elif sign not in "\u200d\ufe0f":
                self.lacking[sign] = None
                kept.append("?")
        return "".join(kept)

    # --- pages ---

    @property
    def wide(self) -> float:
        """Width of the page in hand."""
        return self.size[1] if self.across else self.size[0]

    @property
    def high(self) -> float:
        """Height of the page in hand."""
        return self.size[0] if self.across else self.size[1]

    @property
    def room(self) -> float:
        """Width between the margins."""
        return self.wide - 2 * MARGIN_MM

    @property
    def bottom(self) -> float:
        """The lowest line that may be used."""
        return self.high - FOOT_MM - 1

    def page(self, *, across: bool = False, bare: bool = False) -> None:
        """A new page with its head and foot, or a bare one."""
        self.across = across
        self.font = None
        self.pdf.add_page(orientation="L" if across else "P")
        self.y = HEAD_MM + 4
        if bare:
            return
        code = self.harness.code
        self.text(MARGIN_MM, 11.5, code, 3.6, bold=True)
        after = MARGIN_MM + width_mm(code, 3.6, bold=True) + 2.5
        title = self.clean(self.title)
        name = shortened(self.clean(self.harness.name), self.room - 90, 3.1)
        self.text(after, 11.5, name, 3.1, ink=DIM)
        self.text(self.wide - MARGIN_MM, 11.5, title, 3.6, bold=True, anchor="end")
        self.rule(13.6, 0.25, INK)
        foot = self.high - FOOT_MM + 4
        self.text(MARGIN_MM, foot, self.day, 2.4, ink=DIM)
        self.text(self.wide - MARGIN_MM, foot, str(self.pdf.page), 2.4, ink=DIM, anchor="end")

    def rule(self, y: float, width: float, ink: str) -> None:
        """A line from margin to margin."""
        self.line((MARGIN_MM, y), (self.wide - MARGIN_MM, y), width, ink)

    def finish(self) -> bytes:
        return bytes(self.pdf.output())

    # --- drawing ---

    def text(
        self, x: float, y: float, text: str, size_mm: float, *, ink: str = INK, bold: bool = False, mono: bool = False,
        anchor: str = "start", turn: float = 0.0,
    ) -> None:
        """Words on the base line."""
        text = self.clean(text)
        if not text:
            return
        font = ("mono" if mono else "sans", "B" if bold and not mono else "", round(size_mm * POINTS_PER_MM, 3))
        if font != self.font:
            self.pdf.set_font(*font)
            self.font = font
        red, green, blue = _RGB.get(ink, _RGB[INK])
        self.pdf.set_text_color(red, green, blue)
        if anchor != "start":
            x_shift = self.pdf.get_string_width(text) * (0.5 if anchor == "middle" else 1.0)
        else:
            x_shift = 0.0
        if turn:
            with self.pdf.rotation(-turn, x, y):
                self.pdf.text(x - x_shift, y, text)
            self.font = None
        else:
            self.pdf.text(x - x_shift, y, text)

    def line(self, start: tuple[float, float], end: tuple[float, float], width: float, ink: str = INK) -> None:
        self.pdf.set_draw_color(*_RGB[ink])
        self.pdf.set_line_width(width)
        self.pdf.line(*start, *end)

    def chip(self, x: float, y: float, code: str, size_mm: float) -> None:
        """A patch in a wire's colour about the middle line y, with its code."""
        chip = Chip(x_mm=x, y_mm=y, code=code, size_mm=size_mm)
        rgb = COLOURS[code].rgb if code in COLOURS else (255, 255, 255)
        self.pdf.set_fill_color(*rgb)
        self.pdf.set_draw_color(120, 120, 120)
        self.pdf.set_line_width(0.1)
        self.pdf.rect(x, y - chip.high_mm / 2, chip.width_mm, chip.high_mm, style="DF")
        self._on(rgb, x + chip.width_mm / 2, y + CAP_EM * size_mm / 2, code, size_mm)

    def _on(self, rgb: tuple[int, int, int], x: float, y: float, text: str, size_mm: float) -> None:
        self.text(x, y, text, size_mm, bold=True, anchor="middle", ink="paper" if dark(rgb) else INK)

    def items(self, items: Sequence[Item], dx: float, dy: float) -> None:
        """The items of a figure with its corner at (dx, dy) of the page."""
        for item in items:
            if isinstance(item, Stroke):
                self._stroke(item, dx, dy)
            elif isinstance(item, Words):
                if item.halo:
                    left, top, right, bottom = item.extent
                    self.pdf.set_fill_color(255, 255, 255)
                    self.pdf.rect(left + dx - 0.3, top + dy, right - left + 0.6, bottom - top, style="F")
                self.text(
                    item.x_mm + dx, item.y_mm + dy, item.text, item.size_mm, ink=item.ink, bold=item.bold,
                    mono=item.mono, anchor=item.anchor, turn=item.turn,
                )
            elif isinstance(item, Chip):
                self.chip(item.x_mm + dx, item.y_mm + dy, item.code, item.size_mm)
            else:
                self._shape(item, dx, dy)

    def _shape(self, item: Disc | Box, dx: float, dy: float) -> None:
        self.pdf.set_draw_color(*_RGB[item.ink])
        self.pdf.set_line_width(item.width_mm)
        fill = _RGB[item.ink] if item.filled else (255, 255, 255)
        self.pdf.set_fill_color(*fill)
        if isinstance(item, Disc):
            self.pdf.circle(item.x_mm + dx, item.y_mm + dy, item.radius_mm, style="DF")
        else:
            self.pdf.rect(item.x_mm + dx, item.y_mm + dy, item.wide_mm, item.high_mm, style="DF")

    def _stroke(self, item: Stroke, dx: float, dy: float) -> None:
        points = [(x + dx, y + dy) for x, y in item.points]
        if item.dashed:
            self.pdf.set_dash_pattern(max(1.2, 2 * item.width_mm), max(0.8, item.width_mm))
        for start, end in zip(points, points[1:], strict=False):
            if item.ink in _PALE:
                self.pdf.set_draw_color(120, 120, 120)
                self.pdf.set_line_width(item.width_mm + 0.16)
                self.pdf.line(*start, *end)
            rgb = _RGB.get(item.ink) or (COLOURS[item.ink].rgb if item.ink in COLOURS else _RGB[INK])
            self.pdf.set_draw_color(*rgb)
            self.pdf.set_line_width(item.width_mm)
            self.pdf.line(*start, *end)
        if item.dashed:
            self.pdf.set_dash_pattern()

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
            self.page()
            self.cautions()
        elif paper.tables is not None:
            self.tables(paper.tables(self.harness))
        self.begins[paper.key] = (first, self.pdf.page)

    def say(self, text: str, size_mm: float = BODY_MM, *, ink: str = INK, bold: bool = False) -> None:
        """A paragraph from margin to margin."""
        for line in wrapped(self.clean(text), self.room, size_mm, bold=bold):
            self.text(MARGIN_MM, self.y, line, size_mm, ink=ink, bold=bold)
            self.y += size_mm * 1.35

    def tables(self, tables: Sequence[Table]) -> None:
        """Tables one below the other; wide ones on pages across."""
        for place, table in enumerate(tables):
            if not table.rows and place:
                continue
            across = _natural(table, self.clean) > self.size[0] - 2 * MARGIN_MM
            if not place or across != self.across or self.y > self.bottom - 30:
                self.page(across=across)
            else:
                self.y += 5
            self.table(table)

    def table(self, table: Table) -> None:
        """A table with its heading; the heading of the columns comes again on every page."""
        used = used_columns(table)
        widths = _fitted(table, used, self.room, self.clean)
        right = number_columns(table)
        self.say(table.title, 3.4, bold=True)
        self.y += 1.2
        if not table.rows:
            self.say("Nothing yet.", ink=DIM)
            return
        self._columns(table, used, widths, right)
        for row in table.rows:
            cells = {place: wrapped(self.clean(row[place]), widths[place], BODY_MM) for place in used}
            lines = max(map(len, cells.values()))
            high = max(lines * LINE_MM + 0.9, HAND_MM if table.by_hand else 0.0)
            if self.y + high > self.bottom:
                self.page(across=self.across)
                self._columns(table, used, widths, right)
            self._row(table, used, widths, right, cells)
            self.y += high
            self.line((MARGIN_MM, self.y - 2.9), (MARGIN_MM + _total(widths), self.y - 2.9), 0.1, FAINT)
        self.y += 1

    def _columns(self, table: Table, used: list[int], widths: dict[int, float], right: set[int]) -> None:
        names = {place: wrapped(table.columns[place], widths[place], 2.4, bold=True) for place in used}
        most = max(map(len, names.values()))
        x = MARGIN_MM
        for place in used:
            lines = names[place]
            for number, line in enumerate(lines):
                y = self.y + (most - len(lines) + number) * 3.0
                if place in right:
                    self.text(x + widths[place], y, line, 2.4, ink=DIM, bold=True, anchor="end")
                else:
                    self.text(x, y, line, 2.4, ink=DIM, bold=True)
            x += widths[place] + GAP_MM
        self.y += most * 3.0 + 0.6
        self.line((MARGIN_MM, self.y - 2.5), (MARGIN_MM + _total(widths), self.y - 2.5), 0.25, INK)
        self.y += 1.6

    def _row(
        self, table: Table, used: list[int], widths: dict[int, float], right: set[int], cells: dict[int, list[str]]
    ) -> None:
        x = MARGIN_MM
        drop = (HAND_MM - LINE_MM) / 2 if table.by_hand else 0.0
        for place in used:
            column = table.columns[place]
            for number, line in enumerate(cells[place]):
                y = self.y + number * LINE_MM + drop
                if column == "colour" and line in COLOURS:
                    self.chip(x, y - CAP_EM * BODY_MM / 2, line, 2.4)
                elif place in right:
                    self.text(x + widths[place], y, line, BODY_MM, anchor="end")
                elif column in TAG_COLUMNS:
                    self.text(x, y, line, BODY_MM, mono=True)
                else:
                    self.text(x, y, line, BODY_MM)
            if column in table.by_hand:
                self.line((x, self.y + 2.2), (x + widths[place], self.y + 2.2), 0.15, DIM)
            x += widths[place] + GAP_MM

    def figure(self, figure: Figure) -> None:
        """A figure at its own size on as many pages as it takes."""
        start = 0.0
        first = True
        while first or start < figure.height_mm - 0.5:
            self.page()
            if first:
                self.say(figure.title, 3.4, bold=True)
                self.say(figure.about + " The left of the model lies above the spine, the right below.", ink=DIM)
                left_out = ", ".join(lamp.name for lamp in unplaced(self.harness))
                if left_out:
                    self.say(f"Without a place and not drawn: {left_out}.", ink=DIM)
            top = self.y
            room = self.bottom - top
            ends = [at for at in figure.breaks if start + 5 < at <= start + room]
            end = figure.height_mm if figure.height_mm - start <= room else max(ends, default=start + room)
            window = (0.0, start, figure.width_mm, end)
            shown = [item for item in figure.items if touches(item.extent, window)]
            x = (self.wide - figure.width_mm) / 2
            with self.pdf.rect_clip(x - 1, top, figure.width_mm + 2, end - start):
                self.items(shown, x, top - start)
            self.font = None
            start, first = end, False

    def board(self) -> None:
        """An overview, then the loom at 1:1 page by page."""
        laid = board(self.harness)
        choices = []
        for across in (True, False):
            wide, high = (self.size[1], self.size[0]) if across else self.size
            choices.append((across, tiles(laid.figure, wide - 2 * CROP_MM, high - 2 * CROP_MM)))
        across, sheets = min(choices, key=lambda choice: len(choice[1]))
        self.page()
        self.say("The loom at 1 : 1, to build it flat on a board", 3.4, bold=True)
        self.say(
            f"{len(sheets)} pages follow. Print them at 100 %, not fitted to the page, and check the ruler on each. "
            "Cut along the crop marks, lay them edge to edge as below and tape them to a board. A filled dot is a "
            "waypoint where a joint can be made, a ring one where it can't. Lines are as long as they were measured, "
            "moving joints with their loop (dashed); slack, spare and the service loop are extra and hang out at the "
            "ends. Which way a line points says nothing of the model."
        )
        for words in laid.missing:
            self.say(words, ink=DIM)
        if not laid.stretches:
            self.say("There is no leg yet, so there is nothing to lay out.", ink=DIM)
            return
        self.y += 3
        self._overview(laid.figure, sheets)
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
            self.pdf.set_draw_color(*_RGB[FAINT])
            self.pdf.set_line_width(0.3)
            self.pdf.rect(x, y, tile.wide_mm * scale, tile.high_mm * scale)
            self.text(x + 1.2, y + 4, tile.name, 3.2, ink=ACCENT, bold=True)
        for item in figure.items:
            if isinstance(item, Stroke) and item.ink != DIM:
                points = tuple((x * scale, y * scale) for x, y in item.points)
                self._stroke(Stroke(points=points, width_mm=max(item.width_mm * scale, 0.15), ink=item.ink), x0, y0)

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
        self.pdf.set_draw_color(*_RGB[DIM])
        self.pdf.set_line_width(0.2)
        self.pdf.rect(x, y, wide, high)
        self.text(x + 2, y + 6.6, card.tag, 6.6, mono=True)
        self.chip(x + 17, y + 4.6, card.colour, 3.2)
        self.text(x + 25, y + 5.8, f"{card.gauge}, {card.cut_mm:g} mm", 3.6, bold=True)
        self.text(x + wide - 2, y + 5.8, f"{card.number}", 2.6, ink=DIM, anchor="end")
        at = y + 11.2
        for line in route:
            self.text(x + 2, at, line, 2.6, ink=DIM)
            at += 3.4
        for (_, done), lines in zip(card.steps, steps, strict=True):
            self.pdf.set_draw_color(*_RGB[INK])
            self.pdf.set_line_width(0.2)
            self.pdf.rect(x + 2, at - 2.1, 2.7, 2.7)
            if done:
                self.line((x + 2.4, at - 0.8), (x + 3.1, at + 0.1), 0.4)
                self.line((x + 3.1, at + 0.1), (x + 4.5, at - 1.9), 0.4)
            for number, line in enumerate(lines):
                self.text(x + 6.4, at + number * 3.3, line, 2.5)
            at += max(len(lines) * 3.3, 4.0) + 0.5
        return high

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
            names = ", ".join(unicodedata.name(sign, f"U+{ord(sign):04X}").lower() for sign in list(self.lacking)[:12])
            more = f" and {len(self.lacking) - 12} more" if len(self.lacking) > 12 else ""
            self.say(f"Shown as ? because this font lacks them: {names}{more}. The HTML file shows them.", ink=DIM)
        self.y += 6
        self.cautions()
        foot = self.high - FOOT_MM + 4
        self.text(MARGIN_MM, foot, self.day, 2.4, ink=DIM)


TAG_COLUMNS = frozenset({"tag", "now", "in", "on from there"})
"""Columns that hold tags."""


def _moment(day: str) -> datetime:
    try:
        return datetime.strptime(day, "%Y-%m-%d").replace(tzinfo=UTC)
    except ValueError:
        return datetime(2000, 1, 1, tzinfo=UTC)


def _total(widths: dict[int, float]) -> float:
    return sum(widths.values()) + GAP_MM * (len(widths) - 1)


def _wants(table: Table, place: int, clean: Callable[[str], str]) -> float:
    """The width a column takes without a break, within limits."""
    name = table.columns[place]
    if name in table.by_hand:
        return HAND_COLUMN_MM
    mono = name in TAG_COLUMNS
    longest = max((width_mm(clean(row[place]), BODY_MM, mono=mono) for row in table.rows), default=0.0)
    head = max(width_mm(word, 2.4, bold=True) for word in name.split() or [""])
    return min(max(longest, head), COLUMN_MOST_MM) + 0.2


def _natural(table: Table, clean: Callable[[str], str]) -> float:
    used = used_columns(table)
    return sum(_wants(table, place, clean) for place in used) + GAP_MM * (len(used) - 1)


def _fitted(table: Table, used: list[int], room: float, clean: Callable[[str], str]) -> dict[int, float]:
    """Widths that go into the room: the widest columns give way, columns for the hand take what is left."""
    widths = {place: _wants(table, place, clean) for place in used}
    least = {
        place: max(
            (
                width_mm(word, BODY_MM)
                for row in table.rows
                for word in clean(row[place]).split()
            ),
            default=8.0,
        )
        + 0.2
        for place in used
    }
    while _total(widths) > room + 1e-6:
        widest = max(used, key=lambda place: widths[place] - min(least[place], 24.0))
        if widths[widest] <= 9:
            break
        widths[widest] -= min(1.0, _total(widths) - room)
    spare = room - _total(widths)
    hands = [place for place in used if table.columns[place] in table.by_hand]
    for place in hands:
        widths[place] += max(min(spare / len(hands), 22.0), 0.0)
    return widths
