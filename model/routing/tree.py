"""The waypoints as a tree that hangs on the controller, as a person goes through the model with a ruler.

Each waypoint hangs on the next one of its shortest way to the controller. A leg that is on no shortest way
closes a loop; it stands as a line of its own under the farther of its two waypoints. What no leg connects
comes last.
"""

from __future__ import annotations

from collections.abc import Iterator

import attrs

from model.editing import add_waypoint, set_leg
from model.errors import BadValue, Conflict
from model.harness import Harness, Leg, Waypoint
from model.memo import WIRING, of_parts
from model.routing.graph import route_graph
from model.routing.wires import derive


@attrs.frozen(kw_only=True)
class Branch:
    """One line of the tree.

    `leg` leads from `point` to `parent`, the next waypoint towards the controller; both None at a root.
    With `second` the line is a leg that closes a loop, from `point` to `parent`. `rails` says for each level
    from the root down whether more follows on it, the last being the line's own. `distance_mm` is to the
    controller, None where not connected. `lamps` and `joints` are the ids of what is at `point`; `wires`
    counts the wires that pass the leg.
    """

    point: Waypoint
    parent: Waypoint | None = None
    leg: Leg | None = None
    second: bool = False
    rails: tuple[bool, ...] = ()
    distance_mm: float | None = None
    lamps: tuple[str, ...] = ()
    joints: tuple[str, ...] = ()
    wires: int = 0

    @property
    def key(self) -> str:
        """The waypoint's id, or both ids of a leg that closes a loop: "W3", "W3-W5"."""
        return f"{self.point.id}-{self.parent.id}" if self.second and self.parent else self.point.id

    @property
    def connected(self) -> bool:
        """Whether a wire from here can reach the controller."""
        return self.distance_mm is not None


@of_parts(*WIRING)
def waypoint_tree(harness: Harness) -> tuple[Branch, ...]:
    """Every waypoint and every second leg once: the controller's tree, then what is not connected to it."""
    return tuple(_Grower(harness).grow())


class _Grower:
    """Walks the graph once, depth first, and gives out the lines."""

    def __init__(self, harness: Harness) -> None:
        self.harness = harness
        self.graph = route_graph(harness)
        self.points = {point.id: point for point in harness.waypoints}
        self.place = {point.id: place for place, point in enumerate(harness.waypoints)}
        self.hop = dict(self.graph.next_hop)
        self.lamps: dict[str, list[str]] = {}
        for lamp in harness.lamps:
            if lamp.at is not None:
                self.lamps.setdefault(lamp.at, []).append(lamp.id)
        self.joints: dict[str, list[str]] = {}
        for joint in harness.joints:
            self.joints.setdefault(joint.at, []).append(joint.id)
        self.passing: dict[frozenset[str], int] = {}
        plan = derive(harness)
        for wire in plan.wires:
            for ends in {frozenset(pair) for pair in zip(wire.path, wire.path[1:], strict=False)}:
                self.passing[ends] = self.passing.get(ends, 0) + 1
        # At a plug a wire ends; its two pieces have the leg in neither path.
        self.passing.update((leg.ends, len(plan.at_plug(leg.plug))) for leg in harness.legs if leg.plug)

    def grow(self) -> Iterator[Branch]:
        roots = [self.harness.controller.at, *self._adopt()]
        self.children: dict[str, list[str]] = {point: [] for point in self.points}
        for point in self.points:
            if point in self.hop:
                self.children[self.hop[point]].append(point)
        self.seconds: dict[str, list[Leg]] = {point: [] for point in self.points}
        for leg in self.harness.legs:
            if self.hop.get(leg.a) != leg.b and self.hop.get(leg.b) != leg.a:
                self.seconds[max(leg.a, leg.b, key=self._far)].append(leg)
        for root in roots:
            yield from self._under(root, ())

    def _far(self, point: str) -> tuple[float, int]:
        return self.graph.distance_mm.get(point, float("inf")), self.place[point]

    def _adopt(self) -> list[str]:
        """Let each waypoint that can't reach the controller hang on one of its group; returns their roots."""
        roots = []
        for point in self.points:
            if point in self.graph.distance_mm or point in self.hop or point in roots:
                continue
            roots.append(point)
            queue = [point]
            for here in queue:
                for other in self.graph.legs[here]:
                    if other not in self.hop and other not in roots:
                        self.hop[other] = here
                        queue.append(other)
        return roots

    def _under(self, root: str, rails: tuple[bool, ...]) -> Iterator[Branch]:
        # A stack, as a person may hang a thousand waypoints on a string.
        waiting: list[tuple[str, tuple[bool, ...]]] = [(root, rails)]
        while waiting:
            point, rails = waiting.pop()
            yield self._line(point, rails)
            below = self.children[point]
            seconds = self.seconds[point]
            for place, leg in enumerate(seconds, 1):
                more = bool(below) or place < len(seconds)
                yield self._second(point, leg, (*rails, more))
            waiting += [(child, (*rails, place > 0)) for place, child in enumerate(reversed(below))]

    def _line(self, point: str, rails: tuple[bool, ...]) -> Branch:
        parent = self.hop.get(point)
        leg = self.graph.legs[point][parent] if parent is not None else None
        return Branch(
            point=self.points[point],
            parent=self.points[parent] if parent is not None else None,
            leg=leg,
            rails=rails,
            distance_mm=self.graph.distance_mm.get(point),
            lamps=tuple(self.lamps.get(point, ())),
            joints=tuple(self.joints.get(point, ())),
            wires=self.passing.get(leg.ends, 0) if leg is not None else 0,
        )

    def _second(self, point: str, leg: Leg, rails: tuple[bool, ...]) -> Branch:
        (other,) = leg.ends - {point}
        return Branch(
            point=self.points[point],
            parent=self.points[other],
            leg=leg,
            second=True,
            rails=rails,
            distance_mm=self.graph.distance_mm.get(point),
            wires=self.passing.get(leg.ends, 0),
        )


