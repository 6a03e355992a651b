"""What a tag is, however badly it is read, and which wires belong to a lamp, an output, a pin or a place.

`find` takes what a person typed or a scanner sent. A tag is taken as it stands, else by what its
characters may have been; anything else is looked up in words.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from enum import StrEnum

import attrs

from model.harness import Harness
from model.routing.wires import Wire, derive
from model.routing.words import net_words
from model.tags import UNKNOWN, TagRecord, is_valid
from model.tracing.reading import Reading, by_tag, readings, slips
from model.tracing.words import WireList, things_called, wires_by_words
from model.values import counted, shown

ASKED_MAX = 200
CANDIDATES_MAX = 6


class FoundKind(StrEnum):
    """What came of a question."""

    WIRE = "wire"
    RETIRED = "retired"
    SEVERAL = "several"
    CANDIDATES = "candidates"
    LISTS = "lists"
    OTHER_PROJECT = "other project"
    NOTHING = "nothing"


@attrs.frozen(kw_only=True)
class WireAnswer:
    """One tag and its wire. `wire` is None for a retired tag; `words` says both ends, `net` the net.

    For its whole way see model.tracing.trail.trail.
    """

    tag: str
    record: TagRecord
    wire: Wire | None
    words: str
    net: str


@attrs.frozen(kw_only=True)
class Candidate:
    """A tag that may have been meant, with the reason in words; the smaller `cost`, the likelier."""

    answer: WireAnswer
    reason: str
    cost: float


@attrs.frozen(kw_only=True)
class Found:
    """The answer to a question, with what goes with its kind.

    WIRE: `answer`, and a `reason` where the tag was worked out. RETIRED: `answer` is the retired tag
    and `heirs` the live ones that took its place. SEVERAL: `several`, and in `shared` what they have
    in common. CANDIDATES: `candidates`, likeliest first. LISTS: `lists`. OTHER_PROJECT: `project` and
    `tag`. `end` is "L" or "C" where the label's end was read; `also` lists a pin, joint or plug that
    is called as the tag is.
    """

    asked: str
    kind: FoundKind
    heading: str
    harness: Harness = attrs.field(repr=False)
    answer: WireAnswer | None = None
    reason: str = ""
    end: str = ""
    project: str = ""
    tag: str = ""
    heirs: tuple[WireAnswer, ...] = ()
    several: tuple[WireAnswer, ...] = ()
    shared: tuple[str, ...] = ()
    candidates: tuple[Candidate, ...] = ()
    lists: tuple[WireList, ...] = ()
    also: tuple[WireList, ...] = ()

    @property
    def answers(self) -> tuple[WireAnswer, ...]:
        """Every wire that was found for certain, each once; empty where there are candidates at most."""
        if self.answer is not None:
            return (self.answer,)
        live = self.harness.ledger.live() if self.lists else {}
        keys = dict.fromkeys(wire.key for one in self.lists for wire in one.wires)
        return self.several or tuple(wire_answer(self.harness, live[key]) for key in keys if key in live)

    @property
    def end_words(self) -> str:
        """Which end the label belongs to, in words."""
        return {"L": "lamp end", "C": "controller end"}.get(self.end, "")


def find(harness: Harness, asked: str, *, near: Sequence[str] = ()) -> Found:
    """What `asked` leads to: a tag, several tags, the text of a label's code, or words.

    Case, spaces and hyphens do not matter and `?` stands for an illegible character. `near` are tags
    known to be at hand; of equally likely candidates those that meet them come first.
    """
    text = " ".join(asked.split())
    if not text or len(text) > ASKED_MAX:
        why = "nothing was asked" if not text else f"{len(text)} characters are too many"
        return Found(harness=harness, asked=shown(text), kind=FoundKind.NOTHING, heading=f"{why}: {_HOW}")
    read = _read(text, harness)
    if read is not None:
        project, tag, end = read
        if project and project != harness.code:
            return _other_project(harness, text, project, tag, end)
        record = by_tag(harness.ledger).get(tag)
        if record is not None:
            also = () if project or end else things_called(harness, text)
            return _exact(harness, record, text, end, also=also)
    return _several(harness, text, certain=True) or _not_as_it_stands(harness, text, read, near)


def _not_as_it_stands(
    harness: Harness, text: str, read: tuple[str, str, str] | None, near: Sequence[str]
) -> Found:
    """Words, or a tag that was misread: what the text looks more like is tried first."""
    if read is not None and (read[0] or read[2] or UNKNOWN in read[1]):
        return _guessed(harness, text, read[1], read[2], near)
    looks_like_tag = read is not None and any(map(str.isdigit, read[1])) and any(map(str.isalpha, read[1]))
    # The code on the label of a joint or plug starts with the project's, too.
    name = text[len(harness.code) + 1 :] if text.upper().startswith(f"{harness.code}-") else text
    lists = things_called(harness, name) if looks_like_tag else wires_by_words(harness, name)
    if lists:
        return _in_words(harness, text, lists)
    guessed = _several(harness, text, certain=False) or _several_illegible(harness, text)
    if guessed is None and read is not None:
        guessed = _guessed(harness, text, read[1], read[2], near)
    if looks_like_tag and (guessed is None or guessed.kind is FoundKind.NOTHING):
        lists = wires_by_words(harness, text)
    if lists:
        return _in_words(harness, text, lists)
    nothing = f"nothing is called '{shown(text)}'. {_HOW}"
    return guessed or Found(harness=harness, asked=text, kind=FoundKind.NOTHING, heading=nothing)


def _in_words(harness: Harness, text: str, lists: tuple[WireList, ...]) -> Found:
    count = len({wire.key for one in lists for wire in one.wires})
    words = "; ".join(one.words for one in lists)
    heading = f"{counted(count, 'wire')}: {words}" if count else words
    return Found(harness=harness, asked=text, kind=FoundKind.LISTS, heading=heading, lists=lists)


_HOW = "Ask for a tag (? for what can't be read), a lamp, output 5, pin A5, J3, P1, BK or a waypoint."


def wire_answer(harness: Harness, record: TagRecord) -> WireAnswer:
    """A ledger record with its wire; a retired one answers with what it meant."""
    wire = derive(harness).by_key.get(record.wire) if record.live else None
    net = wire_net_words(harness, wire) if wire else ""
    return WireAnswer(tag=record.tag, record=record, wire=wire, words=record.meaning, net=net)


def wire_net_words(harness: Harness, wire: Wire) -> str:
    """ "common", "output 5 (indicators left)", or that the lamp has no output yet."""
    if wire.output is None and wire.polarity is harness.controller.switched_polarity:
        return "no output yet"
    return net_words(harness, wire.output)


# --- reading --------------------------------------------------------------------------------------

_DASHES = str.maketrans(dict.fromkeys("\u2010\u2011\u2012\u2013\u2014_/", "-"))
_TAG = r"[^\W_]{3,4}|[\w?]{3,4}"
_LABEL = re.compile(rf"(?:(?P<project>[A-Z0-9]{{2,3}})-)?(?P<tag>{_TAG})(?:-(?P<end>[LC]))?")
_CLOSE = re.compile(r"[\w?]{3,5}")


def _read(text: str, harness: Harness) -> tuple[str, str, str] | None:
    """Project, tag and end of a text that can be a label's, or None. The tag holds whatever was seen.

    Of several ways to read it the one with a tag of this project goes first.
    """
    ways = list(_ways_to_read(text.upper().translate(_DASHES), harness.code))
    index = by_tag(harness.ledger)
    # "K7L-H4E" are two tags, not one of a project "K7L".
    ways = [way for way in ways if way[0] in ("", harness.code) or way[0] not in index]
    own = (way for way in ways if way[0] in ("", harness.code) and way[1] in index)
    return next(own, ways[0] if ways else None)


def _ways_to_read(upper: str, code: str) -> Iterator[tuple[str, str, str]]:
    closed = upper.replace(" ", "")
    spaced = upper.replace(" - ", "-").replace(" ", "-")
    for form in (closed, spaced):
        match = _LABEL.fullmatch(form)
        if not match:
            continue
        project, tag, end = match["project"] or "", match["tag"], match["end"] or ""
        # Every tag holds a digit; where no hyphen says that this is a label it has to be right as a code.
        digit = any(sign.isdigit() or sign == UNKNOWN for sign in tag)
        if project in ("", code) or (digit and (form == closed or is_valid(tag))):
            yield project, tag, end
    compact = closed.replace("-", "")
    if _CLOSE.fullmatch(compact):
        yield "", compact, ""
    if compact.startswith(code) and _CLOSE.fullmatch(compact[len(code) :]):
        yield code, compact[len(code) :], ""


def tags_meant(asked: str, code: str) -> tuple[str, ...]:
    """The tags that a text names as it stands, in a project of that code; `?` is left in them."""
    text = " ".join(asked.split()).upper().translate(_DASHES)
    ways = [tag for project, tag, _ in _ways_to_read(text, code) if project in ("", code)]
    return tuple(dict.fromkeys(ways))


def _exact(
    harness: Harness,
    record: TagRecord,
    asked: str,
    end: str,
    reason: str = "",
    also: tuple[WireList, ...] = (),
) -> Found:
    answer = wire_answer(harness, record)
    if record.live:
        words = {"L": ", lamp end", "C": ", controller end"}.get(end, "")
        return Found(
            harness=harness,
            asked=asked,
            kind=FoundKind.WIRE,
            heading=f"{record.tag}{words}: {answer.words}",
            answer=answer,
            reason=reason,
            end=end,
            tag=record.tag,
            also=also,
        )
    heirs = tuple(wire_answer(harness, heir) for heir in live_heirs(harness, record))
    instead = f"look at {', '.join(heir.tag for heir in heirs)}" if heirs else "nothing took its place"
    return Found(
        harness=harness,
        asked=asked,
        kind=FoundKind.RETIRED,
        heading=f"{record.tag} is retired: {record.retired}. It was {answer.words}; {instead}",
        answer=answer,
        reason=reason,
        end=end,
        tag=record.tag,
        heirs=heirs,
        also=also,
    )


def live_heirs(harness: Harness, record: TagRecord) -> tuple[TagRecord, ...]:
    """The live tags that took the place of a retired one, over however many tags between."""
    index = by_tag(harness.ledger)
    live: dict[str, TagRecord] = {}
    waiting, seen = list(record.replaced_by), {record.tag}
    while waiting:
        tag = waiting.pop(0)
        if tag in seen or tag not in index:
            continue
        seen.add(tag)
        if index[tag].live:
            live[tag] = index[tag]
        else:
            waiting += index[tag].replaced_by
    return tuple(live.values())


def forerunners(harness: Harness, tag: str) -> tuple[TagRecord, ...]:
    """The retired tags whose place this one took at once: what its wire was called before."""
    return tuple(record for record in harness.ledger if tag in record.replaced_by)


def _other_project(harness: Harness, asked: str, project: str, tag: str, end: str) -> Found:
    return Found(
        harness=harness,
        asked=asked,
        kind=FoundKind.OTHER_PROJECT,
        heading=f"{tag} is a tag of project {project}, this is {harness.code}. Open {project} and ask there.",
        project=project,
        tag=tag,
        end=end,
    )


# --- several tags ---------------------------------------------------------------------------------


def _several(harness: Harness, text: str, *, certain: bool) -> Found | None:
    """A bundle in the hand: tags one after the other, at least two.

    Each is in the ledger as it stands or, unless `certain`, is worked out without doubt.
    """
    parts = _tags_in_a_row(text, harness.code)
    if len(parts) < 2 or any(len(part) < 3 for part in parts):
        return None
    index = by_tag(harness.ledger)
    records = []
    for part in parts:
        record = index.get(part)
        if record is None and not certain:
            sure = readings(harness, part)
            record = sure[0].record if len(sure) == 1 else None
        if record is None:
            return None
        records.append(record)
    answers = tuple(wire_answer(harness, record) for record in dict.fromkeys(records))
    shared = shared_words(harness, [answer.wire for answer in answers if answer.wire])
    heading = f"{', '.join(answer.tag for answer in answers)}: {'; '.join(shared) or 'nothing in common'}"
    return Found(
        harness=harness, asked=text, kind=FoundKind.SEVERAL, heading=heading, several=answers, shared=shared
    )


def _tags_in_a_row(text: str, code: str) -> list[str]:
    """The tags of a text of several; of a whole label's text that of its tag."""
    upper = text.upper().translate(_DASHES)
    whole = [part for part in re.split(r"[\s,;+&]+", upper) if part]
    labels = [_LABEL.fullmatch(part) for part in whole]
    if any(label and label["project"] == code for label in labels):
        return [
            label["tag"] if label and label["project"] in (code, None) else part
            for part, label in zip(whole, labels, strict=True)
        ]
    return [part for part in re.split(r"[\s,;+&-]+", upper) if part]


