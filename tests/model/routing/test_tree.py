"""The tree of waypoints: what hangs on what, second legs, and the edits made in it."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from model import editing
from model.editing import add_waypoint, new_harness, set_leg
from model.errors import BadValue, Conflict
from model.harness import Harness
from model.routing.graph import route_graph
from model.routing.tree import (
    free_plug_name,
    hang_waypoint,
    place_plug,
    plug_from_mm,
    set_length,
    waypoint_tree,
)
from model.routing.wires import derive
from tests.strategies import harnesses


def lorry() -> Harness:
    """Controller W1, cab floor W2 with bumper W3 and roof W4 behind it, chassis W5; roof and chassis meet."""
    harness = new_harness("Gritter", "GRT")
    for parent, name, length_mm in (
        ("W1", "cab floor", 210),
        ("W2", "bumper", 120),
        ("W2", "roof", 90),
        ("W1", "chassis", 400),
    ):
        harness = hang_waypoint(harness, parent, name, length_mm)
    return set_leg(harness, "W4", "W5", length_mm=250)


def drawn(harness: Harness) -> list[str]:
    return [
        f"{'|' if branch.second else ''}{'.' * len(branch.rails)}{branch.key}:{branch.distance_mm:g}"
        if branch.connected
        else f"?{'.' * len(branch.rails)}{branch.key}"
        for branch in waypoint_tree(harness)
    ]


def test_depth_first_from_the_controller_and_second_legs_under_the_farther_end() -> None:
    assert drawn(lorry()) == ["W1:0", ".W2:210", "..W3:330", "..W4:300", ".W5:400", "|..W5-W4:400"]


def test_rails_say_whether_more_follows_on_their_level() -> None:
    rails = {branch.key: branch.rails for branch in waypoint_tree(lorry())}
    assert rails == {
        "W1": (),
        "W2": (True,),
        "W3": (True, True),
        "W4": (True, False),
        "W5": (False,),
        "W5-W4": (False, False),
    }


def test_a_shorter_way_changes_what_hangs_on_what() -> None:
    harness = set_leg(lorry(), "W1", "W5", length_mm=700)
    assert drawn(harness) == ["W1:0", ".W2:210", "..W3:330", "..W4:300", "...W5:550", "|....W5-W1:550"]


def test_loops_of_moving_joints_count_in_the_distance() -> None:
    harness = set_leg(lorry(), "W1", "W2", loop_mm=30)
    assert [branch.distance_mm for branch in waypoint_tree(harness)[:3]] == [0, 240, 360]


def test_what_is_not_connected_stands_apart_in_its_own_groups() -> None:
    harness = lorry()
    for name in ("trailer", "trailer rear", "shed"):
        harness = add_waypoint(harness, name)
    harness = set_leg(harness, "W7", "W6", length_mm=80)
    assert drawn(harness)[-3:] == ["?W6", "?.W7", "?W8"]


@settings(max_examples=60, deadline=None)
@given(harnesses())
def test_every_waypoint_once_every_leg_once(harness: Harness) -> None:
    branches = waypoint_tree(harness)
    assert sorted(one.point.id for one in branches if not one.second) == sorted(
        one.id for one in harness.waypoints
    )
    legs = [one.leg for one in branches if one.leg is not None]
    assert sorted(map(id, legs)) == sorted(map(id, harness.legs))
    far = route_graph(harness).distance_mm
    assert all(one.distance_mm == far.get(one.point.id) for one in branches)
    assert sum(len(one.lamps) for one in branches) == sum(lamp.at is not None for lamp in harness.lamps)
    assert sum(len(one.joints) for one in branches) == len(harness.joints)


@settings(max_examples=60, deadline=None)
@given(harnesses())
def test_wires_are_counted_on_each_leg_with_those_that_pass_its_plug(harness: Harness) -> None:
    wires = derive(harness).wires
    for branch in waypoint_tree(harness):
        leg = branch.leg
        if leg is None:
            continue
        if leg.plug:
            crossing = [one for one in harness.contacts if one.plug == leg.plug]
            assert branch.wires == len(crossing)
        else:
            pairs = [list(zip(wire.path, wire.path[1:], strict=False)) for wire in wires]
            assert branch.wires == sum(any({*pair} == leg.ends for pair in one) for one in pairs)


def test_a_waypoint_of_a_known_name_is_led_there_not_doubled() -> None:
    harness = add_waypoint(lorry(), "tail board")
    led = hang_waypoint(harness, "W5", "Tail Board", 60)
    assert len(led.waypoints) == len(harness.waypoints)
    assert led.find_leg("W5", "W6") is not None
    for name in ("roof", "CHASSIS"):
        with pytest.raises(Conflict, match="exists already"):
            hang_waypoint(led, "W2", name, 10)


def test_one_leg_is_never_changed_by_hanging_again() -> None:
    harness = add_waypoint(add_waypoint(new_harness("Shed", "SHD"), "gable"), "ridge")
    harness = set_leg(harness, "W2", "W3", length_mm=50)  # both still apart from the controller
    with pytest.raises(Conflict):
        hang_waypoint(harness, "W2", "ridge", 10)


class TestPlug:
    def test_is_measured_from_either_end(self) -> None:
        harness = set_leg(lorry(), "W1", "W2", plug="P1", plug_mm=40)
        leg = harness.find_leg("W1", "W2")
        assert leg is not None
        assert (plug_from_mm(leg, "W1"), plug_from_mm(leg, "W2")) == (40, 170)

    @pytest.mark.parametrize(("end", "along_mm"), [("W1", 30), ("W2", 180)])
    def test_is_placed_from_either_end(self, end: str, along_mm: float) -> None:
        harness = lorry()
        leg = harness.find_leg("W1", "W2")
        assert leg is not None
        new = place_plug(harness, leg, end, 30, "P1").find_leg("W1", "W2")
        assert new is not None
        assert (new.plug, new.plug_mm) == ("P1", along_mm)

    @pytest.mark.parametrize("from_mm", [-1, 210.5, float("inf"), float("nan")])
    def test_stays_on_its_leg(self, from_mm: float) -> None:
        harness = lorry()
        leg = harness.find_leg("W1", "W2")
        assert leg is not None
        with pytest.raises(BadValue, match="0 to 210 mm"):
            place_plug(harness, leg, "W1", from_mm, "P1")

    def test_wants_a_name(self) -> None:
        harness = lorry()
        leg = harness.find_leg("W1", "W2")
        assert leg is not None
        with pytest.raises(BadValue, match="Name the plug"):
            place_plug(harness, leg, "W1", 10)

    def test_stays_as_far_from_the_near_end_when_the_leg_is_measured_again(self) -> None:
        harness = set_leg(lorry(), "W1", "W2", plug="P1", plug_mm=40)
        leg = harness.find_leg("W1", "W2")
        assert leg is not None
        from_a = set_length(harness, leg, "W1", 300).find_leg("W1", "W2")
        from_b = set_length(harness, leg, "W2", 300).find_leg("W1", "W2")
        assert from_a is not None
        assert from_b is not None
        assert (from_a.plug_mm, from_b.plug_mm) == (40, 130)
        with pytest.raises(BadValue, match="170 mm along"):
            set_length(harness, leg, "W2", 100)

    def test_names_are_given_on(self) -> None:
        harness = set_leg(lorry(), "W1", "W2", plug="P1")
        assert free_plug_name(harness) == "P2"
        assert free_plug_name(editing.set_leg(harness, "W1", "W5", plug="P2")) == "P3"
