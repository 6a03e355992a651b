"""The loom as chains: a spine of waypoints from the controller, and the chains that branch off it.

At each waypoint the chain goes on towards most lamps; every other way from there begins a chain of its own.
"""

from __future__ import annotations

from collections.abc import Iterator

import attrs

from model.harness import Harness, Leg, Waypoint
from model.routing.graph import leg_length_mm
from model.routing.tree import Branch, plug_from_mm, waypoint_tree


@attrs.define(kw_only=True, eq=False)
class Node:
    """A waypoint of the loom.

    `far_mm` is its distance along the wires from the root; `leg` leads to `parent`; `wires` pass that
    leg. `plug_at_mm` is where the leg's plug is, measured from the root too. `loops` are the legs from
    here that are on no shortest way, with the waypoint at the other end and how many wires take them.
    """

    point: Waypoint
    parent: Node | None = None
    leg: Leg | None = None
    far_mm: float = 0.0
    wires: int = 0
    lamps: tuple[str, ...] = ()
    joints: tuple[str, ...] = ()
    children: list[Node] = attrs.field(factory=list)
    branches: list[Chain] = attrs.field(factory=list)
    loops: list[tuple[Leg, Waypoint, int]] = attrs.field(factory=list)
    weight: int = 0

    @property
    def step_mm(self) -> float:
        """Length of the leg to the parent with the loop of a moving joint."""
        return leg_length_mm(self.leg) if self.leg is not None else 0.0

    @property
    def plug_at_mm(self) -> float | None:
        """Distance of the leg's plug from the root; its distance from this waypoint is the measured one."""
        if self.leg is None or not self.leg.plug:
            return None
        return self.far_mm - plug_from_mm(self.leg, self.point.id)


@attrs.define(kw_only=True, eq=False)
class Chain:
    """Waypoints one behind the other. One that branches off begins with the waypoint `attach` it hangs on."""

    nodes: list[Node]
    attach: Node | None = None

    def everything(self) -> Iterator[Node]:
        """Every node of the chain and of all that branches off it, without the one it hangs on."""
        waiting = [self]
        while waiting:
            chain = waiting.pop()
            for node in chain.nodes[1:] if chain.attach is not None else chain.nodes:
                yield node
                waiting += node.branches


@attrs.frozen(kw_only=True)
class Loom:
    """The spine from the controller, then a chain for each group of waypoints that is not connected to it."""

    roots: tuple[Chain, ...]
    reach_mm: float


def grow(harness: Harness) -> Loom:
    """The chains of a harness. `reach_mm` is the greatest distance of a waypoint or lamp from its root."""
    nodes: dict[str, Node] = {}
    tops: list[Node] = []
    for branch in waypoint_tree(harness):
        if branch.second:
            assert branch.leg is not None
            assert branch.parent is not None
            nodes[branch.point.id].loops.append((branch.leg, branch.parent, branch.wires))
            continue
        node = _node(branch, nodes)
        nodes[node.point.id] = node
        if node.parent is None:
            tops.append(node)
        else:
            node.parent.children.append(node)
    # Whoever measured a run with a string has lamps that hang on the controller itself.
    measured = tuple(lamp.id for lamp in harness.lamps if lamp.at is None and lamp.measured_mm is not None)
    tops[0].lamps += measured
    for node in reversed(list(nodes.values())):
        node.weight = len(node.lamps) + sum(child.weight for child in node.children)
    reach = 0.0
    for lamp in harness.lamps:
        if lamp.at is not None:
            reach = max(reach, nodes[lamp.at].far_mm + lamp.spur_mm)
        elif lamp.measured_mm is not None:
            reach = max(reach, lamp.measured_mm)
    for node in nodes.values():
        reach = max(reach, node.far_mm, *(node.far_mm + leg.length_mm for leg, _, _ in node.loops))
    return Loom(roots=tuple(_chain(top, None) for top in tops), reach_mm=reach)


def _node(branch: Branch, nodes: dict[str, Node]) -> Node:
    parent = nodes[branch.parent.id] if branch.parent is not None else None
    node = Node(
        point=branch.point,
        parent=parent,
        leg=branch.leg,
        wires=branch.wires,
        lamps=branch.lamps,
        joints=branch.joints,
    )
    node.far_mm = parent.far_mm + node.step_mm if parent is not None else 0.0
    return node


def _chain(top: Node, attach: Node | None) -> Chain:
    """The chain from `top` on, and those that branch off it."""
    first = Chain(nodes=[top] if attach is None else [attach, top], attach=attach)
    waiting = [first]
    while waiting:
        chain = waiting.pop()
        node = chain.nodes[-1]
        while node.children:
            ordered = sorted(node.children, key=_pull, reverse=True)
            for child in ordered[1:]:
                branch = Chain(nodes=[node, child], attach=node)
                node.branches.append(branch)
                waiting.append(branch)
            node = ordered[0]
            chain.nodes.append(node)
    return first


def _pull(node: Node) -> tuple[int, float]:
    """How much draws the spine this way: lamps, then length."""
    return node.weight, node.step_mm
