"""Broken references: each kind made on purpose, found, and named so that a person finds the place."""

from __future__ import annotations

from collections.abc import Callable

import attrs
import pytest
from hypothesis import given, settings

from model import editing
from model.editing import Merge, RunChoice
from model.harness import Checked, CommonPin, Contact, Harness, Joint, Lead, Leg, Output, Run, Waypoint
from model.integrity import broken_references
from model.routing.allot import settle
from model.tags import Ledger, TagRecord
from tests.strategies import harnesses


def whole() -> Harness:
    """Two lamps at the bumper, merged on both sides at the cab floor, a plug before it."""
    harness = editing.new_harness("Example", "EXM")
    harness = editing.add_waypoint(harness, "bumper")
    harness = editing.add_waypoint(harness, "cab floor")
    harness = editing.set_leg(harness, "W2", "W3", length_mm=120, plug="P1", plug_mm=50)
    harness = editing.set_leg(harness, "W3", "W1", length_mm=210)
    way = ("W2", "W3", "W1")
    for number, merge in ((1, None), (2, Merge(at="W3", gather=("L1",)))):
        harness = editing.add_lamp(harness, f"lamp {number}", at="W2", output=1)
        choice = RunChoice(way=way, plus=merge, minus=merge)
        harness = settle(editing.accept_run(harness, f"L{number}", choice))
    return harness


def with_lamp(harness: Harness, **changes: object) -> Harness:
    lamp = attrs.evolve(harness.lamps[0], **changes)
    return attrs.evolve(harness, lamps=(lamp, *harness.lamps[1:]))


def with_run(harness: Harness, **changes: object) -> Harness:
    return with_lamp(harness, run=attrs.evolve(harness.lamps[0].run, **changes))


def with_joint(harness: Harness, **changes: object) -> Harness:
    joint = attrs.evolve(harness.joints[0], **changes)
    return attrs.evolve(harness, joints=(joint, *harness.joints[1:]))


def with_block(harness: Harness, **changes: object) -> Harness:
    block = attrs.evolve(harness.controller.blocks[0], **changes)
    return attrs.evolve(harness, controller=attrs.evolve(harness.controller, blocks=(block,)))


def doubled(field: str) -> Callable[[Harness], Harness]:
    return lambda harness: attrs.evolve(
        harness, **{field: (*getattr(harness, field), getattr(harness, field)[0])}
    )


def with_record(harness: Harness, **fields: object) -> Harness:
    record = TagRecord(**{"tag": "K7L", "wire": "L9-", "lamp_end": "L9", "controller_end": "A.1", **fields})
    return attrs.evolve(harness, ledger=Ledger(records=(*harness.ledger.records, record)))


def in_a_circle(harness: Harness) -> Harness:
    first, second = harness.joints
    joints = (attrs.evolve(first, onto="J2", output=None), attrs.evolve(second, onto="J1", output=None))
    return attrs.evolve(harness, joints=joints)


