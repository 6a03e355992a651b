"""Waypoints and legs."""

from __future__ import annotations

from model import editing
from tests.model.editing.cases import accept, small, walked


def test_waypoints():
    harness = editing.add_waypoint(small(), "roof", reachable=False)
    assert (harness.waypoint("W5").name, harness.waypoint("W5").reachable) == ("roof", False)
    assert editing.edit_waypoint(harness, "W5", name="mast").waypoint("W5").name == "mast"
    harness = editing.remove_waypoint(harness, "W5")
    assert harness.find_waypoint("W5") is None


def test_a_waypoint_goes_with_its_legs():
    harness = editing.remove_waypoint(walked(), "W4")
    assert harness.find_leg("W4", "W3") is None
    assert len(harness.legs) == 2


def test_set_leg_adds_changes_and_keeps_what_is_not_said():
    harness = editing.set_leg(small(), "W1", "W2", length_mm=300)
    assert harness.find_leg("W2", "W1").length_mm == 300
    harness = editing.set_leg(harness, "W3", "W2", length_mm=130, hole_mm=4)
    leg = harness.find_leg("W2", "W3")
    assert (leg.length_mm, leg.hole_mm, leg.plug, leg.plug_mm) == (130, 4, "P1", 40)
    assert (leg.a, leg.b) == ("W2", "W3"), "the plug's place is told from the same end as before"


def test_a_leg_may_be_named_from_either_end():
    harness = editing.set_leg(small(), "W2", "W3", plug="P1", plug_mm=30)
    turned = editing.set_leg(harness, "W3", "W2", plug_mm=40)
    leg = turned.find_leg("W3", "W2")
    assert len(turned.legs) == len(harness.legs)
    assert (leg.a, leg.b, leg.plug_mm) == ("W2", "W3", 40), "still from its own first end"


def test_contacts_follow_a_renamed_plug_and_go_with_it():
    harness = walked()
    origins = [contact.origin for contact in harness.contacts]
    assert origins
    renamed = editing.set_leg(harness, "W2", "W3", plug="P7")
    assert [contact.plug for contact in renamed.contacts] == ["P7"] * len(origins)
    assert editing.set_leg(harness, "W2", "W3", plug="", plug_mm=0).contacts == ()
    assert editing.set_leg(harness, "W2", "W3", length_mm=125).contacts == harness.contacts


def test_remove_leg_opens_only_the_ways_over_it():
    harness = editing.add_lamp(walked(), "Roof lamp", at="W4", output=2)
    harness = accept(harness, "L3", way=("W4", "W3", "W1"))
    harness = editing.remove_leg(harness, "W3", "W2")
    assert [lamp.run.way for lamp in harness.lamps] == [(), (), ("W4", "W3", "W1")]
    assert harness.contacts == (), "the plug was on that leg"
