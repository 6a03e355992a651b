"""A label as plain text."""

from __future__ import annotations

import attrs

from model.labels.content import wire_labels
from model.labels.items import Mark
from model.labels.layout import lay_out
from model.labels.preview import text_preview
from model.labels.stock import load_stocks
from tests.model.labels.label_cases import label
from tests.model.tracing.loom import gritter

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


def test_an_end_is_called_what_it_goes_to() -> None:
    labels = {one.name: one for one in wire_labels(gritter())}
    ends = {"K7L-L": "lamp", "K7L-C": "joint", "9C9-L": "joint", "9C9-C": "controller"}
    ends |= {"82A-C": "plug", "N6H-L": "plug"}
    for name, end in ends.items():
        layout = lay_out(STOCKS["plate-50x25"], labels[name])
        assert {item.shape for item in layout.items if isinstance(item, Mark)} == {end}, name
        said = text_preview(layout, 30)[2].strip("│ ")
        assert said == ("lamp end" if end == "lamp" else end), name


def test_small_box_keeps_tag_and_polarity() -> None:
    rows = text_preview(lay_out(STOCKS["plate-50x25"], label(polarity="-")), 14)
    assert {len(row) for row in rows} == {14}
    assert rows[1] == "│ K7L  -     │"
    assert rows[-2].endswith("… │")


def test_label_without_room_says_so() -> None:
    crowded = label(tag="K7LM9A2C4E6F", lines=(("x" * 90,),))
    rows = text_preview(lay_out(attrs.evolve(STOCKS["sleeve-1.6"], margin_y_mm=0.6), crowded))
    assert "no room" in rows[1]
