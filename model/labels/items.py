"""What a layout is made of: placed texts, codes, marks and lines, in mm, without Pillow.

x runs along the label's text, y across it and down; the origin is the label's upper left corner.
"""

from __future__ import annotations

from typing import Literal

import attrs

from model.findings import Finding
from model.labels import font_metrics
from model.labels.stock import Stock
from model.labels.text import LabelText

Box = tuple[float, float, float, float]
"""Left, top, right, bottom in mm."""

Role = Literal["tag", "side", "line"]
Shape = Literal["lamp", "controller", "joint", "plug", "spool"]
LineStyle = Literal["fold", "cut", "bar", "rule"]


@attrs.frozen(kw_only=True)
class Text:
    """A text at one size; (x, y) is the upper left corner of its capitals, `height_mm` their height.

    `rotation` turns it clockwise about (x, y), in degrees: 0, 90, 180 or 270.
    """

    x_mm: float
    y_mm: float
    height_mm: float
    text: str
    role: Role = "line"
    rotation: int = attrs.field(default=0, validator=attrs.validators.in_((0, 90, 180, 270)))

    @property
    def width_mm(self) -> float:
        """Width of its cells."""
        return font_metrics.width(self.text) * self.height_mm

    @property
    def box(self) -> Box:
        """All that may be inked, accents and descenders included."""
        top, depth = font_metrics.extents(self.text)
        above, below = (top - 1) * self.height_mm, depth * self.height_mm
        wide, high = self.width_mm, self.height_mm
        left, upper, right, lower = {
            0: (0.0, -above, wide, high + below),
            90: (-high - below, 0.0, above, wide),
            180: (-wide, -high - below, 0.0, above),
            270: (-above, -wide, high + below, 0.0),
        }[self.rotation]
        return self.x_mm + left, self.y_mm + upper, self.x_mm + right, self.y_mm + lower


@attrs.frozen(kw_only=True)
class Qr:
    """A QR code (ISO/IEC 18004); (x, y) is the upper left corner of its modules without the quiet zone."""

    x_mm: float
    y_mm: float
    module_mm: float
    version: int
    level: Literal["L", "M", "Q", "H"]
    content: str

    @property
    def modules(self) -> int:
        """Modules along one side, 17 + 4 * version."""
        return 17 + 4 * self.version

    @property
    def side_mm(self) -> float:
        """Side of the code without its quiet zone."""
        return self.modules * self.module_mm

    @property
    def quiet_mm(self) -> float:
        """Width of the quiet zone: four modules."""
        return 4 * self.module_mm

    @property
    def box(self) -> Box:
        """The modules."""
        return self.x_mm, self.y_mm, self.x_mm + self.side_mm, self.y_mm + self.side_mm

    @property
    def quiet_box(self) -> Box:
        """The modules and the quiet zone that has to stay white."""
        left, top, right, bottom = self.box
        quiet = self.quiet_mm
        return left - quiet, top - quiet, right + quiet, bottom + quiet


@attrs.frozen(kw_only=True)
class Mark:
    """A sign in a square for what is at this end: a crossed circle (IEC 60617) for a lamp, a box for pins."""

    x_mm: float
    y_mm: float
    size_mm: float
    shape: Shape

    @property
    def box(self) -> Box:
        """The square."""
        return self.x_mm, self.y_mm, self.x_mm + self.size_mm, self.y_mm + self.size_mm


@attrs.frozen(kw_only=True)
class Line:
    """A straight line along x or y; "fold" and "cut" are dashed, "bar" shows where the foot of the tag is."""

    x1_mm: float
    y1_mm: float
    x2_mm: float
    y2_mm: float
    width_mm: float
    style: LineStyle

    @property
    def box(self) -> Box:
        """The line with its thickness, which lies to the right of or below it."""
        if self.x1_mm == self.x2_mm:
            return self.x1_mm, self.y1_mm, self.x1_mm + self.width_mm, self.y2_mm
        return self.x1_mm, self.y1_mm, self.x2_mm, self.y1_mm + self.width_mm


Item = Text | Qr | Mark | Line


@attrs.frozen(kw_only=True)
class Layout:
    """One label laid out: what goes where, and what did not fit.

    `squeeze` is what shrinking leaves of a height printed across a sleeve (1 elsewhere); along it
    `finished_length_mm` stays. `no_qr` says why there is no code, empty where there is one.
    `problems` are findings; a label with one of rule "label-tag" should not be printed.
    """

    stock: Stock
    text: LabelText
    length_mm: float
    height_mm: float
    printable: Box
    items: tuple[Item, ...]
    squeeze: float = 1.0
    finished_length_mm: float
    no_qr: str = ""
    problems: tuple[Finding, ...] = ()

    @property
    def texts(self) -> tuple[Text, ...]:
        """The texts among the items."""
        return tuple(item for item in self.items if isinstance(item, Text))

    @property
    def qr(self) -> Qr | None:
        """The first code, or None."""
        return next((item for item in self.items if isinstance(item, Qr)), None)

    @property
    def tag_height_mm(self) -> float:
        """Height of the tag's capitals in use, after shrinking; 0 where it did not fit."""
        return max((text.height_mm for text in self.texts if text.role == "tag"), default=0.0) * self.squeeze

    @property
    def least_height_mm(self) -> float:
        """Height of the smallest capitals in use, after shrinking; 0 without any text."""
        return min((text.height_mm for text in self.texts), default=0.0) * self.squeeze
