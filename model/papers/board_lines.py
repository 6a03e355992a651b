"""The lines of a board: every leg straight and as long as it is, every lamp as far off as it was measured."""

from __future__ import annotations

import math
from collections.abc import Iterable

import attrs

from model.harness import Harness, Lamp, Polarity
from model.papers.board_grid import Grid, along, step
from model.papers.figure import DIM, INK, Box, Disc, Item, Point, Stroke
from model.papers.lettering import Lettering
from model.papers.loom import Chain, Loom, Node

SIZE_MM = 3.0
SMALL_MM = 2.5
CLEAR_MM = 9.0
"""So far apart lines are kept where there is room."""

SHORT_SPUR_MM = 6.0
"""Lamps nearer to their waypoint than this are written beside it."""

CONTROLLER_MM = (9.0, 14.0)
"""The box of the controller, across and down; the wires leave from the middle of its right side."""

CORRIDOR_MM = 85.0
"""A board that stays this close to its spine goes onto one row of pages laid across."""


@attrs.frozen(kw_only=True)
class Stretch:
    """A leg or a lamp's spur on the board, from `start` to `end`; `length_mm` is the true one."""

    what: str
    start: Point
    end: Point
    length_mm: float


def spur_mm(lamp: Lamp) -> float:
    """How far a lamp stands from its waypoint, or from the controller if its run was measured."""
    return lamp.spur_mm if lamp.at is not None else lamp.measured_mm or 0.0


_TURNS = tuple(
    math.radians(degrees) for degrees in (60, -60, 75, -75, 45, -45, 90, -90, 30, -30, 105, -105, 120, -120)
)
_SPUR_TURNS = tuple(
    math.radians(turn)
    for turn in (60, -60, 40, -40, 80, -80, 100, -100, 120, -120, 20, -20, 140, -140, 160, -160, 0, 180)
)


