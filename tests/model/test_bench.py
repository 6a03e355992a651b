"""The bench: order of the wires, steps of each, joints as they fill."""

from __future__ import annotations

from collections.abc import Callable

import attrs
import pytest
from hypothesis import given, settings

from model import bench, editing
from model.bench import (
    Step,
    StepKind,
    bench_order,
    is_made,
    joint_card,
    next_step,
    next_wire,
    progress,
    steps,
    steps_done,
)
from model.checks import check
from model.editing import RunChoice
from model.electrics.lamps import Verdict, lamp_current
from model.electrics.resistor import ResistorChoice
from model.errors import NotThere
from model.harness import Build, Delivers, Harness, Supply
from model.labels.batch import label_group
from model.labels.stock import packaged_stocks
from model.routing.allot import settle
from model.routing.sleeves import joint_sleeve, tag_sleeve
from model.routing.wires import EndKind, Wire, derive
from model.standards.circles import bundle_diameter_mm
from model.standards.heatshrink import SLEEVES
from model.standards.wire import GAUGES, gauge
from tests.strategies import harnesses, walk

DAY = "2026-03-03"


def lorry(**lamp: object) -> Harness:
    """Two amber lamps on output 1 at the bumper, 120 mm from the controller, merged on both sides."""
    harness = editing.new_harness("Lorry", "GRT")
    harness = editing.add_waypoint(harness, "bumper")
    harness = editing.set_leg(harness, "W1", "W2", length_mm=120)
    for name in ("Marker left", "Marker right"):
        harness = editing.add_lamp(harness, name, **{"colour": "amber", "output": 1, "at": "W2", **lamp})
    return walk(harness)


def alone(**lamp: object) -> Harness:
    """One lamp straight to the controller, 120 mm."""
    harness = editing.new_harness("Lorry", "GRT")
    harness = editing.add_waypoint(harness, "bumper")
    harness = editing.set_leg(harness, "W1", "W2", length_mm=120)
    harness = editing.add_lamp(harness, "Marker", **{"colour": "amber", "output": 1, "at": "W2", **lamp})
    return settle(editing.accept_run(harness, "L1", RunChoice(way=("W2", "W1"))))


def wire(harness: Harness, key: str) -> Wire:
    return derive(harness).by_key[key]


def tag(harness: Harness, key: str) -> str:
    return harness.ledger.live()[key].tag


def words(harness: Harness, key: str, step: str) -> str:
    return next(one.words for one in steps(harness, wire(harness, key)) if one.id == step)


def done(harness: Harness, key: str, *ids: str) -> Harness:
    for step in ids or [one.id for one in steps(harness, wire(harness, key))]:
        harness = editing.do_step(harness, tag(harness, key), step, DAY)
    return harness


def test_steps_stand_in_the_order_of_the_work():
    harness = lorry()
    ids = [step.id for step in steps(harness, wire(harness, "L1-"))]
    assert ids == ["cut", "sleeve", "strip", "lamp", "join", "shrink", "test"]


def test_a_lamp_wire_from_cut_to_test():
    harness = lorry()
    # No leg, 20 slack, 15 spare, 3 strip, 8 overlap: 46 mm, rounded up to 50.
    mine, other, trunk = tag(harness, "L1-"), tag(harness, "L2-"), tag(harness, "J2-")
    assert [step.words for step in steps(harness, wire(harness, "L1-"))] == [
        "cut 50 mm of black 28 AWG",
        f"slide on: tag sleeves {mine} (lamp end) and (end at J2), sleeve 3:1, 1.5 mm, "
        f"sleeve 2.4 mm over the solder point at the lamp; the joint sleeve 2.4 mm of J2 goes on {trunk}",
        "strip 3 mm at the lamp end and 8 mm at the end at J2",
        "solder to the LED's short leg (minus, flat side of the body)",
        f"lay at joint J2 at bumper; {other} and {trunk} are to come",
        "shrink both tag sleeves and the sleeve at the lamp",
        "test: under 1 ohm from end to end",
    ]