BROKEN: dict[str, tuple[Callable[[Harness], Harness], str]] = {
    "lamp twice": (doubled("lamps"), "lamp L1: stands 2 times"),
    "check twice": (
        lambda harness: attrs.evolve(harness, checked=(Checked(id="fuse", day="2026-03-03"),) * 2),
        "check fuse: stands 2 times",
    ),
    "waypoint twice": (doubled("waypoints"), "waypoint W1: stands 2 times"),
    "joint twice": (doubled("joints"), "joint J1: stands 2 times"),
    "leg twice": (doubled("legs"), "leg W2 to W3: stands 2 times"),
    "leg twice, the other way": (
        lambda harness: attrs.evolve(harness, legs=(*harness.legs, Leg(a="W1", b="W3", length_mm=1))),
        "leg W1 to W3: stands 2 times",
    ),
    "plug called as a block": (
        lambda harness: attrs.evolve(
            harness, legs=(harness.legs[0], attrs.evolve(harness.legs[1], plug="A"))
        ),
        "plug A: is called as a block is",
    ),
    "plug twice": (
        lambda harness: attrs.evolve(
            harness, legs=(harness.legs[0], attrs.evolve(harness.legs[1], plug="P1"))
        ),
        "plug P1: stands 2 times",
    ),
    "block twice": (
        lambda harness: attrs.evolve(
            harness, controller=attrs.evolve(harness.controller, blocks=harness.controller.blocks * 2)
        ),
        "block A: stands 2 times",
    ),
    "output twice": (
        lambda harness: with_block(
            harness, outputs=(*harness.controller.blocks[0].outputs, Output(number=1, pin="9"))
        ),
        "output 1: stands 2 times",
    ),
    "contact twice": (
        lambda harness: attrs.evolve(
            harness, contacts=(*harness.contacts, Contact(plug="P1", number=1, origin="L9-"))
        ),
        "contact P1.1: stands 2 times",
    ),
    "tag twice": (
        lambda harness: with_record(with_record(harness), wire="L8-"),
        "tag K7L: stands 2 times",
    ),
    "wire with two live tags": (
        lambda harness: with_record(harness, wire="L1-"),
        "wire L1-: stands 2 times",
    ),
    "controller nowhere": (
        lambda harness: attrs.evolve(harness, controller=attrs.evolve(harness.controller, at="W9")),
        "controller: sits at waypoint W9, which does not exist",
    ),
    "leg to nowhere": (
        lambda harness: attrs.evolve(harness, legs=(*harness.legs, Leg(a="W1", b="W9", length_mm=1))),
        "leg W1 to W9: waypoint W9 does not exist",
    ),
    "lamp nowhere": (lambda harness: with_lamp(harness, at="W9", run=None), "lamp lamp 1: is at waypoint W9"),
    "joint nowhere": (lambda harness: with_joint(harness, at="W9", way=()), "joint J1: is at waypoint W9"),
    "lamp on no output": (lambda harness: with_lamp(harness, output=9), "lamp lamp 1: is on output 9"),
    "joint of no output": (lambda harness: with_joint(harness, output=9), "joint J1: is of output 9"),
    "way from elsewhere": (
        lambda harness: with_run(harness, way=("W3", "W1")),
        "lamp lamp 1: has a way that does not lead from it to the controller",
    ),
    "way to elsewhere": (
        lambda harness: with_run(harness, way=("W2", "W3")),
        "lamp lamp 1: has a way that does not lead from it to the controller",
    ),
    "way with a loop": (
        lambda harness: with_run(harness, way=("W2", "W3", "W2", "W3", "W1")),
        "lamp lamp 1: has a way that passes a waypoint twice",
    ),
    "way without a leg": (
        lambda harness: with_run(harness, way=("W2", "W1")),
        "lamp lamp 1: has a way over W2 to W1, where there is no leg",
    ),
    "trunk's way without a leg": (
        lambda harness: with_joint(harness, way=("W3", "W2", "W1")),
        "joint J1: has a way over W2 to W1, where there is no leg",
    ),
    "run without a way": (
        lambda harness: with_run(harness, way=()),
        "lamp lamp 1: has a run without way or length",
    ),
    "end in no joint": (
        lambda harness: with_run(harness, plus=Lead(joint="J9")),
        "lamp lamp 1 +: ends in joint J9, which does not exist",
    ),
    "end in a joint of another net": (
        lambda harness: with_run(harness, plus=Lead(joint="J2")),
        "lamp lamp 1 +: ends in joint J2, which is of another net",
    ),
    "joint onto no joint": (
        lambda harness: with_joint(harness, onto="J9", pin=None),
        "joint J1: ends in joint J9, which does not exist",
    ),
    "joint onto another net": (
        lambda harness: with_joint(harness, onto="J2", pin=None),
        "joint J1: ends in joint J2, which is of another net",
    ),
    "joint of nothing": (
        lambda harness: attrs.evolve(harness, joints=(*harness.joints, Joint(id="J9", at="W3"))),
        "joint J9: joins no wire",
    ),
    "joints in a circle": (in_a_circle, "joint J1: leads back to itself"),
    "joint onto itself": (
        lambda harness: with_joint(harness, onto="J1", pin=None),
        "joint J1: leads back to itself",
    ),
    "lamp on no common pin": (
        lambda harness: with_run(harness, plus=Lead(pin="A.9")),
        "lamp lamp 1: ends on common pin A.9, which does not exist",
    ),
    "joint on no common pin": (
        lambda harness: with_joint(harness, pin="B.7"),
        "joint J1: ends on common pin B.7, which does not exist",
    ),
    "replaced by no tag": (
        lambda harness: with_record(harness, retired="gone", replaced_by=("H4E",)),
        "tag K7L: is replaced by H4E, which is not in the ledger",
    ),
}


def test_the_example_is_whole():
    assert broken_references(whole()) == ()


@pytest.mark.parametrize(("breaking", "message"), BROKEN.values(), ids=BROKEN.keys())
def test_each_kind_is_found_and_named(breaking: Callable[[Harness], Harness], message: str):
    faults = broken_references(breaking(whole()))
    found = [fault.message() for fault in faults]
    assert any(one.startswith(message) for one in found), found
    assert all(fault.remedy for fault in faults)


def test_all_faults_come_at_once():
    harness = whole()
    for name in ("leg to nowhere", "lamp on no output", "joint of nothing", "replaced by no tag"):
        harness = BROKEN[name][0](harness)
    assert len(broken_references(harness)) >= 4


@pytest.mark.parametrize(
    "change",
    [
        lambda harness: attrs.evolve(
            harness, waypoints=(*harness.waypoints, Waypoint(id="W9", name="bumper"))
        ),
        lambda harness: with_lamp(harness, name="lamp 2"),
        lambda harness: with_lamp(harness, run=attrs.evolve(harness.lamps[0].run, way=()), measured_mm=300.0),
        lambda harness: with_record(harness, wire="L1-", retired="replaced", replaced_by=()),
        lambda harness: with_block(
            harness, commons=(*harness.controller.blocks[0].commons, CommonPin(pin="1"))
        ),
        lambda harness: with_run(harness, plus=attrs.evolve(harness.lamps[0].run.plus, colour="WH")),
    ],
    ids=[
        "two waypoints of one name",
        "two lamps of one name",
        "a measured run without a way",
        "a retired tag of a wire that has a new one",
        "a pin used twice",
        "a colour",
    ],
)
def test_what_is_a_finding_or_nothing_but_no_broken_reference(change: Callable[[Harness], Harness]):
    assert broken_references(change(whole())) == ()


def test_legs_between_waypoints_of_one_name_are_not_one_leg():
    harness = editing.new_harness("Example", "EXM")
    for _ in range(2):
        harness = editing.add_waypoint(harness, "hole")
        harness = editing.set_leg(harness, "W1", harness.waypoints[-1].id, length_mm=10)
    assert broken_references(harness) == ()


def test_a_lamp_at_the_controller_may_have_an_empty_way():
    harness = editing.add_lamp(editing.new_harness("Example", "EXM"), "lamp", at="W1", output=1)
    assert broken_references(with_lamp(harness, run=Run())) == ()


@given(harnesses(world=True, later_edits=6))
@settings(max_examples=60, deadline=None)
def test_no_edit_breaks_a_reference(harness: Harness):
    assert broken_references(harness) == ()
