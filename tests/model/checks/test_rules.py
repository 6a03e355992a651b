"""Each rule: a harness that has the fault and one like it that has not."""

from __future__ import annotations

from collections.abc import Callable

import attrs
import pytest

from model import editing
from model.checks import RULES, check, cut_lengths, lamps, making, outputs, routes, wire_room, wires
from model.editing import Merge, RunChoice
from model.electrics import findings as electrics
from model.harness import Hand, Harness, Polarity, Supply
from model.routing import findings as bundling
from model.routing.allot import settle
from model.routing.walk import propose, with_merge
from tests.model.checks.lorry import (
    Edit,
    alike_blocks,
    both,
    coloured,
    contact_shared,
    cut,
    dotted,
    dotted_plug,
    each_output_blue,
    extra_lamp,
    found,
    lamp,
    leg,
    lorry,
    one_output_red,
    printed,
    retired,
    retired_and_off,
    roof,
    said_at_lamp,
    same,
    setting,
    steps,
    unmerged,
)
from tests.strategies import walk


@attrs.frozen
class Case:
    rule: Callable[[Harness], object]
    name: str
    fault: Edit
    sound: Edit
    subject: str
    place: str
    ref: str


CASES = [
    Case(lamps.no_output, "no output", lamp("L2", output=None), same, "Headlamp right", "lamps", "L2"),
    Case(
        lamps.no_route,
        "no route",
        extra_lamp(output=4),
        extra_lamp(output=4, at="W3"),
        "Extra",
        "lamps",
        "L5",
    ),
    Case(
        lamps.no_route,
        "no route",
        both(roof, extra_lamp(output=4, at="W4")),
        both(roof, extra_lamp(output=4, at="W4", measured_mm=300.0)),
        "Extra",
        "routes",
        "W4",
    ),
    Case(
        lamps.measured_far_off,
        "measured run far off",
        extra_lamp(output=4, at="W3", spur_mm=85, measured_mm=20),
        extra_lamp(output=4, at="W3", spur_mm=85, measured_mm=300),
        "Extra",
        "lamps",
        "L5",
    ),
    Case(
        lamps.not_walked,
        "not walked",
        extra_lamp(output=4, at="W3"),
        both(extra_lamp(output=4, at="W3"), walk),
        "Extra",
        "walk",
        "L5",
    ),
    Case(
        lamps.both_sides,
        "left and right together",
        lamp("L4", output=2),
        lamp("L2", output=1),
        "Indicator right",
        "lamps",
        "L4",
    ),
    Case(
        lamps.both_sides,
        "side not known",
        lamp("L4", output=2, name="Indicator 2"),
        lamp("L4", output=2, name="Indicator 2", hand=Hand.LEFT),
        "Indicator 2",
        "lamps",
        "L4",
    ),
    Case(
        lamps.flashes_along,
        "flashes along",
        extra_lamp(output=2, at="W3", function="tail lamp"),
        extra_lamp(output=2, at="W3", function="indicator", hand=Hand.LEFT),
        "Extra",
        "lamps",
        "L5",
    ),
    Case(
        lamps.flashes_along,
        "flashes along",
        lamp("L2", output=3),
        lamp("L2", output=3, name="Side repeater right", function="other"),
        "Headlamp right",
        "lamps",
        "L2",
    ),
    Case(
        lamps.double_names,
        "name used twice",
        lamp("L2", name="headlamp  LEFT"),
        lamp("L2", name="Headlamp left 2"),
        "headlamp  LEFT",
        "lamps",
        "L2",
    ),
    Case(
        lamps.unusual_colour,
        "unusual colour",
        lamp("L3", colour="blue"),
        lamp("L3", colour="orange"),
        "Indicator left",
        "lamps",
        "L3",
    ),
    Case(
        outputs.supply_high,
        "voltage too high",
        lambda harness: editing.set_supply(harness, Supply(chemistry="lead-acid", cells=30)),
        lambda harness: editing.set_supply(harness, Supply(chemistry="lead-acid", cells=24)),
        "supply",
        "outputs",
        "",
    ),
    Case(
        outputs.no_common,
        "no common pin",
        lambda harness: settle(editing.remove_common(harness, "A", "7")),
        same,
        "controller",
        "outputs",
        "",
    ),
    Case(
        outputs.pin_twice,
        "pin used twice",
        lambda harness: editing.edit_output(harness, 4, pin="3"),
        lambda harness: editing.edit_output(harness, 4, pin="33"),
        "pin A3",
        "outputs",
        "4",
    ),
    Case(
        outputs.pin_twice,
        "pin used twice",
        lambda harness: editing.add_common(harness, "A", pin="6"),
        lambda harness: editing.add_common(harness, "A", pin="66"),
        "pin A6",
        "outputs",
        "A.6",
    ),
    Case(
        outputs.pins_read_alike,
        "pins read alike",
        alike_blocks,
        lambda harness: editing.edit_output(alike_blocks(harness), 6, pin="13"),
        "output 7",
        "outputs",
        "7",
    ),
    Case(
        outputs.dotted_block,
        "dot in a name",
        dotted,
        lambda harness: editing.rename_block(dotted(harness), "A.1", "A1"),
        "block A.1",
        "outputs",
        "1",
    ),
    Case(
        routes.dotted_plug,
        "dot in a name",
        dotted_plug,
        lambda harness: editing.set_leg(dotted_plug(harness), "W2", "W3", plug="P1"),
        "plug P.1",
        "routes",
        "W2-W3",
    ),
    Case(
        outputs.colour_of_common,
        "one colour for both",
        lambda harness: attrs.evolve(harness, settings=attrs.evolve(harness.settings, minus_colour="RD")),
        same,
        "wire colours",
        "outputs",
        "",
    ),
    Case(
        outputs.colour_of_common,
        "one colour for both",
        one_output_red,
        each_output_blue,
        "output 4",
        "outputs",
        "4",
    ),
    Case(
        routes.double_waypoints,
        "name used twice",
        lambda harness: editing.edit_waypoint(harness, "W3", name="Cab Floor"),
        same,
        "Cab Floor",
        "routes",
        "W3",
    ),
    Case(
        routes.cut_off,
        "waypoint cut off",
        roof,
        lambda harness: editing.set_leg(roof(harness), "W4", "W2", length_mm=90),
        "roof",
        "routes",
        "W4",
    ),
    Case(
        routes.leg_without_length,
        "leg without length",
        leg(length_mm=0),
        leg(length_mm=1),
        "cab floor to bumper",
        "routes",
        "W2-W3",
    ),
    Case(
        routes.joint_without_loop,
        "moving joint without loop",
        leg(loop_mm=0.0),
        leg(loop_mm=30.0),
        "cab floor to bumper",
        "routes",
        "W2-W3",
    ),
    Case(
        routes.contact_twice,
        "contact used twice",
        contact_shared,
        leg(plug="P1", plug_mm=40),
        "plug P1",
        "routes",
        "W2-W3",
    ),
    Case(
        routes.joint_out_of_reach,
        "joint out of reach",
        lambda harness: editing.edit_waypoint(harness, "W3", reachable=False),
        lambda harness: editing.add_waypoint(harness, "roof", reachable=False),
        "joint J1",
        "walk",
        "L1",
    ),
    Case(
        routes.joint_crowded,
        "joint too full",
        setting(joint_max_wires=3),
        setting(joint_max_wires=12),
        "joint J1",
        "walk",
        "L1",
    ),
    Case(
        routes.joint_without_sleeve,
        "no sleeve fits",
        setting(gauge="36 AWG"),
        setting(gauge="20 AWG"),
        "joint J1",
        "walk",
        "L1",
    ),
    Case(
        bundling.hole_too_small,
        "hole too small",
        leg(hole_mm=1.5),
        leg(hole_mm=6.0),
        "leg cab floor to bumper",
        "routes",
        "W2-W3",
    ),
    Case(
        bundling.bend_too_tight,
        "bend too tight",
        leg(length_mm=60, loop_mm=2.0),
        leg(length_mm=60, loop_mm=60.0),
        "leg cab floor to bumper",
        "routes",
        "W2-W3",
    ),
    Case(
        bundling.loop_of_legs,
        "loop of legs",
        lambda harness: editing.set_leg(harness, "W1", "W3", length_mm=900),
        lambda harness: harness,
        "leg controller to bumper",
        "routes",
        "W1-W3",
    ),
    Case(
        wires.two_colours,
        "two colours of one polarity",
        coloured(plus="OG"),
        coloured(),
        "plus wires",
        "walk",
        "L1",
    ),
    Case(
        wires.two_colours,
        "two colours of one polarity",
        both(each_output_blue, coloured(minus="GN")),
        both(each_output_blue, coloured(minus="BU")),
        "output 1 wires",
        "walk",
        "L1",
    ),
    Case(
        wires.one_colour, "one colour for both", coloured(minus="RD"), coloured(), "red wires", "walk", "L1"
    ),
    Case(
        wires.pin_crowded,
        "pin too full",
        unmerged,
        both(unmerged, setting(pin_max_wires=4)),
        "common pin A7",
        "walk",
        "L4",
    ),
    Case(cut_lengths.cut_too_short, "wire too short", cut(-20.5), cut(-20.0), "L1+", "bench", "L1+"),
    Case(cut_lengths.cut_without_slack, "wire without slack", cut(-0.5), cut(0.0), "L1+", "bench", "L1+"),
    Case(cut_lengths.cut_too_long, "wire too long", cut(35.0), cut(30.0), "L1+", "bench", "L1+"),
    # 8 and 3 mm stripped, 25 mm for the sleeve over the resistor: what is left of 31, 36 and 66 mm.
    Case(wire_room.no_room_for_sleeves, "no room for sleeves", cut(-35.0), cut(-30.0), "L1+", "bench", "L1+"),
    Case(
        wire_room.no_room_for_tag_sleeves,
        "no room for tag sleeves",
        cut(-30.0),
        cut(0.0),
        "L1+",
        "labels",
        "L1+",
    ),
    Case(
        making.joined_without_sleeve,
        "joined without sleeve",
        steps("cut", "strip", "join"),
        steps("cut", "sleeve", "strip", "join"),
        "L1-",
        "bench",
        "L1-",
    ),
    Case(
        making.begun_without_label,
        "begun without label",
        both(printed("L"), steps("cut", "sleeve")),
        both(printed("L", "C"), steps("cut", "sleeve")),
        "L1-",
        "labels",
        "L1-",
    ),
    Case(
        making.begun_without_label,
        "begun without label",
        both(printed("C"), steps("sleeve")),
        steps("sleeve"),
        "L1-",
        "labels",
        "L1-",
    ),
    Case(
        making.label_says_otherwise,
        "label says otherwise",
        both(said_at_lamp, lamp("L1", name="Fog lamp")),
        said_at_lamp,
        "3NR-L",
        "labels",
        "3NR-L",
    ),
    Case(
        making.label_no_longer_true, "label no longer true", retired, retired_and_off, "L1-", "bench", "L1-"
    ),
]


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case.name} {case.subject}")
def test_rule_finds_the_fault_and_only_that(case: Case):
    start = lorry()
    # A key of a wire stands for the tag it had at the start.
    names = {key: record.tag for key, record in start.ledger.live().items()}
    at_fault = [finding for finding in case.rule(case.fault(start)) if finding.rule == case.name]
    assert names.get(case.subject, case.subject) in [finding.subject for finding in at_fault]
    finding = next(one for one in at_fault if one.subject == names.get(case.subject, case.subject))
    assert (finding.place, finding.ref) == (case.place, names.get(case.ref, case.ref))
    assert finding in check(case.fault(start))
    assert not [finding for finding in case.rule(case.sound(start)) if finding.rule == case.name]


