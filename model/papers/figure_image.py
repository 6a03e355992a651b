"""A figure as a file of its own: PNG, SVG or PDF, with its title above and what it shows in words below.

Pillow, fpdf2 and the fonts are loaded when the first one is drawn.
"""

from __future__ import annotations

import io
import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import lru_cache
from itertools import pairwise
from types import MappingProxyType
from typing import Any

import attrs

from model.errors import BadValue
from model.harness import Harness
from model.papers.contrast import Rgb, dark
from model.papers.figure import DIM, INK, Box, Chip, Disc, Figure, Item, Stroke, Words, shifted
from model.papers.svg import lone_svg
from model.papers.type_metrics import BOLD, CAP_EM, MONO, MONO_WEIGHT, REGULAR, SANS, shortened, wrapped
from model.standards.colours import COLOURS

EDGE_MM = 6.0
TITLE_MM = 3.4
ABOUT_MM = 2.2
LINE_MM = 3.0

DPI = 300
MM_PER_INCH = 25.4
MOST_DOTS = 60e6
"""A picture with more dots than that is drawn coarser: it would take the memory of a small computer."""

PAPER_RGB: Rgb = (255, 255, 255)
_EDGE_RGB: Rgb = (120, 120, 120)
_PALE = frozenset({"WH", "YE", "SR", "GD", "PK", "TQ"})


def image_kind(name: str) -> str:
    """The kind of image that a file's name ends in, "png", "svg" or "pdf". BadValue for any other."""
    kind = name.rpartition(".")[2].lower()
    if "." not in name or kind not in WRITERS:
        raise BadValue(f"image {name}", "is of no known kind", limit=".png, .svg or .pdf")
    return kind


def figure_image(figure: Figure, harness: Harness, kind: str, *, day: str = "") -> bytes:
    """The figure as a whole file of `kind` "png", "svg" or "pdf", at its own size.

    `day` (YYYY-MM-DD) is that of a PDF. BadValue for another kind.
    """
    if kind not in WRITERS:
        raise BadValue("image", f"{kind} is of no known kind", limit=", ".join(WRITERS))
    return WRITERS[kind](_framed(figure), harness, day)


def _framed(figure: Figure) -> Figure:
    """The figure with an edge, its title over it and its explanation under it."""
    room = figure.width_mm
    lines = wrapped(figure.about, room, ABOUT_MM)
    top = EDGE_MM + TITLE_MM + 2
    title = Words(
        x_mm=EDGE_MM,
        y_mm=EDGE_MM + TITLE_MM * CAP_EM,
        text=shortened(figure.title, room, TITLE_MM, bold=True),
        size_mm=TITLE_MM,
        bold=True,
    )
    below = top + figure.height_mm + LINE_MM
    about = (
        Words(x_mm=EDGE_MM, y_mm=below + place * LINE_MM, text=line, size_mm=ABOUT_MM, ink=DIM)
        for place, line in enumerate(lines)
    )
    return attrs.evolve(
        figure,
        width_mm=room + 2 * EDGE_MM,
        height_mm=below + len(lines) * LINE_MM + EDGE_MM - LINE_MM,
        items=(title, *shifted(figure.items, EDGE_MM, top), *about),
        breaks=(),
    )


def _svg(figure: Figure, harness: Harness, day: str) -> bytes:
    return lone_svg(figure).encode("utf-8", "replace")


def _pdf(figure: Figure, harness: Harness, day: str) -> bytes:
    from model.papers.pdf_canvas import Canvas

    canvas = Canvas(harness, figure.width_mm, figure.height_mm, day=day)
    canvas.pdf.set_title(canvas.clean_for(figure.title))
    canvas.page(bare=True)
    canvas.items(figure.items, 0.0, 0.0)
    return canvas.finish()


def _png(figure: Figure, harness: Harness, day: str) -> bytes:
    from PIL import Image

    dpi = min(DPI, math.sqrt(MOST_DOTS / (figure.width_mm * figure.height_mm)) * MM_PER_INCH)
    dots = dpi / MM_PER_INCH
    size = (math.ceil(figure.width_mm * dots), math.ceil(figure.height_mm * dots))
    image = Image.new("RGB", size, PAPER_RGB)
    pen = _Pen(image, dots)
    for item in _drawable(figure.items, harness):
        pen.item(item)
    file = io.BytesIO()
    image.save(file, "PNG", dpi=(dpi, dpi))
    return file.getvalue()


WRITERS: Mapping[str, Callable[[Figure, Harness, str], bytes]] = MappingProxyType(
    {"png": _png, "svg": _svg, "pdf": _pdf}
)


