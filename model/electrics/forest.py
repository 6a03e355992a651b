"""A network as trees of conductors, with links from tree to tree.

The wires of a harness hang on the battery's rails as trees; only lamps lead from one tree to another. A
conductor that would close a loop counts as a link too.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from types import MappingProxyType

from model.electrics.circuit import Circuit, Conductor, Light, Solution
from model.errors import BadValue

FLOATING_OHM = 1e8
"""Leak to the minus rail of a part that hangs between diodes only; SPICE does the same with 1e12 ohm."""


class Forest:
    """The network as trees of conductors and the links between them.

    Nodes are numbered parents first. A link is a lamp, or a conductor that would close a loop.
    """

    def __init__(self, circuit: Circuit) -> None:
        self.circuit = circuit
        number: dict[str, int] = {name: index for index, name in enumerate(circuit.rails)}
        parts: list[Conductor | Light] = [*circuit.conductors, *circuit.lights]
        for part in parts:
            number.setdefault(part.a, len(number))
            number.setdefault(part.b, len(number))
        tree, loops = self._split(number)
        self._grow(number, tree)
        self.number = {name: self.place[index] for name, index in number.items()}
        self._link(loops)

    def _split(self, number: Mapping[str, int]) -> tuple[list[Conductor], list[Conductor]]:
        """Conductors of the trees, and those left over; the least ohms make the trees (Kruskal 1956)."""
        group = list(range(len(number)))
        rails = len(self.circuit.rails)
        group[:rails] = [0] * rails  # all rails count as one, as each is held

        def find(index: int) -> int:
            while group[index] != index:
                group[index] = group[group[index]]
                index = group[index]
            return index

        tree: list[Conductor] = []
        loops: list[Conductor] = []
        for conductor in sorted(self.circuit.conductors, key=lambda one: (one.limit_a is None, one.ohm)):
            a, b = find(number[conductor.a]), find(number[conductor.b])
            if a == b:
                loops.append(conductor)
            else:
                # The group of the rails keeps number 0, so that it is known at the end.
                group[max(a, b)] = min(a, b)
                tree.append(conductor)
        for conductor in loops:
            if conductor.limit_a is not None:
                raise BadValue(conductor.key, "limits current in a loop", limit="one way to its rail")
        return tree, loops

    def _grow(self, number: Mapping[str, int], tree: Sequence[Conductor]) -> None:
        """Number the nodes parents first, from the rails, then from one node of each floating part."""
        count = len(number)
        near: list[list[tuple[int, Conductor]]] = [[] for _ in range(count)]
        for conductor in tree:
            a, b = number[conductor.a], number[conductor.b]
            near[a].append((b, conductor))
            near[b].append((a, conductor))
        self.place = [-1] * count
        self.parent: list[int] = []
        self.edge: list[Conductor | None] = []
        self.root: list[int] = []
        rails = len(self.circuit.rails)
        for start in range(count):
            if self.place[start] >= 0:
                continue
            self.place[start] = len(self.parent)
            self.parent.append(-1)
            self.edge.append(None)
            self.root.append(self.place[start])
            if start < rails - 1:
                continue  # every rail is a root before any tree grows
            grown = range(rails) if start == rails - 1 else (start,)
            queue = list(grown)
            for index in queue:
                for other, conductor in near[index]:
                    if self.place[other] < 0:
                        self.place[other] = len(self.parent)
                        self.parent.append(self.place[index])
                        self.edge.append(conductor)
                        self.root.append(self.root[self.place[index]])
                        queue.append(other)

    def _link(self, loops: Sequence[Conductor]) -> None:
        """Links that can carry current; a part that only anodes or only cathodes touch stays dark."""
        held = len(self.circuit.rails)
        self.links: list[Light | Conductor] = []
        live = [
            (light, self.root[self.number[light.a]], self.root[self.number[light.b]])
            for light in self.circuit.lights
        ]
        while True:
            sides: dict[int, int] = {}
            for _, a, b in live:
                if a != b:
                    sides[a] = sides.get(a, 0) | 1
                    sides[b] = sides.get(b, 0) | 2
            fed = {root for root, side in sides.items() if root < held or side == 3} | set(range(held))
            left = [entry for entry in live if entry[1] in fed and entry[2] in fed]
            if len(left) == len(live):
                break
            live = left
        self.links += [light for light, _, _ in live]
        self.floating = {root for root in fed if root >= held}
        self.links += [loop for loop in loops if loop.a != loop.b and self.root[self.number[loop.a]] in fed]

    def root_volts(self, root: int) -> float:
        """Volts of a root: those of its rail, else 0, to which its leak leads."""
        rails = list(self.circuit.rails.values())
        return rails[root] if root < len(rails) else 0.0

    def solution(self, currents: Sequence[float], steps: int, residual_v: float) -> Solution:
        """Volts and currents of every node and part from those of the links."""
        flow = [0.0] * len(self.parent)
        link_a = {link.key: current for link, current in zip(self.links, currents, strict=True)}
        for link, current in zip(self.links, currents, strict=True):
            flow[self.number[link.a]] += current
            flow[self.number[link.b]] -= current
        volts = [0.0] * len(self.parent)
        for index in range(len(self.parent) - 1, -1, -1):
            if self.parent[index] >= 0:
                flow[self.parent[index]] += flow[index]
        conductor_a = dict.fromkeys((one.key for one in self.circuit.conductors), 0.0)
        held = len(self.circuit.rails)
        rails = list(self.circuit.rails.values())
        for index, above in enumerate(self.parent):
            edge = self.edge[index]
            if edge is None:
                if index < held:
                    volts[index] = rails[index]
                elif index in self.floating:
                    volts[index] = -FLOATING_OHM * flow[index]
                else:
                    volts[index] = math.nan
                continue
            volts[index] = volts[above] - edge.drop_v(flow[index])
            outward = self.number[edge.a] == above
            conductor_a[edge.key] = flow[index] if outward else -flow[index]
        light_a = {light.key: link_a.get(light.key, 0.0) for light in self.circuit.lights}
        conductor_a.update((link.key, link_a[link.key]) for link in self.links if isinstance(link, Conductor))
        return Solution(
            volts=MappingProxyType({name: volts[index] for name, index in self.number.items()}),
            light_a=MappingProxyType(light_a),
            conductor_a=MappingProxyType(conductor_a),
            steps=steps,
            residual_v=residual_v,
        )