def test_every_rule_has_a_case():
    assert {case.rule for case in CASES} == set(RULES) - set(electrics.RULES)


def fan(**controller: object) -> Harness:
    """Three lamps at one place, two at another, each on its own output; one common pin. The last two of each
    place are joined there, and the common wire of lamp 1 goes to the pin as well.
    """
    harness = editing.new_harness("Fan", "FAN")
    harness = editing.edit_waypoint(harness, "W1", **controller)
    for branch in (2, 3):
        harness = editing.add_waypoint(harness, f"place {branch}")
        harness = editing.set_leg(harness, "W1", f"W{branch}", length_mm=300)
    for number, at in enumerate(("W2", "W2", "W2", "W3", "W3"), 1):
        harness = editing.add_lamp(harness, f"Lamp {number}", output=number, at=at)
        way = (at, "W1")
        gather = {3: ("L2",), 5: ("L4",)}.get(number)
        plus = Merge(at=at, gather=gather) if gather else None
        harness = settle(editing.accept_run(harness, f"L{number}", RunChoice(way=way, plus=plus)))
    return harness


def test_a_full_pin_leads_to_the_lamp_whose_run_can_empty_it():
    harness = fan()
    (finding,) = found(harness, "pin too full")
    assert (finding.place, finding.ref) == ("walk", "L1")
    assert "Lamp 1" in finding.remedy
    proposal = propose(harness, "L1", 5)
    after = [
        with_merge(harness, proposal, Polarity.PLUS, place).preview
        for place in range(len(proposal.offers[Polarity.PLUS]))
    ]
    assert not all(found(one, "pin too full") for one in after)


def test_a_full_pin_that_no_run_can_empty_leads_to_the_outputs():
    harness = fan(reachable=False)
    harness = editing.edit_waypoint(harness, "W2", reachable=False)
    harness = editing.edit_waypoint(harness, "W3", reachable=False)
    (finding,) = found(harness, "pin too full")
    pin = harness.controller.blocks[0].commons[0].pin
    assert (finding.place, finding.ref) == ("outputs", f"A.{pin}")
    assert "Add a common pin" in finding.remedy
