"""IEC 60757 codes, single and joined."""

from __future__ import annotations

import pytest

from model.errors import BadValue
from model.standards import colours
from model.standards.colours import colour


def test_first_ten_are_in_the_order_of_resistor_digits() -> None:
    assert [one.name for one in colours.COLOURS.values()][:10] == [
        "black", "brown", "red", "orange", "yellow", "green", "blue", "violet", "grey", "white",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("code", "name"),
    [("RD", "red"), ("RDBU", "red and blue"), ("GNYE", "green and yellow"), ("BKWH", "black and white")],
)
def test_known_codes(code: str, name: str) -> None:
    assert colour(code).name == name


@pytest.mark.parametrize(
    ("code", "remedy"),
    [
        ("rd", "Write RD."),
        ("Red", "Write RD."),
        ("gray", "Write GY."),
        ("BURD", "Write RDBU."),
        ("YEGN", "Write GNYE."),
        ("RDRD", "Write RD."),
        ("RDYE", "Take another pair."),
        ("XX", "Take one of the codes listed."),
        ("", "Take one of the codes listed."),
        ("RDBUX", "Take one of the codes listed."),
    ],
)
def test_wrong_codes_say_what_to_write(code: str, remedy: str) -> None:
    with pytest.raises(BadValue) as caught:
        colour(code)
    assert caught.value.remedy == remedy


def test_output_colours_leave_polarity_alone() -> None:
    assert not {colours.DEFAULT_POSITIVE, colours.DEFAULT_NEGATIVE} & set(colours.OUTPUT_COLOURS)
    assert set(colours.OUTPUT_COLOURS) <= set(colours.COLOURS)
    assert len(set(colours.OUTPUT_COLOURS)) == len(colours.OUTPUT_COLOURS)
