"""Marking of resistors: colour bands and letter codes of IEC 60062 (2016, as summarised).

Parts of 5 % and wider carry two digits, a multiplier and the tolerance; of 2 % and tighter
three digits. Letter codes put R, K, M or G where the decimal point stands (from memory).
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from decimal import Decimal
from types import MappingProxyType

import attrs

from model.errors import BadValue


@attrs.frozen(kw_only=True)
class Band:
    """What one band colour stands for; None where it can't stand. `code` is its IEC 60757 code."""

    name: str
    code: str
    digit: int | None = None
    exponent: int | None = None
    tolerance_pct: float | None = None


BANDS: Mapping[str, Band] = MappingProxyType(
    {
        band.name: band
        for band in (
            Band(name="black", code="BK", digit=0, exponent=0),
            Band(name="brown", code="BN", digit=1, exponent=1, tolerance_pct=1.0),
            Band(name="red", code="RD", digit=2, exponent=2, tolerance_pct=2.0),
            Band(name="orange", code="OG", digit=3, exponent=3, tolerance_pct=0.05),
            Band(name="yellow", code="YE", digit=4, exponent=4, tolerance_pct=0.02),
            Band(name="green", code="GN", digit=5, exponent=5, tolerance_pct=0.5),
            Band(name="blue", code="BU", digit=6, exponent=6, tolerance_pct=0.25),
            # Summaries disagree on the tolerances of violet and grey; these are from memory.
            Band(name="violet", code="VT", digit=7, exponent=7, tolerance_pct=0.1),
            Band(name="grey", code="GY", digit=8, exponent=8, tolerance_pct=0.01),
            Band(name="white", code="WH", digit=9, exponent=9),
            Band(name="gold", code="GD", exponent=-1, tolerance_pct=5.0),
            Band(name="silver", code="SR", exponent=-2, tolerance_pct=10.0),
            Band(name="pink", code="PK", exponent=-3),
        )
    }
)
"""Bands by colour name."""

_BY_CODE = {band.code: band for band in BANDS.values()}
_BY_DIGIT = {band.digit: band.name for band in BANDS.values() if band.digit is not None}
_BY_EXPONENT = {band.exponent: band.name for band in BANDS.values() if band.exponent is not None}
_BY_TOLERANCE = {band.tolerance_pct: band.name for band in BANDS.values() if band.tolerance_pct is not None}

NO_BAND_TOLERANCE_PCT = 20.0

_LETTERS = {"L": -3, "R": 0, "K": 3, "M": 6, "G": 9}


def bands_for(tolerance_pct: float) -> int:
    """How many bands a part of this tolerance carries: 4 from 5 % up, 5 below (IEC 60062)."""
    return 4 if tolerance_pct >= 5 else 5


def bands(ohm: float, tolerance_pct: float = 5.0, count: int | None = None) -> tuple[str, ...]:
    """Colour names, first digit first; the tolerance band is left out at 20 %.

    `count` is 4 or 5, by default that of the tolerance. BadValue where the value has more
    digits than the bands show or the tolerance has no colour.
    """
    if count is None:
        count = bands_for(tolerance_pct)
    if count not in (4, 5):
        raise BadValue("bands of a resistor", str(count), limit="4 or 5")
    significant = count - 2
    digits, exponent = _scientific(ohm, significant)
    if exponent not in _BY_EXPONENT:
        raise BadValue("resistor", f"{ohm:g} ohm has no multiplier band", limit="1 milliohm to 999 G")
    names = [*(_BY_DIGIT[int(digit)] for digit in digits), _BY_EXPONENT[exponent]]
    if tolerance_pct == NO_BAND_TOLERANCE_PCT:
        return tuple(names)
    if tolerance_pct not in _BY_TOLERANCE:
        raise BadValue(
            "resistor tolerance",
            f"{tolerance_pct:g} %",
            limit=", ".join(f"{pct:g}" for pct in sorted(_BY_TOLERANCE)) + " or 20 %",
        )
    return (*names, _BY_TOLERANCE[tolerance_pct])


def words(names: Sequence[str]) -> str:
    """Bands as a person reads them aloud: "orange orange brown gold"."""
    return " ".join(names)


def codes(names: Sequence[str]) -> str:
    """Bands as IEC 60757 codes: "OG OG BN GD". BadValue for a colour that is no band."""
    return " ".join(_band(name).code for name in names)


