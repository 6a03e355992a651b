"""Lines of Trace: a suspect with its share, the test to make next and what its readings would mean."""

from __future__ import annotations

from collections.abc import Iterator
from textwrap import wrap

from textual.content import Content

from harness_tui.widgets.lines import clip
from model.tracing.probe_words import probe_words
from model.tracing.proposing import Proposal
from model.tracing.trace import Suspect, Trace
from model.tracing.trace_text import expectation_words, share_words
from model.values import counted

_BAR = 8


def wrapped(text: str, width: int, indent: str = "") -> list[str]:
    """A text in lines of at most `width` columns, those after the first further in."""
    return wrap(text, width, subsequent_indent=indent, break_on_hyphens=False) or [""]


def next_test_lines(trace: Trace, proposal: Proposal | None, width: int, most: int) -> Iterator[Content]:
    """The test to make and what its readings would mean, in at most about `most` lines."""
    if proposal is None:
        return
    room = width - 7
    hint = "   Enter answers"
    words = wrapped(probe_words(trace.harness, proposal.probe), room)
    if len(words[-1]) + len(hint) > room:
        words.append("")
    for place, line in enumerate(words):
        text = Content.styled(f"{'' if place else 'next':<7}", "dim") + Content.styled(line, "bold $accent")
        yield (
            text + Content.styled(hint if line else hint.strip(), "dim") if place == len(words) - 1 else text
        )
    used = len(words)
    for place, one in enumerate(proposal.expectations):
        lines = wrapped(expectation_words(one, 2), room, indent="  ")
        last = place == len(proposal.expectations) - 1
        if used + len(lines) + (not last) > most and place:
            more = len(proposal.expectations) - place
            yield Content.styled(f"{'':<7}and {counted(more, 'more answer')}", "dim")
            return
        used += len(lines)
        for line in lines:
            yield Content(f"{'':<7}{line}")


def suspect_line(suspect: Suspect, name: str, width: int) -> Content:
    """One suspect with its share as a bar and in percent."""
    full = max(round(_BAR * suspect.share), 1)
    bar = Content.styled("\u2501" * full, "$accent") + Content.styled("\u2500" * (_BAR - full), "dim")
    room = max(width - 7 - _BAR - 8, 10)
    words = clip(suspect.words, room)
    gap = " " * max(room - Content(words).cell_length, 0)
    share = Content(f" {share_words(suspect.share):>5}")
    return Content.styled(f"{name:<7}", "dim") + Content(f"{words}{gap} ") + bar + share
