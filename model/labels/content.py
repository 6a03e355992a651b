"""What the labels of a harness say: both ends of every wire, joints, plugs and spools.

Lines by rule, the most important first:

1. where this end goes: the lamp, the joint and its place, the plug contact, the output and pin;
2. "from" and where the other end of the wire is.

Polarity and colour stand beside the tag and are no lines. Every line comes in several wordings, longest
first, and a label takes the longest that fits. A name is shortened by a rule, and only as far as no two names
of the harness become the same: a short name on a label means one lamp or place. First "lamp" and "light" go,
then the sides become letters, then the longest other word loses its last letter, again and again.
"""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from types import MappingProxyType

from model.harness import Harness, Leg, Polarity
from model.labels.font_metrics import drawable
from model.labels.text import TAG_MAX, GoesTo, LabelText
from model.labels.text import End as LabelEnd
from model.memo import by_identity
from model.routing.wires import End, EndKind, Wire, derive
from model.routing.words import net_words, pin_words, place_name
from model.standards.circles import bundle_diameter_mm
from model.standards.wire import gauge
from model.values import counted

SAYS_NOTHING = frozenset({"lamp", "lamps", "light", "lights", "led", "leds"})
"""Words that go first where a name must be shorter: all here are lamps (common practice, no source)."""

SIDES: Mapping[str, str] = MappingProxyType(
    {"left": "L", "right": "R", "front": "F", "rear": "", "l": "", "r": "", "f": ""}
)
"""Words that tell a lamp from its twin, and the letter that may stand for each; the others are never cut.

R is the right one, so the rear keeps its word (common practice, no source).
"""

LEAST_LETTERS = 2
"""What is left at least of any other word; common practice, no source."""

ENDS: tuple[LabelEnd, LabelEnd] = ("L", "C")
"""Both ends of a wire in the order of the work: towards the lamp, towards the controller."""

Wordings = tuple[str, ...]

_GOES_TO: Mapping[EndKind, GoesTo] = {EndKind.JOINT: "joint", EndKind.PLUG: "plug"}


def wire_labels(harness: Harness, wires: Iterable[Wire] | None = None) -> tuple[LabelText, ...]:
    """Two labels for each wire, lamp end then controller end, in the order of `wires`.

    `wires` are wires of `derive(harness)`; without them all are taken, run by run. A wire without a tag has
    no label (after `settle` there is none). `wire_od_mm` is over the insulation.
    """
    live = harness.ledger.live()
    found = []
    for wire in derive(harness).wires if wires is None else wires:
        record = live.get(wire.key)
        if record is not None:
            found += [wire_label(harness, wire, record.tag, end) for end in ENDS]
    return tuple(found)


def wire_label(harness: Harness, wire: Wire, tag: str, end: LabelEnd) -> LabelText:
    """The label of one end of a wire: "L" towards the lamp, "C" towards the controller."""
    here, there = wire.lamp_end, wire.controller_end
    if end == "C":
        here, there = there, here
    return LabelText(
        kind="wire",
        project=harness.code,
        tag=tag,
        end=end,
        goes_to=_GOES_TO.get(here.kind, ""),
        lines=(end_wordings(harness, here, wire.output), _from(end_wordings(harness, there, wire.output))),
        colour_code=wire.colour,
        polarity="+" if wire.polarity is Polarity.PLUS else "-",
        wire_od_mm=gauge(wire.gauge).od_mm,
    )


def joint_labels(harness: Harness) -> tuple[LabelText, ...]:
    """One label for each joint, in the order of the joints: where it is, its net, the tags of its wires."""
    plan = derive(harness)
    live = harness.ledger.live()
    labels = []
    for joint in harness.joints:
        wires = plan.at_joint(joint.id)
        tags = " ".join(live[wire.key].tag for wire in wires if wire.key in live)
        place = _names(harness).places.get(joint.at, ("no place",))
        net = net_words(harness, joint.output)
        polarity = harness.polarity_of(joint)
        labels.append(
            LabelText(
                kind="joint",
                project=harness.code,
                tag=joint.id,
                lines=_lines(place, (net, net.partition(" (")[0]), (tags,)),
                polarity="+" if polarity is Polarity.PLUS else "-",
                wire_od_mm=bundle_diameter_mm([gauge(wire.gauge).od_mm for wire in wires]) if wires else 1.2,
            )
        )
    return tuple(labels)


