"""What a picture is made of: lines, marks and words in mm, without any drawing library.

x runs to the right, y down, from the upper left corner. The writers turn a figure into a page or into SVG.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import attrs

from model.papers.type_metrics import CAP_EM, width_mm

Point = tuple[float, float]
Extent = tuple[float, float, float, float]
"""Left, top, right, bottom in mm."""

INK, DIM, FAINT, ACCENT = "ink", "dim", "faint", "accent"
"""What is drawn with: the paper's own black, a grey for what explains, a light one for help lines, one
colour.

Beside these an ink may be an IEC 60757 code: then it is a wire of that colour.
"""


@attrs.frozen(kw_only=True)
class Stroke:
    """A line through `points`. `dashed` stands for what moves or is only proposed."""

    points: tuple[Point, ...]
    width_mm: float = 0.25
    ink: str = INK
    dashed: bool = False

    @property
    def extent(self) -> Extent:
        """All that is inked."""
        half = self.width_mm / 2
        xs, ys = zip(*self.points, strict=True)
        return min(xs) - half, min(ys) - half, max(xs) + half, max(ys) + half


@attrs.frozen(kw_only=True)
class Disc:
    """A circle about (x, y): `filled`, or a line of `width_mm` round the paper's own ground."""

    x_mm: float
    y_mm: float
    radius_mm: float
    filled: bool = True
    width_mm: float = 0.25
    ink: str = INK

    @property
    def extent(self) -> Extent:
        """All that is inked."""
        reach = self.radius_mm + self.width_mm / 2
        return self.x_mm - reach, self.y_mm - reach, self.x_mm + reach, self.y_mm + reach


@attrs.frozen(kw_only=True)
class Box:
    """A rectangle, `filled` or as a line."""

    x_mm: float
    y_mm: float
    wide_mm: float
    high_mm: float
    filled: bool = False
    width_mm: float = 0.25
    ink: str = INK

    @property
    def extent(self) -> Extent:
        """All that is inked."""
        return self.x_mm, self.y_mm, self.x_mm + self.wide_mm, self.y_mm + self.high_mm


@attrs.frozen(kw_only=True)
class Words:
    """A text whose em is `size_mm`, on the base line from (x, y) on.

    `anchor` says what of it stands at x: its start, middle or end; `turn` is clockwise in degrees about
    (x, y). `mono` is for tags. `tag` names the wire the text leads to. `halo` keeps the ground about it
    clear.
    """

    x_mm: float
    y_mm: float
    text: str
    size_mm: float = 2.5
    ink: str = INK
    bold: bool = False
    mono: bool = False
    anchor: str = attrs.field(default="start", validator=attrs.validators.in_(("start", "middle", "end")))
    turn: float = 0.0
    tag: str = ""
    halo: bool = False

    @property
    def width_mm(self) -> float:
        """How wide it is."""
        return width_mm(self.text, self.size_mm, bold=self.bold, mono=self.mono)

    @property
    def left_mm(self) -> float:
        """Where it begins, before it is turned."""
        return self.x_mm - self.width_mm * {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor]

    @property
    def extent(self) -> Extent:
        """All that may be inked; of a turned text the upright rectangle about it."""
        left, right = self.left_mm, self.left_mm + self.width_mm
        top, bottom = self.y_mm - CAP_EM * self.size_mm * 1.3, self.y_mm + 0.25 * self.size_mm
        if not self.turn:
            return left, top, right, bottom
        cos, sin = math.cos(math.radians(self.turn)), math.sin(math.radians(self.turn))
        corners = [(x - self.x_mm, y - self.y_mm) for x in (left, right) for y in (top, bottom)]
        xs = [self.x_mm + x * cos - y * sin for x, y in corners]
        ys = [self.y_mm + x * sin + y * cos for x, y in corners]
        return min(xs), min(ys), max(xs), max(ys)


@attrs.frozen(kw_only=True)
class Chip:
    """A patch in a wire's colour with its IEC 60757 code on it, about the middle line y, from x on."""

    x_mm: float
    y_mm: float
    code: str
    size_mm: float = 2.2

    @property
    def width_mm(self) -> float:
        """How wide the patch is."""
        return width_mm(self.code, self.size_mm, bold=True) + 0.5 * self.size_mm

    @property
    def high_mm(self) -> float:
        """How high the patch is."""
        return 1.1 * self.size_mm

    @property
    def extent(self) -> Extent:
        """The patch."""
        half = self.high_mm / 2
        return self.x_mm, self.y_mm - half, self.x_mm + self.width_mm, self.y_mm + half


Item = Stroke | Disc | Box | Words | Chip


@attrs.frozen(kw_only=True)
class Upright:
    """A line from `top_mm` down to `bottom_mm`, and whose it is: said again where a page begins with it."""

    x_mm: float
    top_mm: float
    bottom_mm: float
    name: str


@attrs.frozen(kw_only=True)
class Figure:
    """A picture of `width_mm` by `height_mm`; `about` says in words what it shows.

    Higher ones are cut only at `breaks`, which cross no words. Every page then begins with the part of
    the figure that lies within `head_mm`, and with the names of the `uprights` that are cut.
    """

    title: str
    about: str
    width_mm: float
    height_mm: float
    items: tuple[Item, ...]
    breaks: tuple[float, ...] = ()
    head_mm: tuple[float, float] = (0.0, 0.0)
    uprights: tuple[Upright, ...] = ()


def shifted(items: Iterable[Item], dx: float, dy: float) -> tuple[Item, ...]:
    """The items moved by (dx, dy)."""
    moved: list[Item] = []
    for item in items:
        if isinstance(item, Stroke):
            points = tuple((x + dx, y + dy) for x, y in item.points)
            moved.append(attrs.evolve(item, points=points))
        else:
            moved.append(attrs.evolve(item, x_mm=item.x_mm + dx, y_mm=item.y_mm + dy))
    return tuple(moved)


def touches(one: Extent, other: Extent) -> bool:
    """Whether two extents have anything in common."""
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def around(items: Iterable[Item]) -> Extent:
    """The extent of all items; zero for none."""
    extents = [item.extent for item in items]
    if not extents:
        return 0.0, 0.0, 0.0, 0.0
    left, top, right, bottom = zip(*extents, strict=True)
    return min(left), min(top), max(right), max(bottom)
