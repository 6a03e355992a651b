"""Texts that are shortened to the columns there are."""

import pytest
from rich.cells import cell_len

from harness_tui.widgets.lines import clip, path_lines

LEFT, RIGHT = "Buffer beam left", "Buffer beam right"


@pytest.mark.parametrize("width", range(12, 16))
def test_left_and_right_are_told_apart_when_they_are_shortened(width: int) -> None:
    assert clip(LEFT, width) != clip(RIGHT, width)
    assert clip(RIGHT, width).endswith("\u2026 right")


@pytest.mark.parametrize(
    "text", [LEFT, "x" * 60, "a sentence of more than a few words is cut at its end", "日本語ランプ left"]
)
@pytest.mark.parametrize("width", range(1, 40))
def test_never_wider_than_the_room(text: str, width: int) -> None:
    assert cell_len(clip(text, width)) <= width
    if cell_len(text) <= width:
        assert clip(text, width) == text
    else:
        assert "\u2026" in clip(text, width)


@pytest.mark.parametrize("width", [10, 24, 78])
def test_a_path_is_folded_and_never_cut(width: int) -> None:
    text = "Written: /home/ada/models/lorries/2026/LTH labels/LTH-sleeve-1.5-mm-2026-03-03.pdf"
    lines = path_lines(text, width)
    assert "".join(lines) == text
    assert all(cell_len(line) <= width for line in lines)
    if width == 78:
        assert lines[-1] == "LTH-sleeve-1.5-mm-2026-03-03.pdf"
