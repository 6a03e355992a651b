"""What resistors a project needs."""

from __future__ import annotations

from hypothesis import given, settings

from model import editing
from model.electrics.lamps import all_lamps
from model.electrics.parts import resistors_needed
from model.electrics.resistor import ResistorChoice
from model.harness import Build, Delivers, Harness
from tests.strategies import harnesses

EMPTY = editing.new_harness("Test", "TST")


def test_one_line_a_value_and_size() -> None:
    harness = EMPTY
    for name, figures in (
        ("one", {"colour": "amber"}),
        ("two", {"colour": "white"}),
        ("three", {"colour": "amber"}),
        ("hot", {"colour": "red"}),
        ("front", {"build": Build.WIRED, "rated_v": 6.0, "resistor_ohm": 150.0}),
        ("none", {"build": Build.WIRED, "rated_v": 9.0}),
        ("dark", {"vf_v": 7.0}),
    ):
        harness = editing.add_lamp(harness, name, output=1, **figures)  # type: ignore[arg-type]
    # front: (6 - 3.2) / 20 mA = 140 inside, 5.5 V / 290 = 19 mA when full, 54 mW; red 560R takes 89 mW,
    # which is just over seven tenths of an eighth of a watt.
    needs = resistors_needed(harness)
    assert [(need.letter_code, need.part and need.part.name, need.lamps) for need in needs] == [
        ("150R", "1/8 W", ("front",)),
        ("470R", "1/8 W", ("two",)),
        ("560R", "1/8 W", ("one", "three")),
        ("560R", "1/4 W", ("hot",)),
    ]


def test_none_where_the_output_limits_the_current() -> None:
    harness = editing.edit_output(EMPTY, 1, delivers=Delivers.CURRENT, delivers_ma=15.0)
    assert resistors_needed(editing.add_lamp(harness, "bare", output=1)) == ()


def test_chips_where_chips_are_wanted() -> None:
    harness = editing.set_settings(editing.add_lamp(EMPTY, "one", colour="amber"), resistor_body="chip")
    (need,) = resistors_needed(harness)
    assert need.part is not None
    assert (need.part.name, need.marks, need.codes, need.tolerance_pct) == ("0805", "marked 561", "", 5)


@given(harnesses(lamps=(0, 20), points=(1, 4)))
@settings(deadline=None, max_examples=25)
def test_every_chosen_resistor_is_counted(harness: Harness) -> None:
    figures = all_lamps(harness)
    chosen = {lamp.name for lamp in harness.lamps if isinstance(figures[lamp.id].choice, ResistorChoice)}
    front = {lamp.name for lamp in harness.lamps if lamp.build is Build.WIRED and lamp.resistor_ohm}
    needs = resistors_needed(harness)
    assert {name for need in needs for name in need.lamps} == chosen | front
    assert all(need.pieces > 0 and need.ohm > 0 for need in needs)
