"""A step done and taken back.

With the cut the wire has a length of its own, whatever is planned later; with the lamp end the resistor is
soldered and becomes the lamp's own.
"""

from __future__ import annotations

import attrs

from model import editing
from model.bench.cut import cut_note, noted_cut, planned_cut_mm
from model.bench.order import StepKind
from model.harness import Build, Harness, Lamp, Polarity
from model.labels.wire_room import resistor_of
from model.routing.spools import count_cut, cut_from, spool_for, take_from_spool
from model.routing.wires import EndKind, Wire, derive


def mark_step(harness: Harness, tag: str, step: str, day: str) -> Harness:
    """Mark a bench step of a wire as done.

    With the cut the length of the plan is kept as what was cut, unless a measured one is known. With the lamp
    end the resistor is soldered: its value is kept as the lamp's own from then on, so that another supply or
    series is reckoned with what is in the model and not with what would be bought today.
    """
    if step == StepKind.CUT:
        return _from_spool(harness, _cut(harness, tag, day), tag, day)
    lamp = _takes_resistor(harness, tag, step)
    if lamp is not None and lamp.resistor_ohm is None and (choice := resistor_of(harness, lamp)) is not None:
        harness = editing.edit_lamp(harness, lamp.id, resistor_ohm=choice.ohm)
    return editing.do_step(harness, tag, step, day)


def take_back_step(harness: Harness, tag: str, step: str, day: str) -> Harness:
    """Take a bench step back.

    A wire not cut has no length of its own, but one that was typed before the cut stays; a resistor that is
    the one worked out is open again.
    """
    if step == StepKind.CUT:
        record = harness.ledger.get(tag)
        forget = bool(noted_cut(record))
        harness = count_cut(harness, cut_from(record), -(record.cut_mm or 0.0))
        return editing.undo_step(harness, tag, step, day, forget_cut=forget)
    lamp = _takes_resistor(harness, tag, step)
    if lamp is not None and lamp.resistor_ohm is not None:
        choice = resistor_of(harness, attrs.evolve(lamp, resistor_ohm=None))
        if choice is not None and choice.ohm == lamp.resistor_ohm:
            harness = editing.edit_lamp(harness, lamp.id, resistor_ohm=None)
    return editing.undo_step(harness, tag, step, day)


def _cut(harness: Harness, tag: str, day: str) -> Harness:
    record = harness.ledger.get(tag)
    wire = derive(harness).by_key.get(record.wire)
    if wire is None or record.cut_mm is not None:
        return editing.do_step(harness, tag, StepKind.CUT.value, day)
    cut_mm = _planned_mm(harness, wire)
    return editing.do_step(harness, tag, StepKind.CUT.value, day, cut_mm=cut_mm, note=cut_note(wire, cut_mm))


def _from_spool(before: Harness, harness: Harness, tag: str, day: str) -> Harness:
    """Take what was cut just now off its spool: the one that the plan named before the cut."""
    record, old = harness.ledger.get(tag), before.ledger.get(tag)
    if harness is before or record.cut_mm is None:
        return harness
    if old.cut_mm is not None:
        # With a length the wire counts as cut, and no plan names a spool for it.
        before = attrs.evolve(before, ledger=before.ledger.replace(attrs.evolve(old, cut_mm=None)))
    name = spool_for(before, record.wire)
    return take_from_spool(harness, tag, name, record.cut_mm, day) if name else harness


def _planned_mm(harness: Harness, wire: Wire) -> float:
    return planned_cut_mm(wire, harness.lamp(wire.lamp_end.ref).lead_mm if wire.own_lead else 0.0)


def set_length(harness: Harness, tag: str, cut_mm: float | None, day: str) -> Harness:
    """Enter the length a wire was really cut to; with None it is that of the plan, if it is cut at all."""
    record = harness.ledger.get(tag)
    wire = derive(harness).by_key.get(record.wire)
    if cut_mm is None and wire is not None and StepKind.CUT in record.steps:
        cut_mm = _planned_mm(harness, wire)
    # What was cut from a spool was this long, not as long as was thought.
    harness = count_cut(harness, cut_from(record), (cut_mm or 0.0) - (record.cut_mm or 0.0))
    return editing.set_cut(harness, tag, cut_mm, day)


def _takes_resistor(harness: Harness, tag: str, step: str) -> Lamp | None:
    """The bare lamp whose resistor this step solders, or None."""
    wire = derive(harness).by_key.get(harness.ledger.get(tag).wire)
    if step != StepKind.LAMP or wire is None:
        return None
    if wire.lamp_end.kind is not EndKind.LAMP or wire.polarity is not Polarity.PLUS:
        return None
    lamp = harness.lamp(wire.lamp_end.ref)
    return lamp if lamp.build is Build.BARE else None