def test_a_trunk_carries_the_joint_sleeve():
    harness = lorry()
    trunk = tag(harness, "J2-")
    assert words(harness, "J2-", "sleeve") == (
        f"slide on: tag sleeves {trunk} (end at J2) and (controller end), "
        "sleeve 3:1, 1.5 mm, joint sleeve 2.4 mm for J2"
    )
    assert words(harness, "J2-", "strip") == "strip 8 mm at the end at J2 and 3 mm at the controller end"
    assert words(harness, "J2-", "join") == "crimp on the contact, push it into output 1, pin A1"


def test_the_last_wire_of_a_joint_closes_it():
    harness = done(lorry(), "L1-")
    assert words(harness, "L2-", "join") == (
        f"lay at joint J2 at bumper beside {tag(harness, 'L1-')}; {tag(harness, 'J2-')} is to come"
    )
    harness = done(harness, "J2-", "lamp")
    closing = f"twist into joint J2 at bumper with {tag(harness, 'L1-')} and {tag(harness, 'J2-')}"
    assert words(harness, "L2-", "join") == f"{closing}, solder, slide the joint sleeve over it"
    assert words(harness, "L2-", "shrink") == (
        "shrink both tag sleeves, the sleeve at the lamp and the joint sleeve of J2"
    )


def test_joint_card_shows_what_is_there():
    harness = done(lorry(), "L2-", "cut", "sleeve", "strip", "lamp", "join")
    card = joint_card(harness, "J2")
    assert (card.place, card.reachable, card.net, card.complete) == ("bumper", True, 1, False)
    assert card.sleeve is not None
    assert card.sleeve.name == "2.4 mm"
    assert [(one.tag, one.colour, one.lamps, one.there, one.trunk) for one in card.wires] == [
        (tag(harness, "L1-"), "BK", ("Marker left",), False, False),
        (tag(harness, "L2-"), "BK", ("Marker right",), True, False),
        (tag(harness, "J2-"), "BK", ("Marker left", "Marker right"), False, True),
    ]
    assert [one.wire.key for one in card.missing] == ["L1-", "J2-"]
    # The trunk lies at this joint with its lamp end; its other end does not matter here.
    harness = done(done(harness, "L1-"), "J2-", "cut", "sleeve", "strip", "lamp")
    assert joint_card(harness, "J2").complete


def test_joint_card_of_nothing():
    with pytest.raises(NotThere, match="joint J9"):
        joint_card(lorry(), "J9")


@pytest.mark.parametrize(
    ("lamp", "key", "expected"),
    [
        # (7.2 - 2.1) V / 10 mA = 510 ohm, next of E12 is 560: green blue brown.
        (
            {},
            "L1+",
            "solder to resistor 560R (green blue brown gold), its other end to the LED's long leg (plus)",
        ),
        ({}, "L1-", "solder to the LED's short leg (minus, flat side of the body)"),
        (
            {"size": "0805"},
            "L1+",
            "solder to resistor 560R (green blue brown gold), its other end to the LED's plus pad (anode)",
        ),
        ({"size": "0805"}, "L1-", "solder to the LED's minus pad (cathode, the marked side)"),
        (
            {"resistor_ohm": 1000.0},
            "L1+",
            "solder to resistor 1K (brown black red gold), its other end to the LED's long leg (plus)",
        ),
        ({"build": Build.WIRED, "rated_v": 9.0}, "L1+", "solder to the lamp's own plus terminal"),
        (
            {"build": Build.WIRED, "rated_v": 9.0, "lead_mm": 60.0},
            "L1-",
            "lay 8 mm onto the lamp's own minus lead, solder",
        ),
        (
            {"build": Build.WIRED, "rated_v": 9.0, "resistor_ohm": 47.0},
            "L1+",
            "solder to resistor 47 ohm, its other end to the lamp's own plus terminal",
        ),
    ],
)
def test_what_is_soldered_at_the_lamp(lamp: dict[str, object], key: str, expected: str):
    assert words(alone(**lamp), key, "lamp") == expected


