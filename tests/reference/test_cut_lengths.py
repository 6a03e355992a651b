"""Cut lengths worked by hand: a person with a ruler and a pencil must get the same sum.

The model of all examples, lengths in mm (a double line is a moving joint that takes 30 mm more):

    lamp --spur-- front bumper --120-- cab floor ==80== hinge --210-- controller

Settings are the defaults unless said: slack 10 % of the legs, at least 20; service loop 60; 15 spare at the
lamp, 3 strip a bare end, 8 overlap in a joint, rounded up to 5. They are common practice, no source.
"""

from __future__ import annotations

import pytest

from model import editing
from model.editing import Merge, RunChoice
from model.harness import Build, Harness, Polarity, Switched
from model.routing.allot import settle
from model.routing.wires import PartKind, Wire, derive

CONTROLLER, BUMPER, CAB_FLOOR, HINGE = "W1", "W2", "W3", "W4"
WAY = (BUMPER, CAB_FLOOR, HINGE, CONTROLLER)


def model() -> Harness:
    harness = editing.new_harness("Example", "EXM")
    for name in ("front bumper", "cab floor", "hinge"):
        harness = editing.add_waypoint(harness, name)
    harness = editing.set_leg(harness, BUMPER, CAB_FLOOR, length_mm=120)
    harness = editing.set_leg(harness, CAB_FLOOR, HINGE, length_mm=80, loop_mm=30)
    return editing.set_leg(harness, HINGE, CONTROLLER, length_mm=210)


def with_lamp(harness: Harness, merge_at: str | None = None, **fields: object) -> Harness:
    """A lamp on output 1 walked along the only way, its wires merged at `merge_at` with those before it."""
    fields = {"at": BUMPER, "output": 1, **fields}
    name = f"lamp {len(harness.lamps) + 1}"
    others = tuple(lamp.id for lamp in harness.lamps)
    harness = editing.add_lamp(harness, name, **fields)
    at = harness.lamps[-1].at
    way = WAY[WAY.index(at) :] if at else ()
    merge = Merge(at=merge_at, gather=others) if merge_at else None
    return settle(
        editing.accept_run(harness, harness.lamps[-1].id, RunChoice(way=way, plus=merge, minus=merge))
    )


def sums(wire: Wire) -> dict[PartKind, float]:
    """What is paid for what."""
    return {kind: pytest.approx(wire.part_mm(kind)) for kind in PartKind if wire.part_mm(kind)}


LEG, SLACK, MOVING, LOOP, LAMP, STRIP, JOINT, LEAD, ROUND = PartKind


def test_lamp_to_a_joint_at_the_next_waypoint():
    # 120 legs; 10 % is 12, so the least slack of 20; 15 lamp; 3 strip at the lamp; 8 joint: 166, up by 4.
    plan = derive(with_lamp(with_lamp(model()), CAB_FLOOR))
    for key in ("L1+", "L1-", "L2+", "L2-"):
        assert sums(plan.by_key[key]) == {LEG: 120, SLACK: 20, LAMP: 15, STRIP: 3, JOINT: 8, ROUND: 4}
        assert plan.by_key[key].cut_mm == 170
    # The sum as it stands on screen: 120 legs + 20 slack + 15 lamp + 3 strip + 8 joint + 4 = 170.
    assert [part.mm for part in plan.by_key["L1-"].parts] == [120, 20, 15, 3, 8, 4]


def test_trunk_from_that_joint_over_the_moving_joint_to_the_controller():
    # 80 + 210 = 290 legs; slack 29; 30 moving joint + 60 service loop; 8 in the joint; 3 strip at the pin:
    # 420, no rounding.
    plan = derive(with_lamp(with_lamp(model()), CAB_FLOOR))
    for key in ("J1+", "J2-"):
        assert sums(plan.by_key[key]) == {LEG: 290, SLACK: 29, MOVING: 30, LOOP: 60, JOINT: 8, STRIP: 3}
        assert plan.by_key[key].cut_mm == 420


def test_what_the_merge_saves():
    # Apart: legs 410, slack 41, loops 90, lamp 15, strips 6: 562, up to 565; four wires: 2260.
    # Merged: four of 170 and two trunks of 420: 1520.
    apart = derive(with_lamp(with_lamp(model())))
    merged = derive(with_lamp(with_lamp(model()), CAB_FLOOR))
    assert sums(apart.by_key["L1+"]) == {
        LEG: 410,
        SLACK: 41,
        MOVING: 30,
        LOOP: 60,
        LAMP: 15,
        STRIP: 6,
        ROUND: 3,
    }
    assert [wire.cut_mm for wire in apart.wires] == [565] * 4
    assert (apart.spool_mm, merged.spool_mm) == (2260, 1520)


def test_a_spur_counts_as_run_and_gets_slack():
    # 25 spur + 410 legs = 435; slack 43.5; loops 90; lamp 15; strips 6: 589.5, up by 0.5.
    plan = derive(with_lamp(model(), spur_mm=25))
    assert sums(plan.by_key["L1-"]) == {
        LEG: 435,
        SLACK: 43.5,
        MOVING: 30,
        LOOP: 60,
        LAMP: 15,
        STRIP: 6,
        ROUND: 0.5,
    }
    assert plan.by_key["L1-"].cut_mm == 590


