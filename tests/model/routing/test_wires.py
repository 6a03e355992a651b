"""The wires derived from what was decided: their keys, ends, nets, colours and lengths."""

from __future__ import annotations

from itertools import pairwise

import attrs
import pytest
from hypothesis import given, settings

from model import editing
from model.editing import Merge, RunChoice
from model.harness import Harness, Polarity, Switched
from model.routing.allot import settle
from model.routing.wires import (
    EndKind,
    PartKind,
    chain,
    chain_paths,
    crossings,
    derive,
    origin_name,
    wire_colour,
)
from model.routing.words import end_words, net_words, pin_words, wire_words
from tests.following import assert_connected, assert_tagged
from tests.strategies import harnesses


def model(*, plug: str = "") -> Harness:
    """W2 bumper, W3 cab floor, W1 controller in a line; two lamps at the bumper on output 1 and 2."""
    harness = editing.new_harness("Example", "EXM")
    harness = editing.add_waypoint(harness, "bumper")
    harness = editing.add_waypoint(harness, "cab floor")
    harness = editing.set_leg(harness, "W2", "W3", length_mm=120, plug=plug, plug_mm=50 if plug else 0)
    harness = editing.set_leg(harness, "W3", "W1", length_mm=210)
    for number, name in enumerate(("Indicator left", "Indicator right"), 1):
        harness = editing.edit_output(harness, number, function=name.lower())
        harness = editing.add_lamp(harness, name, at="W2", output=number)
    return harness


def accept(harness: Harness, lamp_id: str, **choice: object) -> Harness:
    fields = {"way": ("W2", "W3", "W1"), **choice}
    return settle(editing.accept_run(harness, lamp_id, RunChoice(**fields)))


def ends(harness: Harness) -> dict[str, tuple[str, str]]:
    return {wire.key: (wire.lamp_end.ref, wire.controller_end.ref) for wire in derive(harness).wires}


def test_nothing_is_derived_before_a_run_is_accepted():
    plan = derive(model())
    assert (plan.wires, plan.spool_mm) == ((), 0)


def test_two_wires_a_lamp_the_common_first():
    harness = accept(model(), "L1")
    assert ends(harness) == {"L1+": ("L1", "A.7"), "L1-": ("L1", "A.1")}
    plus, minus = derive(harness).wires
    assert (plus.output, minus.output) == (None, 1)
    assert (plus.colour, minus.colour) == ("RD", "BK")
    assert plus.path == ("W2", "W3", "W1")
    assert plus.lamps == ("L1",)
    assert (plus.lamp_end.kind, plus.controller_end.kind) == (EndKind.LAMP, EndKind.PIN)
    assert (plus.lamp_end.at, plus.controller_end.at) == ("W2", "W1")


def test_positive_switched_the_minus_side_is_the_common():
    harness = accept(editing.set_switched(model(), Switched.POSITIVE), "L1")
    assert ends(harness) == {"L1-": ("L1", "A.7"), "L1+": ("L1", "A.1")}


def test_a_merge_makes_one_trunk():
    harness = accept(accept(model(), "L1"), "L2", plus=Merge(at="W3", gather=("L1",)))
    assert ends(harness) == {
        "L1+": ("L1", "J1"),
        "J1+": ("J1", "A.7"),
        "L1-": ("L1", "A.1"),
        "L2+": ("L2", "J1"),
        "L2-": ("L2", "A.2"),
    }
    plan = derive(harness)
    assert plan.by_key["J1+"].lamps == ("L1", "L2")
    assert plan.by_key["J1+"].path == ("W3", "W1")
    assert plan.by_key["L1+"].path == ("W2", "W3")
    assert [wire.key for wire in plan.at_joint("J1")] == ["L1+", "L2+", "J1+"]
    assert plan.at_joint("J9") == ()


def test_a_plug_makes_two_wires_of_one():
    harness = accept(model(plug="P1"), "L1")
    assert ends(harness) == {
        "L1+": ("L1", "P1.1"),
        "L1+.2": ("P1.1", "A.7"),
        "L1-": ("L1", "P1.2"),
        "L1-.2": ("P1.2", "A.1"),
    }
    plan = derive(harness)
    assert plan.by_key["L1+"].path == ("W2",)
    assert plan.by_key["L1+.2"].path == ("W3", "W1")
    # The end at a plug is on its own side of the plug.
    assert plan.by_key["L1+"].controller_end.at == "W2"
    assert plan.by_key["L1+.2"].lamp_end.at == "W3"
    assert [(one.key, other.key) for one, other in plan.at_plug("P1")] == [("L1+", "L1+.2"), ("L1-", "L1-.2")]
    assert plan.at_plug("P9") == ()