def test_no_resistor_where_the_output_limits_the_current():
    harness = editing.edit_output(alone(), 1, delivers=Delivers.CURRENT, delivers_ma=10.0)
    text = words(harness, "L1+", "lamp")
    assert text.startswith("solder to the LED's long leg (plus); no resistor")
    assert "sleeve 2.4 mm over the solder point" in words(harness, "L1+", "sleeve")


def test_an_led_that_no_resistor_suits_is_stopped_at():
    harness = editing.set_supply(alone(colour="white"), Supply(chemistry="NiMH", cells=3))
    assert words(harness, "L1+", "lamp").startswith("stop: only 0.40 V are left for the resistor")


@pytest.mark.parametrize(
    ("lead_mm", "cut", "strip"),
    [
        # 120 leg, 20 slack, 60 loop, 3 strip at the controller: 203 mm, 205 rounded up.
        (400.0, "shorten the lamp's own plus lead to 205 mm", "strip 3 mm at the controller end"),
        (
            204.0,
            "leave the lamp's own plus lead as long as it is, 204 mm",
            "strip 3 mm at the controller end",
        ),
        (
            203.0,
            "leave the lamp's own plus lead as long as it is, 203 mm",
            "strip 3 mm at the controller end",
        ),
        # Too short: 203 + 8 overlap - 150 = 61 mm.
        (150.0, "cut 65 mm of red 28 AWG", "strip 8 mm at the lamp end and 3 mm at the controller end"),
    ],
)
def test_a_lamp_with_leads_of_its_own(lead_mm: float, cut: str, strip: str):
    harness = alone(build=Build.WIRED, rated_v=9.0, lead_mm=lead_mm)
    assert words(harness, "L1+", "cut") == cut
    assert words(harness, "L1+", "strip") == strip
    ids = [step.id for step in steps(harness, wire(harness, "L1+"))]
    assert ("lamp" in ids) is not wire(harness, "L1+").own_lead


def test_a_length_that_was_entered_is_shown():
    harness = alone()
    harness = editing.set_cut(harness, tag(harness, "L1+"), 230.0, DAY)
    assert words(harness, "L1+", "cut") == "cut to 230 mm of red 28 AWG; the plan says 225 mm"


def test_what_was_cut_stays_what_it_is():
    """A leg longer by 30 mm: the wire on the bench is as long as it was, and that is said."""
    harness = alone()
    mine = tag(harness, "L1+")
    assert wire(harness, "L1+").cut_mm == 225
    made = bench.mark_step(harness, mine, "cut", DAY)
    assert (made.ledger.get(mine).cut_mm, made.ledger.get(mine).events[-1].note) == (225, "225 mm")
    assert words(made, "L1+", "cut") == "cut 225 mm of red 28 AWG"
    longer = editing.set_leg(made, "W1", "W2", length_mm=150)
    assert words(longer, "L1+", "cut") == "cut to 225 mm of red 28 AWG; the plan says 255 mm"
    assert longer.ledger.get(mine).cut_mm == 225
    # 150 legs, 20 slack, 60 loop, 15 lamp, 6 strip: 251 before rounding, 231 without slack.
    (short,) = [finding for finding in check(longer) if finding.ref == mine and finding.place == "bench"]
    assert short.rule == "wire too short"
    assert "251 mm needed now with slack, 231 mm without" in short.limit
    assert not [one for one in check(made) if one.ref == mine and one.place == "bench"]
    open_again = bench.take_back_step(longer, mine, "cut", DAY)
    assert open_again.ledger.get(mine).cut_mm is None
    assert words(open_again, "L1+", "cut") == "cut 255 mm of red 28 AWG"