class Lines:
    """The loom laid out from the controller at (0, 0), its spine to the right.

    `grid` holds the lines, `signs` what words must keep clear of; `nodes` are all that lie on the board,
    `lamp_ends` where the lamps are that stand apart, `plugs` where the plugs are.
    """

    def __init__(self, harness: Harness, loom: Loom) -> None:
        self.harness = harness
        self.lamps = {lamp.id: lamp for lamp in harness.lamps}
        self.lettering = Lettering(harness, SIZE_MM, SMALL_MM)
        self.grid = Grid()
        self.signs = Grid()
        self.at: dict[str, Point] = {}
        self.heading: dict[str, float] = {}
        self.taken: dict[str, list[float]] = {}
        self.stretches: list[Stretch] = []
        self.items: list[Item] = []
        self.lamp_ends: list[tuple[str, Point]] = []
        self.plugs: list[tuple[str, Point]] = []
        self.nodes: list[Node] = []
        self._spine(loom.roots[0])

    def _spine(self, spine: Chain) -> None:
        self.at[spine.nodes[0].point.id] = (0.0, 0.0)
        waiting = [spine]
        while waiting:
            chain = waiting.pop(0)
            self.lay_chain(chain)
            branches = [
                branch for node in chain.nodes if node is not chain.attach for branch in node.branches
            ]
            waiting += sorted(branches, key=_length, reverse=True)
        self.nodes = list(spine.everything())
        for node in self.nodes:
            self.spurs(node)
        self.controller(spine.nodes[0])
        for node in self.nodes:
            self.knot(node)

    def lay_chain(self, chain: Chain) -> None:
        """As one straight line where there is room, else leg by leg."""
        first = chain.nodes[0]
        start = self.at[first.point.id]
        base_turn = self.heading.get(first.point.id, 0.0)
        if chain.attach is None:
            turns: list[float] = [0.0]
        else:
            turns = [base_turn + turn for turn in _TURNS]
        lengths = [node.step_mm for node in chain.nodes[1:]]
        total = sum(lengths)
        turn, cost = self.best(first.point.id, start, turns, total)
        straight = cost < _COLLISION
        for before, node in zip(chain.nodes, chain.nodes[1:], strict=False):
            start = self.at[before.point.id]
            if not straight:
                around_here = [turn, *(turn + other for other in _TURNS)]
                turn, _ = self.best(before.point.id, start, around_here, node.step_mm)
            self.lay(before, node, start, turn)

    def best(
        self, node_id: str, start: Point, turns: Iterable[float], length_mm: float
    ) -> tuple[float, float]:
        """The turn that costs least, and its cost."""
        costs = [
            (self.cost(node_id, start, turn, length_mm) + place * 0.4, turn)
            for place, turn in enumerate(turns)
        ]
        cost, turn = min(costs, key=lambda pair: pair[0])
        return turn, cost

    def cost(self, node_id: str, start: Point, turn: float, length_mm: float) -> float:
        cost = 0.0
        for other in self.taken.get(node_id, ()):
            between = abs(math.remainder(turn - other, math.tau))
            if between < math.radians(18):
                cost += _COLLISION
            elif between < math.radians(29):
                cost += 4
        end = step(start, turn, length_mm)
        for point in along(start, end):
            from_start = math.dist(point, start)
            clear = min(CLEAR_MM, from_start * 0.6)
            if clear <= 0.5:
                continue
            if self.near(node_id, point, clear, from_start):
                cost += _COLLISION / 3
            elif self.near(node_id, point, 2.4 * clear, from_start):
                cost += 0.5
        # About its end there have to be words.
        cost += 0.35 * len(self.grid.hits((end[0] - 26, end[1] - 14, end[0] + 26, end[1] + 14)))
        # Pages lie in rows along the spine.
        cost += max(abs(end[1]) - CORRIDOR_MM, 0) * 0.12 + max(-end[0] - 60, 0) * 0.1
        return cost

    def near(self, node_id: str, point: Point, clear: float, from_start: float) -> bool:
        """Whether a line lies within `clear` of a point, but for those of the waypoint that this one
        starts from.
        """
        reach = (point[0] - clear, point[1] - clear, point[0] + clear, point[1] + clear)
        return any(owner != node_id or from_start > 3 * CLEAR_MM for _, owner in self.grid.hits(reach))

    def lay(self, before: Node, node: Node, start: Point, turn: float) -> None:
        end = step(start, turn, node.step_mm)
        self.at[node.point.id] = end
        self.heading[node.point.id] = turn
        self.taken.setdefault(before.point.id, []).append(turn)
        self.taken.setdefault(node.point.id, []).append(turn + math.pi)
        self.line(before.point.id, start, end)
        assert node.leg is not None
        loops = node.leg.loop_mm is not None
        self.items.append(Stroke(points=(start, end), width_mm=thick_mm(node.wires), dashed=loops))
        self.stretches.append(
            Stretch(
                what=f"{before.point.name} to {node.point.name}", start=start, end=end, length_mm=node.step_mm
            )
        )
        if node.plug_at_mm is not None:
            self.plug(node, step(end, turn + math.pi, node.far_mm - node.plug_at_mm), turn)

    def line(self, owner: str, start: Point, end: Point) -> None:
        for x, y in along(start, end):
            self.grid.add((x - 0.5, y - 0.5, x + 0.5, y + 0.5), owner)

    def plug(self, node: Node, at: Point, turn: float) -> None:
        """Two bars across the line; the middle between them is the plug."""
        assert node.leg is not None
        for shift in (-1.0, 1.0):
            middle = step(at, turn, shift)
            one, other = step(middle, turn + math.pi / 2, 4), step(middle, turn - math.pi / 2, 4)
            self.items.append(Stroke(points=(one, other), width_mm=0.7))
        self.plugs.append((node.leg.plug, at))

    def spurs(self, node: Node) -> None:
        """The lamps that stand apart from their waypoint, each where there is room about it."""
        start = self.at[node.point.id]
        heading = self.heading.get(node.point.id, 0.0)
        for lamp_id in node.lamps:
            lamp = self.lamps[lamp_id]
            length = spur_mm(lamp)
            if length < SHORT_SPUR_MM:
                continue
            turn, _ = self.best(node.point.id, start, [heading + turn for turn in _SPUR_TURNS], length)
            end = step(start, turn, length)
            self.taken.setdefault(node.point.id, []).append(turn)
            self.line(node.point.id, start, end)
            self.stretches.append(Stretch(what=lamp.name, start=start, end=end, length_mm=length))
            drawn = False
            for polarity, shift in ((Polarity.PLUS, -0.4), (Polarity.MINUS, 0.4)):
                wires = self.lettering.chain(lamp.id, polarity)
                if wires:
                    one = step(start, turn + math.pi / 2, shift)
                    other = step(end, turn + math.pi / 2, shift)
                    self.items.append(Stroke(points=(one, other), width_mm=0.6, ink=wires[0].colour))
                    drawn = True
            if not drawn:
                self.items.append(Stroke(points=(start, end), width_mm=0.25, ink=DIM, dashed=True))
            self.lamp_ends.append((lamp_id, end))
            self.lamp_sign(end, INK if drawn else DIM)

    def lamp_sign(self, at: Point, ink: str) -> None:
        """A crossed circle (IEC 60617) about the lamp's place."""
        radius = 1.8
        self.items.append(
            Disc(x_mm=at[0], y_mm=at[1], radius_mm=radius, filled=False, width_mm=0.35, ink=ink)
        )
        reach = radius * 0.7
        for way in (1, -1):
            points = ((at[0] - reach, at[1] - way * reach), (at[0] + reach, at[1] + way * reach))
            self.items.append(Stroke(points=points, width_mm=0.3, ink=ink))
        self.signs.add((at[0] - 2, at[1] - 2, at[0] + 2, at[1] + 2), "sign")

    def controller(self, node: Node) -> None:
        x, y = self.at[node.point.id]
        wide, high = CONTROLLER_MM
        box = Box(x_mm=x - wide, y_mm=y - high / 2, wide_mm=wide, high_mm=high, filled=True)
        self.items.append(box)
        self.signs.add(box.extent, "controller")

    def knot(self, node: Node) -> None:
        """Where a pin goes into the board; open where no joint can be reached."""
        if node.parent is None:
            return
        x, y = self.at[node.point.id]
        self.items.append(Disc(x_mm=x, y_mm=y, radius_mm=1.4, filled=node.point.reachable, width_mm=0.45))
        self.signs.add((x - 1.5, y - 1.5, x + 1.5, y + 1.5), "knot")


_COLLISION = 30.0


def _length(chain: Chain) -> float:
    return sum(node.step_mm for node in chain.nodes[1:])


def thick_mm(wires: int) -> float:
    """The width of a line of so many wires."""
    return min(0.5 * math.sqrt(max(wires, 1)), 3.0)
