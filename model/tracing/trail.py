"""The way of one wire: from the controller's pin over joints and plugs to its lamps, and what hangs on it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from enum import StrEnum
from types import MappingProxyType

import attrs

from model.harness import Harness, Lamp, Waypoint
from model.memo import by_identity
from model.routing.made import made_mm
from model.routing.wires import EndKind, Wire, derive
from model.routing.words import end_words, pin_words, place_name
from model.tags import TagRecord


class PointKind(StrEnum):
    """Where wires end or meet."""

    PIN = "pin"
    JOINT = "joint"
    PLUG = "plug"
    LAMP = "lamp"


@attrs.frozen(kw_only=True)
class Branch:
    """A wire that goes on from a point away from the controller, and the point it leads to.

    `asked`: this is the wire the trail is of. `on_way`: it is, or leads to it. `tag` is empty
    before it is given. `cut_mm` is the length it has: what it was cut to, else the plan's.
    """

    wire: Wire
    cut_mm: float
    tag: str
    asked: bool
    on_way: bool
    to: Point


@attrs.frozen(kw_only=True)
class Point:
    """A pin, joint, plug contact or lamp, with the wires that go on from it away from the controller.

    `ref` is "A.5", "J1", "P1.4" or "L3"; `words` names it, `short` in fewer columns. `place` is the
    waypoint's name and `lamps` are the names of those behind.
    """

    kind: PointKind
    ref: str
    words: str
    short: str
    place: str
    branches: tuple[Branch, ...] = ()
    lamps: tuple[str, ...] = ()


@attrs.frozen(kw_only=True)
class Trail:
    """The tree of all wires that hang on the pin of one wire, with that wire marked."""

    wire: Wire
    tag: str
    root: Point

    @property
    def line(self) -> tuple[Branch, ...]:
        """The branches from the pin up to the asked wire, the last being the wire itself."""
        found: list[Branch] = []
        point = self.root
        while not (found and found[-1].asked):
            found.append(next(branch for branch in point.branches if branch.on_way))
            point = found[-1].to
        return tuple(found)

    @property
    def behind(self) -> Point:
        """The lamp end of the asked wire with all that hangs on it."""
        return self.line[-1].to

    @property
    def neighbours(self) -> tuple[Branch, ...]:
        """The wires that share a point with the asked wire on its controller side."""
        line = self.line
        start = line[-2].to if len(line) > 1 else self.root
        return tuple(branch for branch in start.branches if not branch.asked)


@attrs.frozen(kw_only=True, eq=False)
class _Net:
    """What building a trail looks up: wires by where their controller end is, tags, lamps and waypoints."""

    ending: Mapping[tuple[EndKind, str], tuple[Wire, ...]]
    tags: Mapping[str, TagRecord]
    lamps: Mapping[str, Lamp]
    places: Mapping[str, Waypoint]


@by_identity
def _net(harness: Harness) -> _Net:
    ending: dict[tuple[EndKind, str], list[Wire]] = {}
    for wire in derive(harness).wires:
        ending.setdefault(_controller_end(wire), []).append(wire)
    return _Net(
        ending=MappingProxyType({end: tuple(wires) for end, wires in ending.items()}),
        tags=MappingProxyType(harness.ledger.live()),
        lamps=MappingProxyType({lamp.id: lamp for lamp in harness.lamps}),
        places=MappingProxyType({point.id: point for point in harness.waypoints}),
    )


def _controller_end(wire: Wire) -> tuple[EndKind, str]:
    end = wire.controller_end
    # A pin or contact not given yet is no meeting point: each such wire stands alone.
    known = bool(end.ref) and not end.ref.endswith(".?")
    return end.kind, end.ref if known else f"{end.ref}|{wire.key}"


def trail(harness: Harness, wire: Wire) -> Trail:
    """The trail of a wire of `derive(harness)`: the tree on its pin, with the way to the wire marked."""
    net = _net(harness)
    way = [wire]
    while (following := _next(harness, way[-1])) is not None and len(way) <= len(derive(harness).wires):
        way.append(following)
    on_way = {one.key for one in way}
    last = way[-1]
    root = Point(
        kind=PointKind(last.controller_end.kind.value),
        ref=last.controller_end.ref,
        words=_end(harness, last),
        short=_short_pin(harness, last),
        place=place_name(harness, last.controller_end.at),
        branches=_branches(harness, net, _controller_end(last), wire.key, on_way),
    )
    return Trail(wire=wire, tag=_tag(net, wire), root=attrs.evolve(root, lamps=_lamps_of(root.branches)))


def _short_pin(harness: Harness, wire: Wire) -> str:
    """ "out 5 A5" or "common A7", for a line that is too long otherwise."""
    words = pin_words(harness, wire.controller_end.ref, wire.output)
    return words.replace("output", "out").replace(", pin ", " ").replace("common pin", "common")


def _end(harness: Harness, wire: Wire) -> str:
    return end_words(harness, wire.controller_end, wire)


def _next(harness: Harness, wire: Wire) -> Wire | None:
    """The wire that goes on from the controller end of one."""
    end = wire.controller_end
    if end.kind is EndKind.JOINT:
        return derive(harness).trunk.get(end.ref)
    if end.kind is EndKind.PLUG:
        base, _, piece = wire.key.partition(".")
        return derive(harness).by_key.get(f"{base}.{int(piece or 1) + 1}")
    return None


def _tag(net: _Net, wire: Wire) -> str:
    record = net.tags.get(wire.key)
    return record.tag if record else ""


def _branches(
    harness: Harness, net: _Net, end: tuple[EndKind, str], asked: str, on_way: set[str]
) -> tuple[Branch, ...]:
    return tuple(
        Branch(
            wire=wire,
            cut_mm=made_mm(net.tags.get(wire.key), wire),
            tag=_tag(net, wire),
            asked=wire.key == asked,
            on_way=wire.key in on_way,
            to=_point(harness, net, wire, asked, on_way),
        )
        for wire in net.ending.get(end, ())
    )


def _point(harness: Harness, net: _Net, wire: Wire, asked: str, on_way: set[str]) -> Point:
    """The lamp end of a wire with all behind it."""
    end = wire.lamp_end
    waypoint = net.places.get(end.at or "")
    place = waypoint.name if waypoint else ""
    if end.kind is EndKind.LAMP:
        name = net.lamps[end.ref].name
        words = f"{name} {wire.polarity}"
        return Point(kind=PointKind.LAMP, ref=end.ref, words=words, short=words, place=place, lamps=(name,))
    if end.kind is EndKind.PLUG:
        # Behind a plug contact stands the piece of the same chain before it.
        base, _, piece = wire.key.partition(".")
        number = int(piece or 1) - 1
        before = derive(harness).by_key[base if number == 1 else f"{base}.{number}"]
        branch = Branch(
            wire=before,
            cut_mm=made_mm(net.tags.get(before.key), before),
            tag=_tag(net, before),
            asked=before.key == asked,
            on_way=before.key in on_way,
            to=_point(harness, net, before, asked, on_way),
        )
        branches: tuple[Branch, ...] = (branch,)
    else:
        branches = _branches(harness, net, (EndKind.JOINT, end.ref), asked, on_way)
    words = f"joint {end.ref}" if end.kind is EndKind.JOINT else end_words(harness, end, wire)
    return Point(
        kind=PointKind(end.kind.value),
        ref=end.ref,
        words=words,
        short=end.ref,
        place=place,
        branches=branches,
        lamps=_lamps_of(branches),
    )


def _lamps_of(branches: tuple[Branch, ...]) -> tuple[str, ...]:
    return tuple(name for branch in branches for name in branch.to.lamps)


def walk(point: Point) -> Iterator[Branch]:
    """All branches behind a point, each before what hangs on it."""
    for branch in point.branches:
        yield branch
        yield from walk(branch.to)
