"""A trace as plain lines, for the terminal without a screen; and names of lamps read back."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from textwrap import wrap
from types import MappingProxyType

from model.electrics.network import joint_node
from model.errors import BadValue, NotThere
from model.harness import Harness
from model.routing.wires import derive
from model.tracing.behaviour import Sight
from model.tracing.faults import lit_lamps, served
from model.tracing.probe_words import probe_words
from model.tracing.proposing import Expectation, Standing, confirming_look, next_test, standing
from model.tracing.reading import by_tag
from model.tracing.trace import Suspect, Trace, begin, see, suspects
from model.values import counted, shown

SHOWN = 8
"""So many suspects are listed; the rest are counted."""


def lamps_called(harness: Harness, text: str) -> tuple[str, ...]:
    """Ids of the lamps that are meant: a lamp's id, its name or the start of it, a wire's tag, `output 5`,
    a joint (all lamps behind it).

    NotThere for what means no lamp, BadValue for a start that several names have.
    """
    plain = " ".join(text.split()).casefold()
    lamps = lit_lamps(harness)
    names = {lamp.id: lamp.name.casefold() for lamp in harness.lamps}
    exact = [lamp for lamp, name in names.items() if plain in (name, lamp.casefold())]
    if exact:
        return tuple(exact[:1])
    record = by_tag(harness.ledger).get(plain.upper())
    if record is not None and record.live:
        behind = derive(harness).by_key[record.wire].lamps
        return tuple(lamp for lamp in behind if lamp in lamps)
    number = plain.removeprefix("output ")
    if plain.startswith("output ") and number.isdigit():
        found = tuple(lamp for lamp, output in lamps.items() if output == int(number))
        if found:
            return found
    joint = harness.find_joint(plain.removeprefix("joint ").upper())
    fed = served(harness).get(joint_node(joint.id), frozenset()) if joint else frozenset()
    if fed:
        return tuple(lamp for lamp in lamps if lamp in fed)
    starts = [lamp for lamp, name in names.items() if plain and name.startswith(plain)]
    if len(starts) > 1:
        called = ", ".join(harness.lamp(lamp).name for lamp in starts[:4])
        raise BadValue(f"lamp '{shown(text)}'", f"may be {len(starts)} of them", limit=called)
    if not starts:
        raise NotThere(
            f"lamp '{shown(text)}'",
            "does not exist",
            remedy="Give a lamp's name, a tag, a joint, or output 5; a name may stand in quotes.",
        )
    return tuple(starts)


SIGHT_WORDS: Mapping[str, Sight] = MappingProxyType(
    {sight.value: sight for sight in Sight}
    | {"ok": Sight.LIT, "off": Sight.DARK, "dead": Sight.DARK, "flicker": Sight.FLICKERS}
    | {"wrong": Sight.WRONG, "stays": Sight.STAYS}
)
"""What a lamp may be said to do."""


def seen_in_words(harness: Harness, text: str) -> tuple[tuple[Sight, tuple[str, ...]], ...]:
    """ "output 5, beacon dark; the rest lit": what is seen, with the ids of the lamps it is seen of.

    Lamps are parted by commas, semicolons or "and", but for those in a lamp's own name or in quotes; a sight
    holds for those before it that have none, `rest` stands for all lamps not named. BadValue and NotThere
    as `lamps_called`, and BadValue for lamps without a sight.
    """
    found: list[tuple[Sight, tuple[str, ...]]] = []
    waiting: list[str] = []
    rest: Sight | None = None
    for words in parted(harness, text, with_and=True):
        said = next(
            (word for word in SIGHT_WORDS if re.search(rf"(?:^|\s){word}$", words, re.IGNORECASE)), None
        )
        lamp = words[: len(words) - len(said)].strip() if said else words
        if lamp:
            waiting.append(lamp)
        if said and waiting:
            named = [one for one in waiting if not _REST.fullmatch(one)]
            lamps = [lamp for one in named for lamp in lamps_called(harness, one)]
            found.append((SIGHT_WORDS[said], tuple(dict.fromkeys(lamps))))
            rest = SIGHT_WORDS[said] if len(named) < len(waiting) else rest
            waiting.clear()
    if waiting or not found:
        what = f"'{shown(waiting[0])}'" if waiting else "nothing"
        raise BadValue("what is seen", f"{what} without what it does", limit=", ".join(Sight))
    if rest is not None:
        told = {lamp for _, lamps in found for lamp in lamps}
        found.append((rest, tuple(lamp for lamp in lit_lamps(harness) if lamp not in told)))
    return tuple((sight, lamps) for sight, lamps in found if lamps)


_REST = re.compile(r"(?:(?:all )?(?:the )?(?:rest|others?))(?: is| are)?", re.IGNORECASE)


def parted(harness: Harness, text: str, *, with_and: bool = False) -> list[str]:
    """The lamps that a text names one after the other, parted at commas and semicolons, at "and" too if
    asked for. A comma in the name of a lamp or between quotes parts nothing.
    """
    plain = " ".join(text.split())
    # Whole names first, the longest before those that are part of it.
    names = sorted({lamp.name for lamp in harness.lamps if _PARTS.search(lamp.name)}, key=len, reverse=True)
    kept = "|".join([r'"[^"]*"', *(rf"\b{re.escape(name)}(?!\w)" for name in names)])
    signs = re.compile(rf"(?P<kept>{kept})|(?P<part>{_PARTS.pattern if with_and else '[,;]'})", re.IGNORECASE)
    found, begin = [], 0
    for match in signs.finditer(plain):
        if match["part"]:
            found.append(plain[begin : match.start()])
            begin = match.end()
    found.append(plain[begin:])
    return [words for part in found if (words := part.replace('"', "").strip())]


_PARTS = re.compile(r"[,;]|\band\b", re.IGNORECASE)


def trace_of(
    harness: Harness, seen: Sequence[tuple[Sight, Sequence[str]]], battery_v: float | None = None
) -> Trace:
    """A trace with what was seen, lamps given as `lamps_called` reads them."""
    trace = begin(harness, battery_v=battery_v)
    for sight, texts in seen:
        for text in texts:
            for lamp in lamps_called(harness, text):
                trace = see(trace, lamp, sight)
    return trace


def trace_text(trace: Trace, width: int = 80) -> list[str]:
    """What is seen, what is left, and what to do next, in lines of at most `width` columns.

    Only a word that is longer than a line is not broken.
    """
    return [line for whole in _lines(trace) for line in _folded(whole, width)]


def _folded(line: str, width: int) -> list[str]:
    """A line that is too long goes on below, further in than its own beginning."""
    begin = _BEGIN.match(line)
    indent = " " * (len(begin[0]) + 2 if begin else 2)
    parts = wrap(line, width, subsequent_indent=indent, break_long_words=False, break_on_hyphens=False)
    return parts or [line]


_BEGIN = re.compile(r"(seen|left|next)? *(\S+ %)? *")


def _lines(trace: Trace) -> Iterator[str]:
    harness = trace.harness
    for sight in Sight:
        names = [harness.lamp(lamp).name for lamp, seen in trace.sights.items() if seen is sight]
        if names:
            yield f"{'seen':<6}{sight.value}: {', '.join(names)}"
    left = suspects(trace)
    for place, suspect in enumerate(left[:SHOWN]):
        yield f"{'left' if place == 0 else '':<6}{share_words(suspect.share):>5}  {suspect.words}"
        yield f"{'':<13}{suspect.reason}"
    if len(left) > SHOWN:
        yield f"{'':<13}and {len(left) - SHOWN} more"
    proposal = next_test(trace)
    if proposal is not None:
        yield f"{'next':<6}{probe_words(harness, proposal.probe)}"
        for one in proposal.expectations:
            yield f"{'':<8}{expectation_words(one)}"
    yield standing_words(trace)
    look = confirming_look(trace)
    if look is not None:
        yield f"{'next':<6}to be sure: {probe_words(harness, look.probe)}"


def standing_words(trace: Trace) -> str:
    """How far the trace has come, in a sentence."""
    state = standing(trace)
    left = suspects(trace)
    if state is Standing.NOTHING_ODD:
        return "Nothing is seen to be wrong yet."
    if state is Standing.UNEXPLAINED:
        return "No fault known here explains all of this, nor do two at once: check what was entered."
    if state is Standing.FOUND:
        sure = "Found" if len(left) == 1 else "Found, as good as certain"
        return f"{sure}: {left[0].words}."
    if state is Standing.ALIKE:
        return f"These {len(left)} can't be told apart from outside. Mend the first and see."
    return f"{counted(len(left), 'suspect')} {'is' if len(left) == 1 else 'are'} left."


def share_words(share: float) -> str:
    """A share in percent, never rounded up to certainty."""
    if share > 0.995:
        return "100 %" if share > 1 - 1e-9 else "99 %"
    return "<1 %" if share < 0.01 else f"{100 * share:.0f} %"


def expectation_words(one: Expectation, most: int = 3) -> str:
    """One reading and whom it would leave; what is seen at its place speaks for itself."""
    found = suspect_list(one.suspects, most)
    return one.words if one.words == found else f"{one.words}: {found}"


def suspect_list(found: Sequence[Suspect], most: int = 3) -> str:
    """The first of several suspects in words, the rest counted."""
    words = "; ".join(one.words for one in found[:most])
    return words + (f"; and {len(found) - most} more" if len(found) > most else "")