def plugs(harness: Harness) -> Iterator[tuple[Leg, str, tuple[Wire, ...]]]:
    """Each leg with a plug that wires cross, what stands large on its label, and those wires, lamp side.

    A plug whose name has no letter or digit that a label can carry is left out.
    """
    plan = derive(harness)
    for leg in harness.legs:
        pairs = plan.at_plug(leg.plug) if leg.plug else ()
        tag = "".join(sign for sign in leg.plug.upper() if sign.isascii() and sign.isalnum())
        if pairs and tag:
            yield leg, tag, tuple(wire for wire, _ in pairs)


def plug_labels(harness: Harness) -> tuple[LabelText, ...]:
    """One label for each plug that wires cross, in the order of the legs: its ends, how many contacts."""
    labels = []
    for leg, tag, wires in plugs(harness):
        ends = f"{place_name(harness, leg.a)} - {place_name(harness, leg.b)}"
        short = [_names(harness).places.get(point, ("",))[-1] for point in (leg.a, leg.b)]
        labels.append(
            LabelText(
                kind="plug",
                project=harness.code,
                tag=tag,
                lines=_lines((ends, " - ".join(short)), (counted(len(wires), "contact"), f"{len(wires)}")),
                wire_od_mm=bundle_diameter_mm([gauge(wire.gauge).od_mm for wire in wires]),
            )
        )
    return tuple(labels)


def spool_labels(harness: Harness) -> tuple[LabelText, ...]:
    """One label for each spool or remnant on hand, in their order: its name, the gauge, how much is on it.

    The tag is the name in capitals where that is short enough and no other spool's, else colour and number.
    """
    names = [re.sub("[^A-Z0-9]+", "-", spool.name.upper()).strip("-") for spool in harness.spools]
    labels = []
    for number, (spool, name) in enumerate(zip(harness.spools, names, strict=True), 1):
        whole = 0 < len(name) <= TAG_MAX and names.count(name) == 1
        labels.append(
            LabelText(
                kind="spool",
                project=harness.code,
                tag=name if whole else f"{spool.colour}{number}",
                lines=_lines((spool.name,), (spool.gauge,), (f"{spool.length_mm / 1000:.2f} m",)),
                colour_code=spool.colour,
                wire_od_mm=gauge(spool.gauge).od_mm,
            )
        )
    return tuple(labels)


def said(text: LabelText) -> str:
    """Twelve hexadecimal digits that change when what a label says changes, whatever it is printed on.

    Kept for a printed label, they tell later whether it is still true. Only the longest wordings count: how a
    name may be shortened depends on other names.
    """
    lines = (line[0] for line in text.lines)
    parts = (text.project, text.tag, text.end, text.colour_code, text.polarity, *lines)
    return hashlib.sha256("\x1f".join(parts).encode()).hexdigest()[:12]


# --- wordings ---


def end_wordings(harness: Harness, end: End, net: int | None) -> Wordings:
    """Where an end of a wire of that net goes, longest wording first."""
    if end.kind is EndKind.LAMP:
        return _names(harness).lamps.get(end.ref, (end.ref,))
    if end.kind is EndKind.JOINT:
        place = _names(harness).places.get(end.at or "", ())
        return tuple(dict.fromkeys((*(f"{end.ref} {name}" for name in place), end.ref)))
    if end.kind is EndKind.PLUG:
        plug, _, contact = end.ref.rpartition(".")
        return f"plug {plug} contact {contact}", f"{plug} contact {contact}", f"{plug}.{contact}"
    return _pin_wordings(harness, end.ref, net)


