"""All rules together: order, severity, figures, and where each finding leads."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from model import editing
from model.checks import check, lamps, problems, routes
from model.findings import Severity
from model.harness import Build, Hand, Harness
from model.labels.content import said, wire_labels
from model.routing.allot import settle
from model.routing.wires import derive
from tests.model.checks.lorry import both, cut, extra_lamp, found, lamp, lorry, retired, setting, steps
from tests.strategies import DAY, harnesses


def test_a_sound_harness_has_no_problem():
    assert problems(check(lorry())) == ()


def test_the_worst_comes_first_and_the_order_of_the_lists_is_kept():
    harness = both(lamp("L2", output=None), lamp("L1", output=None), extra_lamp())(lorry())
    harness = editing.edit_output(harness, 2, limit_ma=1)
    order = [(finding.severity, finding.rule, finding.subject) for finding in check(harness)]
    assert order[0] == (Severity.DANGER, "output limit", "output 2")
    assert order[1:5] == [
        (Severity.WARNING, "no output", "Headlamp left"),
        (Severity.WARNING, "no output", "Headlamp right"),
        (Severity.WARNING, "no output", "Extra"),
        (Severity.WARNING, "no route", "Extra"),
    ]
    assert [severity for severity, _, _ in order] == sorted((one for one, _, _ in order), reverse=True)


def test_figures_stand_in_the_findings():
    harness = cut(-12)(lorry())
    (finding,) = found(harness, "wire without slack")
    # 20 mm spur, no leg (joint at the bumper), 20 slack, 15 spare, 3 strip, 8 overlap: 66 mm before rounding.
    assert (finding.found, finding.limit) == (
        "was cut to 54 mm (Headlamp left plus to joint J1 at bumper)",
        "66 mm needed now with slack, 46 mm without: still reaches without slack",
    )
    (finding,) = found(cut(-21)(lorry()), "wire too short")
    assert finding.limit == "66 mm needed now with slack, 46 mm without: too short"
    (finding,) = found(cut(40)(lorry()), "wire too long")
    assert (finding.severity, finding.limit) == (Severity.NOTE, "70 mm planned now, 36 mm less")
    (finding,) = found(setting(joint_max_wires=3)(lorry()), "joint too full")[:1]
    assert finding.found == "4 wires meet at bumper"
    assert finding.limit.startswith("3 wires")


@pytest.mark.parametrize(
    ("changes", "rule"),
    [
        ({"output": {"limit_ma": 5}}, "output limit"),
        ({"common": {"limit_ma": 5}}, "common limit"),
        ({"lamp": {"resistor_ohm": 10.0}}, "over-current"),
        ({"lamp": {"build": Build.WIRED, "rated_v": 24.0}}, "under-current"),
    ],
)
def test_electrics_are_checked_with_the_rest(changes: dict[str, dict[str, object]], rule: str):
    harness = lorry()
    assert not found(harness, rule)
    if "output" in changes:
        harness = editing.edit_output(harness, 1, **changes["output"])
    if "common" in changes:
        harness = editing.edit_common(harness, "A", "7", **changes["common"])
    if "lamp" in changes:
        harness = settle(editing.edit_lamp(harness, "L1", **changes["lamp"]))
    assert found(harness, rule)


@pytest.mark.parametrize(
    ("name", "place", "hand", "side"),
    [
        ("Indicator front left", "", Hand.NONE, Hand.LEFT),
        ("STARBOARD lamp", "", Hand.NONE, Hand.RIGHT),
        ("Lamp", "rear port corner", Hand.NONE, Hand.LEFT),
        ("Indicator R", "", Hand.NONE, Hand.RIGHT),
        ("Lamp left", "", Hand.RIGHT, Hand.RIGHT),
        ("Left to right bar", "", Hand.NONE, Hand.NONE),
        ("Leftover", "airport", Hand.NONE, Hand.NONE),
    ],
)
def test_side_of_a_lamp(name: str, place: str, hand: Hand, side: Hand):
    harness = editing.add_lamp(editing.new_harness("x", "XX"), name, place=place, hand=hand)
    assert lamps.side(harness.lamps[0]) is side


@pytest.mark.parametrize(
    ("name", "function", "apart"),
    [
        ("Lamp", "indicator", True),
        ("Turn signal left", "other", True),
        ("Indicator of the kettle", "headlamp", False),
        ("Flasher", "of my own", True),
        ("Headlamp", "headlamp", False),
    ],
)
def test_what_must_work_alone(name: str, function: str, apart: bool):
    harness = editing.add_lamp(editing.new_harness("x", "XX"), name, function=function)
    assert lamps.sides_apart(harness.lamps[0]) is apart


def test_the_odd_one_out_is_named():
    harness = lorry()
    for name in ("Indicator side left", "Indicator rear left"):
        harness = editing.add_lamp(harness, name, function="indicator", colour="amber", output=2, at="W3")
    (finding,) = found(lamp("L4", output=2)(harness), "left and right together")
    assert finding.subject == "Indicator right"
    assert "Indicator left, Indicator side left and Indicator rear left" in finding.found


def test_runs_that_are_open_make_one_finding():
    harness = lorry()
    for lamp_id in ("L1", "L2", "L3", "L4"):
        harness = settle(editing.drop_run(harness, lamp_id))
    (finding,) = found(harness, "not walked")
    assert finding.subject == "Headlamp left, Headlamp right, Indicator left and 1 more"
    assert finding.severity is Severity.NOTE


def test_a_wire_begun_for_a_retired_tag_is_not_spoken_of_as_labelled():
    harness = lamp("L1", output=5)(steps("cut")(lorry()))
    (finding,) = found(harness, "label no longer true")
    assert finding.remedy.startswith("Take the wire begun for it out")
    (finding,) = found(retired(lorry()), "label no longer true")
    assert finding.remedy.startswith("Take its labels off and log that. Mark what took its place: ")


def test_a_printed_label_that_would_say_something_else_is_told_of():
    harness = lorry()
    wires = derive(harness).wires
    texts = wire_labels(harness, [wire for wire in wires if wire.key in ("L1-", "J2-")])
    marks = {(text.tag, text.end): said(text) for text in texts}
    harness = editing.mark_printed(harness, marks, DAY, said=marks)
    assert found(harness, "label says otherwise") == []
    assert found(setting(slack_pct=30.0)(harness), "label says otherwise") == []
    renamed = lamp("L1", name="Fog lamp")(harness)
    (finding,) = found(renamed, "label says otherwise")
    tag = harness.ledger.live()["L1-"].tag
    assert finding.ref == f"{tag}-L"
    assert finding.found.startswith("2 printed labels")
    number = harness.lamp("L1").output
    (finding,) = found(settle(editing.edit_output(harness, number, number=99)), "label says otherwise")
    assert harness.ledger.live()["J2-"].tag in finding.subject


def test_an_empty_project_has_nothing_to_complain_of():
    assert check(editing.new_harness("New", "NEW")) == ()


def test_findings_are_worked_out_once_for_a_harness():
    harness = lorry()
    assert check(harness) is check(harness)


@settings(max_examples=60, deadline=None)
@given(harnesses(world=True, later_edits=4))
def test_any_harness_is_checked_and_each_finding_leads_somewhere(harness: Harness):
    legs = {routes.leg_ref(leg) for leg in harness.legs}
    pins = {f"{block.name}.{common.pin}" for block, common in harness.controller.commons()}
    numbers = {str(output.number) for _, output in harness.controller.outputs()}
    known = {
        "lamps": {lamp.id for lamp in harness.lamps},
        "walk": {lamp.id for lamp in harness.lamps} | {""},
        "routes": {point.id for point in harness.waypoints} | legs,
        "outputs": numbers | pins | {""},
        "bench": {record.tag for record in harness.ledger},
        "labels": {record.tag for record in harness.ledger},
    }
    for finding in check(harness):
        assert finding.subject
        assert finding.rule
        assert finding.found
        assert finding.remedy.endswith(".")
        assert finding.ref in known[finding.place], finding