def _several_illegible(harness: Harness, text: str) -> Found | None:
    """Tags one after the other, some of which may be several: all that each may be, the likeliest first."""
    parts = _tags_in_a_row(text, harness.code)
    if len(parts) < 2 or UNKNOWN not in text or any(len(part) not in (3, 4) for part in parts):
        return None
    index = by_tag(harness.ledger)
    given = [
        [Reading(record=index[part], reason="as it stands", cost=0.0)]
        if part in index
        else readings(harness, part)
        for part in parts
    ]
    if not any(given):
        return None
    words = []
    candidates: dict[str, Candidate] = {}
    for part, found in zip(parts, given, strict=True):
        best = found[:CANDIDATES_MAX]
        more = f" and {len(found) - len(best)} more" if len(found) > len(best) else ""
        tags = ", ".join(one.record.tag for one in best)
        words.append(f"{part} may be {tags}{more}" if best else f"{part} is like no tag of {harness.code}")
        for one in best:
            answer = wire_answer(harness, one.record)
            reason = f"{part}: {one.reason}"
            candidates.setdefault(answer.tag, Candidate(answer=answer, reason=reason, cost=one.cost))
    return Found(
        harness=harness,
        asked=text,
        kind=FoundKind.CANDIDATES,
        heading="; ".join(words),
        candidates=tuple(candidates.values()),
    )


