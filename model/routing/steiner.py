"""The shortest tree that connects some nodes of a graph, and lines that may pass where they may not meet.

Exact for up to thirteen terminals (Dreyfus and Wagner 1971), above that a search with a lower bound (dual
ascent, Wong 1984). Where lines may not meet at some nodes the answer is no longer a tree of edges: two lines
over one edge are two edges to pay.
"""

from __future__ import annotations

import heapq
import itertools
import math
from collections import Counter
from collections.abc import Collection, Hashable, Mapping, Sequence
from typing import Any, TypeVar

import attrs

from model.errors import NotSolved
from model.routing.gather import Gathered, Gathering, Tree, gather
from model.routing.gather.values import PIN

N = TypeVar("N", bound=Hashable)

Graph = Mapping[N, Mapping[N, float]]
"""Lengths of edges by both of their nodes; an edge stands under each of them."""


@attrs.frozen(kw_only=True)
class SteinerTree:
    """What connects the terminals.

    `lines` are ways through the graph from one terminal or meeting to the next; `edges` all their edges, one
    that two lines pass twice. `weight` is the sum of `edges`, `bound` a sum that nothing that connects them
    can be below.
    """

    lines: tuple[tuple[Any, ...], ...]
    edges: tuple[tuple[Any, Any], ...]
    weight: float
    bound: float
    exact: bool

    @property
    def gap(self) -> float:
        """How much shorter a tree could be at most, as a share of the weight; 0 where exact."""
        return 0.0 if self.exact or not self.weight else max(self.weight - self.bound, 0.0) / self.weight


def steiner_tree(graph: Graph[N], terminals: Sequence[N], *, blocked: Collection[N] = ()) -> SteinerTree:
    """The shortest connection of `terminals` (doubles count once); lines may not meet at `blocked` nodes.

    Raises NotSolved where a terminal is unknown or not connected to the first, where lines can meet nowhere,
    or an edge is below 0.
    """
    points = list(dict.fromkeys(terminals))
    _refuse(graph, points)
    if len(points) < 2:
        return SteinerTree(lines=(), edges=(), weight=0.0, bound=0.0, exact=True)
    root, starts = points[0], points[1:]
    shut = set(blocked)
    near, came_from = _shortest(graph, root)
    for start in starts:
        if start not in near:
            raise NotSolved(f"terminal {start}", f"is not connected to {root}")
    sites = [node for node in near if node not in shut]
    # The ways are followed back from their far end, so each is looked up by where it ends.
    trees = {site: _shortest(graph, site) for site in sites}
    trees[root] = (near, came_from)
    problem = Gathering(
        start_site=tuple(tuple(trees[site][0][start] for site in sites) for start in starts),
        start_pin=tuple(near[start] for start in starts),
        site_site=tuple(tuple(trees[other][0][site] for other in sites) for site in sites),
        site_pin=tuple(near[site] for site in sites),
        may_join=tuple(True for _ in sites),
        joint_cost=0.0,
        joint_room=len(points) + 1,
        pin_room=1 if root in shut else len(points),
        load=tuple(1.0 for _ in starts),
        grain=_grain(graph),
    )
    gathered = gather(problem)
    if gathered.crowded:
        raise NotSolved(f"terminal {root}", "takes one line, and the others can meet nowhere")
    lines = _lines(gathered.tree, root, starts, sites, {site: tree[1] for site, tree in trees.items()})
    return _answer(graph, points, lines, gathered, free=not shut)


def _refuse(graph: Graph[N], points: Sequence[N]) -> None:
    for point in points:
        if point not in graph:
            raise NotSolved(f"terminal {point}", "is not in the graph")
    for node, edges in graph.items():
        for other, length in edges.items():
            if not 0 <= length < float("inf"):
                raise NotSolved(f"edge {node} to {other}", f"is {length:g} long", limit="0 or more")


def _grain(graph: Graph[N]) -> float:
    """The greatest number all lengths are a multiple of, if they are whole; else 0."""
    lengths = {length for edges in graph.values() for length in edges.values()}
    return float(math.gcd(*map(int, lengths))) if all(length == int(length) for length in lengths) else 0.0


def _shortest(graph: Graph[N], start: N) -> tuple[dict[N, float], dict[N, N]]:
    """Distance of every node that can be reached from `start`, and the node before it (Dijkstra 1959)."""
    distance: dict[N, float] = {start: 0.0}
    came_from: dict[N, N] = {}
    # The count keeps nodes that can't be compared out of it.
    count = itertools.count()
    queue = [(0.0, next(count), start)]
    done: set[N] = set()
    while queue:
        far, _, node = heapq.heappop(queue)
        if node in done:
            continue
        done.add(node)
        for other, length in graph[node].items():
            new = far + length
            if new < distance.get(other, float("inf")):
                distance[other] = new
                came_from[other] = node
                heapq.heappush(queue, (new, next(count), other))
    return distance, came_from


def _lines(
    tree: Tree, root: N, starts: Sequence[N], sites: Sequence[N], ways: Mapping[N, Mapping[N, N]]
) -> list[tuple[N, ...]]:
    ends = [(start, onto) for start, onto in zip(starts, tree.start_onto, strict=True)]
    ends += [(sites[site], onto) for site, onto in zip(tree.site, tree.joint_onto, strict=True)]
    lines = []
    for node, onto in ends:
        target = root if onto == PIN else sites[tree.site[onto]]
        line = [node]
        while line[-1] != target:
            line.append(ways[target][line[-1]])
        if len(line) > 1:
            lines.append(tuple(line))
    return lines


def _answer(
    graph: Graph[N], points: Sequence[N], lines: list[tuple[N, ...]], gathered: Gathered, *, free: bool
) -> SteinerTree:
    edges = [edge for line in lines for edge in itertools.pairwise(line)]
    if free:
        edges = _pruned(graph, points, edges)
    weight = sum(graph[one][other] for one, other in edges)
    return SteinerTree(
        lines=tuple(lines),
        edges=tuple(edges),
        weight=weight,
        bound=min(gathered.bound, weight),
        exact=gathered.exact,
    )


def _pruned(graph: Graph[N], points: Sequence[N], edges: list[tuple[N, N]]) -> list[tuple[N, N]]:
    """The shortest tree of these edges (Kruskal 1956) without branches that end in no terminal."""
    group: dict[N, N] = {}

    def leader(node: N) -> N:
        while group.setdefault(node, node) != node:
            node = group[node]
        return node

    kept: list[tuple[N, N]] = []
    for one, other in sorted(edges, key=lambda edge: graph[edge[0]][edge[1]]):
        first, second = leader(one), leader(other)
        if first != second:
            group[first] = second
            kept.append((one, other))
    wanted = set(points)
    while True:
        count = Counter(node for edge in kept for node in edge)
        bare = [edge for edge in kept if any(count[node] == 1 and node not in wanted for node in edge)]
        if not bare:
            return kept
        kept = [edge for edge in kept if edge not in bare]
