"""Runs and merges, and joints let go of."""

from __future__ import annotations

import attrs
import pytest

from model import editing
from model.editing import Merge, RunChoice
from model.harness import Contact, Harness, Polarity
from model.integrity import broken_references
from model.routing.allot import settle
from tests.model.editing.cases import WAY, accept, minus_joint, small, walked


def test_accept_run_stores_what_was_chosen():
    harness = editing.accept_run(small(), "L1", RunChoice(way=WAY, plus_colour="WH"))
    run = harness.lamp("L1").run
    assert (run.way, run.plus.colour, run.minus.colour) == (WAY, "WH", None)
    assert (run.plus.joint, run.minus.joint, harness.joints) == (None, None, ())


def test_accept_run_takes_the_lamp_off_the_skipped():
    harness = editing.skip_lamp(editing.skip_lamp(small(), "L1"), "L1")
    assert harness.progress.skipped == ("L1",)
    assert editing.accept_run(harness, "L1", RunChoice(way=WAY)).progress.skipped == ()


def test_a_new_joint_gathers_its_wires():
    harness = walked()
    joint = harness.joint("J1")
    assert (joint.at, joint.output, joint.onto, joint.pin) == ("W3", 1, None, None)
    assert joint.way == ("W3", "W1")
    assert (minus_joint(harness, "L1"), minus_joint(harness, "L2")) == ("J1", "J1")


def test_into_a_joint_that_stands():
    harness = editing.add_lamp(walked(), "Third", output=1, at="W2")
    harness = accept(harness, "L3", minus=Merge(at="W3", into="J1"))
    assert len(harness.joints) == 1
    assert minus_joint(harness, "L3") == "J1"


def test_a_joint_gathered_leads_into_the_new_one():
    harness = editing.add_lamp(walked(), "Third", output=1, at="W3")
    harness = accept(harness, "L3", way=("W3", "W1"), minus=Merge(at="W1", gather=("J1",)))
    assert harness.joint("J1").onto == "J2"
    assert harness.joint("J2").onto is None


def test_a_new_joint_before_a_joint_leads_on_to_it():
    harness = editing.add_lamp(walked(), "Third", output=1, at="W2")
    harness = accept(harness, "L3", minus=Merge(at="W2", gather=("L1",)))
    assert harness.joint("J2").onto == "J1"
    assert minus_joint(harness, "L1") == "J2"
    assert minus_joint(harness, "L2") == "J1"


def test_a_joint_gathered_with_its_own_wire_makes_no_circle():
    # L1 ends in J1, and both are gathered: the new joint can't lead on to J1.
    harness = editing.add_lamp(walked(), "Third", output=1, at="W2")
    harness = accept(harness, "L3", minus=Merge(at="W3", gather=("L1", "J1")))
    assert broken_references(harness) == ()


def test_walking_again_replaces_the_run_and_frees_the_joint():
    harness = accept(walked(), "L2")
    assert harness.joints == ()
    assert minus_joint(harness, "L1") is None


@pytest.mark.parametrize("kept", [Polarity.PLUS, Polarity.MINUS])
def test_a_polarity_that_is_kept_stays_as_it_stands(kept: Polarity):
    # L2 stands in J1 by its minus and in another joint by its plus; one of the two is walked anew.
    harness = accept(walked(), "L1", minus=Merge(at="W3", into="J1"), plus=Merge(at="W3", gather=("L2",)))
    before = {polarity: harness.lamp("L2").run.lead(polarity) for polarity in Polarity}
    assert all(lead.joint for lead in before.values())
    after = accept(harness, "L2", keep=(kept,))
    assert after.lamp("L2").run.lead(kept) == before[kept]
    assert after.lamp("L2").run.lead(kept.other).joint is None
    assert broken_references(after) == ()


def test_a_run_kept_whole_is_no_edit():
    harness = walked()
    assert editing.accept_run(harness, "L2", RunChoice(way=WAY, keep=tuple(Polarity))) is harness
    merge = Merge(at="W3", gather=("L9",))
    kept = editing.accept_run(harness, "L2", RunChoice(way=WAY, keep=tuple(Polarity), plus=merge))
    assert kept is harness, "a merge of a polarity that is kept is not carried out"


def test_drop_run():
    harness = editing.drop_run(walked(), "L2")
    assert harness.lamp("L2").run is None
    assert harness.joints == ()
    assert harness.lamp("L1").run is not None


def test_a_chain_of_lone_joints_is_let_go_of_and_the_last_wire_goes_on():
    harness = editing.add_lamp(walked(), "Third", output=1, at="W3")
    harness = accept(harness, "L3", way=("W3", "W1"), minus=Merge(at="W1", gather=("J1",)))
    harness = editing.remove_lamp(editing.remove_lamp(harness, "L2"), "L3")
    assert harness.joints == ()
    assert minus_joint(harness, "L1") is None


def test_a_common_pin_passes_from_a_joint_let_go_to_the_wire_left():
    harness = editing.add_common(accept(small(), "L1"), "A")
    harness = accept(harness, "L2", plus=Merge(at="W3", gather=("L1",)))
    harness = settle(editing.set_joint(harness, "J1", pin="A.8"))
    harness = editing.drop_run(harness, "L2")
    assert harness.lamp("L1").run.plus.pin == "A.8"


def common_in_two_steps() -> Harness:
    """The first two lamps' plus wires joined in J1, its trunk and the third's plus wire in J2 on pin A.8."""
    harness = editing.add_lamp(editing.add_common(accept(small(), "L1"), "A"), "Third", output=2, at="W3")
    harness = accept(harness, "L2", plus=Merge(at="W3", gather=("L1",)))
    harness = accept(harness, "L3", way=("W3", "W1"), plus=Merge(at="W1", gather=("J1",)))
    return settle(editing.set_joint(harness, "J2", pin="A.8"))


def test_a_common_pin_passes_from_a_joint_let_go_to_the_joint_left():
    harness = common_in_two_steps()
    assert (harness.joint("J1").onto, harness.joint("J1").pin) == ("J2", None)
    harness = editing.drop_run(harness, "L3")
    assert (harness.joint("J1").onto, harness.joint("J1").pin) == (None, "A.8")


def test_a_new_joint_that_leads_on_to_a_joint_ends_on_no_pin():
    harness = editing.add_lamp(editing.add_lamp(common_in_two_steps(), "Fourth", at="W2"), "Fifth", at="W2")
    harness = accept(harness, "L4")
    assert harness.lamp("L4").run.plus.pin is not None
    harness = accept(harness, "L5", plus=Merge(at="W2", gather=("L4", "L1")))
    new = harness.joint(harness.lamp("L5").run.plus.joint)
    assert (new.onto, new.pin) == ("J1", None), "a joint goes before a pin"


def test_set_joint():
    harness = editing.set_joint(walked(), "J1", colour="BU", gauge="0.25 mm2", way=("W3", "W1"))
    joint = harness.joint("J1")
    assert (joint.colour, joint.gauge) == ("BU", "0.25 mm2")
    assert editing.set_joint(harness, "J1", colour=None).joint("J1").colour is None


def test_contacts_of_what_is_gone_are_let_go():
    harness = attrs.evolve(
        walked(), contacts=(*walked().contacts, Contact(plug="P1", number=99, origin="L99-"))
    )
    assert "L99-" not in {contact.origin for contact in editing.let_go_of_lone_joints(harness).contacts}
