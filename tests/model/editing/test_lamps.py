"""The list of lamps."""

from __future__ import annotations

import pytest

from model import editing
from model.editing import Merge
from model.harness import Hand, Harness
from model.integrity import broken_references
from model.routing.allot import settle
from tests.model.editing.cases import accept, minus_joint, small, walked


def test_ids_go_on_and_are_not_given_again_while_a_tag_speaks_of_them():
    harness = editing.remove_lamp(walked(), "L2")
    assert editing.add_lamp(harness, "New").lamps[-1].id == "L3"
    assert editing.remove_lamp(small(), "L2").lamps[-1].id == "L1"


@pytest.mark.parametrize(("letter", "ids"), [("L", ("L3", "L4")), ("J", ("J2", "J3")), ("W", ("W5", "W6"))])
def test_next_ids(letter: str, ids: tuple[str, ...]):
    assert editing.next_ids(walked(), letter, 2) == ids
    assert editing.next_ids(walked(), letter, 0) == ()


def test_a_plug_with_the_name_of_a_joint_takes_no_id():
    harness = settle(editing.set_leg(walked(), "W2", "W3", plug="J99999"))
    assert harness.contacts[0].plug == "J99999"
    assert editing.next_ids(harness, "J", 1) == ("J2",)


def test_joint_ids_are_not_given_again_either():
    harness = editing.drop_run(walked(), "L2")
    assert harness.joints == ()
    harness = accept(harness, "L2", minus=Merge(at="W3", gather=("L1",)))
    assert harness.joints[0].id == "J2"


def test_edit_lamp():
    harness = editing.edit_lamp(small(), "L1", name="Lamp", spur_mm=12, colour="warm white")
    lamp = harness.lamp("L1")
    assert (lamp.name, lamp.spur_mm, lamp.colour, lamp.output) == ("Lamp", 12, "warm white", 1)


def test_on_another_output_a_lamp_leaves_its_joint():
    harness = editing.edit_lamp(walked(), "L2", output=2)
    assert minus_joint(harness, "L2") is None
    assert harness.joints == (), "a joint of one wire is let go"
    assert minus_joint(harness, "L1") is None


def test_at_another_place_a_lamp_keeps_its_joint_and_looks_for_a_way():
    harness = editing.edit_lamp(walked(), "L2", at="W4")
    assert harness.lamp("L2").run.way == ()
    assert minus_joint(harness, "L2") == "J1"
    assert settle(harness).lamp("L2").run.way == ("W4", "W3", "W1")


def test_copy_lamp():
    harness = editing.copy_lamp(walked(), "L1")
    assert [lamp.name for lamp in harness.lamps] == ["Headlamp left", "Headlamp left 2", "Fog lamp"]
    copy = harness.lamps[1]
    assert (copy.id, copy.run, copy.output, copy.hand) == ("L3", None, 1, Hand.LEFT)
    assert editing.copy_lamp(harness, "L3").lamps[2].name == "Headlamp left 3"
    assert editing.copy_lamp(harness, "L1", name="Other", output=2).lamps[1].output == 2


def test_a_copied_name_stays_short_enough():
    harness = editing.edit_lamp(small(), "L1", name="x" * 60)
    assert len(editing.copy_lamp(harness, "L1").lamps[1].name) <= 60


@pytest.mark.parametrize(
    ("words", "other"),
    [
        ("Headlamp left", "Headlamp right"),
        ("RIGHT side", "LEFT side"),
        ("Port bow", "Starboard bow"),
        ("nearside, Offside", "offside, Nearside"),
        ("leftover", "leftover"),
        ("lamp 3", "lamp 3"),
        ("", ""),
    ],
)
def test_mirrored(words: str, other: str):
    assert editing.mirrored(words) == other
    assert editing.mirrored(other) == words


def test_mirror_lamp_finds_the_other_waypoint():
    harness = editing.mirror_lamp(small(), "L1")
    mirror = harness.lamps[1]
    assert (mirror.name, mirror.hand, mirror.at, mirror.output) == ("Headlamp right", Hand.RIGHT, "W4", 1)


def test_mirror_lamp_by_its_side_alone_and_an_indicator_without_an_output():
    harness = editing.edit_lamp(small(), "L2", hand=Hand.RIGHT, function="indicator")
    mirror = editing.mirror_lamp(harness, "L2").lamps[2]
    assert (mirror.name, mirror.hand, mirror.output) == ("Fog lamp 2", Hand.LEFT, None)
    assert mirror.at == "W4", "its waypoint has a side of its own"


