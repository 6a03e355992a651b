"""The walk's proposals: what each line says is what comes about, and what stands is told by building both."""

from __future__ import annotations

from random import Random

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model import editing
from model.editing import Merge, RunChoice, accept_run
from model.errors import Conflict
from model.harness import Harness, Polarity
from model.routing.allot import settle
from model.routing.walk import Proposal, propose, with_merge, with_way
from model.routing.wires import PartKind, derive
from tests.following import assert_connected, assert_tagged
from tests.strategies import harnesses


def crane() -> Harness:
    """Buffer left, right and tail beam --120-- frame mid --95-- slew ring --60+40-- controller."""
    harness = editing.new_harness("Crane", "CRN")
    for name in ("buffer left", "buffer right", "tail beam", "frame mid", "slew ring"):
        harness = editing.add_waypoint(harness, name)
    harness = editing.set_leg(harness, "W1", "W6", length_mm=60, loop_mm=40)
    harness = editing.set_leg(harness, "W6", "W5", length_mm=95)
    for place in ("W2", "W3", "W4"):
        harness = editing.set_leg(harness, place, "W5", length_mm=120)
    for number, at in enumerate(("W2", "W3", "W4", "W5", "W5"), 1):
        harness = editing.add_lamp(harness, f"lamp {number}", at=at, output=number)
    return settle(harness)


def accepted(harness: Harness, lamp_id: str, **merges: Merge) -> Harness:
    """The lamp walked by its only way."""
    way = propose(harness, lamp_id).way
    return settle(accept_run(harness, lamp_id, RunChoice(way=way, **merges)))


def check_lines(harness: Harness, proposal: Proposal) -> None:
    """Take every line that is offered, and compare what it says with both harnesses as they come out."""
    for polarity in Polarity:
        lines = proposal.offers[polarity]
        assert lines[-1].alone
        assert [line.alone for line in lines].count(True) == 1
        alone = with_merge(harness, proposal, polarity, len(lines) - 1).preview
        for place, line in enumerate(lines):
            taken = with_merge(harness, proposal, polarity, place).preview
            saved = derive(alone).spool_mm - derive(taken).spool_mm
            assert line.offer.saves_mm == pytest.approx(saved, abs=1e-6), line
            joints = len(taken.joints) - len(alone.joints)
            assert line.stands or line.offer.joints == joints
            assert_connected(taken)
            assert_tagged(taken)


@given(harnesses(lamps=(2, 8), walked=0.9, later_edits=3), st.randoms(use_true_random=False))
@settings(max_examples=60, deadline=None)
def test_every_saving_is_that_of_a_rebuilt_harness(harness: Harness, rng: Random) -> None:
    lamps = [lamp for lamp in harness.lamps if lamp.at is not None or lamp.measured_mm is not None]
    for lamp in rng.sample(lamps, min(len(lamps), 2)):
        try:
            proposal = propose(harness, lamp.id)
        except Conflict:
            continue
        check_lines(harness, proposal)
        check_lines(harness, with_way(harness, proposal, rng.randrange(len(proposal.ways))))


def test_a_saving_is_that_of_the_plan_as_it_stands_not_of_one_without_the_lamp() -> None:
    """Lamp 6 leaves a joint with lamp 1 for a new one further on, where lamp 4 passes to another joint."""
    harness = editing.add_lamp(crane(), "lamp 6", at="W2", output=1)
    harness = settle(editing.add_lamp(harness, "lamp 7", at="W6", output=2))
    for lamp_id in ("L1", "L7"):
        harness = accepted(harness, lamp_id)
    harness = accepted(harness, "L6", plus=Merge(at="W2", gather=("L1",)))
    harness = accepted(harness, "L4", plus=Merge(at="W6", gather=("L7",)))
    proposal = propose(harness, "L6")
    assert any({"L1", "L4"} <= set(line.offer.lamps) for line in proposal.offers[Polarity.PLUS])
    check_lines(harness, proposal)


def nested() -> Harness:
    """Joint J2 of lamps 1 and 5 at frame mid leads on to J1 there, which then is full."""
    harness = crane()
    for lamp_id in ("L1", "L4"):
        harness = accepted(harness, lamp_id)
    harness = accepted(harness, "L2", plus=Merge(at="W5", gather=("L4",)))
    harness = accepted(harness, "L3", plus=Merge(at="W5", into="J1"))
    harness = accepted(harness, "L5", plus=Merge(at="W5", gather=("L1",)))
    joints = (
        attrs.evolve(joint, onto="J1", pin=None) if joint.id == "J2" else joint for joint in harness.joints
    )
    return settle(attrs.evolve(harness, joints=tuple(joints)))


def test_a_merge_that_stands_says_what_it_saves_though_it_can_not_be_made_anew() -> None:
    harness = nested()
    proposal = propose(harness, "L1")
    stands = proposal.offers[Polarity.PLUS][0]
    assert stands.stands
    own = with_merge(harness, proposal, Polarity.PLUS, len(proposal.offers[Polarity.PLUS]) - 1).preview
    assert stands.offer.saves_mm == derive(own).spool_mm - derive(harness).spool_mm > 0


def merged_on_the_way(**fields: object) -> Harness:
    """Lamps 1 and 2 joined at frame mid, then lamp 2 changed."""
    harness = accepted(crane(), "L1")
    harness = accepted(harness, "L2", plus=Merge(at="W5", gather=("L1",)))
    return settle(editing.edit_lamp(harness, "L2", **fields))


def test_a_measured_run_goes_to_the_controller_and_leaves_a_joint_on_the_way() -> None:
    harness = merged_on_the_way(measured_mm=340)
    proposal = propose(harness, "L2")
    assert proposal.way == ("W3", "W5", "W6", "W1"), "the accepted run stands"
    proposal = with_way(harness, proposal, proposal.ways.index(()))
    assert not any(line.stands for line in proposal.offers[Polarity.PLUS])
    assert {line.offer.at for line in proposal.offers[Polarity.PLUS]} <= {"W1", ""}
    after = settle(proposal.accept(harness))
    for polarity in Polarity:
        assert derive(after).by_key[f"L2{polarity}"].part_mm(PartKind.LEG) == 340
    assert not after.joints or after.joint("J1").at == "W1"


@pytest.mark.parametrize(
    ("fields", "plus_mm"),
    [
        # Moved to the tail beam: by the legs from there to the joint, whatever the string said.
        ({"at": "W4", "measured_mm": 340}, 120),
        # No place any more: the string's length less 95 + 60 + 40 from the joint to the controller.
        ({"at": None, "measured_mm": 340}, 145),
        # That can't be less: too long rather than too short.
        ({"at": None, "measured_mm": 150}, 150),
    ],
)
def test_a_wire_that_is_left_in_a_joint_is_not_cut_as_if_it_went_on(
    fields: dict[str, object], plus_mm: float
) -> None:
    harness = merged_on_the_way(**fields)
    assert harness.lamp("L2").run.way == ()
    wires = derive(harness).by_key
    assert wires["L2+"].part_mm(PartKind.LEG) == plus_mm
    assert wires["L2-"].part_mm(PartKind.LEG) == fields["measured_mm"]
