"""What was found as plain lines, for the terminal without a screen."""

from __future__ import annotations

from collections.abc import Iterator
from math import isclose

from model import lengths
from model.bench import step_said
from model.routing.made import made_mm
from model.routing.wires import Wire
from model.routing.words import colour_words
from model.tags import TagRecord
from model.tracing.find import Found, FoundKind, WireAnswer
from model.tracing.lines import cells, draw_trail
from model.tracing.trail import PointKind, trail


def find_text(found: Found, width: int = 80) -> list[str]:
    """The answer in lines: the heading, then what goes with it. A trail keeps to `width` columns."""
    lines = [*([found.reason] if found.reason else []), found.heading]
    if found.kind is FoundKind.WIRE and found.answer is not None and found.answer.wire is not None:
        lines += _wire(found, found.answer, found.answer.wire, width)
    rows = [(one.answer, one.reason) for one in found.candidates]
    rows += [(heir, "") for heir in found.heirs]
    if found.kind in (FoundKind.SEVERAL, FoundKind.LISTS):
        rows += [(answer, "") for answer in found.answers]
    lines += _table(rows)
    lines += [f"also {one.words}" for one in found.also]
    return lines


def _wire(found: Found, answer: WireAnswer, wire: Wire, width: int) -> Iterator[str]:
    way = trail(found.harness, wire)
    colour = f"{colour_words(wire.colour)} ({wire.colour}) {wire.gauge}"
    yield f"{answer.net}, {wire.polarity.word}, {colour}, {_length(answer.record, wire)}"
    yield f"pin      {way.root.words}"
    yield f"lamps    {', '.join(way.behind.lamps) or 'none'}"
    joints = [branch.to for branch in way.line[:-1] if branch.to.kind is PointKind.JOINT]
    if joints:
        yield f"joints   {', '.join(f'{point.ref} at {point.place}' for point in joints)}"
    if way.neighbours:
        yield f"beside   {', '.join(branch.tag for branch in way.neighbours)}"
    yield f"made     {made_words(answer.record)}"
    yield ""
    yield from draw_trail(way, width)


def _length(record: TagRecord, wire: Wire) -> str:
    if wire.own_lead:
        return "the lamp's own lead"
    now = made_mm(record, wire)
    plan = "" if isclose(now, wire.cut_mm) else f" (plan {lengths.text(wire.cut_mm)})"
    return f"{lengths.text(now)}{plan}"


def made_words(record: TagRecord) -> str:
    """What was done to a wire at the bench, in words, with the day of the last of it."""
    if not record.steps:
        return "not begun"
    last = record.events[-1].day if record.events else ""
    done = ", ".join(step_said(record, step) for step in record.steps)
    return f"{done}{f' (last {last})' if last else ''}"


def _table(rows: list[tuple[WireAnswer, str]]) -> list[str]:
    """Tag, colour and meaning of wires below each other, with the reason behind it where there is one."""
    words = [answer.words for answer, _ in rows]
    widest = max(map(cells, words), default=0)
    lines = []
    for (answer, reason), meaning in zip(rows, words, strict=True):
        colour = answer.wire.colour if answer.wire else "--"
        padding = " " * (widest - cells(meaning))
        lines.append(f"{answer.tag:<4}  {colour:<4}  {meaning}{padding}  {reason}".rstrip())
    return lines
