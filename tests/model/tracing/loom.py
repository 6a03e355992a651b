"""One small harness that the tests of tracing look things up in."""

from __future__ import annotations

import attrs

from model import editing
from model.editing import Merge, RunChoice
from model.harness import Hand, Harness
from model.routing.allot import settle
from model.routing.wires import derive

BUMPER_WAY = ("W3", "W2", "W1")

TAGS = {
    "L1-": "K7L",
    "L2-": "H4E",
    "J1-": "9C9",
    "L3-": "82A",
    "L3-.2": "N6H",
}
"""Tags given in the place of those that the ledger chose, so that a test can name them."""


def gritter() -> Harness:
    """Three lamps of a lorry.

    Two indicators on the left (output 5), their switched wires merged in J1 at the cab floor; a beacon
    on output 2 at the roof, behind plug P1.
    """
    harness = editing.new_harness("Gritter", "GRT")
    harness = editing.edit_output(harness, 5, function="indicators left")
    for name in ("cab floor", "front bumper", "roof"):
        harness = editing.add_waypoint(harness, name)
    harness = editing.set_leg(harness, "W1", "W2", length_mm=210)
    harness = editing.set_leg(harness, "W2", "W3", length_mm=120)
    harness = editing.set_leg(harness, "W2", "W4", length_mm=90, plug="P1", plug_mm=30)
    harness = editing.add_lamp(
        harness,
        "Indicator front left",
        function="indicator",
        colour="amber",
        output=5,
        at="W3",
        hand=Hand.LEFT,
    )
    harness = editing.add_lamp(
        harness,
        "Indicator side left",
        function="indicator",
        colour="amber",
        output=5,
        at="W2",
        hand=Hand.LEFT,
    )
    harness = editing.add_lamp(harness, "Beacon", function="beacon", place="cab roof", output=2, at="W4")
    harness = settle(editing.accept_run(harness, "L1", RunChoice(way=BUMPER_WAY)))
    merge = Merge(at="W2", gather=("L1",))
    harness = settle(editing.accept_run(harness, "L2", RunChoice(way=BUMPER_WAY[1:], minus=merge)))
    harness = settle(editing.accept_run(harness, "L3", RunChoice(way=("W4", "W2", "W1"))))
    return _renamed(harness)


def _renamed(harness: Harness) -> Harness:
    """The same harness with known tags: the ledger as if it had begun with them, nothing retired."""
    live = harness.ledger.live()
    spare = iter(("F8N", "J5E", "P6R", "A8F"))
    records = tuple(
        attrs.evolve(live[wire.key], tag=TAGS.get(wire.key) or next(spare)) for wire in derive(harness).wires
    )
    return settle(attrs.evolve(harness, ledger=attrs.evolve(harness.ledger, records=records)))


def moved() -> Harness:
    """The beacon's labels are printed, then it goes to output 3: the old tag of its last piece is retired."""
    harness = editing.mark_printed(gritter(), [("N6H", "L"), ("N6H", "C")], "2026-03-03")
    return settle(editing.edit_lamp(harness, "L3", output=3))
