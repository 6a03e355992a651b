"""Colour bands and letter codes, there and back."""

from __future__ import annotations

import pytest

from model.errors import BadValue
from model.standards import preferred, resistor_code
from model.standards.colours import COLOURS

TABLE = [
    (10_000, "brown black orange gold", "brown black black red brown"),
    (6_200, "blue red red gold", "blue red black brown brown"),
    (220, "red red brown gold", "red red black black brown"),
    (1_000, "brown black red gold", "brown black black brown brown"),
    (4_700, "yellow violet red gold", "yellow violet black brown brown"),
    (330, "orange orange brown gold", "orange orange black black brown"),
    (0.47, "yellow violet silver gold", "yellow violet black pink brown"),
]


@pytest.mark.parametrize(("ohm", "four", "five"), TABLE)
def test_bands(ohm: float, four: str, five: str) -> None:
    assert resistor_code.words(resistor_code.bands(ohm, 5.0)) == four
    assert resistor_code.words(resistor_code.bands(ohm, 1.0)) == five


def test_codes_are_those_of_wire_colours() -> None:
    assert resistor_code.codes(resistor_code.bands(330)) == "OG OG BN GD"
    assert {band.code for band in resistor_code.BANDS.values()} <= set(COLOURS)
    assert all(COLOURS[band.code].name == name for name, band in resistor_code.BANDS.items())


def test_no_tolerance_band_at_twenty_per_cent() -> None:
    assert resistor_code.bands(330, 20.0) == ("orange", "orange", "brown")
    assert resistor_code.parse_bands(("orange", "orange", "brown")) == (330.0, 20.0)


@pytest.mark.parametrize("series", ["E24", "E96"])
@pytest.mark.parametrize("decade", [0, 1, 2, 3, 4])
def test_every_preferred_value_comes_back(series: str, decade: int) -> None:
    tolerance_pct = preferred.TOLERANCE_PCT[series]
    for value in preferred.SERIES[series]:
        ohm = float(f"{value}e{decade}")
        names = resistor_code.bands(ohm, tolerance_pct)
        assert resistor_code.parse_bands(names) == (ohm, tolerance_pct)
        assert resistor_code.parse_bands(resistor_code.codes(names).split()) == (ohm, tolerance_pct)
        assert resistor_code.parse_letter_code(resistor_code.letter_code(ohm)) == ohm


@pytest.mark.parametrize(
    ("ohm", "code"),
    [
        (0.47, "R47"),
        (4.7, "4R7"),
        (47, "47R"),
        (470, "470R"),
        (4_700, "4K7"),
        (47_000, "47K"),
        (470_000, "470K"),
        (4_700_000, "4M7"),
        (0.005, "5L"),
        (1_000, "1K"),
        (1.05, "1R05"),
    ],
)
def test_letter_code(ohm: float, code: str) -> None:
    assert resistor_code.letter_code(ohm) == code
    assert resistor_code.parse_letter_code(code) == pytest.approx(ohm, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "ohm"),
    [
        ("330", 330),
        (" 4.7k ", 4700),
        ("4,7 kOhm", 4700),
        ("330 ohms", 330),
        ("4k7", 4700),
        ("1.5 M", 1.5e6),
        ("330Ω", 330),
    ],
)
def test_plain_writing_is_read_too(text: str, ohm: float) -> None:
    assert resistor_code.parse_letter_code(text) == ohm


@pytest.mark.parametrize(
    "text", ["", "R", "K", "0", "0R", "-5", "4K7K", "1e3", "nan", "inf", "٣٣٠", "4 7", "1.2.3", "9" * 400]
)
def test_what_is_no_value(text: str) -> None:
    with pytest.raises(BadValue):
        resistor_code.parse_letter_code(text)


@pytest.mark.parametrize(
    ("names", "complaint"),
    [
        (("gold", "red", "red", "gold"), "no digit"),
        (("red", "red", "red", "black"), "no tolerance"),
        (("red", "red"), "3, 4 or 5"),
        (("red", "beige", "red", "gold"), "no colour"),
    ],
)
def test_impossible_bands(names: tuple[str, ...], complaint: str) -> None:
    with pytest.raises(BadValue, match=complaint):
        resistor_code.parse_bands(names)


@pytest.mark.parametrize(
    ("ohm", "tolerance_pct"),
    [(332, 5.0), (3325, 1.0), (330, 3.0), (0, 5.0), (float("nan"), 5.0), (1e15, 5.0)],
)
def test_values_without_a_code(ohm: float, tolerance_pct: float) -> None:
    with pytest.raises(BadValue):
        resistor_code.bands(ohm, tolerance_pct)


@pytest.mark.parametrize(
    ("ohm", "printed"),
    [(470, "471"), (4700, "472"), (10, "100"), (1e6, "105"), (4.7, "4R7"), (0.47, "R47"), (511, "5110"),
     (51.1, "51R1"), (10_200, "1022")],
)  # fmt: skip
def test_print_on_a_chip(ohm: float, printed: str) -> None:
    assert resistor_code.chip_code(ohm) == printed


def test_no_print_for_more_digits() -> None:
    with pytest.raises(BadValue):
        resistor_code.chip_code(332.6)