def test_the_history_is_told_in_words():
    harness = lorry()
    mine, trunk = tag(harness, "L1-"), tag(harness, "J2-")
    for one in (mine, trunk):
        for step in StepKind:
            harness = bench.mark_step(harness, one, step, DAY)
    harness = bench.take_back_step(harness, mine, "strip", DAY)
    harness = editing.log_event(harness, mine, "repaired", "new sleeve", DAY)

    def told(of: str) -> list[str]:
        record = harness.ledger.get(of)
        return [bench.event_said(record, event) for event in record.events]

    assert told(mine) == [
        "cut to 50 mm", "sleeves slid on", "stripped", "lamp end made", "joined at J2", "sleeves shrunk",
        "passed its test", "not stripped after all", "repaired new sleeve",
    ]  # fmt: skip
    assert told(trunk)[3:5] == ["joined at J2", "put into pin A1"]
    plugged = harness.ledger.get(mine)
    meaning = "Marker left minus to plug ROOF contact 2"
    plugged = attrs.evolve(plugged, controller_end="ROOF.2", meaning=meaning)
    assert bench.step_said(plugged, "join") == "put into plug ROOF, contact 2"


def test_a_wire_too_short_has_one_tag_sleeve_or_flags():
    harness = alone()
    mine = tag(harness, "L1-")
    # 6 mm stripped and 15 mm for the sleeve at the lamp; a tag sleeve is at least 12 mm long.
    expected = {
        45: (f"tag sleeves {mine} (lamp end)", "shrink both tag sleeves and the sleeve at the lamp"),
        44: (f"one tag sleeve {mine} for both ends", "shrink the tag sleeve and the sleeve at the lamp"),
        32: ("tag flags later, the wire is too short for a tag sleeve", "fold a tag flag round each end"),
    }
    for cut_mm, (slid_on, shrunk) in expected.items():
        short = editing.set_cut(harness, mine, float(cut_mm), DAY)
        assert slid_on in words(short, "L1-", "sleeve")
        assert shrunk in words(short, "L1-", "shrink")


def test_a_length_typed_before_the_cut_outlives_it():
    harness = alone()
    mine = tag(harness, "L1+")
    typed = bench.set_length(harness, mine, 230.0, DAY)
    made = bench.mark_step(typed, mine, "cut", DAY)
    assert made.ledger.get(mine).cut_mm == 230
    assert bench.take_back_step(made, mine, "cut", DAY).ledger.get(mine).cut_mm == 230
    # Cleared, a wire that is cut is as long as planned; one that is not has no length of its own.
    assert bench.set_length(made, mine, None, DAY).ledger.get(mine).cut_mm == 225
    assert bench.set_length(typed, mine, None, DAY).ledger.get(mine).cut_mm is None


def test_a_file_from_before_with_a_cut_but_no_length_reads_as_planned():
    harness = done(alone(), "L1+", "cut")
    longer = editing.set_leg(harness, "W1", "W2", length_mm=150)
    assert words(longer, "L1+", "cut") == "cut 255 mm of red 28 AWG"
    assert not [one for one in check(longer) if one.place == "bench"]


def test_an_own_lead_that_was_shortened_is_short_for_a_longer_way():
    harness = alone(build=Build.WIRED, rated_v=9.0, lead_mm=250.0)
    mine = tag(harness, "L1+")
    made = bench.mark_step(harness, mine, "cut", DAY)
    assert made.ledger.get(mine).events[-1].note == "205 mm of its own lead"
    # 203 needed of 150: within the lead's 250 mm, then past them, where a wire is laid on.
    for leg_mm, needed in ((150, 233), (190, 273)):
        longer = editing.set_leg(made, "W1", "W2", length_mm=leg_mm)
        assert wire(longer, "L1+").own_lead == (leg_mm == 150)
        (short,) = [one for one in check(longer) if one.rule.startswith("wire ")]
        assert (short.rule, short.found.split(" (")[0]) == (
            "wire too short",
            "its own lead was shortened to 205 mm",
        )
        assert f"{needed} mm needed now" in short.limit
    left = bench.mark_step(alone(build=Build.WIRED, rated_v=9.0, lead_mm=203.0), mine, "cut", DAY)
    assert left.ledger.get(mine).cut_mm == 203