def shared_words(harness: Harness, wires: Sequence[Wire]) -> tuple[str, ...]:
    """What two or more wires have in common, in words: net, colour, where they meet, waypoints, lamps."""
    if len(wires) < 2:
        return ()
    names = {point.id: point.name for point in harness.waypoints}
    lamps = {lamp.id: lamp.name for lamp in harness.lamps}
    first = wires[0]
    words = []
    if all((wire.output, wire.polarity) == (first.output, first.polarity) for wire in wires):
        words.append(f"all of {wire_net_words(harness, first)}")
    elif all(wire.polarity is first.polarity for wire in wires):
        words.append(f"all {first.polarity.word}")
    if all(wire.colour == first.colour for wire in wires):
        words.append(f"all {first.colour}")
    meeting = _same({wire.lamp_end.ref, wire.controller_end.ref} - {""} for wire in wires)
    words += [f"all end in {ref}" for ref in meeting if ref not in lamps]
    points = [names[point] for point in first.path if all(point in wire.path for wire in wires)]
    if points:
        words.append(f"all pass {', '.join(points)}")
    fed = [lamps[lamp] for lamp in first.lamps if all(lamp in wire.lamps for wire in wires) and lamp in lamps]
    if fed:
        words.append(f"all feed {', '.join(fed[:3])}{f' and {len(fed) - 3} more' if len(fed) > 3 else ''}")
    return tuple(words)


