"""Power ratings of resistors by size, and their derating.

Chip ratings as quoted from data sheets, with body sizes; axial bodies from published drawings.
Full rating to 70 C, then straight down to nothing at 155 C (as quoted).
"""

from __future__ import annotations

import attrs

KINDS = ("axial", "chip")
"""The two bodies of a resistor: on legs, or to solder flat."""

INSIDE_C = 40.0  # inside a closed model; common practice, no source
FULL_TO_C = 70.0
ZERO_AT_C = 155.0
USED_SHARE = 0.5  # at nominal volts; common practice, no source
WORST_SHARE = 0.7  # on a full battery with the lowest resistance; common practice, no source


@attrs.frozen(kw_only=True)
class Rating:
    """One size of resistor. `kind` is "chip" or "axial"; `body` its size as a person measures it."""

    name: str
    kind: str
    power_mw: float
    body: str


RATINGS: tuple[Rating, ...] = (
    Rating(name="0402", kind="chip", power_mw=62.5, body="1.0 x 0.5 mm"),
    Rating(name="0603", kind="chip", power_mw=100, body="1.6 x 0.8 mm"),
    Rating(name="0805", kind="chip", power_mw=125, body="2.0 x 1.25 mm"),
    Rating(name="1206", kind="chip", power_mw=250, body="3.2 x 1.6 mm"),
    Rating(name="2512", kind="chip", power_mw=1000, body="6.4 x 3.2 mm"),
    Rating(name="1/8 W", kind="axial", power_mw=125, body="1.8 x 3.5 mm"),
    Rating(name="1/4 W", kind="axial", power_mw=250, body="2.5 x 6.5 mm"),
    Rating(name="1/2 W", kind="axial", power_mw=500, body="3.2 x 9.0 mm"),
    # One watt and two watt axial parts: bodies from memory.
    Rating(name="1 W", kind="axial", power_mw=1000, body="5 x 12 mm"),
    Rating(name="2 W", kind="axial", power_mw=2000, body="5.5 x 16 mm"),
)
"""Sizes of each kind, smallest first."""


def derating(ambient_c: float) -> float:
    """Share of the rating left at this ambient: 1 up to 70 C, 0 from 155 C, straight between."""
    return min(1.0, max(0.0, (ZERO_AT_C - ambient_c) / (ZERO_AT_C - FULL_TO_C)))


def rating_for(nominal_mw: float, worst_mw: float, *, kind: str, ambient_c: float) -> Rating | None:
    """The smallest size of the kind for both powers, or None.

    The nominal power may take `USED_SHARE` of the derated rating, the worst `WORST_SHARE`.
    """
    left = derating(ambient_c)
    for rating in RATINGS:
        usable_mw = rating.power_mw * left
        if (
            rating.kind == kind
            and usable_mw * USED_SHARE >= nominal_mw
            and usable_mw * WORST_SHARE >= worst_mw
        ):
            return rating
    return None