@lru_cache(maxsize=32)
def _font(family: str, weight: int, dots: float) -> Any:
    from fontpkg.pil import truetype

    return truetype(family, dots, weight=weight)


class _Pen:
    """Draws items into a picture of `dots` a mm."""

    def __init__(self, image: Any, dots: float) -> None:
        from PIL import ImageDraw

        self.draw = ImageDraw.Draw(image)
        self.dots = dots

    def item(self, item: Item) -> None:
        if isinstance(item, Stroke):
            self._stroke(item)
        elif isinstance(item, Words):
            self._words(item)
        elif isinstance(item, Chip):
            self._chip(item)
        else:
            self._shape(item)

    def _line(self, start: tuple[float, float], end: tuple[float, float], width_mm: float, rgb: Rgb) -> None:
        points = [value * self.dots for value in (*start, *end)]
        self.draw.line(points, fill=rgb, width=max(round(width_mm * self.dots), 1))

    def _stroke(self, item: Stroke) -> None:
        on, off = max(1.2, 2 * item.width_mm), max(0.8, item.width_mm)
        rgb = _ink(item.ink)
        for start, end in pairwise(item.points):
            pieces = _dashes(start, end, on, off) if item.dashed else ((start, end),)
            for begin, until in pieces:
                if item.ink in _PALE:
                    self._line(begin, until, item.width_mm + 0.16, _EDGE_RGB)
                self._line(begin, until, item.width_mm, rgb)

    def _words(self, item: Words) -> None:
        if item.turn:
            raise NotImplementedError("turned words stand on the board only, which is no image")
        if item.halo:
            left, top, right, bottom = item.extent
            ground = (left - 0.3, top, right + 0.3, bottom)
            self.draw.rectangle(tuple(value * self.dots for value in ground), fill=PAPER_RGB)
        family, weight = (MONO, MONO_WEIGHT) if item.mono else (SANS, BOLD if item.bold else REGULAR)
        self._text(item.x_mm, item.y_mm, item.text, item.size_mm, family, weight, _ink(item.ink), item.anchor)

    def _text(
        self,
        x_mm: float,
        y_mm: float,
        text: str,
        size_mm: float,
        family: str,
        weight: int,
        rgb: Rgb,
        anchor: str,
    ) -> None:
        font = _font(family, weight, size_mm * self.dots)
        place = {"start": "ls", "middle": "ms", "end": "rs"}[anchor]
        self.draw.text((x_mm * self.dots, y_mm * self.dots), text, font=font, fill=rgb, anchor=place)

    def _chip(self, item: Chip) -> None:
        rgb = COLOURS[item.code].rgb if item.code in COLOURS else PAPER_RGB
        box = tuple(value * self.dots for value in item.extent)
        self.draw.rectangle(box, fill=rgb, outline=_EDGE_RGB)
        x, y = item.x_mm + item.width_mm / 2, item.y_mm + CAP_EM * item.size_mm / 2
        ink = PAPER_RGB if dark(rgb) else _ink(INK)
        self._text(x, y, item.code, item.size_mm, SANS, BOLD, ink, "middle")

    def _shape(self, item: Disc | Box) -> None:
        box = tuple(value * self.dots for value in item.extent)
        rgb = _ink(item.ink)
        fill = rgb if item.filled else PAPER_RGB
        drawn = self.draw.ellipse if isinstance(item, Disc) else self.draw.rectangle
        drawn(box, fill=fill, outline=rgb, width=max(round(item.width_mm * self.dots), 1))


def _ink(ink: str) -> Rgb:
    from model.papers.pdf_canvas import RGB

    return RGB.get(ink) or (COLOURS[ink].rgb if ink in COLOURS else RGB[INK])


def _drawable(items: Sequence[Item], harness: Harness) -> Iterator[Item]:
    """The items with a question mark for each character that the face lacks."""
    clean: Callable[[str], str] | None = None
    for item in items:
        if isinstance(item, Words) and not item.text.isascii():
            if clean is None:
                from model.papers.pdf_canvas import Canvas

                clean = Canvas(harness, 100.0, 100.0, day="").clean
            item = attrs.evolve(item, text=clean(item.text))
        yield item


def _dashes(
    start: tuple[float, float], end: tuple[float, float], on: float, off: float
) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """The dashes of a straight line, in mm."""
    length = math.dist(start, end)
    if not length:
        return []

    def at(far: float) -> tuple[float, float]:
        share = min(far / length, 1.0)
        return start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share

    count = math.ceil(length / (on + off))
    return [(at(place * (on + off)), at(place * (on + off) + on)) for place in range(count)]