def test_a_wire_too_thin_for_sleeves_gets_flags():
    harness = settle(editing.set_settings(alone(size="0805"), gauge="36 AWG"))
    assert words(harness, "L1-", "sleeve") == (
        "nothing to slide on; tag flags later, the wire is too thin for a tag sleeve"
    )
    assert words(harness, "L1-", "shrink") == "fold a tag flag round each end"


def test_plugs_have_a_lamp_half_and_a_controller_half():
    harness = settle(editing.set_leg(alone(), "W1", "W2", plug="P1", plug_mm=40))
    assert (
        words(harness, "L1+", "join")
        == "crimp on the contact, push it into the lamp half of plug P1, contact 1"
    )
    assert words(harness, "L1+.2", "lamp") == (
        "crimp on the contact, push it into the controller half of plug P1, contact 1"
    )
    assert "(end at plug P1) and (controller end)" in words(harness, "L1+.2", "sleeve")


def test_ends_that_lead_nowhere_yet():
    no_output = settle(editing.edit_lamp(alone(), "L1", output=None))
    assert words(no_output, "L1-", "join") == "leave the end free: its lamp has no output yet"
    no_common = settle(editing.remove_common(alone(), "A", "7"))
    assert words(no_common, "L1+", "join") == "leave the end free: the controller has no common pin yet"


def test_wires_that_share_a_pin_share_a_contact():
    harness = lorry()
    for lamp_id in ("L1", "L2"):
        harness = settle(editing.accept_run(harness, lamp_id, RunChoice(way=("W2", "W1"))))
    assert words(harness, "L1-", "join") == (
        "crimp on the contact, push it into output 1, pin A1, "
        f"together with {tag(harness, 'L2-')} in one contact"
    )


def test_the_wire_that_closes_a_circuit_says_what_lights():
    harness = done(alone(), "L1-")
    assert words(harness, "L1+", "test") == (
        "test: under 1 ohm from end to end, up to its solder point at the resistor; "
        "output 1 on: Marker lights, about 2.1 V across it"
    )
    assert words(alone(), "L1+", "test") == (
        "test: under 1 ohm from end to end, up to its solder point at the resistor"
    )


def test_the_resistance_to_expect_grows_with_the_wire():
    harness = settle(
        editing.set_leg(settle(editing.set_settings(alone(), gauge="30 AWG")), "W1", "W2", length_mm=5000)
    )
    # 5.583 m of 30 AWG at 338.6 ohm/km is 1.89 ohm; with 0.5 ohm for the meter's leads under 3.
    assert words(harness, "L1+", "test").startswith("test: under 3 ohm")


def test_a_trunk_that_closes_many_circuits_counts_them():
    harness = editing.new_harness("Lorry", "GRT")
    harness = editing.set_settings(harness, joint_max_wires=6)
    harness = editing.add_waypoint(harness, "bumper")
    harness = editing.set_leg(harness, "W1", "W2", length_mm=500)
    for name in ("One", "Two", "Three", "Four"):
        harness = editing.add_lamp(harness, name, colour="amber", output=1, at="W2")
    harness = walk(harness)
    trunks = [joint.id for joint in harness.joints]
    assert len(trunks) == 2
    last = f"{trunks[0]}{harness.polarity_of(harness.joints[0])}"
    for one in derive(harness).wires:
        if one.key != last:
            harness = done(harness, one.key)
    assert words(harness, last, "test").endswith(
        "output 1 on: One lights, about 2.1 V across it; "
        "output 1 on: Two lights, about 2.1 V across it; so do 2 more"
    )


