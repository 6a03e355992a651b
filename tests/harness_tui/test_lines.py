"""Texts that are shortened to the columns there are."""

import pytest
from rich.cells import cell_len

from harness_tui.widgets.lines import clip

LEFT, RIGHT = "Buffer beam left", "Buffer beam right"


@pytest.mark.parametrize("width", range(12, 16))
def test_left_and_right_are_told_apart_when_they_are_shortened(width: int) -> None:
    assert clip(LEFT, width) != clip(RIGHT, width)
    assert clip(RIGHT, width).endswith("\u2026 right")


@pytest.mark.parametrize("text", [LEFT, "x" * 60, "a sentence of more than a few words is cut at its end", "日本語ランプ left"])
@pytest.mark.parametrize("width", range(1, 40))
def test_never_wider_than_the_room(text: str, width: int) -> None:
    assert cell_len(clip(text, width)) <= width
    if cell_len(text) <= width:
        assert clip(text, width) == text
    else:
        assert "\u2026" in clip(text, width)
