"""What was done to a wire, as a person would say it."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from model.bench.order import StepKind
from model.tags import Event, TagRecord

_DONE: Mapping[str, str] = MappingProxyType(
    {
        StepKind.CUT: "cut",
        StepKind.SLEEVE: "sleeves slid on",
        StepKind.STRIP: "stripped",
        StepKind.SHRINK: "sleeves shrunk",
        StepKind.TEST: "passed its test",
    }
)


def step_said(record: TagRecord, step: str) -> str:
    """A step that is done: "stripped", "lamp end made", "joined at J3", "put into pin A1"."""
    if step == StepKind.LAMP:
        return _joined(record, record.lamp_end, "lamp end made")
    if step == StepKind.JOIN:
        return _joined(record, record.controller_end, "controller end made")
    return _DONE.get(step, step)


def _joined(record: TagRecord, end: str, otherwise: str) -> str:
    if end[:1] == "J" and end[1:].isdigit():
        return f"joined at {end}"
    name, dot, number = end.rpartition(".")
    if not dot:
        return otherwise
    # Plugs and blocks have names alike; the words of both ends tell them apart.
    if f"plug {name} contact {number}" in record.meaning:
        return f"put into plug {name}, contact {number}"
    return f"put into pin {name}{number}"


def event_said(record: TagRecord, event: Event) -> str:
    """Something that happened to a wire, with its note; a step taken back is "not stripped after all"."""
    taken_back = event.what.removeprefix("not ")
    if event.what in tuple(StepKind):
        words = step_said(record, event.what)
        return f"{words} to {event.note}" if event.what == StepKind.CUT and event.note else words
    if taken_back != event.what and taken_back in tuple(StepKind):
        return f"not {step_said(record, taken_back)} after all"
    return f"{event.what} {event.note}".rstrip()