def test_order_is_that_of_the_walk_with_the_spool_in_hand_first():
    harness = editing.new_harness("Lorry", "GRT")
    for name in ("One", "Two", "Three"):
        harness = editing.add_lamp(harness, name, output=1, measured_mm=100.0)
    for lamp_id in ("L1", "L2", "L3"):
        harness = settle(editing.accept_run(harness, lamp_id, RunChoice()))
    order = bench_order(harness)
    assert [one.lamp_end.ref for one in order] == ["L1", "L1", "L2", "L2", "L3", "L3"]
    assert [one.colour for one in order] == ["RD", "BK", "BK", "RD", "RD", "BK"]


def test_where_to_go_on():
    harness = alone()
    first, second = bench_order(harness)
    assert next_wire(harness) == first
    assert next_wire(harness, after=first) == second
    assert next_wire(harness, after=second) == first
    assert next_step(harness, first) == steps(harness, first)[0]
    harness = done(harness, first.key, "cut", "strip")
    step = next_step(harness, first)
    assert step is not None
    assert step.kind is StepKind.SLEEVE
    assert (progress(harness), steps_done(harness)) == ((0, 2), (2, 14))
    harness = done(harness, first.key)
    assert next_step(harness, first) is None
    assert next_wire(harness) == second
    assert (progress(harness), steps_done(harness)) == ((1, 2), (7, 14))
    harness = done(harness, second.key)
    assert next_wire(harness) is None
    assert progress(harness) == (2, 2)


def test_is_made():
    harness = alone()
    one = bench_order(harness)[0]
    todo = steps(harness, one)
    assert not is_made(None, todo)
    assert not is_made(harness.ledger.live()[one.key], todo)
    assert is_made(done(harness, one.key).ledger.live()[one.key], todo)


@pytest.mark.parametrize("name", GAUGES)
def test_a_tag_sleeve_slides_on_and_grips(name: str):
    sleeve = tag_sleeve(wire(settle(editing.set_settings(alone(), gauge=name)), "L1+"))
    od_mm = gauge(name).od_mm
    if sleeve is None:
        assert all(not one.least_od_mm <= od_mm <= one.greatest_od_mm for one in SLEEVES)
    else:
        assert sleeve.least_od_mm <= od_mm <= sleeve.greatest_od_mm


KINDS: dict[EndKind, Callable[[str], bool]] = {
    EndKind.JOINT: lambda text: "joint" in text,
    EndKind.PLUG: lambda text: "plug" in text,
    EndKind.PIN: lambda text: "pin" in text or "free" in text,
    EndKind.LAMP: lambda text: "solder" in text,
}


def _place(todo: tuple[Step, ...], kind: StepKind) -> int:
    return next(number for number, step in enumerate(todo) if step.kind is kind)


@settings(max_examples=80, deadline=None)
@given(harnesses(world=True, later_edits=3))
def test_sleeves_go_on_before_any_end_is_joined(harness: Harness):
    order = bench_order(harness)
    assert sorted(one.key for one in order) == sorted(derive(harness).by_key)
    sleeved = {}
    for one in order:
        todo = steps(harness, one)
        assert len({step.id for step in todo}) == len(todo)
        assert all(0 < len(step.id) <= 20 and step.words for step in todo)
        sleeve = _place(todo, StepKind.SLEEVE)
        assert sleeve < _place(todo, StepKind.JOIN)
        assert sleeve < _place(todo, StepKind.SHRINK)
        if one.own_lead:
            assert all(step.kind is not StepKind.LAMP for step in todo)
        else:
            assert sleeve < _place(todo, StepKind.LAMP)
            assert KINDS[one.lamp_end.kind](todo[_place(todo, StepKind.LAMP)].words)
        assert KINDS[one.controller_end.kind](todo[_place(todo, StepKind.JOIN)].words)
        text = todo[sleeve].words
        mine = tag(harness, one.key)
        on_it = f"tag sleeves {mine}" in text or f"tag sleeve {mine}" in text
        group = label_group(harness, packaged_stocks(), harness.settings.sleeve_stock, one)
        assert on_it is (group == "sleeve")
        for joint in harness.joints:
            if f"for {joint.id}" in text.split("; the joint")[0]:
                assert joint.id not in sleeved, "one joint sleeve a joint"
                sleeved[joint.id] = one.key
    # Each joint's sleeve goes on its trunk, which every wire of the joint is told.
    assert sleeved == {joint_id: trunk.key for joint_id, trunk in derive(harness).trunk.items()}