def _pin_wordings(harness: Harness, ref: str, net: int | None) -> Wordings:
    if not ref:
        return ("no pin yet",)
    words = pin_words(harness, ref, net)
    if words.startswith("common pin "):
        pin = words.removeprefix("common pin ")
        return words, f"common {pin}", f"com {pin}"
    plain = words.replace(",", "")
    shorter = (plain, plain.replace("output", "out"), plain.replace("output", "out").replace(" pin", ""))
    found = harness.controller.find_output(net)
    function = found[1].function if found else ""
    return (f"{plain} {function}", *shorter) if function else shorter


def _from(wordings: Wordings) -> Wordings:
    return tuple(f"from {wording}" for wording in wordings)


def _lines(*lines: Sequence[str]) -> tuple[Wordings, ...]:
    """Lines without empty wordings, and without lines that have none."""
    kept = (tuple(dict.fromkeys(word for word in line if word)) for line in lines)
    return tuple(line for line in kept if line)


class _Names:
    """The wordings of every lamp and place of a harness, by id."""

    def __init__(self, harness: Harness) -> None:
        self.lamps = _unmistakable({lamp.id: lamp.name for lamp in harness.lamps})
        self.places = _unmistakable({point.id: point.name for point in harness.waypoints})


@by_identity
def _names(harness: Harness) -> _Names:
    return _Names(harness)


def _unmistakable(names: Mapping[str, str]) -> Mapping[str, Wordings]:
    """For each id its name and the shorter wordings no other name has; the id where no name can be drawn.

    Labels may be all in capitals, so names that differ in those only count as one. A wording in which no
    word is cut goes before one in which another name's word is.
    """
    telling = {key: _telling(name) for key, name in names.items()}
    words = {key: name.split() for key, name in names.items()}
    uncut = {key: {*_folded(_sided(words[key])), *_folded(_sided(telling[key]))} for key in names}
    cut = {key: {*_folded(_cut(words[key])), *_folded(_cut(telling[key]))} for key in names}
    claims = Counter(wording for key in names for wording in uncut[key])
    weaker = Counter(wording for key in names for wording in cut[key])
    taken = set(_folded(names.values()))

    def own(key: str, wording: str) -> bool:
        plain = wording.casefold()
        if plain in taken or len(wording) >= len(names[key]):
            return False
        return claims[plain] == 1 if plain in uncut[key] else not claims[plain] and weaker[plain] == 1

    wordings = {}
    for key, name in names.items():
        kept: list[str] = []
        for some in (telling[key], words[key]):  # every word stays where only "lamp" and "light" differ
            kept = kept or [one for one in (*_sided(some), *_cut(some)) if own(key, one)]
        wordings[key] = (name, *kept) if drawable(name)[0] else (name, *kept, key)
    return MappingProxyType(wordings)


def _folded(words: Iterable[str]) -> Iterator[str]:
    return (word.casefold() for word in words)


def _telling(name: str) -> list[str]:
    """The words of a name without those that every lamp could have, unless nothing else names it."""
    words = name.split()
    kept = [word for word in words if word.casefold() not in SAYS_NOTHING]
    names_it = any(word.isalpha() and word.casefold() not in SIDES for word in kept)
    return kept if names_it else words


def _sided(words: Sequence[str]) -> list[str]:
    """The words whole, then with letters for the sides: the last is the shortest that cuts none."""
    said = [" ".join(words)]
    for side, letter in SIDES.items():
        if letter and any(word.casefold() == side for word in words):
            words = [letter if word.casefold() == side else word for word in words]
            said.append(" ".join(words))
    return said


def _cut(words: Sequence[str]) -> Iterator[str]:
    """With letters for the sides, and ever one letter less of the longest other word.

    Sides and what has a digit in it are never cut.
    """
    left = _sided(words)[-1].split()
    open_to = [place for place, word in enumerate(left) if word.isalpha() and word.casefold() not in SIDES]
    while open_to:
        longest = max(open_to, key=lambda place: (len(left[place]), place))
        if len(left[longest]) <= LEAST_LETTERS:
            return
        left[longest] = left[longest][:-1]
        yield " ".join(left)