def test_contacts_are_in_the_order_of_their_numbers_past_nine():
    harness = model(plug="P1")
    for number in range(3, 9):
        harness = editing.add_lamp(harness, f"lamp {number}", at="W2", output=1)
    for lamp in harness.lamps:
        harness = accept(harness, lamp.id)
    refs = [one.controller_end.ref for one, _ in derive(harness).at_plug("P1")]
    assert refs == [f"P1.{number}" for number in range(1, 17)]


def test_a_measured_run_passes_no_waypoint_but_the_controllers():
    harness = editing.edit_lamp(model(), "L1", at=None, measured_mm=300)
    harness = accept(harness, "L1", way=())
    assert derive(harness).by_key["L1-"].path == ("W1",)
    assert derive(harness).by_key["L1-"].parts[0].mm == 300


def test_a_way_goes_before_a_measured_length():
    harness = accept(editing.edit_lamp(model(), "L1", measured_mm=999), "L1")
    assert derive(harness).by_key["L1-"].part_mm(PartKind.LEG) == 330


def test_a_lamp_without_an_output_has_a_wire_to_no_pin():
    harness = accept(editing.edit_lamp(model(), "L1", output=None), "L1")
    assert ends(harness) == {"L1+": ("L1", "A.7"), "L1-": ("L1", "")}
    assert wire_words(harness, derive(harness).by_key["L1-"]) == "Indicator left minus to no pin yet"


@pytest.mark.parametrize(
    ("own", "per_output", "output", "polarity", "colour"),
    [
        (None, False, 1, Polarity.MINUS, "BK"),
        (None, False, None, Polarity.PLUS, "RD"),
        (None, True, 1, Polarity.MINUS, "YE"),  # the output's own
        (None, True, 2, Polarity.MINUS, "BK"),  # that output has none
        (None, True, None, Polarity.PLUS, "RD"),  # the common is of one colour throughout
        ("WH", True, 1, Polarity.MINUS, "WH"),
        ("WH", False, None, Polarity.PLUS, "WH"),
        (None, True, 9, Polarity.MINUS, "BK"),  # no such output
    ],
)
def test_colours(own: str | None, per_output: bool, output: int | None, polarity: Polarity, colour: str):
    harness = editing.edit_output(model(), 1, colour="YE")
    harness = editing.set_settings(harness, colour_per_output=per_output)
    assert wire_colour(harness, output, polarity, own) == colour


def test_colour_and_gauge_of_a_trunk():
    harness = accept(accept(model(), "L1"), "L2", plus=Merge(at="W3", gather=("L1",)))
    harness = editing.set_joint(harness, "J1", colour="WH", gauge="0.25 mm2")
    trunk = derive(harness).trunk["J1"]
    assert (trunk.colour, trunk.gauge) == ("WH", "0.25 mm2")
    assert derive(harness).by_key["L1+"].gauge == harness.settings.gauge


def test_words():
    harness = accept(accept(model(plug="P1"), "L1"), "L2", plus=Merge(at="W3", gather=("L1",)))
    plan = derive(harness)
    said = {key: wire_words(harness, wire) for key, wire in plan.by_key.items()}
    assert said["L1+"] == "Indicator left plus to plug P1 contact 1"
    assert said["L1+.2"] == "plug P1 contact 1 to joint J1 at cab floor"
    assert said["J1+"] == "joint J1 at cab floor to common pin A7"
    assert said["L2-.2"].endswith(" to output 2, pin A2")
    assert (net_words(harness, None), net_words(harness, 1)) == ("common", "output 1 (indicator left)")
    assert net_words(harness, 3) == "output 3"
    assert pin_words(harness, "") == "no pin yet"
    dotted = editing.edit_output(harness, 1, pin="1.2")
    assert pin_words(dotted, "A.1.2") == "output 1, pin A1.2"
    gone = attrs.evolve(plan.by_key["L1+"].lamp_end, ref="L9")
    assert end_words(harness, gone, plan.by_key["L1+"]) == "L9 plus"