def plug_from_mm(leg: Leg, end: str) -> float:
    """How far the leg's plug is from waypoint `end`, one of its two, in mm."""
    return leg.plug_mm if end == leg.a else leg.length_mm - leg.plug_mm


def set_length(harness: Harness, leg: Leg, end: str, length_mm: float) -> Harness:
    """Give a leg another length; its plug stays as far from waypoint `end` as it was."""
    if not leg.plug or end == leg.a:
        return set_leg(harness, leg.a, leg.b, length_mm=length_mm)
    from_mm = plug_from_mm(leg, end)
    if from_mm > length_mm:
        raise BadValue(f"plug {leg.plug}", f"{from_mm:g} mm along", limit=f"leg of {length_mm:g} mm")
    return set_leg(harness, leg.a, leg.b, length_mm=length_mm, plug_mm=length_mm - from_mm)


def place_plug(harness: Harness, leg: Leg, end: str, from_mm: float, plug: str | None = None) -> Harness:
    """Put the leg's plug, or a new one named `plug`, `from_mm` from waypoint `end`. BadValue off the leg."""
    plug = leg.plug if plug is None else plug
    if not plug:
        raise BadValue(f"leg {leg.a} to {leg.b}", "has no plug", remedy="Name the plug first.")
    if not 0 <= from_mm <= leg.length_mm:
        limit = f"0 to {leg.length_mm:g} mm, the leg's length"
        raise BadValue(f"plug {plug}", f"{from_mm:g} mm along", limit=limit)
    along_mm = from_mm if end == leg.a else leg.length_mm - from_mm
    return set_leg(harness, leg.a, leg.b, plug=plug, plug_mm=along_mm)


def hang_waypoint(harness: Harness, parent: str, name: str, length_mm: float) -> Harness:
    """Add a waypoint `length_mm` behind waypoint `parent`; one of that name without a way is led there.

    Conflict where a waypoint of that name is connected already.
    """
    harness.waypoint(parent)
    known = next((point for point in harness.waypoints if point.name.lower() == name.lower()), None)
    if known is not None:
        led = known.id in route_graph(harness).distance_mm or harness.find_leg(parent, known.id) is not None
        if known.id == parent or led:
            remedy = "Choose another name, or add a leg to it."
            raise Conflict(f"waypoint {known.name}", "exists already", remedy=remedy)
        return set_leg(harness, parent, known.id, length_mm=length_mm)
    harness = add_waypoint(harness, name)
    return set_leg(harness, parent, harness.waypoints[-1].id, length_mm=length_mm)


def free_plug_name(harness: Harness) -> str:
    """The next plug name that no leg has: P1, P2 ..."""
    taken = {leg.plug for leg in harness.legs}
    return next(name for number in range(1, 1000) if (name := f"P{number}") not in taken)
