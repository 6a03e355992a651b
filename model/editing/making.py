"""What was done to a wire at the bench and later: steps, the length it was cut to, its history."""

from __future__ import annotations

import attrs

from model.harness import Harness
from model.tags import Event


def do_step(
    harness: Harness, tag: str, step: str, day: str, *, cut_mm: float | None = None, note: str = ""
) -> Harness:
    """Mark a bench step of a wire as done; with `cut_mm` the wire has that length from then on."""
    record = harness.ledger.get(tag)
    if step in record.steps:
        return harness
    new = attrs.evolve(
        record,
        steps=(*record.steps, step),
        cut_mm=record.cut_mm if cut_mm is None else cut_mm,
        events=(*record.events, Event(day=day, what=step, note=note)),
    )
    return attrs.evolve(harness, ledger=harness.ledger.replace(new))


def undo_step(harness: Harness, tag: str, step: str, day: str, *, forget_cut: bool = False) -> Harness:
    """Take back a bench step of a wire; with `forget_cut` the length it was cut to as well."""
    record = harness.ledger.get(tag)
    steps = tuple(done for done in record.steps if done != step)
    new = attrs.evolve(
        record,
        steps=steps,
        cut_mm=None if forget_cut else record.cut_mm,
        events=(*record.events, Event(day=day, what=f"not {step}")),
    )
    return attrs.evolve(harness, ledger=harness.ledger.replace(new))


def set_cut(harness: Harness, tag: str, cut_mm: float | None, day: str) -> Harness:
    """Enter the length a wire was really cut to; None forgets it."""
    record = harness.ledger.get(tag)
    note = "" if cut_mm is None else f"{cut_mm:g} mm"
    new = attrs.evolve(
        record, cut_mm=cut_mm, events=(*record.events, Event(day=day, what="length", note=note))
    )
    return attrs.evolve(harness, ledger=harness.ledger.replace(new))


def log_event(harness: Harness, tag: str, what: str, note: str, day: str) -> Harness:
    """Write a line into a wire's history."""
    record = harness.ledger.get(tag)
    new = attrs.evolve(record, events=(*record.events, Event(day=day, what=what, note=note)))
    return attrs.evolve(harness, ledger=harness.ledger.replace(new))
