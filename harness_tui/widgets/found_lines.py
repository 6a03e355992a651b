"""What Find shows beside the one wire: lists, the meter's readings, other projects, and nothing asked yet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from textual.content import Content

from harness_tui.other_projects import Elsewhere
from harness_tui.widgets.lines import clip
from harness_tui.widgets.table import Row
from harness_tui.widgets.wire_paint import wire_chip
from model import lengths
from model.errors import LoomError
from model.harness import Harness
from model.papers.wire_list import made
from model.routing.made import made_mm
from model.tracing.expect import expect, expect_text
from model.tracing.find import Found, FoundKind, WireAnswer, wire_answer
from model.values import shown

_PATH_MAX = 200


def empty_lines(harness: Harness) -> Iterator[Content]:
    """What can be asked, before anything is."""
    yield Content("")
    live = sum(record.live for record in harness.ledger)
    if not harness.ledger.records:
        yield Content("  No tags yet. Press 4 and walk the lamps; F5 from inside the line.")
        return
    retired = len(harness.ledger.records) - live
    yield Content(f"  {live} wires are tagged{f', {retired} tags are retired' if retired else ''}.")
    yield Content("  Type or scan a tag and press Enter; ? is a character that can't be read.")
    yield Content("  Several tags say what they have in common. Or ask for a lamp, a function,")
    yield Content("  output 5, pin A5, joint J3, plug P1, BK, a place. F1 says more.")
    yield Content("  Lamps dark, dim or odd: ctrl+t opens Trace, which looks for the fault.")


def elsewhere_lines(there: Sequence[Elsewhere], width: int) -> Iterator[Content]:
    """What other projects know of it."""
    if there:
        which = f"project {there[0].code}" if len(there) == 1 else "one of these"
        yield Content("")
        yield Content.styled(f"p opens {which} and asks there", "$accent")
    for one in there:
        yield Content.styled(clip(f"{one.code}  {one.name}", width), "bold")
        yield Content(clip(f"     {one.words}", width))
        yield Content.styled(clip(f"     {shown(str(one.path), _PATH_MAX)}", width), "dim")


def meter_lines(harness: Harness, tag: str, width: int, battery_v: float | None) -> Iterator[Content]:
    """What a meter should say at each point of the wire's way."""
    try:
        lines = expect_text(expect(harness, tag, battery_v))
    except LoomError as error:
        yield Content.styled(clip(error.message(), width), "$text-warning")
        return
    for place, line in enumerate(lines):
        yield Content.styled(clip(line, width), "bold" if place == 0 else "dim" if place == 2 else "")


def found_rows(harness: Harness, found: Found, room: int) -> Iterator[Row]:
    """The answer as a list, where it is one; heading rows have no tag. Words take `room` columns."""
    if found.kind is FoundKind.CANDIDATES:
        for candidate in found.candidates:
            yield _row(candidate.answer, room)
    elif found.kind is FoundKind.SEVERAL:
        for answer in found.answers:
            yield _row(answer, room)
    elif found.kind is FoundKind.LISTS:
        records = harness.ledger.live()
        seen: set[str] = set()
        for place, one in enumerate(found.lists):
            if len(found.lists) > 1:
                yield f"#{place}", ("", Content.styled(clip(one.words, room), "bold"), "", "", "")
            for wire in one.wires:
                if wire.key in records and wire.key not in seen:
                    seen.add(wire.key)
                    yield _row(wire_answer(harness, records[wire.key]), room)


def _row(answer: WireAnswer, room: int) -> Row:
    wire = answer.wire
    words = clip(answer.words, room)
    if wire is None:
        return answer.tag, (answer.tag, words, "", "", "retired")
    state = made(answer.record, wire)
    return answer.tag, (
        answer.tag,
        words,
        wire_chip(wire.colour),
        f"{lengths.figure(made_mm(answer.record, wire)):>6}",
        state,
    )