def test_mirror_lamp_without_another_waypoint_stays():
    harness = editing.edit_lamp(small(), "L1", at="W3", place="left corner")
    mirror = editing.mirror_lamp(harness, "L1").lamps[1]
    assert (mirror.at, mirror.place) == ("W3", "right corner")


def lop_sided() -> Harness:
    """W2 bumper left with a horn beyond it, and over a hinge to W3 cab floor; no bumper right."""
    harness = editing.remove_waypoint(small(), "W4")
    harness = editing.set_leg(
        harness, "W2", "W3", length_mm=120, loop_mm=30, hole_mm=4, plug="P1", plug_mm=40
    )
    harness = editing.add_waypoint(harness, "horn")
    return editing.set_leg(harness, harness.waypoints[-1].id, "W2", length_mm=20)


def test_a_waypoint_that_has_no_other_side_is_named():
    harness = lop_sided()
    assert editing.missing_mirror(harness, "L1") == "bumper right"
    assert editing.missing_mirror(small(), "L1") == "", "it is there"
    assert editing.missing_mirror(editing.edit_lamp(harness, "L1", at="W3"), "L1") == "", "it has no side"
    assert editing.missing_mirror(editing.edit_lamp(harness, "L1", at=None), "L1") == ""
    assert editing.mirror_lamp(harness, "L1").lamps[1].at == "W2"


def test_the_other_side_is_made_with_its_leg_towards_the_controller():
    harness = editing.mirror_lamp(lop_sided(), "L1", make_waypoint=True)
    mirror = harness.lamps[1]
    assert harness.waypoint(mirror.at).name == "bumper right"
    (leg,) = [leg for leg in harness.legs if mirror.at in leg.ends]
    assert leg.ends == {mirror.at, "W3"}, "the horn stays on the left"
    assert (leg.length_mm, leg.loop_mm, leg.hole_mm, leg.plug) == (120, 30, 4, "")
    assert broken_references(settle(harness)) == ()
    # There already: nothing is made a second time.
    again = editing.mirror_lamp(editing.remove_lamp(harness, mirror.id), "L1", make_waypoint=True)
    assert again.waypoints == harness.waypoints


def test_the_other_side_is_made_behind_the_neighbour_of_that_side():
    harness = lop_sided()
    harness = editing.edit_waypoint(harness, "W2", name="sill left")
    harness = editing.add_waypoint(harness, "sill right")
    harness = editing.set_leg(harness, harness.waypoints[-1].id, "W3", length_mm=99)
    harness = editing.add_waypoint(harness, "step left")
    step = harness.waypoints[-1].id
    harness = editing.set_leg(harness, step, "W2", length_mm=35)
    harness = editing.mirror_lamp(editing.edit_lamp(harness, "L1", at=step), "L1", make_waypoint=True)
    right = next(point.id for point in harness.waypoints if point.name == "sill right")
    (leg,) = [leg for leg in harness.legs if harness.lamps[1].at in leg.ends]
    assert (leg.ends, leg.length_mm) == ({harness.lamps[1].at, right}, 35)


def test_mirror_lamp_cuts_a_name_that_gets_too_long():
    long = "Port " + "very " * 11
    harness = editing.add_lamp(small(), long.strip(), place=long.strip())
    mirror = editing.mirror_lamp(harness, harness.lamps[-1].id).lamps[-1]
    assert (len(long.strip()), len(mirror.name)) == (59, 60)
    assert mirror.name == mirror.place
    assert mirror.name.startswith("Starboard very ")
    assert mirror.name.endswith("very\u2026")


def test_remove_lamp():
    harness = editing.skip_lamp(walked(), "L2")
    harness = editing.remove_lamp(harness, "L2")
    assert [lamp.id for lamp in harness.lamps] == ["L1"]
    assert harness.joints == ()
    assert harness.progress.skipped == ()
    assert {contact.origin for contact in harness.contacts} == {"L1+", "L1-"}
    assert broken_references(settle(harness)) == ()


@pytest.mark.parametrize(
    ("step", "order"),
    [(1, "L2 L1 L3"), (2, "L2 L3 L1"), (99, "L2 L3 L1"), (0, "L1 L2 L3"), (-1, "L1 L2 L3")],
)
def test_move_lamp(step: int, order: str):
    harness = editing.add_lamp(small(), "Third")
    assert [lamp.id for lamp in editing.move_lamp(harness, "L1", step).lamps] == order.split()


def test_move_lamp_up():
    harness = editing.add_lamp(small(), "Third")
    assert [lamp.id for lamp in editing.move_lamp(harness, "L3", -1).lamps] == ["L1", "L3", "L2"]
    assert [lamp.id for lamp in editing.move_lamp(harness, "L3", -9).lamps] == ["L3", "L1", "L2"]
