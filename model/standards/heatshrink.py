"""Heat-shrink sleeves: sizes, which one fits, and what becomes of the print on it.

The 2:1 ladder is that of a published thin-wall flexible polyolefin specification, the same as
class 1 of SAE AMS-DTL-23053/5 (2011; from memory). The 3:1 sizes are common practice, no
source, and their walls are from memory. An expanded diameter is a least value, a recovered
one a greatest. Shrinking keeps the volume of the wall and, nearly, its length.
"""

from __future__ import annotations

import math

import attrs

from model.errors import BadValue

EASE_OVER = 1.2  # expanded diameter over what it must slide over; buying rule of suppliers
GRIP = 1.1  # what it must grip over the recovered diameter; common practice, no source
LENGTH_LOSS_PCT = 5.0  # lengthwise shrinkage to allow; specifications from memory


@attrs.frozen(kw_only=True)
class Sleeve:
    """One size: inside diameters as delivered and fully recovered, and the recovered wall."""

    name: str
    ratio: int
    expanded_mm: float
    recovered_mm: float
    wall_mm: float

    @property
    def wall_constant_mm2(self) -> float:
        """(d + t) * t, the same at every stage of shrinking: the wall's cross-section over pi."""
        return (self.recovered_mm + self.wall_mm) * self.wall_mm

    @property
    def expanded_wall_mm(self) -> float:
        """Wall as delivered."""
        return wall_on_mm(self, self.expanded_mm)

    @property
    def lay_flat_mm(self) -> float:
        """Width pressed flat, as it lies in a printer: half the inside circumference and two walls."""
        return math.pi * self.expanded_mm / 2 + 2 * self.expanded_wall_mm

    @property
    def printable_mm(self) -> float:
        """Width of one flat face without the walls, pi * D / 2."""
        return math.pi * self.expanded_mm / 2

    @property
    def least_od_mm(self) -> float:
        """The thinnest thing it still grips."""
        return self.recovered_mm * GRIP

    @property
    def greatest_od_mm(self) -> float:
        """The thickest thing it still slides over."""
        return self.expanded_mm / EASE_OVER


def _sleeves(ratio: int, rows: tuple[tuple[str, float, float, float], ...]) -> tuple[Sleeve, ...]:
    return tuple(
        Sleeve(name=name, ratio=ratio, expanded_mm=expanded, recovered_mm=recovered, wall_mm=wall)
        for name, expanded, recovered, wall in rows
    )


TWO_TO_ONE: tuple[Sleeve, ...] = _sleeves(
    2,
    (
        ("1.2 mm", 1.17, 0.58, 0.40),
        ("1.6 mm", 1.60, 0.79, 0.43),
        ("2.4 mm", 2.36, 1.17, 0.50),
        ("3.2 mm", 3.18, 1.58, 0.50),
        ("4.8 mm", 4.75, 2.36, 0.50),
        ("6.4 mm", 6.35, 3.18, 0.64),
        ("9.5 mm", 9.53, 4.75, 0.64),
        ("12.7 mm", 12.70, 6.35, 0.64),
        ("19.1 mm", 19.05, 9.53, 0.76),
        ("25.4 mm", 25.40, 12.70, 0.88),
    ),
)
"""2:1 sizes, smallest first."""

THREE_TO_ONE: tuple[Sleeve, ...] = _sleeves(
    3,
    (
        ("1.5 mm 3:1", 1.5, 0.5, 0.45),
        ("3 mm 3:1", 3.0, 1.0, 0.55),
        ("6 mm 3:1", 6.0, 2.0, 0.65),
        ("9 mm 3:1", 9.0, 3.0, 0.75),
        ("12 mm 3:1", 12.0, 4.0, 0.75),
        ("18 mm 3:1", 18.0, 6.0, 0.85),
        ("24 mm 3:1", 24.0, 8.0, 1.0),
    ),
)
"""3:1 sizes, smallest first."""

SLEEVES: tuple[Sleeve, ...] = TWO_TO_ONE + THREE_TO_ONE


def sleeve_for(od_mm: float, *, over_mm: float | None = None, ratio: int = 2) -> Sleeve | None:
    """The smallest sleeve that grips `od_mm` and slides over `over_mm` (by default the same).

    `over_mm` is the thickest place it has to pass, such as a joint beside a single wire.
    None where no size of this ratio does both: below 0.64 mm a 2:1 sleeve holds nothing.
    BadValue for a ratio there is no table of, or a diameter that is not above zero.
    """
    _positive("diameter under the sleeve", od_mm)
    passes_mm = od_mm if over_mm is None else max(od_mm, over_mm)
    for sleeve in _ladder(ratio):
        if sleeve.greatest_od_mm >= passes_mm and sleeve.least_od_mm <= od_mm:
            return sleeve
    return None


def wall_on_mm(sleeve: Sleeve, od_mm: float) -> float:
    """Wall of the sleeve shrunk onto `od_mm`; thinner things leave it at its recovered wall."""
    _positive("diameter under the sleeve", od_mm)
    inside_mm = max(od_mm, sleeve.recovered_mm)
    return (math.sqrt(inside_mm**2 + 4 * sleeve.wall_constant_mm2) - inside_mm) / 2


def finished_od_mm(sleeve: Sleeve, od_mm: float) -> float:
    """Outside diameter after shrinking onto `od_mm`."""
    return max(od_mm, sleeve.recovered_mm) + 2 * wall_on_mm(sleeve, od_mm)


def squeeze(sleeve: Sleeve, od_mm: float) -> float:
    """What is left of a printed width laid round the sleeve after shrinking onto `od_mm` (0..1).

    Along the sleeve print keeps its size but for `LENGTH_LOSS_PCT`. 3.2 mm on a 2.0 mm wire: 0.76.
    """
    return finished_od_mm(sleeve, od_mm) / (sleeve.expanded_mm + 2 * sleeve.expanded_wall_mm)


def _ladder(ratio: int) -> tuple[Sleeve, ...]:
    ladders = {2: TWO_TO_ONE, 3: THREE_TO_ONE}
    if ratio not in ladders:
        raise BadValue("shrink ratio", f"{ratio}:1", limit="2:1 or 3:1")
    return ladders[ratio]


def _positive(what: str, value_mm: float) -> None:
    if not (math.isfinite(value_mm) and value_mm > 0):
        raise BadValue(what, f"{value_mm:g} mm", limit="above 0 mm")
