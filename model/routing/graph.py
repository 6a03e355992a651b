"""Ways through the model: the shortest, and others for a person to choose from."""

from __future__ import annotations

import heapq
import itertools
from collections.abc import Mapping, Sequence

import attrs

from model.harness import Harness, Leg
from model.memo import WIRING, of_parts


@attrs.frozen(kw_only=True, eq=False)
class RouteGraph:
    """The legs by waypoint; `way_to_controller` holds the next waypoint and the distance to the controller,
    both by waypoint.
    """

    legs: Mapping[str, Mapping[str, Leg]]
    next_hop: Mapping[str, str]
    distance_mm: Mapping[str, float]


def leg_length_mm(leg: Leg) -> float:
    """What a leg adds to a wire before slack: its length and the loop of a moving joint, in mm."""
    return leg.length_mm + (leg.loop_mm or 0.0)


@of_parts(*WIRING)
def route_graph(harness: Harness) -> RouteGraph:
    """The graph of the harness with every waypoint's shortest way to the controller (Dijkstra 1959)."""
    legs: dict[str, dict[str, Leg]] = {point.id: {} for point in harness.waypoints}
    for leg in harness.legs:
        legs[leg.a][leg.b] = leg
        legs[leg.b][leg.a] = leg
    distance, came_from = _dijkstra(legs, harness.controller.at, frozenset(), frozenset())
    return RouteGraph(legs=legs, next_hop=came_from, distance_mm=distance)


def _dijkstra(
    legs: Mapping[str, Mapping[str, Leg]], start: str, closed: frozenset[str], cut: frozenset[tuple[str, str]]
) -> tuple[dict[str, float], dict[str, str]]:
    distance = {start: 0.0}
    came_from: dict[str, str] = {}
    queue = [(0.0, start)]
    done: set[str] = set()
    while queue:
        far, point = heapq.heappop(queue)
        if point in done:
            continue
        done.add(point)
        for other, leg in legs[point].items():
            if other in closed or (other, point) in cut:
                continue
            new = far + leg_length_mm(leg)
            if new < distance.get(other, float("inf")):
                distance[other] = new
                came_from[other] = point
                heapq.heappush(queue, (new, other))
    return distance, came_from


def shortest_way(harness: Harness, start: str, end: str | None = None) -> tuple[str, ...] | None:
    """The waypoints of the shortest way from `start` to `end` (default: the controller), or None if there is
    none.
    """
    end = harness.controller.at if end is None else end
    return _follow(ways_to(harness, end), start, end)


def ways_to(harness: Harness, end: str) -> Mapping[str, str]:
    """The next waypoint on the shortest way to `end`, by waypoint; those that can't reach it, and `end`, are
    left out.
    """
    graph = route_graph(harness)
    if end == harness.controller.at:
        return graph.next_hop
    known = _known_ways(harness)
    if end not in known:
        known[end] = _dijkstra(graph.legs, end, frozenset(), frozenset())[1]
    return known[end]


@of_parts(*WIRING)
def _known_ways(harness: Harness) -> dict[str, Mapping[str, str]]:
    return {}


def _follow(came_from: Mapping[str, str], start: str, end: str) -> tuple[str, ...] | None:
    way = [start]
    while way[-1] != end:
        following = came_from.get(way[-1])
        if following is None:
            return None
        way.append(following)
    return tuple(way)


def way_length_mm(harness: Harness, way: Sequence[str]) -> float:
    """Length of a way with its moving joints, in mm, without slack."""
    legs = route_graph(harness).legs
    return sum(leg_length_mm(legs[one][other]) for one, other in itertools.pairwise(way))


def ways(harness: Harness, start: str, most: int = 5) -> tuple[tuple[str, ...], ...]:
    """Up to `most` ways without a loop from `start` to the controller, the shortest first (Yen 1971)."""
    end = harness.controller.at
    legs = route_graph(harness).legs
    first = shortest_way(harness, start)
    if first is None:
        return ()
    found = [first]
    waiting: list[tuple[float, tuple[str, ...]]] = []
    while len(found) < most:
        last = found[-1]
        for place in range(len(last) - 1):
            root = last[: place + 1]
            cut = frozenset((way[place], way[place + 1]) for way in found if way[: place + 1] == root)
            # The search runs from the controller, so a leg is met from its far end.
            _, came_from = _dijkstra(
                legs, end, frozenset(root[:-1]), frozenset((one, other) for one, other in cut)
            )
            rest = _follow(came_from, root[-1], end)
            if rest is None:
                continue
            way = root[:-1] + rest
            entry = (way_length_mm(harness, way), way)
            if entry not in waiting and way not in found:
                heapq.heappush(waiting, entry)
        if not waiting:
            break
        found.append(heapq.heappop(waiting)[1])
    return tuple(found)
