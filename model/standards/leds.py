"""LED kinds: forward voltage by colour, currents by size.

Voltages are the usual range of data sheets at 10 to 20 mA and a working value between;
InGaN colours (green, blue, white, UV) run near 3 V, the older phosphides near 2 V. Currents
are data-sheet figures where `source` says so. A person's own data sheet always wins.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import TypeVar

import attrs

from model.errors import BadValue

T = TypeVar("T")

_SHEETS = "usual range of data sheets"
_PRACTICE = "common practice, no source"


@attrs.frozen(kw_only=True)
class LedColour:
    """Forward voltage at the size's test current in V, and the bend of the diode curve.

    `volts_per_decade` is the rise of the voltage for ten times the current, up to the test
    current; `series_ohm` the part of that rise which is plain resistance. `rgb` is for drawing.
    """

    name: str
    vf_low_v: float
    vf_v: float
    vf_high_v: float
    volts_per_decade: float
    series_ohm: float
    rgb: tuple[int, int, int]
    source: str = _SHEETS


@attrs.frozen(kw_only=True)
class LedSize:
    """Currents of one body, in mA: a good one in a model, that of the test, the greatest allowed.

    `dies` counts the separate junctions in the body; the currents are for each of them.
    """

    name: str
    good_ma: float
    test_ma: float
    max_ma: float
    dies: int = 1
    source: str = _PRACTICE


@attrs.frozen(kw_only=True)
class LedKind:
    """One colour in one size, with all the figures a calculation needs."""

    colour: LedColour
    size: LedSize

    @property
    def name(self) -> str:
        """As a person would order it: "amber 3 mm"."""
        return f"{self.colour.name} {self.size.name}"

    @property
    def source(self) -> str:
        """Where the figures are from, or that they are common practice."""
        return f"volts: {self.colour.source}; currents: {self.size.source}"


# Volts per decade follow two published diode models: a red LED (1.704 V at 1 mA, 2.023 V at 20 mA)
# and a blue one (2.784 and 3.303 V). Series resistance: common practice, no source.
_PHOSPHIDE_V = 0.245
_NITRIDE_V = 0.399


def _colour(
    name: str, low: float, working: float, high: float, ohm: float, rgb: tuple[int, int, int]
) -> LedColour:
    return LedColour(
        name=name,
        vf_low_v=low,
        vf_v=working,
        vf_high_v=high,
        volts_per_decade=_NITRIDE_V if working > 2.5 else _PHOSPHIDE_V,
        series_ohm=ohm,
        rgb=rgb,
    )


LED_COLOURS: Mapping[str, LedColour] = MappingProxyType(
    {
        colour.name: colour
        for colour in (
            _colour("red", 1.8, 2.0, 2.2, 2.0, (230, 30, 30)),
            _colour("orange", 1.9, 2.05, 2.2, 2.0, (250, 120, 20)),
            _colour("amber", 1.9, 2.1, 2.3, 2.0, (255, 165, 0)),
            _colour("yellow", 1.9, 2.1, 2.3, 2.0, (250, 215, 40)),
            _colour("yellow-green", 1.9, 2.1, 2.4, 3.0, (170, 220, 50)),
            _colour("green", 3.0, 3.2, 3.5, 5.0, (30, 200, 80)),
            _colour("blue", 3.0, 3.2, 3.6, 5.0, (50, 90, 255)),
            _colour("white", 2.8, 3.2, 3.6, 5.0, (245, 248, 255)),
            _colour("warm white", 2.8, 3.2, 3.6, 5.0, (255, 225, 170)),
            _colour("UV", 3.3, 3.5, 4.0, 6.0, (130, 60, 220)),
            _colour("infrared", 1.2, 1.3, 1.6, 1.0, (110, 30, 30)),
        )
    }
)
"""Colours by name."""

_DATA_SHEETS = "data sheets"

LED_SIZES: Mapping[str, LedSize] = MappingProxyType(
    {
        size.name: size
        for size in (
            LedSize(name="1.8 mm", good_ma=10, test_ma=20, max_ma=20),
            LedSize(name="3 mm", good_ma=10, test_ma=20, max_ma=25),
            LedSize(name="5 mm", good_ma=10, test_ma=20, max_ma=30, source=_DATA_SHEETS),
            LedSize(name="0402", good_ma=4, test_ma=5, max_ma=20),
            LedSize(name="0603", good_ma=5, test_ma=20, max_ma=20, source=_DATA_SHEETS),
            LedSize(name="0805", good_ma=10, test_ma=20, max_ma=25, source=_DATA_SHEETS),
            LedSize(name="1206", good_ma=10, test_ma=20, max_ma=25),
            LedSize(name="3528", good_ma=10, test_ma=20, max_ma=25),
            LedSize(name="5050", good_ma=10, test_ma=20, max_ma=25, dies=3),
        )
    }
)
"""Sizes by name: round bodies by diameter, chips by their size code."""

WARN_ABOVE_MA = 20.0  # common practice, no source


def led(colour: str, size: str) -> LedKind:
    """The kind of this colour and size. BadValue lists the names known."""
    return LedKind(
        colour=_known("LED colour", colour, LED_COLOURS),
        size=_known("LED size", size, LED_SIZES),
    )


def _known(what: str, name: str, table: Mapping[str, T]) -> T:
    found = table.get(name)
    if found is None:
        raise BadValue(
            f"{what} {name!r}",
            "is not in the table",
            limit=", ".join(table),
            remedy="Take the nearest one and enter the figures of the data sheet.",
        )
    return found