@settings(max_examples=40, deadline=None)
@given(harnesses())
def test_a_joint_sleeve_slides_over_all_wires_of_its_joint(harness: Harness):
    for joint in harness.joints:
        sleeve = joint_sleeve(harness, joint.id)
        assert sleeve is not None  # gauges of the random harnesses are all of the usual ones
        everything = bundle_diameter_mm(gauge(one.gauge).od_mm for one in derive(harness).at_joint(joint.id))
        lamp_side = bundle_diameter_mm(gauge(one.gauge).od_mm for one in derive(harness).into_joint[joint.id])
        assert sleeve.greatest_od_mm >= everything
        assert sleeve.least_od_mm <= lamp_side


@settings(max_examples=30, deadline=None)
@given(harnesses())
def test_doing_every_step_in_order_makes_everything_and_closes_every_joint(harness: Harness):
    closed = set()
    total = progress(harness)[1]
    for made, one in enumerate(bench_order(harness)):
        assert progress(harness) == (made, total)
        while (step := next_step(harness, one)) is not None:
            if step.words.startswith("twist into joint"):
                closed.add(step.words.split()[3])
            harness = editing.do_step(harness, tag(harness, one.key), step.id, DAY)
    assert progress(harness) == (total, total)
    assert next_wire(harness) is None
    assert closed == {joint.id for joint in harness.joints}
    assert all(joint_card(harness, joint.id).complete for joint in harness.joints)


def test_a_soldered_resistor_is_reckoned_with_ever_after():
    """Another supply does not change what is in the model: the lamp gets too much, and the checks say so."""
    harness = alone()
    tag = harness.ledger.live()["L1+"].tag
    lamp = harness.lamp("L1")
    choice = lamp_current(harness, lamp).choice
    assert isinstance(choice, ResistorChoice)
    soldered = bench.mark_step(harness, tag, "lamp", "2026-03-01")
    assert soldered.lamp("L1").resistor_ohm == choice.ohm
    assert "lamp" in soldered.ledger.get(tag).steps

    twice = Supply(chemistry="regulated", nominal_v=2 * lamp_current(harness, lamp).supply.full_v)
    assert lamp_current(editing.set_supply(harness, twice), lamp).verdict is Verdict.RIGHT
    now = editing.set_supply(soldered, twice)
    assert lamp_current(now, now.lamp("L1")).verdict is Verdict.OVER

    back = bench.take_back_step(soldered, tag, "lamp", "2026-03-01")
    assert back.lamp("L1").resistor_ohm is None
    assert "lamp" not in back.ledger.get(tag).steps
    # A value the person typed is theirs: neither way touches it.
    typed = editing.edit_lamp(harness, "L1", resistor_ohm=1000)
    marked = bench.mark_step(typed, tag, "lamp", "2026-03-01")
    assert marked.lamp("L1").resistor_ohm == 1000
    assert bench.take_back_step(marked, tag, "lamp", "2026-03-01").lamp("L1").resistor_ohm == 1000
    # Other steps, and the minus wire, solder no resistor.
    assert bench.mark_step(harness, tag, "cut", "2026-03-01").lamp("L1").resistor_ohm is None
