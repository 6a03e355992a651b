"""A small model for the tests of the edits: before and after the walk."""

from __future__ import annotations

from collections.abc import Callable

from model import editing
from model.editing import Merge, RunChoice
from model.harness import Hand, Harness
from model.routing.allot import settle

DAY = "2026-03-03"
WAY = ("W2", "W3", "W1")
Edit = Callable[[Harness], Harness]


def small() -> Harness:
    """W2 bumper left --120-- W3 cab floor --210-- W1 controller, W4 bumper right; two lamps, not walked."""
    harness = editing.new_harness("Gritter", "GRT")
    for name in ("bumper left", "cab floor", "bumper right"):
        harness = editing.add_waypoint(harness, name)
    harness = editing.set_leg(harness, "W2", "W3", length_mm=120, plug="P1", plug_mm=40)
    harness = editing.set_leg(harness, "W3", "W1", length_mm=210)
    harness = editing.set_leg(harness, "W4", "W3", length_mm=120)
    harness = editing.add_lamp(
        harness, "Headlamp left", function="headlamp", hand=Hand.LEFT, output=1, at="W2"
    )
    return editing.add_lamp(harness, "Fog lamp", output=1, at="W2")


def walked() -> Harness:
    """Both lamps walked, their minus wires joined in J1 at the cab floor."""
    harness = accept(small(), "L1")
    return accept(harness, "L2", minus=Merge(at="W3", gather=("L1",)))


def accept(harness: Harness, lamp_id: str, **choice: object) -> Harness:
    return settle(editing.accept_run(harness, lamp_id, RunChoice(**{"way": WAY, **choice})))


def a_tag(harness: Harness) -> str:
    return harness.ledger.live()["L1+"].tag


def printed(harness: Harness) -> Harness:
    return editing.mark_printed(harness, [(a_tag(harness), "L")], DAY)


def minus_joint(harness: Harness, lamp_id: str) -> str | None:
    """The joint that the lamp's minus wire ends in."""
    return harness.lamp(lamp_id).run.minus.joint
