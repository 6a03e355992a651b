"""A step done and taken back; with the lamp end the resistor is soldered and becomes the lamp's own."""

from __future__ import annotations

import attrs

from model import editing
from model.bench.order import StepKind
from model.electrics.lamps import lamp_current
from model.electrics.resistor import ResistorChoice
from model.harness import Build, Harness, Lamp, Polarity
from model.routing.wires import EndKind, derive


def mark_step(harness: Harness, tag: str, step: str, day: str) -> Harness:
    """Mark a bench step of a wire as done.

    With the lamp end the resistor is soldered: its value is kept as the lamp's own from then on, so
    that another supply or series is reckoned with what is in the model and not with what would be
    bought today.
    """
    lamp = _takes_resistor(harness, tag, step)
    if lamp is not None and lamp.resistor_ohm is None and (choice := resistor_of(harness, lamp)) is not None:
        harness = editing.edit_lamp(harness, lamp.id, resistor_ohm=choice.ohm)
    return editing.do_step(harness, tag, step, day)


def take_back_step(harness: Harness, tag: str, step: str, day: str) -> Harness:
    """Take a bench step back; a resistor that is the one worked out is open again."""
    lamp = _takes_resistor(harness, tag, step)
    if lamp is not None and lamp.resistor_ohm is not None:
        choice = resistor_of(harness, attrs.evolve(lamp, resistor_ohm=None))
        if choice is not None and choice.ohm == lamp.resistor_ohm:
            harness = editing.edit_lamp(harness, lamp.id, resistor_ohm=None)
    return editing.undo_step(harness, tag, step, day)


def _takes_resistor(harness: Harness, tag: str, step: str) -> Lamp | None:
    """The bare lamp whose resistor this step solders, or None."""
    wire = derive(harness).by_key.get(harness.ledger.get(tag).wire)
    if step != StepKind.LAMP or wire is None:
        return None
    if wire.lamp_end.kind is not EndKind.LAMP or wire.polarity is not Polarity.PLUS:
        return None
    lamp = harness.lamp(wire.lamp_end.ref)
    return lamp if lamp.build is Build.BARE else None


def resistor_of(harness: Harness, lamp: Lamp) -> ResistorChoice | None:
    """The resistor to solder to a lamp, or None."""
    choice = lamp_current(harness, lamp).choice
    return choice if isinstance(choice, ResistorChoice) else None