def parse_bands(names: Sequence[str]) -> tuple[float, float]:
    """Ohm and tolerance in per cent of 3, 4 or 5 bands, each given by name or IEC 60757 code.

    Three bands mean 20 %. BadValue names the band that can't stand where it does.
    """
    if len(names) not in (3, 4, 5):
        raise BadValue("bands of a resistor", str(len(names)), limit="3, 4 or 5")
    found = [_band(name) for name in names]
    significant = 3 if len(found) == 5 else 2
    number = 0
    for place, band in enumerate(found[:significant], start=1):
        if band.digit is None:
            raise BadValue(f"band {place}", f"{band.name} is no digit", remedy="Read it from the other end.")
        number = 10 * number + band.digit
    multiplier = found[significant]
    if multiplier.exponent is None:
        raise BadValue(f"band {significant + 1}", f"{multiplier.name} is no multiplier")
    tolerance_pct = NO_BAND_TOLERANCE_PCT
    if len(found) > significant + 1:
        last = found[-1]
        if last.tolerance_pct is None:
            raise BadValue(
                f"band {len(found)}",
                f"{last.name} is no tolerance",
                remedy="Read it from the other end.",
            )
        tolerance_pct = last.tolerance_pct
    return float(Decimal(number).scaleb(multiplier.exponent)), tolerance_pct


def letter_code(ohm: float) -> str:
    """The letter code with up to three digits: 330R, 4K7, R47, 1M. BadValue if it needs more digits."""
    digits, exponent = _scientific(ohm, 3)
    if not 1e-3 <= ohm < 1e12:
        raise BadValue("resistor", f"{ohm:g} ohm has no letter code", limit="1 milliohm to 999 G")
    value = Decimal(int(digits)).scaleb(exponent)
    letter, power = next(
        (
            (letter, power)
            for letter, power in (("G", 9), ("M", 6), ("K", 3), ("R", 0))
            if value >= Decimal(1).scaleb(power)
        ),
        ("R", 0) if value >= Decimal("0.01") else ("L", -3),
    )
    whole, _, fraction = f"{value.scaleb(-power):f}".partition(".")
    return f"{'' if whole == '0' else whole}{letter}{fraction.rstrip('0')}"


def chip_code(ohm: float) -> str:
    """What is printed on a chip: 471 for 470 ohm, 5110 for 511, 4R7 for 4.7 (IEC 60062, from memory).

    Chips of size 0402 and smaller carry nothing. BadValue if it needs more than three digits.
    """
    for significant in (2, 3):
        try:
            digits, exponent = _scientific(ohm, significant)
        except BadValue:
            continue
        return f"{digits}{exponent}" if 0 <= exponent <= 9 else letter_code(ohm)
    return letter_code(ohm)


_LETTER = re.compile(r"(?P<whole>\d*)(?P<letter>[LRKMG])(?P<fraction>\d*)")
_PLAIN = re.compile(r"(?P<number>\d+(?:\.\d+)?|\.\d+)\s*(?P<letter>[RKMG]?)")


def parse_letter_code(text: str) -> float:
    """Ohm of a letter code (4K7, R47, 330R) or of plain writing (330, 4.7k, 4,7 kOhm).

    A lower-case m is milliohm nowhere here: M and m both mean a million. BadValue shows the text.
    """
    tidy = text.strip().upper().replace("\u2126", "").replace("\u03a9", "").replace(",", ".")
    tidy = re.sub(r"\s*OHMS?$", "", tidy).strip()
    if not tidy.isascii():
        tidy = ""  # digits of other scripts are digits to `re`, but not on a resistor
    if (match := _LETTER.fullmatch(tidy)) and (match["whole"] or match["fraction"]):
        number, letter = f"{match['whole'] or 0}.{match['fraction'] or 0}", match["letter"]
    elif match := _PLAIN.fullmatch(tidy):
        number, letter = match["number"], match["letter"] or "R"
    else:
        raise BadValue(
            f"resistance {text!r}",
            "is not a value",
            limit="such as 330, 330R, 4K7 or 4.7k",
            remedy="Write the ohms as digits.",
        )
    ohm = float(Decimal(number).scaleb(_LETTERS[letter]))
    if not (math.isfinite(ohm) and ohm > 0):
        raise BadValue(f"resistance {text!r}", "is not above zero", limit="above 0 ohm")
    return ohm


def _band(name: str) -> Band:
    key = name.strip()
    band = BANDS.get(key.lower().replace("gray", "grey")) or _BY_CODE.get(key.upper())
    if band is None:
        raise BadValue(f"band {name!r}", "is no colour of the resistor code", limit=", ".join(BANDS))
    return band


def _scientific(ohm: float, significant: int) -> tuple[str, int]:
    """`significant` digits and the power of ten after the last of them; BadValue if that loses something."""
    if not (math.isfinite(ohm) and ohm > 0):
        raise BadValue("resistor", f"{ohm:g} ohm", limit="above 0 ohm")
    mantissa, _, power = f"{ohm:.{significant - 1}e}".partition("e")
    digits = mantissa.replace(".", "")
    exponent = int(power) - significant + 1
    if not math.isclose(float(f"{digits}e{exponent}"), ohm, rel_tol=1e-9):
        raise BadValue(
            "resistor",
            f"{ohm:g} ohm",
            limit=f"{significant} digits",
            remedy="Take a value of a preferred series.",
        )
    return digits, exponent
