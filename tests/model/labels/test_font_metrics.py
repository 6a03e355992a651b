"""The metrics as data against the font itself."""

from __future__ import annotations

import pytest
from fontpkg.pil import truetype

from model.labels import font_metrics
from model.tags import ALPHABET

SIZE = 1000


@pytest.fixture(scope="module")
def font() -> object:
    return truetype(font_metrics.FAMILY, SIZE, weight=font_metrics.WEIGHT)


def test_every_glyph_is_there_as_wide_as_all_and_within_its_extents(font) -> None:  # type: ignore[no-untyped-def]
    cap = SIZE * font_metrics.CAP_EM
    box_of_lacking = font.getbbox("\uffff", anchor="ls")
    for sign, (top, depth) in font_metrics.EXTENTS.items():
        assert font.getlength(sign) == pytest.approx(font_metrics.ADVANCE_EM * SIZE, abs=0.5), sign
        if sign == " ":
            continue
        box = font.getbbox(sign, anchor="ls")
        assert box != box_of_lacking, sign
        assert -box[1] <= top * cap + 0.03 * cap, sign
        assert box[3] <= depth * cap + 0.03 * cap, sign


def test_zero_is_slashed(font) -> None:  # type: ignore[no-untyped-def]
    """The zero has ink in its middle, the letter O has none."""
    from PIL import Image, ImageDraw

    middles = {}
    for sign in "0O":
        image = Image.new("L", (600, 1000), 0)
        ImageDraw.Draw(image).text((0, 800), sign, font=font, fill=255, anchor="ls")
        middle = image.crop((260, 800 - 400, 340, 800 - 310))
        middles[sign] = sum(middle.histogram()[128:])
    assert middles["0"] > 1000
    assert middles["O"] == 0


def test_no_two_characters_of_a_tag_look_the_same(font) -> None:  # type: ignore[no-untyped-def]
    pictures = {bytes(font.getmask(sign, mode="1")) for sign in ALPHABET}
    assert len(pictures) == len(ALPHABET)


@pytest.mark.parametrize(
    ("text", "drawn", "lacking"),
    [
        ("330 \N{OHM SIGN}", "330 Ω", ()),
        ("e\N{COMBINING ACUTE ACCENT}clair", "éclair", ()),
        ("  two   blanks\t", "two blanks", ("\t",)),
        ("a \N{RIGHTWARDS ARROW} b", "a > b", ()),
        ("lampe \N{CJK UNIFIED IDEOGRAPH-65E5}", "lampe", ("\N{CJK UNIFIED IDEOGRAPH-65E5}",)),
        ("\N{RIGHT-TO-LEFT OVERRIDE}ab", "ab", ("\N{RIGHT-TO-LEFT OVERRIDE}",)),
        ("\x1b[31mred", "[31mred", ("\x1b",)),
        ("\N{HEBREW LETTER ALEF}", "", ("\N{HEBREW LETTER ALEF}",)),
        ("d\N{LATIN SMALL LETTER D WITH CARON}", "dd", ("\N{LATIN SMALL LETTER D WITH CARON}",)),
        ("\N{FULLWIDTH LATIN CAPITAL LETTER A}", "", ("\N{FULLWIDTH LATIN CAPITAL LETTER A}",)),
    ],
)
def test_drawable(text: str, drawn: str, lacking: tuple[str, ...]) -> None:
    assert font_metrics.drawable(text) == (drawn, lacking)
