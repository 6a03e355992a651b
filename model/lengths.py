"""How lengths of wire and of legs are written and read: in mm, or in inches where the person wants that.

Lengths themselves are always in mm, in the project, in CSV and in all reckoning. Diameters and sizes of LEDs,
sleeves and labels keep the mm by which they are sold. The choice holds for the whole program, as a locale
does; `write_in` sets it.
"""

from __future__ import annotations

import math
import re
from typing import Literal

from model import memo
from model.errors import BadValue
from model.values import shown

Unit = Literal["mm", "inch"]
UNITS: tuple[Unit, ...] = ("mm", "inch")

MM_PER_INCH = 25.4
"""Exact, by the international yard and pound agreement of 1959."""

FEET_FROM = 10
"""Sums of more feet than these are in feet."""

_FACTORS = {"mm": 1.0, "cm": 10.0, "m": 1000.0, "inches": MM_PER_INCH, "inch": MM_PER_INCH,
            "in": MM_PER_INCH, '"': MM_PER_INCH, "\u2033": MM_PER_INCH}  # fmt: skip
_TYPED = re.compile(r"(?P<number>.*?)\s*(?P<unit>mm|cm|m|inch(?:es)?|in|\"|\u2033)?", re.IGNORECASE)
_FRACTION = re.compile(r"(?:(\d+)[ -]+)?(\d+)/(\d+)")

_chosen: Unit = "mm"


def write_in(unit: Unit) -> None:
    """Write and read lengths in this unit from now on."""
    global _chosen
    if unit != _chosen:
        _chosen = unit
        memo.forget()  # sentences that were remembered hold the old unit


def unit() -> str:
    """The sign of the unit: "mm" or "in"."""
    return "mm" if _chosen == "mm" else "in"


def figure(mm: float) -> str:
    """A length without its unit: "170", or in inches with at most two decimals "6.69" or "0.25"."""
    return f"{mm:g}" if _chosen == "mm" else _plain(f"{mm / MM_PER_INCH:.2f}")


def text(mm: float) -> str:
    """A length with its unit: "170 mm" or "6.69 in"."""
    return f"{figure(mm)} {unit()}"


def long(mm: float) -> str:
    """A length that may be many pieces together: as `text`, but in feet beyond `FEET_FROM`: "29.3 ft"."""
    feet = mm / MM_PER_INCH / 12
    return text(mm) if _chosen == "mm" or feet <= FEET_FROM else f"{feet:.1f} ft"


def total(mm: float) -> str:
    """The wire of a whole loom: "8.93 m" or "29.3 ft"."""
    return f"{mm / 1000:.2f} m" if _chosen == "mm" else long(round(mm))


def total_change(before_mm: float, after_mm: float) -> str:
    """The wire of a whole loom before and after: "8.17 to 13.00 m"; both units where they differ."""
    before, after = total(before_mm), total(after_mm)
    number, _, sign = before.partition(" ")
    return f"{number if after.endswith(f' {sign}') else before} to {after}"


def typed(mm: float | None) -> str:
    """A length as it stands in a field: what `read` reads back as the same 0.1 mm. "" for none."""
    if mm is None:
        return ""
    if _chosen == "mm":
        return f"{mm:g}"
    for decimals in range(2, 6):
        said = f"{mm / MM_PER_INCH:.{decimals}f}"
        if round(float(said) * MM_PER_INCH, 1) == round(mm, 1):
            break
    return _plain(said)


def _plain(inches: str) -> str:
    return inches.rstrip("0").rstrip(".")


def read(typed: str, subject: str, bare: Unit | None = None) -> float | None:
    """A length in mm as a person types it: "240", "240 mm", "24 cm", "9.45 in", '9 1/2"'; None for nothing.

    Without a unit it is in `bare`, or with None in the one that `write_in` says. Inches are taken to the
    nearest 0.1 mm. Raises BadValue.
    """
    plain = typed.strip()
    if plain in ("", "-", "\u2013"):
        return None
    match = _TYPED.fullmatch(plain)
    assert match is not None
    sign = match["unit"]
    usual = bare or _chosen
    in_mm = sign is None and usual == "mm"
    factor = 1.0 if in_mm else _FACTORS[sign.lower()] if sign else MM_PER_INCH
    number = match["number"].strip()
    fraction = _FRACTION.fullmatch(number)
    try:
        if fraction is not None:
            whole, above, below = (int(part or 0) for part in fraction.groups())
            value = whole + above / below
        else:
            value = float(
                number.replace(",", ".") if number.count(",") == 1 and "." not in number else number
            )
    except (ValueError, ZeroDivisionError, OverflowError):
        value = math.nan
    if not math.isfinite(value) or "_" in number:
        limit = "a number in mm" if usual == "mm" else 'a number in inches, such as 9.5 or 9 1/2, or "240 mm"'
        raise BadValue(subject, f"{shown(typed)} is not a number", limit=limit)
    return value if factor == 1.0 else round(value * factor, 1)
