"""One wire as Find shows it: its tag large, its whole way, the facts, what happened to it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isclose
from textwrap import wrap

from textual.content import Content

from harness_tui.widgets.big import big
from harness_tui.widgets.lines import clip
from harness_tui.widgets.trail import painted_trail
from harness_tui.widgets.wire_paint import wire_chip, wire_stroke
from model import lengths
from model.bench import event_said, step_kinds, step_said
from model.checks.making import TAKEN_OFF
from model.errors import LoomError
from model.harness import Harness
from model.papers.wire_list import made
from model.routing.made import made_mm
from model.routing.wires import Wire
from model.routing.words import colour_words, place_name, wire_words
from model.tags import TagRecord
from model.tracing.expect import expect, ohm_cell, on_heading, volts_cell
from model.tracing.find import WireAnswer, forerunners
from model.tracing.trail import PointKind, Trail, trail

EVENTS = 4
"""So many of the last events are shown with a wire."""

_NAME = 11
"""Columns of a fact's name."""


def wire_lines(
    harness: Harness, answer: WireAnswer, width: int, trail_rows: int, battery_v: float | None = None
) -> Iterator[Content]:
    """A live tag; its way takes at most `trail_rows` lines. Nothing for a retired one.

    `battery_v` is what the battery has now, None its nominal volts.
    """
    wire = answer.wire
    if wire is None:
        return
    record = answer.record
    third = f" {colour_words(wire.colour)} {wire.gauge}   {length_words(record, wire)}"
    left = (
        Content.styled(clip(wire_words(harness, wire), width - 24), "bold"),
        wire_chip(wire.colour) + Content(clip(third, width - 28)),
        Content.styled(clip(state_words(record, wire), width - 24), "dim"),
    )
    yield from _with_tag(left, big(answer.tag), width, "bold $accent")
    yield wire_stroke(wire.colour, width)
    way = trail(harness, wire)
    yield from painted_trail(way, width, trail_rows)
    yield from _facts(harness, way, width)
    meter = _meter_words(harness, answer.tag, battery_v)
    if meter:
        yield _fact("meter", meter, width)
    for old in forerunners(harness, record.tag):
        yield _fact("was", f"{old.tag}, {old.retired}", width)
    yield from event_lines(record, width, EVENTS)


def _meter_words(harness: Harness, tag: str, battery_v: float | None) -> str:
    """What a meter to the battery's minus says at the lamp end; "" where no lamp of the wire can light."""
    try:
        expected = expect(harness, tag, battery_v)
    except LoomError:
        return ""
    end = expected.points[-1]
    if end.on_v is None:
        return ""
    volts = f"{volts_cell(end.off_v)} off, {volts_cell(end.on_v)} with {on_heading(expected)}"
    ohm = f"{ohm_cell(end.pin_ohm)} ohm to the pin"
    return f"lamp end to minus {volts}; {ohm}"


def _facts(harness: Harness, way: Trail, width: int) -> Iterator[Content]:
    wire = way.wire
    found = harness.controller.find_output(wire.output)
    function = f" ({found[1].function})" if found and found[1].function else ""
    yield _fact("on", f"{way.root.words}{function}", width)
    yield _fact("lights", ", ".join(way.behind.lamps) or "nothing", width)
    joints = [branch.to for branch in way.line[:-1] if branch.to.kind is PointKind.JOINT]
    if joints:
        yield _fact("by way of", ", ".join(f"{one.ref} at {one.place or '?'}" for one in joints), width)
    if way.neighbours:
        yield _fact("beside it", ", ".join(branch.tag for branch in way.neighbours), width)
    places = [name for point in wire.path if (name := place_name(harness, point))]
    if places:
        yield _fact("passes", ", ".join(places), width)


def retired_lines(answer: WireAnswer, heirs: Sequence[WireAnswer], width: int) -> Iterator[Content]:
    """A retired tag: what it was, why it is out of use, what took its place."""
    record = answer.record
    left = (
        Content.styled("retired: this tag is out of use", "bold $text-warning"),
        Content(clip(f"was {answer.words}", width - 24)),
        Content.styled(clip(printed_words(record) or "no label of it was printed", width - 24), "dim"),
    )
    yield from _with_tag(left, big(answer.tag), width, "dim")
    yield Content.styled("\u2501" * width, "dim")
    yield _fact("because", record.retired, width)
    for place, heir in enumerate(heirs):
        yield _fact("now" if place == 0 else "", f"{heir.tag}  {heir.words}", width)
    if heirs:
        yield Content.styled(f"{'':<{_NAME}}Enter shows {heirs[0].tag}", "$accent")
    else:
        yield _fact("now", "nothing took its place", width)
    if record.issued and not is_off(record):
        yield _fact("to do", "take its labels off the wire, then press x", width)
    yield from event_lines(record, width, EVENTS)


def event_lines(record: TagRecord, width: int, most: int, *, whole: bool = False) -> Iterator[Content]:
    """The last `most` events, oldest first, and how many there are before them.

    One that is too long is cut, or with `whole` goes on in the next line.
    """
    events = record.events[-most:] if most else ()
    if not events:
        yield _fact("history", "nothing yet", width)
    for place, event in enumerate(events):
        words = f"{event.day}  {event_said(record, event)}"
        lines = wrap(words, max(width - _NAME, 10), subsequent_indent=" " * 12) if whole else [words]
        for number, line in enumerate(lines):
            yield _fact("history" if place == number == 0 else "", line, width)
    if len(record.events) > len(events):
        yield _fact("", f"and {len(record.events) - len(events)} before; h shows all", width)


def is_off(record: TagRecord) -> bool:
    """Whether the labels of a retired tag are noted as taken off."""
    return any(event.what == TAKEN_OFF for event in record.events)


def length_words(record: TagRecord, wire: Wire) -> str:
    """The length it was cut to, with that of the plan where it differs; else the plan's."""
    now = made_mm(record, wire)
    if not isclose(now, wire.cut_mm):
        return f"{lengths.text(now)} (plan {lengths.text(wire.cut_mm)})"
    return f"own lead, {lengths.text(now)}" if wire.own_lead else lengths.text(now)


def printed_words(record: TagRecord) -> str:
    """Which of its labels were printed, with the day; empty if none was."""
    lamp, controller = record.printed_lamp, record.printed_controller
    if lamp and controller:
        return f"labels printed {max(lamp, controller)}"
    if lamp or controller:
        return f"label of the {'lamp' if lamp else 'controller'} end printed {lamp or controller}"
    return ""


def state_words(record: TagRecord, wire: Wire) -> str:
    """How far the wire is made, and its labels."""
    done = made(record, wire)
    following = next((kind for kind in step_kinds(wire) if kind not in record.steps), None)
    words = (
        f"{done} steps, not yet {step_said(record, following)}" if done and following else done or "not begun"
    )
    return f"{words} \u00b7 {printed_words(record) or 'no label printed'}"


def _with_tag(left: Sequence[Content], right: Sequence[str], width: int, style: str) -> Iterator[Content]:
    """Lines with a large tag at their right."""
    for words, row in zip(left, right, strict=True):
        gap = max(width - words.cell_length - len(row), 1)
        yield words + Content(" " * gap) + Content.styled(row, style)


def _fact(name: str, words: str, width: int) -> Content:
    return Content.styled(f"{name:<{_NAME}}", "dim") + Content(clip(words, max(width - _NAME, 10)))