def _same(sets: Iterable[set[str]]) -> list[str]:
    return sorted(set.intersection(*sets))


# --- guessing -------------------------------------------------------------------------------------


def _guessed(harness: Harness, asked: str, seen: str, end: str, near: Sequence[str]) -> Found:
    found = readings(harness, seen)
    if len(found) == 1:
        record = found[0].record
        return _exact(harness, record, asked, end, f"read as {record.tag}: {found[0].reason}")
    return _candidates(harness, asked, seen, end, found or slips(harness, seen), near)


def _candidates(
    harness: Harness,
    asked: str,
    seen: str,
    end: str,
    found: Iterable[Reading],
    near: Sequence[str],
) -> Found:
    meeting = _meeting(harness, near)
    candidates = [
        Candidate(answer=wire_answer(harness, one.record), reason=one.reason, cost=one.cost) for one in found
    ]

    def rank(candidate: Candidate) -> tuple[float, int, bool, str]:
        wire = candidate.answer.wire
        met = len(meeting & _touches(wire)) if wire else 0
        return candidate.cost, -met, wire is None, candidate.answer.tag

    candidates.sort(key=rank)
    if not candidates:
        elsewhere = "; as a code it is right, so it may be of another project" if is_valid(seen) else ""
        return Found(
            harness=harness,
            asked=asked,
            kind=FoundKind.NOTHING,
            heading=f"{shown(seen)} is no tag of {harness.code}, nor like one{elsewhere}. {_HOW}",
            end=end,
        )
    best = candidates[:CANDIDATES_MAX]
    more = f", the likeliest {len(best)} of {len(candidates)}" if len(candidates) > len(best) else ""
    tags = ", ".join(one.answer.tag for one in best)
    heading = f"{seen} is no tag of {harness.code}. It may be{more}: {tags}"
    return Found(
        harness=harness,
        asked=asked,
        kind=FoundKind.CANDIDATES,
        heading=heading,
        end=end,
        candidates=tuple(best),
    )


def _meeting(harness: Harness, near: Sequence[str]) -> set[str]:
    """Where the wires at hand end and pass."""
    index = by_tag(harness.ledger)
    wires = derive(harness).by_key
    records = [index[tag] for tag in near if tag in index and index[tag].live]
    return {touched for record in records if record.wire in wires for touched in _touches(wires[record.wire])}


def _touches(wire: Wire) -> set[str]:
    return {wire.lamp_end.ref, wire.controller_end.ref, *wire.path} - {""}
