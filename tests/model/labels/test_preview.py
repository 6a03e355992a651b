"""A label as plain text."""

from __future__ import annotations

import attrs

from model.labels.layout import lay_out
from model.labels.preview import text_preview
from model.labels.stock import load_stocks
from tests.model.labels.label_cases import label

STOCKS = load_stocks()


def test_box_with_tag_signs_end_and_lines() -> None:
    assert text_preview(lay_out(STOCKS["plate-50x25"], label()), 24) == [
        "┌──────────────────────┐",
        "│ K7L  + plus red      │",
        "│ lamp end             │",
        "│ to output 5, pin 5   │",
        "│ Indicator front left │",
        "└──────────────────────┘",
    ]


def test_small_box_keeps_tag_and_polarity() -> None:
    rows = text_preview(lay_out(STOCKS["plate-50x25"], label(polarity="-")), 14)
    assert {len(row) for row in rows} == {14}
    assert rows[1] == "│ K7L  -     │"
    assert rows[-2].endswith("… │")


def test_label_without_room_says_so() -> None:
    crowded = label(tag="K7LM9A2C4E6F", lines=(("x" * 90,),))
    rows = text_preview(lay_out(attrs.evolve(STOCKS["sleeve-1.6"], margin_y_mm=0.6), crowded))
    assert "no room" in rows[1]