def test_a_pin_that_two_nets_have_is_called_by_that_of_the_wire():
    harness = accept(accept(model(), "L1"), "L2")
    pins = {block.name: common.pin for block, common in harness.controller.commons()}
    shared = editing.edit_output(harness, 1, pin=pins["A"])
    shared = editing.edit_output(shared, 2, pin=pins["A"])
    said = {key: wire_words(shared, wire) for key, wire in derive(shared).by_key.items()}
    assert [said[key].partition(" to ")[2] for key in ("L1+", "L1-", "L2-")] == [
        "common pin A7",
        "output 1, pin A7",
        "output 2, pin A7",
    ]
    assert pin_words(shared, "A.7") == "output 1, pin A7"
    assert pin_words(harness, "A.7", 1) == "common pin A7", "no output has it"
    assert pin_words(harness, "A.9", None) == "common pin A9", "nothing has it any more"


# --- what holds for every harness -----------------------------------------------------------------


@given(harnesses(later_edits=4))
@settings(max_examples=80, deadline=None)
def test_every_lamp_is_connected_once_to_its_output_and_the_common(harness: Harness):
    assert_connected(harness)
    assert_tagged(harness)


@given(harnesses())
@settings(max_examples=80, deadline=None)
def test_lengths_chains_and_order(harness: Harness):
    lengths_add_up(harness)
    chains_follow_their_way(harness)
    a_chain_alone_is_as_in_the_whole_plan(harness)
    wires_come_in_the_order_of_the_walk(harness)


def lengths_add_up(harness: Harness) -> None:
    plan = derive(harness)
    rounding_mm = harness.settings.round_mm
    for wire in plan.wires:
        assert wire.cut_mm == pytest.approx(sum(part.mm for part in wire.parts))
        assert wire.cut_mm / rounding_mm == pytest.approx(round(wire.cut_mm / rounding_mm))
        assert wire.cut_mm > 0 or wire.own_lead
        assert wire.part_mm(PartKind.ROUND) < rounding_mm
    assert plan.spool_mm == pytest.approx(sum(wire.cut_mm for wire in plan.wires if not wire.own_lead))


def chains_follow_their_way(harness: Harness) -> None:
    plan = derive(harness)
    for name, _, path in chain_paths(harness):
        wires = [wire for wire in plan.wires if wire.origin == name]
        legs = [harness.find_leg(one, other) for one, other in pairwise(path)]
        lamp = harness.find_lamp(name[:-1])
        run_mm = sum(leg.length_mm for leg in legs) + (lamp.spur_mm if lamp else 0)
        if lamp and lamp.measured_mm is not None and not lamp.run.way:
            run_mm = lamp.measured_mm
        assert sum(wire.part_mm(PartKind.LEG) for wire in wires) == pytest.approx(run_mm)
        loops_mm = sum(leg.loop_mm or 0 for leg in legs)
        if wires[-1].controller_end.kind is EndKind.PIN:
            loops_mm += harness.settings.service_loop_mm
        assert sum(
            wire.part_mm(PartKind.LOOP) + wire.part_mm(PartKind.MOVING) for wire in wires
        ) == pytest.approx(loops_mm)
        assert len(wires) == 1 + len(crossings(harness, path))
        assert [wire.key for wire in wires] == [
            name,
            *(f"{name}.{place}" for place in range(2, len(wires) + 1)),
        ]


def a_chain_alone_is_as_in_the_whole_plan(harness: Harness) -> None:
    origins = [(lamp.id, polarity) for lamp in harness.lamps for polarity in Polarity]
    origins += [(joint.id, harness.polarity_of(joint)) for joint in harness.joints]
    alone = {wire.key: wire for item, polarity in origins for wire in chain(harness, item, polarity)}
    # Which lamps are behind a wire is known to the whole plan only.
    assert alone == {key: attrs.evolve(wire, lamps=()) for key, wire in derive(harness).by_key.items()}


def wires_come_in_the_order_of_the_walk(harness: Harness) -> None:
    plan = derive(harness)
    keys = [wire.key for wire in plan.wires]
    assert list(plan.by_key) == keys
    order = [wire.origin[:-1] for wire in plan.wires if wire.origin.startswith("L")]
    assert list(dict.fromkeys(order)) == [lamp.id for lamp in harness.lamps if lamp.run is not None]
    for joint in harness.joints:
        first = min(keys.index(wire.key) for wire in plan.into_joint[joint.id])
        assert keys.index(plan.trunk[joint.id].key) > first, (
            "a trunk comes after the first wire that needs it"
        )


def test_origin_names():
    assert origin_name("L3", Polarity.MINUS) == "L3-"
    assert origin_name("J1", Polarity.PLUS) == "J1+"
