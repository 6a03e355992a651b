"""What the labels of a harness say: both ends of every wire, joints, plugs and spools.

Lines by rule, the most important first:

1. where this end goes: the lamp, the joint and its place, the plug contact, the output and pin;
2. "from" and where the other end of the wire is.

Polarity and colour stand beside the tag and are no lines. Every line comes in several wordings, longest
first, and a label takes the longest that fits. Names are shortened word by word from the end of the word, and
only as far as no two names of the harness become the same: a short name on a label means one lamp or place.
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

WORD_LETTERS = (5, 4, 3, 2)
"""How many letters of each word are left in the shorter wordings of a name; common practice, no source."""

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
                lines=_lines((ends, " - ".join(short)), (f"{len(wires)} contacts", f"{len(wires)}")),
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
    """For each id its name and the shorter wordings no other name has; the id where no name can be drawn."""
    steps = {key: list(_shortened(name)) for key, name in names.items()}
    shared = Counter(wording for key in steps for wording in set(steps[key][1:]))
    wordings = {}
    for key, name in names.items():
        short = [word for word in steps[key][1:] if shared[word] == 1 and word not in names.values()]
        kept = (name, *short)
        wordings[key] = kept if drawable(name)[0] else (*kept, key)
    return MappingProxyType(wordings)


def _shortened(name: str) -> Iterator[str]:
    """The name, then with ever fewer letters of each word; numbers stay whole."""
    words = name.split()
    yield name
    last = name
    for letters in WORD_LETTERS:
        short = " ".join(word if word.isdigit() else word[:letters] for word in words)
        if len(short) < len(last):
            yield short
            last = short
