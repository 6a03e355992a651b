"""The working point of a network of wires and LEDs.

The lamp currents are the unknowns: from them one sweep up and one down the trees of wires gives every wire
current and every voltage, and Kirchhoff's current law holds by construction. What must be met is that each
lamp's voltage is that of its diode curve. Newton's method does it; each linear step is solved by conjugate
gradients (Hestenes and Stiefel 1952), whose products with the matrix of wire resistances are such sweeps
again, so that nothing is ever assembled or filled in.

Anything ohmic may be added, a short circuit or a meter between two trees as well: what would close a loop of
wires becomes an unknown like a lamp.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from operator import mul

from model.electrics.circuit import LIMITER_OHM, Circuit, Conductor, Light, Solution, check
from model.electrics.diode import operating_point
from model.electrics.forest import FLOATING_OHM, Forest
from model.errors import NotSolved

_LEAST_OHM = 1e-9
_MOST_A = 1e6
_MOST_STEPS = 80
_MOST_HALVINGS = 24


def solve(circuit: Circuit) -> Solution:
    """The working point. NotSolved with its cause where there is none; BadValue for impossible parts."""
    check(circuit)
    forest = Forest(circuit)
    currents, steps, residual_v = _Newton(forest).run()
    return forest.solution(currents, steps, residual_v)


class _Scaling:
    """Preconditioner: each link's own slope, and exactly the steep edge that a whole tree hangs on.

    The inverse of D + R s s' is that of Sherman and Morrison (1950).
    """

    def __init__(
        self, slope: Sequence[float], blocks: Sequence[tuple[float, Sequence[tuple[int, float]]]]
    ) -> None:
        self.inverse = [1.0 / one for one in slope]
        self.blocks = [
            (ohm / (1.0 + ohm * sum(self.inverse[place] for place, _ in sides)), sides)
            for ohm, sides in blocks
        ]

    def __call__(self, mismatch: Sequence[float]) -> list[float]:
        """The scaled mismatch, in A."""
        scaled = list(map(mul, mismatch, self.inverse))
        for factor, sides in self.blocks:
            shared = factor * sum(sign * scaled[place] for place, sign in sides)
            for place, sign in sides:
                scaled[place] -= sign * shared * self.inverse[place]
        return scaled


class _Newton:
    """Newton's method on the links of a forest, after wires in series have been drawn together.

    A lamp at the end of a branch takes the branch's resistance into its own; a node that only passes
    on goes as well. What is left are the nodes where currents part.
    """

    def __init__(self, forest: Forest) -> None:
        self.forest = forest
        self._reduce()
        self.emf = [
            forest.root_volts(forest.root[forest.number[link.a]])
            - forest.root_volts(forest.root[forest.number[link.b]])
            for link in forest.links
        ]

    def _reduce(self) -> None:
        forest = self.forest
        count = len(forest.parent)
        parent = list(forest.parent)
        ohm = [edge.ohm if edge is not None else 0.0 for edge in forest.edge]
        fixed = [edge is None or edge.limit_a is not None for edge in forest.edge]
        children: list[list[int]] = [[] for _ in range(count)]
        for index, above in enumerate(parent):
            if above >= 0:
                children[above].append(index)
        ends = [[forest.number[link.a], forest.number[link.b]] for link in forest.links]
        touching: list[list[tuple[int, int]]] = [[] for _ in range(count)]
        for place, (a, b) in enumerate(ends):
            touching[a].append((place, 0))
            touching[b].append((place, 1))
        extra = [0.0] * len(ends)
        kept = [True] * count
        for index in range(count - 1, -1, -1):
            if fixed[index]:
                continue
            below = [child for child in children[index] if kept[child]]
            if len(below) + len(touching[index]) > 1:
                continue
            above = parent[index]
            kept[index] = False
            if below:
                parent[below[0]] = above
                ohm[below[0]] += ohm[index]
                children[above].append(below[0])
            elif touching[index]:
                place, side = touching[index][0]
                extra[place] += ohm[index]
                ends[place][side] = above
                touching[above].append((place, side))
        order = [index for index in range(count) if kept[index]]
        position = {index: place for place, index in enumerate(order)}
        held = len(forest.circuit.rails)
        self.size = len(order)
        self.a = [position[end[0]] for end in ends]
        self.b = [position[end[1]] for end in ends]
        # Rails come first and drop nothing: the sweeps start behind them.
        self.first = held
        self.up = [position[parent[index]] if parent[index] >= 0 else -1 for index in order]
        self.ohm = [ohm[index] for index in order]
        self.limiters: list[tuple[int, Conductor]] = []
        for place, index in enumerate(order):
            edge = forest.edge[index]
            if edge is not None and edge.limit_a is not None:
                self.limiters.append((place, edge))
            if index >= held and parent[index] < 0:
                self.up[place] = 0
                self.ohm[place] = FLOATING_OHM
        self.extra = extra
        self._find_blocks()

    def _find_blocks(self) -> None:
        """The steep edges (limiters, leaks of floating parts), and with their sign the links on each."""
        limited = {place for place, _ in self.limiters}
        steep = [0] * self.size
        for place in range(self.first, self.size):
            own = place in limited or self.ohm[place] == FLOATING_OHM
            steep[place] = place if own else steep[self.up[place]]
        sides: dict[int, list[tuple[int, float]]] = {}
        for link, (a, b) in enumerate(zip(self.a, self.b, strict=True)):
            if steep[a] != steep[b]:
                # One edge a link is enough, the other is left to the iteration.
                edge, sign = (steep[b], -1.0) if steep[b] else (steep[a], 1.0)
                sides.setdefault(edge, []).append((link, sign))
        self.blocks = list(sides.items())

    def _sweep(self, currents: Sequence[float], ohm: Sequence[float]) -> tuple[list[float], list[float]]:
        """Flow into each node from its parent, and the volts lost on the way there from its rail."""
        flow = [0.0] * self.size
        for place, current in enumerate(currents):
            flow[self.a[place]] += current
            flow[self.b[place]] -= current
        up, first = self.up, self.first
        for index in range(self.size - 1, first - 1, -1):
            flow[up[index]] += flow[index]
        lost = [0.0] * self.size
        for index in range(first, self.size):
            lost[index] = lost[up[index]] + ohm[index] * flow[index]
        return flow, lost

    def _state(self, currents: Sequence[float], volts: Sequence[float]) -> tuple[list[float], list[float]]:
        """Mismatch of every link, and the resistances as they are for a small change."""
        ohm = self.ohm
        if self.limiters:
            flow, _ = self._sweep(currents, ohm)
            ohm = list(ohm)
            steep = list(ohm)
            for place, conductor in self.limiters:
                if flow[place]:
                    ohm[place] = conductor.drop_v(flow[place]) / flow[place]
                assert conductor.limit_a is not None
                if abs(flow[place]) > conductor.limit_a:
                    steep[place] = conductor.ohm + LIMITER_OHM
        else:
            steep = ohm
        _, lost = self._sweep(currents, ohm)
        mismatch = [
            emf - lost[a] + lost[b] - own
            for emf, a, b, own in zip(self.emf, self.a, self.b, volts, strict=True)
        ]
        return mismatch, steep

    def run(self) -> tuple[list[float], int, float]:
        """Currents of the links in A, the number of steps, and the mismatch left in V."""
        links = self.forest.links
        if not links:
            return [], 0, 0.0
        lights = [
            (link.ohm + link.diode.series_ohm + extra, link.diode.saturation_a, link.diode.emission_v)
            if isinstance(link, Light)
            else None
            for link, extra in zip(links, self.extra, strict=True)
        ]
        plain = [max(link.ohm + extra, _LEAST_OHM) for link, extra in zip(links, self.extra, strict=True)]
        volts = list(self.emf)
        junction = list(volts)

        def respond(volts: Sequence[float]) -> tuple[list[float], list[float]]:
            currents: list[float] = []
            slope: list[float] = []
            for place, light in enumerate(lights):
                if light is None:
                    currents.append(volts[place] / plain[place])
                    slope.append(plain[place])
                else:
                    junction[place], current, conductance = operating_point(
                        volts[place], *light, junction[place]
                    )
                    currents.append(current)
                    slope.append(1.0 / conductance if conductance > 1e-15 else 1e15)
            return currents, slope

        currents, slope = respond(volts)
        mismatch, steep = self._state(currents, volts)
        worst = max(map(abs, mismatch))
        scale = max(max(map(abs, self.emf)), 1.0)
        enough = scale * (1e-8 if self.limiters or self.forest.floating else 1e-11)
        for step in range(_MOST_STEPS):
            if not worst < math.inf:
                break
            if worst <= enough:
                return self._sound(currents), step, worst
            change = self._linear(slope, steep, mismatch)
            share = 1.0
            for _ in range(_MOST_HALVINGS):
                trial = [
                    own + share * ohm * delta for own, ohm, delta in zip(volts, slope, change, strict=True)
                ]
                before = list(junction)
                new_currents, new_slope = respond(trial)
                new_mismatch, new_steep = self._state(new_currents, trial)
                new_worst = max(map(abs, new_mismatch))
                if new_worst < worst:
                    break
                junction[:] = before
                share /= 2
            else:
                if worst <= 1e3 * enough:  # as near as the arithmetic allows
                    return self._sound(currents), step, worst
                break
            volts, currents, slope = trial, new_currents, new_slope
            mismatch, steep, worst = new_mismatch, new_steep, new_worst
        raise self._failure(mismatch)

    def _sound(self, currents: list[float]) -> list[float]:
        """The currents, unless one is beyond anything a wire can mean."""
        for link, current in zip(self.forest.links, currents, strict=True):
            if not abs(current) <= _MOST_A:
                raise NotSolved(
                    link.key,
                    "closes a loop over the battery with no resistance at all",
                    limit="a short circuit needs some resistance to be worked out",
                )
        return currents

    def _failure(self, mismatch: Sequence[float]) -> NotSolved:
        place = max(range(len(mismatch)), key=lambda index: abs(mismatch[index]))
        return NotSolved(
            self.forest.links[place].key,
            f"its voltage and its diode curve are still {abs(mismatch[place]):.3g} V apart",
            limit=f"{_MOST_STEPS} steps",
            remedy="Look for a resistance or voltage out of all proportion there.",
        )

    def _linear(self, slope: Sequence[float], ohm: Sequence[float], wanted: Sequence[float]) -> list[float]:
        """Change of the currents that mends the `wanted` volts, by conjugate gradients."""
        scale = _Scaling(slope, [(ohm[node], sides) for node, sides in self.blocks])
        x = [0.0] * len(wanted)
        r = list(wanted)
        z = scale(r)
        p = list(z)
        rho = sum(map(mul, r, z))
        target = rho * 1e-20
        for _ in range(4 * len(wanted) + 20):
            if rho <= target or rho <= 0.0:
                break
            _, lost = self._sweep(p, ohm)
            q = [s * c + lost[a] - lost[b] for s, c, a, b in zip(slope, p, self.a, self.b, strict=True)]
            bend = sum(map(mul, p, q))
            if bend <= 0.0:
                break
            alpha = rho / bend
            x = [one + alpha * other for one, other in zip(x, p, strict=True)]
            r = [one - alpha * other for one, other in zip(r, q, strict=True)]
            z = scale(r)
            new_rho = sum(map(mul, r, z))
            beta = new_rho / rho
            p = [one + beta * other for one, other in zip(z, p, strict=True)]
            rho = new_rho
        return x
