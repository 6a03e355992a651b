"""The figures of one lamp's LED: what the person typed, else the tables of its colour and size."""

from __future__ import annotations

import math
import re

import attrs

from model.errors import BadValue
from model.harness import Lamp
from model.standards.leds import led
from model.values import parse_number

LEAST_V, LEAST_MA = 0.01, 1e-6
"""Typed figures below these are taken for these: no LED has them, and nothing divides by zero."""


@attrs.frozen(kw_only=True)
class LedFigures:
    """Forward voltages in V at `test_ma`; currents in mA, of all junctions of the body together.

    `volts_per_decade` and `series_ohm` bend the diode curve (see model.standards.leds); `source`
    says where the untyped figures are from.
    """

    vf_low_v: float
    vf_v: float
    vf_high_v: float
    wanted_ma: float
    test_ma: float
    max_ma: float
    volts_per_decade: float
    series_ohm: float
    source: str

    def least_vf_v(self, current_ma: float) -> float:
        """The lowest forward voltage of any part at this current.

        Below the test current it falls by `volts_per_decade`; above, the low figure stands, which
        is the safe side.
        """
        if current_ma >= self.test_ma:
            return self.vf_low_v
        return self.vf_low_v - self.volts_per_decade * math.log10(self.test_ma / current_ma)


def forward_volts_text(lamp: Lamp) -> str:
    """The typed forward voltages: "", "2.1", or lowest / usual / highest as in "1.9 / - / 2.3"."""
    ends = (lamp.vf_low_v, lamp.vf_v, lamp.vf_high_v)
    if lamp.vf_low_v is None and lamp.vf_high_v is None:
        return "" if lamp.vf_v is None else f"{lamp.vf_v:g}"
    return " / ".join("-" if volts is None else f"{volts:g}" for volts in ends)


def parse_forward_volts(typed: str, subject: str) -> dict[str, float | None]:
    """Forward voltages as typed, by the lamp's fields: none, the usual one, lowest and highest, or all.

    A dash leaves one to the table. BadValue for anything else, and where they do not rise.
    """
    pieces = [piece for piece in re.split(r"[/;\s]+", re.sub(r"(?i)\s*v\b", " ", typed).strip()) if piece]
    found = [parse_number(piece.rstrip(","), subject, "V") for piece in pieces]
    if len(found) > 3:
        raise BadValue(subject, f"{len(found)} figures", limit="one, or lowest / usual / highest")
    if len(found) == 3:
        low, usual, high = found
    elif len(found) == 2:
        low, usual, high = found[0], None, found[1]
    else:
        low, usual, high = None, found[0] if found else None, None
    known = [volts for volts in (low, usual, high) if volts is not None]
    if known != sorted(known):
        raise BadValue(subject, f"{typed.strip()} do not rise", limit="lowest / usual / highest")
    return {"vf_low_v": low, "vf_v": usual, "vf_high_v": high}


def led_figures(lamp: Lamp) -> LedFigures:
    """Figures of the lamp's LED. BadValue for a colour or size that is in no table.

    Where only a typical voltage is typed, the table's spread is laid round it in proportion.
    """
    kind = led(lamp.colour, lamp.size)
    colour, size = kind.colour, kind.size
    vf_v = lamp.vf_v
    if vf_v is None:
        vf_v = colour.vf_v
        if lamp.vf_low_v is not None:
            vf_v = max(vf_v, lamp.vf_low_v)
        if lamp.vf_high_v is not None:
            vf_v = min(vf_v, lamp.vf_high_v)
    vf_v = max(vf_v, LEAST_V)
    scale = vf_v / colour.vf_v
    low = colour.vf_low_v * scale if lamp.vf_low_v is None else lamp.vf_low_v
    high = colour.vf_high_v * scale if lamp.vf_high_v is None else lamp.vf_high_v
    max_ma = size.max_ma * size.dies if lamp.max_ma is None else lamp.max_ma
    max_ma = max(max_ma, LEAST_MA)
    wanted_ma = min(size.good_ma * size.dies, max_ma) if lamp.current_ma is None else lamp.current_ma
    return LedFigures(
        vf_low_v=max(min(low, vf_v), LEAST_V),
        vf_v=vf_v,
        vf_high_v=max(high, vf_v),
        wanted_ma=max(wanted_ma, LEAST_MA),
        test_ma=size.test_ma * size.dies,
        max_ma=max_ma,
        volts_per_decade=colour.volts_per_decade * scale,
        series_ohm=colour.series_ohm * scale / size.dies,
        source=kind.source,
    )