def test_a_lamp_at_the_controller_itself():
    # No legs; slack 20; service loop 60; lamp 15; strips 6: 101, up by 4.
    plan = derive(with_lamp(model(), at=CONTROLLER))
    assert sums(plan.by_key["L1+"]) == {SLACK: 20, LOOP: 60, LAMP: 15, STRIP: 6, ROUND: 4}
    assert plan.by_key["L1+"].cut_mm == 105


def test_a_run_measured_with_a_string():
    # 456.7 run; slack 45.67; service loop 60; lamp 15; strips 6: 583.37, up by 1.63.
    plan = derive(with_lamp(model(), at=None, measured_mm=456.7))
    assert sums(plan.by_key["L1-"]) == {LEG: 456.7, SLACK: 45.67, LOOP: 60, LAMP: 15, STRIP: 6, ROUND: 1.63}
    assert plan.by_key["L1-"].cut_mm == pytest.approx(585)


def test_a_plug_makes_two_wires_each_with_its_own_slack():
    # Plug 50 from the bumper on the leg of 120.
    # Lamp side: 50 legs, slack 20, lamp 15, strips 6: 91, up by 4.
    # Controller side: 70 + 80 + 210 = 360 legs, slack 36, loops 90, strips 6: 492, up by 3.
    harness = editing.set_leg(model(), BUMPER, CAB_FLOOR, length_mm=120, plug="P1", plug_mm=50)
    plan = derive(with_lamp(harness))
    assert sums(plan.by_key["L1-"]) == {LEG: 50, SLACK: 20, LAMP: 15, STRIP: 6, ROUND: 4}
    assert sums(plan.by_key["L1-.2"]) == {LEG: 360, SLACK: 36, MOVING: 30, LOOP: 60, STRIP: 6, ROUND: 3}
    assert (plan.by_key["L1-"].cut_mm, plan.by_key["L1-.2"].cut_mm) == (95, 495)


def test_the_plug_lies_where_it_lies_whichever_way_the_leg_was_entered():
    # The same leg entered from the cab floor: 70 from there is 50 from the bumper.
    harness = editing.set_leg(
        editing.remove_leg(model(), BUMPER, CAB_FLOOR), CAB_FLOOR, BUMPER, length_mm=120
    )
    harness = editing.set_leg(harness, CAB_FLOOR, BUMPER, plug="P1", plug_mm=70)
    plan = derive(with_lamp(harness))
    assert (plan.by_key["L1-"].cut_mm, plan.by_key["L1-.2"].cut_mm) == (95, 495)


def test_a_plug_on_the_moving_joint_leaves_the_loop_on_the_controller_side():
    # Plug 20 past the cab floor on the leg of 80.
    # Lamp side: 120 + 20 = 140, slack 20, lamp 15, strips 6: 181, up by 4.
    # Controller side: 60 + 210 = 270, slack 27, loops 30 + 60, strips 6: 393, up by 2.
    harness = editing.set_leg(model(), CAB_FLOOR, HINGE, plug="P1", plug_mm=20)
    plan = derive(with_lamp(harness))
    assert sums(plan.by_key["L1+"]) == {LEG: 140, SLACK: 20, LAMP: 15, STRIP: 6, ROUND: 4}
    assert sums(plan.by_key["L1+.2"]) == {LEG: 270, SLACK: 27, MOVING: 30, LOOP: 60, STRIP: 6, ROUND: 2}


def test_a_trunk_between_two_joints():
    # First lamp and second meet at the cab floor, their trunk and the third at the hinge.
    # Between: 80 legs, slack 20, moving joint 30, overlaps 16: 146, up by 4.
    harness = with_lamp(with_lamp(model()), CAB_FLOOR)
    harness = editing.add_lamp(harness, "lamp 3", at=HINGE, output=1)
    plus, minus = Merge(at=HINGE, gather=("J1",)), Merge(at=HINGE, gather=("J2",))
    choice = RunChoice(way=(HINGE, CONTROLLER), plus=plus, minus=minus)
    plan = derive(settle(editing.accept_run(harness, "L3", choice)))
    assert sums(plan.by_key["J1+"]) == {LEG: 80, SLACK: 20, MOVING: 30, JOINT: 16, ROUND: 4}
    # From the hinge on: 210 legs, slack 21, service loop 60, overlap 8, strip 3: 302, up by 3.
    assert sums(plan.by_key["J3+"]) == {LEG: 210, SLACK: 21, LOOP: 60, JOINT: 8, STRIP: 3, ROUND: 3}
    # The third lamp, at the hinge itself: no legs, slack 20, lamp 15, strip 3, overlap 8: 46, up by 4.
    assert sums(plan.by_key["L3+"]) == {SLACK: 20, LAMP: 15, STRIP: 3, JOINT: 8, ROUND: 4}


READY_WIRED = {"build": Build.WIRED, "rated_v": 12.0}


