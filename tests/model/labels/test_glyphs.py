"""Every sign is drawn whole, at every height a label may choose: a 7 that lost its upper row reads as a
slash.
"""

from __future__ import annotations

import pytest

from model.labels import drawing
from model.tags import ALPHABET

STRAIGHT = "AEFHKLMNPRTXYZ7"


@pytest.mark.parametrize("cap", range(5, 81))
def test_capitals_are_exactly_as_high_as_asked_for(cap: int) -> None:
    for sign in STRAIGHT:
        glyph, above = drawing._glyph(sign, cap)
        box = glyph.getbbox()
        assert box is not None
        assert (box[1], box[3]) == (above, above + cap), sign


@pytest.mark.parametrize("cap", range(6, 81))
def test_the_bar_of_a_seven_and_a_t_is_there(cap: int) -> None:
    for sign in "7TE":
        glyph, above = drawing._glyph(sign, cap)
        left, _, right, _ = glyph.getbbox()
        row = [bool(glyph.getpixel((column, above))) for column in range(glyph.width)]
        assert sum(row) >= 0.8 * (right - left), f"{sign} at {cap}"


@pytest.mark.parametrize("cap", range(6, 81))
def test_no_two_signs_of_a_tag_are_drawn_alike(cap: int) -> None:
    pictures = {drawing._glyph(sign, cap)[0].tobytes(): sign for sign in ALPHABET}
    assert len(pictures) == len(ALPHABET)
