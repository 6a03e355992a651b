"""Preferred values of resistors: the E series of IEC 60063 (2015).

E3 to E24 are not rounded powers (27, 33, 47 and others differ), so they stand here as a table;
E48 and E96 are 10^(k/N) to three digits. The pairing with tolerances is from memory.
"""

from __future__ import annotations

import bisect
import math
from collections.abc import Iterable, Mapping
from types import MappingProxyType

from model.errors import BadValue

_E24 = (10, 11, 12, 13, 15, 16, 18, 20, 22, 24, 27, 30, 33, 36, 39, 43, 47, 51, 56, 62, 68, 75, 82, 91)

SERIES: Mapping[str, tuple[int, ...]] = MappingProxyType(
    {
        "E3": _E24[::8],
        "E6": _E24[::4],
        "E12": _E24[::2],
        "E24": _E24,
        "E48": tuple(round(100 * 10 ** (step / 48)) for step in range(48)),
        "E96": tuple(round(100 * 10 ** (step / 96)) for step in range(96)),
    }
)
"""The values of one decade: 10 to 99, or 100 to 999 for E48 and E96."""

TOLERANCE_PCT: Mapping[str, float] = MappingProxyType(
    {"E3": 40.0, "E6": 20.0, "E12": 10.0, "E24": 5.0, "E48": 2.0, "E96": 1.0}
)
"""The tolerance each series was made for (IEC 60063, from memory)."""

DEFAULT_SERIES = "E12"

# (12 - 1.8) / 0.005 is 2039.9999999999998 in doubles, and an exact 200 may come out a hair above:
# within this share a value counts as reached.
_GUARD = 1e-9


def values(series: str) -> tuple[int, ...]:
    """One decade of the series. BadValue lists the series known."""
    found = SERIES.get(series)
    if found is None:
        raise BadValue(
            f"resistor series {series!r}",
            "is not one of IEC 60063",
            limit=", ".join(SERIES),
            remedy=f"Take {DEFAULT_SERIES}.",
        )
    return found


def round_up(ohm: float, series: str = DEFAULT_SERIES) -> float:
    """The least value of the series that is not below `ohm`.

    A value short of `ohm` by less than one part in 1e9 counts as not below it. BadValue for
    anything but a positive finite number.
    """
    decade = values(series)
    if not (math.isfinite(ohm) and ohm > 0):
        raise BadValue("resistance", f"{ohm:g} ohm", limit="above 0", remedy="Check volts and current.")
    digits = len(str(decade[0]))
    wanted = ohm * (1 - _GUARD)
    exponent = math.floor(math.log10(wanted)) - digits + 1
    for shift in (exponent - 1, exponent, exponent + 1):  # log10 may be off by one at a power of ten
        for value in decade:
            candidate = float(f"{value}e{shift}")
            if candidate >= wanted:
                return candidate
    raise AssertionError("unreachable: three decades hold every value")  # pragma: no cover


def next_above(ohm: float, series: str = DEFAULT_SERIES) -> float:
    """The least value of the series that is truly above `ohm`."""
    return round_up(ohm * (1 + 1e-6), series)


def round_up_among(ohm: float, drawer_ohm: Iterable[float]) -> float | None:
    """The least value not below `ohm` among those at hand, or None where all are smaller."""
    at_hand = sorted(drawer_ohm)
    index = bisect.bisect_left(at_hand, ohm * (1 - _GUARD))
    return at_hand[index] if index < len(at_hand) else None


def is_preferred(ohm: float, series: str) -> bool:
    """Whether the series holds this value."""
    return math.isfinite(ohm) and ohm > 0 and math.isclose(round_up(ohm, series), ohm, rel_tol=1e-9)