@pytest.mark.parametrize("lead_mm", [148, 150, 900])
def test_a_ready_wired_lamp_whose_lead_reaches(lead_mm: float):
    # To the cab floor: 120 legs, slack 20, overlap 8: 148. Nothing to strip or spare at the lamp.
    harness = with_lamp(with_lamp(model(), **READY_WIRED, lead_mm=lead_mm), CAB_FLOOR)
    wire = derive(harness).by_key["L1-"]
    assert wire.own_lead
    assert sums(wire) == {LEG: 120, SLACK: 20, JOINT: 8, ROUND: 2}
    assert (wire.cut_mm, wire.spool_mm) == (150, 0)


def test_a_ready_wired_lamp_whose_lead_is_too_short():
    # 148 as above, 8 to overlap on the lead, less its 100: 56, up by 4.
    harness = with_lamp(with_lamp(model(), **READY_WIRED, lead_mm=100), CAB_FLOOR)
    wire = derive(harness).by_key["L1-"]
    assert not wire.own_lead
    assert sums(wire) == {LEG: 120, SLACK: 20, JOINT: 16, LEAD: -100, ROUND: 4}
    assert wire.cut_mm == wire.spool_mm == 60


def test_a_ready_wired_lamp_with_a_short_lead_all_the_way():
    # 410 legs, slack 41, loops 90, strip 3 at the pin: 544; 8 overlap less 300: 252, up by 3.
    wire = derive(with_lamp(model(), **READY_WIRED, lead_mm=300)).by_key["L1+"]
    assert sums(wire) == {LEG: 410, SLACK: 41, MOVING: 30, LOOP: 60, STRIP: 3, JOINT: 8, LEAD: -300, ROUND: 3}
    assert wire.cut_mm == 255


def test_behind_a_plug_the_lead_counts_for_the_first_piece_only():
    # Lamp side to the plug: 50 legs, slack 20, strip 3 at the contact: 73, less than the lead of 80.
    harness = editing.set_leg(model(), BUMPER, CAB_FLOOR, length_mm=120, plug="P1", plug_mm=50)
    plan = derive(with_lamp(harness, **READY_WIRED, lead_mm=80))
    assert plan.by_key["L1-"].own_lead
    assert not plan.by_key["L1-.2"].own_lead
    assert plan.by_key["L1-.2"].cut_mm == 495


def test_a_ready_wired_lamp_with_no_lead_is_cut_like_a_bare_one():
    assert (
        derive(with_lamp(model(), **READY_WIRED)).by_key["L1-"].parts
        == derive(with_lamp(model())).by_key["L1-"].parts
    )


@pytest.mark.parametrize(
    ("settings", "cut_mm"),
    [
        # 410 legs + 41 slack + 30 moving joint + 60 loop + 15 lamp + 6 strips = 562 with the defaults.
        ({"round_mm": 1}, 562),
        ({"round_mm": 10}, 570),
        ({"slack_pct": 0}, 545),  # least slack 20 instead of 41: 541
        ({"slack_pct": 0, "slack_min_mm": 0}, 525),  # 521
        ({"slack_pct": 12.5}, 575),  # 51.25 instead of 41: 572.25
        ({"slack_min_mm": 100}, 625),  # 100 instead of 41: 621
        ({"service_loop_mm": 0}, 505),  # 502
        ({"lamp_spare_mm": 40}, 590),  # 587
        ({"strip_mm": 5}, 570),  # 10 instead of 6: 566
        ({"joint_overlap_mm": 20}, 565),  # no joint in it
    ],
)
def test_settings(settings: dict[str, float], cut_mm: float):
    harness = editing.set_settings(model(), **settings)
    assert derive(with_lamp(harness)).by_key["L1-"].cut_mm == cut_mm


def test_a_sum_that_ends_a_hair_over_a_multiple_is_not_rounded_up():
    # In binary 0.1 + 0.2 is a hair over 0.3; rounding up to 0.1 must still give 0.3.
    harness = editing.set_settings(
        editing.new_harness("Example", "EXM"),
        slack_pct=0,
        slack_min_mm=0,
        service_loop_mm=0,
        lamp_spare_mm=0,
        strip_mm=0,
        round_mm=0.1,
    )
    harness = editing.add_waypoint(harness, "front bumper")
    harness = editing.set_leg(harness, CONTROLLER, BUMPER, length_mm=0.1)
    harness = editing.add_lamp(harness, "lamp", at=BUMPER, spur_mm=0.2, output=1)
    harness = settle(editing.accept_run(harness, "L1", RunChoice(way=(BUMPER, CONTROLLER))))
    assert derive(harness).by_key["L1-"].cut_mm == pytest.approx(0.3, abs=1e-9)


def test_the_other_side_switched_is_as_long():
    harness = editing.set_switched(model(), Switched.POSITIVE)
    plan = derive(with_lamp(harness))
    assert [wire.cut_mm for wire in plan.wires] == [565, 565]
    assert [wire.polarity for wire in plan.wires] == [Polarity.MINUS, Polarity.PLUS]
