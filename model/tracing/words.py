"""Looking wires up in words: by lamp, function, place, output, pin, plug, joint, colour or waypoint."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence

import attrs

from model.harness import Harness, Lamp, Polarity
from model.memo import by_identity
from model.routing.wires import EndKind, Wire, derive
from model.routing.words import net_words, pin_words
from model.standards.colours import COLOURS


@attrs.frozen(kw_only=True)
class WireList:
    """Wires that a question led to, with what they are in words.

    `refs` are the ids of what it is about: "L3", "W2", "J1", "P1", an output's number, "A.5".
    """

    words: str
    wires: tuple[Wire, ...]
    refs: tuple[str, ...] = ()


def wires_by_words(harness: Harness, text: str) -> tuple[WireList, ...]:
    """The wires that `text` speaks of, one list for each way it can be meant; empty if it says nothing.

    What means nothing as a whole is taken word by word, and the wires are those that all of it fits.
    """
    asked = _plain(text)
    whole = tuple(_lists(harness, asked))
    return whole or _narrowed(harness, asked)


def _plain(text: str) -> str:
    """The form in which texts are compared: case and spaces do not count."""
    return " ".join(text.split()).casefold()


def _narrowed(harness: Harness, asked: str) -> tuple[WireList, ...]:
    """ "amber output 5": the wires that every part of the text fits."""
    terms = _terms(harness, asked.split()) if " " in asked else []
    if len(terms) < 2:
        return ()
    fitting = set.intersection(*({wire.key for one in lists for wire in one.wires} for lists in terms))
    wires = tuple(wire for wire in derive(harness).wires if wire.key in fitting)
    words = ", ".join(lists[0].words for lists in terms)
    return (WireList(words=words, wires=wires),) if wires else ()


def _terms(harness: Harness, words: list[str]) -> list[list[WireList]]:
    """The text cut into the longest parts that mean something; empty where a word means nothing."""
    terms = []
    while words:
        for count in range(min(len(words), 4), 0, -1):
            lists = list(_lists(harness, " ".join(words[:count])))
            if lists:
                terms.append(lists)
                words = words[count:]
                break
        else:
            return []
    return terms


def _lists(harness: Harness, asked: str) -> Iterator[WireList]:
    for meaning in _MEANINGS:
        for found in meaning(harness, asked):
            if found.wires or found.refs:
                yield found


def _pick(harness: Harness, wanted: Callable[[Wire], bool]) -> tuple[Wire, ...]:
    return tuple(wire for wire in derive(harness).wires if wanted(wire))


def _of_output(harness: Harness, number: int) -> WireList:
    wires = _pick(harness, lambda wire: wire.output == number)
    return WireList(words=net_words(harness, number), wires=wires, refs=(str(number),))


_OUTPUT = re.compile(r"(?:(?:output|out|o)[ .]?)?(\d{1,2})")


def _output(harness: Harness, asked: str) -> Iterator[WireList]:
    match = _OUTPUT.fullmatch(asked)
    if match and harness.controller.find_output(int(match[1])):
        yield _of_output(harness, int(match[1]))
    if asked in ("common", "the common"):
        common = harness.controller.common_polarity
        yield WireList(words="common", wires=_pick(harness, lambda wire: wire.polarity is common))


def _function_of_output(harness: Harness, asked: str) -> Iterator[WireList]:
    for _, output in harness.controller.outputs():
        if output.function and _plain(output.function) == asked:
            yield _of_output(harness, output.number)


def _pin(harness: Harness, asked: str) -> Iterator[WireList]:
    said, _, name = asked.rpartition("pin ")
    if said not in ("", "common "):
        return
    wanted = name.replace(".", "").replace(" ", "")
    pins: list[tuple[int | None, str, str]] = []
    pins += ((output.number, block.name, output.pin) for block, output in harness.controller.outputs())
    pins += ((None, block.name, common.pin) for block, common in harness.controller.commons())
    for net, block, pin in pins:
        if wanted == _plain(f"{block}{pin}") or (asked.startswith("pin ") and wanted == _plain(pin)):
            ref = f"{block}.{pin}"
            ending = tuple(wire for wire in _ending_in(harness, EndKind.PIN, ref) if wire.output == net)
            yield WireList(words=f"on {pin_words(harness, ref, net)}", wires=ending, refs=(ref,))


def _ending_in(harness: Harness, kind: EndKind, ref: str) -> tuple[Wire, ...]:
    def ends(wire: Wire) -> bool:
        return any(end.kind is kind and end.ref == ref for end in (wire.lamp_end, wire.controller_end))

    return _pick(harness, ends)


def _joint(harness: Harness, asked: str) -> Iterator[WireList]:
    joint = harness.find_joint(asked.removeprefix("joint").strip().upper())
    if joint is not None:
        point = harness.find_waypoint(joint.at)
        words = f"in joint {joint.id} at {point.name if point else '?'}"
        yield WireList(words=words, wires=derive(harness).at_joint(joint.id), refs=(joint.id,))


_CONTACT = re.compile(r"(?:plug )?(?P<plug>\S+?)(?:[. ]| contact )(?P<number>\d{1,3})")


def _plug(harness: Harness, asked: str) -> Iterator[WireList]:
    plugs = {_plain(leg.plug): leg.plug for leg in harness.legs if leg.plug}
    plug = plugs.get(asked.removeprefix("plug ").strip())
    if plug is not None:
        pairs = derive(harness).at_plug(plug)
        wires = tuple(wire for pair in pairs for wire in pair)
        yield WireList(words=f"in plug {plug}", wires=wires, refs=(plug,))
    match = _CONTACT.fullmatch(asked)
    if match and match["plug"] in plugs:
        plug, number = plugs[match["plug"]], int(match["number"])
        wires = _ending_in(harness, EndKind.PLUG, f"{plug}.{number}")
        yield WireList(words=f"in plug {plug} contact {number}", wires=wires)


def _colour(harness: Harness, asked: str) -> Iterator[WireList]:
    wanted = asked.replace("gray", "grey").removesuffix(" wires").removesuffix(" wire")
    for colour in COLOURS.values():
        if wanted in (colour.code.lower(), colour.name):
            yield WireList(words=f"{colour.name} wire ({colour.code})", wires=_coloured(harness, colour.code))


def _coloured(harness: Harness, code: str) -> tuple[Wire, ...]:
    return _pick(harness, lambda wire: wire.colour == code)


_POLARITIES = {
    "plus": Polarity.PLUS,
    "positive": Polarity.PLUS,
    "+": Polarity.PLUS,
    "minus": Polarity.MINUS,
    "negative": Polarity.MINUS,
    "-": Polarity.MINUS,
}


def _polarity(harness: Harness, asked: str) -> Iterator[WireList]:
    polarity = _POLARITIES.get(asked)
    if polarity is not None:
        yield WireList(words=polarity.word, wires=_pick(harness, lambda wire: wire.polarity is polarity))


def _waypoint(harness: Harness, asked: str) -> Iterator[WireList]:
    named = [point for point in harness.waypoints if _plain(point.name) == asked]
    named = named or [point for point in harness.waypoints if len(asked) > 2 and asked in _plain(point.name)]
    for point in named:
        yield WireList(words=f"at {point.name}", wires=_passing(harness, point.id), refs=(point.id,))


def _passing(harness: Harness, at: str) -> tuple[Wire, ...]:
    return _pick(harness, lambda wire: at in (*wire.path, wire.lamp_end.at, wire.controller_end.at))


@by_identity
def _lamp_texts(harness: Harness) -> tuple[tuple[Lamp, str, str, frozenset[str]], ...]:
    """Each lamp with its name, all that may hold a word of the question, and what has to be one."""
    return tuple(
        (
            lamp,
            _plain(lamp.name),
            "\n".join(_plain(text) for text in (lamp.name, lamp.function, lamp.place)),
            frozenset(_plain(text) for text in (lamp.hand, lamp.colour, lamp.id)),
        )
        for lamp in harness.lamps
    )


def _lamp(harness: Harness, asked: str) -> Iterator[WireList]:
    texts = _lamp_texts(harness)
    exact = [lamp for lamp, name, _, _ in texts if name == asked]
    words = asked.split()
    lamps = exact or [
        lamp for lamp, _, text, whole in texts if all(word in text or word in whole for word in words)
    ]
    if not lamps or (len(asked) < 2 and not exact):
        return
    wanted = {lamp.id for lamp in lamps}
    wires = _pick(harness, lambda wire: bool(wanted.intersection(wire.lamps)))
    names = ", ".join(lamp.name for lamp in lamps[:3])
    more = f" and {len(lamps) - 3} more lamps" if len(lamps) > 3 else ""
    said = f"of {names}{more}" if wires else _not_walked(lamps)
    yield WireList(words=said, wires=wires, refs=tuple(lamp.id for lamp in lamps))


def _not_walked(lamps: Sequence[Lamp]) -> str:
    """ "Brake lamp left (output 3): not walked yet, so that there is no wire"."""
    names = ", ".join(lamp.name for lamp in lamps[:3])
    more = f" and {len(lamps) - 3} more lamps" if len(lamps) > 3 else ""
    numbers = sorted({lamp.output for lamp in lamps if lamp.output is not None})
    on = f"output {', '.join(map(str, numbers))}" if numbers else "no output"
    return f"{names}{more} ({on}): not walked yet, so that there is no wire"


def things_called(harness: Harness, text: str) -> tuple[WireList, ...]:
    """The output, pin, joint, plug, lamp or waypoint of this very name: what looks like a tag and is none."""
    asked = _plain(text)
    lists = [found for meaning in (_output, _pin, _joint, _plug) for found in meaning(harness, asked)]
    if asked in _names(harness):
        lists += [*_waypoint(harness, asked), *_lamp(harness, asked)]
    return tuple(lists)


@by_identity
def _names(harness: Harness) -> frozenset[str]:
    lamps = [name for lamp, plain, _, _ in _lamp_texts(harness) for name in (plain, _plain(lamp.id))]
    return frozenset([*lamps, *(_plain(point.name) for point in harness.waypoints)])


_MEANINGS: tuple[Callable[[Harness, str], Iterator[WireList]], ...] = (
    _output,
    _function_of_output,
    _pin,
    _joint,
    _plug,
    _colour,
    _polarity,
    _waypoint,
    _lamp,
)
