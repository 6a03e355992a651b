"""Pages of a PDF and what is drawn on them: words, lines, wire colours, figures.

fpdf2 and the fonts are loaded when the first canvas is made.
"""

from __future__ import annotations

import io
import unicodedata
from collections.abc import Sequence
from datetime import UTC, datetime
from functools import lru_cache
from itertools import pairwise
from typing import Any

from model.harness import Harness
from model.papers.contrast import dark
from model.papers.figure import ACCENT, DIM, FAINT, INK, Box, Chip, Disc, Item, Stroke, Words
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

MARGIN_MM = 12.0
HEAD_MM = 17.0
FOOT_MM = 11.0
BODY_MM = 2.75

RGB = {
    "paper": (255, 255, 255),
    INK: (22, 22, 22),
    DIM: (92, 92, 92),
    FAINT: (212, 212, 212),
    ACCENT: (0, 84, 150),
}
"""What each ink is printed with."""

_PALE = frozenset({"WH", "YE", "SR", "GD", "PK", "TQ"})
"""Wires that are drawn with an edge, as they would not be seen on paper."""

POINTS_PER_MM = 72 / 25.4


class Canvas:
    """The PDF being made, page by page. `y` is the base line that comes next."""

    def __init__(self, harness: Harness, width_mm: float, height_mm: float, *, day: str) -> None:
        from fpdf import FPDF, ViewerPreferences

        self.harness = harness
        self.size = (width_mm, height_mm)
        self.day = day
        self.lacking: dict[str, None] = {}
        self.title = ""
        self.across = False
        pdf: Any = FPDF(unit="mm", format=self.size)
        _add_font(pdf, "sans", "", SANS, REGULAR)
        _add_font(pdf, "sans", "B", SANS, BOLD)
        _add_font(pdf, "mono", "", MONO, MONO_WEIGHT)
        pdf.set_auto_page_break(False)
        pdf.set_title(f"{harness.code} {self.clean_for(harness.name)}: papers")
        pdf.set_creator("loomtag")
        pdf.set_producer("loomtag")
        pdf.set_creation_date(_moment(day))
        pdf.viewer_preferences = ViewerPreferences(print_scaling="None")
        pdf.set_compression(True)
        self.pdf = pdf
        self.font: tuple[str, str, float] | None = None
        self.cmap = self.signs()
        self.y = 0.0

    def signs(self) -> frozenset[int]:
        """The characters that the font can draw."""
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
        # Lines end where they end: fpdf2's own square ends would make each longer by its width.
        self.pdf._out("0 J")
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
        self,
        x: float,
        y: float,
        text: str,
        size_mm: float,
        *,
        ink: str = INK,
        bold: bool = False,
        mono: bool = False,
        anchor: str = "start",
        turn: float = 0.0,
    ) -> None:
        """Words on the base line."""
        text = self.clean(text)
        if not text:
            return
        font = (
            "mono" if mono else "sans",
            "B" if bold and not mono else "",
            round(size_mm * POINTS_PER_MM, 3),
        )
        if font != self.font:
            self.pdf.set_font(*font)
            self.font = font
        red, green, blue = RGB.get(ink, RGB[INK])
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

    def line(
        self, start: tuple[float, float], end: tuple[float, float], width: float, ink: str = INK
    ) -> None:
        self.pdf.set_draw_color(*RGB[ink])
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
                    item.x_mm + dx,
                    item.y_mm + dy,
                    item.text,
                    item.size_mm,
                    ink=item.ink,
                    bold=item.bold,
                    mono=item.mono,
                    anchor=item.anchor,
                    turn=item.turn,
                )
            elif isinstance(item, Chip):
                self.chip(item.x_mm + dx, item.y_mm + dy, item.code, item.size_mm)
            else:
                self._shape(item, dx, dy)

    def _shape(self, item: Disc | Box, dx: float, dy: float) -> None:
        self.pdf.set_draw_color(*RGB[item.ink])
        self.pdf.set_line_width(item.width_mm)
        fill = RGB[item.ink] if item.filled else (255, 255, 255)
        self.pdf.set_fill_color(*fill)
        if isinstance(item, Disc):
            self.pdf.circle(item.x_mm + dx, item.y_mm + dy, item.radius_mm, style="DF")
        else:
            self.pdf.rect(item.x_mm + dx, item.y_mm + dy, item.wide_mm, item.high_mm, style="DF")

    def _stroke(self, item: Stroke, dx: float, dy: float) -> None:
        points = [(x + dx, y + dy) for x, y in item.points]
        if item.dashed:
            self.pdf.set_dash_pattern(max(1.2, 2.5 * item.width_mm), max(0.8, 1.2 * item.width_mm))
        for start, end in pairwise(points):
            if item.ink in _PALE:
                self.pdf.set_draw_color(120, 120, 120)
                self.pdf.set_line_width(item.width_mm + 0.16)
                self.pdf.line(*start, *end)
            rgb = RGB.get(item.ink) or (COLOURS[item.ink].rgb if item.ink in COLOURS else RGB[INK])
            self.pdf.set_draw_color(*rgb)
            self.pdf.set_line_width(item.width_mm)
            self.pdf.line(*start, *end)
        if item.dashed:
            self.pdf.set_dash_pattern()

    def say(self, text: str, size_mm: float = BODY_MM, *, ink: str = INK, bold: bool = False) -> None:
        """A paragraph from margin to margin."""
        for line in wrapped(self.clean(text), self.room, size_mm, bold=bold):
            self.text(MARGIN_MM, self.y, line, size_mm, ink=ink, bold=bold)
            self.y += size_mm * 1.35


def _moment(day: str) -> datetime:
    try:
        return datetime.strptime(day, "%Y-%m-%d").replace(tzinfo=UTC)
    except ValueError:
        return datetime(2000, 1, 1, tzinfo=UTC)


def _add_font(pdf: Any, family: str, style: str, name: str, weight: int) -> None:
    """A face at one weight. fpdf2 would work the weight out anew for every document, which takes longer than
    the document itself.
    """
    from fpdf.fonts import TTFFont

    try:
        font: Any = io.BytesIO(_face(name, weight))
        pdf.fonts[f"{family}{style}"] = TTFFont(pdf, font, f"{family}{style}", style)
    except (TypeError, AttributeError):
        # It takes only files: then it has to be the slow way.
        pdf.add_font(family, style, _font_file(name), variations={"wght": weight})


@lru_cache
def _face(name: str, weight: int) -> bytes:
    """A font file of one weight without tables that are not used here: kerning, ligatures, hints."""
    from fontTools.ttLib import TTFont  # type: ignore[import-untyped]
    from fontTools.varLib.instancer import instantiateVariableFont  # type: ignore[import-untyped]

    font = TTFont(_font_file(name), recalcTimestamp=False)
    for table in ("GPOS", "GSUB", "GDEF", "BASE", "JSTF", "fpgm", "prep", "cvt ", "cvar", "hdmx", "gasp"):
        if table in font:
            del font[table]
    instantiateVariableFont(font, {"wght": weight}, inplace=True, static=True)
    content = io.BytesIO()
    font.save(content)
    return content.getvalue()


def _font_file(name: str) -> Any:
    import fontpkg

    return fontpkg.path(name, 500 if name == MONO else REGULAR)
