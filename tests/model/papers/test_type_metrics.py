"""The widths that a figure is laid out with are those of the fonts that the PDF embeds."""

from __future__ import annotations

import fontpkg
import pytest
from fontTools.ttLib import TTFont
from fontTools.varLib.instancer import instantiateVariableFont

from model.papers.type_metrics import (
    BOLD,
    CAP_EM,
    MONO,
    MONO_EM,
    MONO_WEIGHT,
    REGULAR,
    SANS,
    shortened,
    width_mm,
    wrapped,
)


@pytest.mark.parametrize(("family", "weight"), [(SANS, REGULAR), (SANS, BOLD), (MONO, MONO_WEIGHT)])
def test_widths_are_those_of_the_font(family: str, weight: int) -> None:
    path = fontpkg.path(family, 500 if family == MONO else REGULAR)
    font = instantiateVariableFont(TTFont(path), {"wght": weight})
    cmap, metrics, em = font.getBestCmap(), font["hmtx"], font["head"].unitsPerEm
    for code in range(32, 127):
        real = metrics[cmap[code]][0] / em
        ours = width_mm(chr(code), 1.0, bold=weight == BOLD, mono=family == MONO)
        assert ours == pytest.approx(real, abs=0.0006), chr(code)
    assert font["OS/2"].sCapHeight / em == pytest.approx(CAP_EM, abs=0.001)
    assert metrics[cmap[ord("0")]][0] / em == pytest.approx(MONO_EM, abs=0.001) or family != MONO


@pytest.mark.parametrize(
    ("text", "room", "lines"),
    [
        ("one two three", 100, ["one two three"]),
        ("one two three", 11, ["one two", "three"]),
        ("", 10, [""]),
        ("WWWWWWWWWW", 10, ["WWWW", "WWWW", "WW"]),
        ("漢字" * 4, 10, ["漢字漢", "字漢字", "漢字"]),
    ],
)
def test_wrapping_keeps_every_sign(text: str, room: float, lines: list[str]) -> None:
    got = wrapped(text, room, 3.0)
    assert "".join(got).replace(" ", "") == text.replace(" ", "")
    assert got == lines
    assert all(width_mm(line, 3.0) <= room for line in got)


def test_shortening_says_that_it_did() -> None:
    assert shortened("Indicator", 50, 3.0) == "Indicator"
    short = shortened("Indicator front left", 15, 3.0)
    assert short.endswith("...")
    assert width_mm(short, 3.0) <= 15
    assert shortened("Indicator", 1, 3.0) == ""
