"""The board: the loom laid flat at its true size, to be built on a board over the printed pages.

Every leg is a straight line as long as it is, with the loop of a moving joint in it; every lamp stands
as far from its waypoint as it was measured. Which way a leg points says nothing of the model: it is
where there is room. What is cut longer than that (slack, spare, the service loop) hangs out at the ends.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

import attrs

from model.harness import Harness, Lamp, Polarity
from model.papers.figure import (
    DIM,
    INK,
    Box,
    Disc,
    Extent,
    Figure,
    Item,
    Point,
    Stroke,
    Words,
    around,
    shifted,
    touches,
)
from model.papers.lettering import Lettering, Line
from model.papers.loom import Chain, Node, grow
from model.papers.table import Table

SIZE_MM = 3.0
SMALL_MM = 2.5
LINE_MM = 4.3
CLEAR_MM = 9.0
"""So far apart lines are kept where there is room."""

SHORT_SPUR_MM = 6.0
"""Lamps nearer to their waypoint than this are written beside it."""

CORRIDOR_MM = 85.0
"""A board that stays this close to its spine goes onto one row of pages laid across."""

LARGEST_MM = 20_000.0
"""A longer loom is not laid out: nobody has such a board."""

LEG_COLUMNS = ("from", "to", "length mm", "loop mm", "on the board mm", "plug", "plug from mm", "wires")
LAMP_COLUMNS = ("lamp", "at", "from it mm")


@attrs.frozen(kw_only=True)
class Stretch:
    """A leg or a lamp's spur on the board, from `start` to `end`; `length_mm` is the true one."""

    what: str
    start: Point
    end: Point
    length_mm: float


@attrs.frozen(kw_only=True)
class Board:
    """The figure at 1:1, the stretches in it, and what could not be laid out, with the reason."""

    figure: Figure
    stretches: tuple[Stretch, ...]
    missing: tuple[str, ...]


def board(harness: Harness) -> Board:
    """The loom laid out; the same harness gives the same board."""
    return _Layout(harness).board()


def board_tables(harness: Harness) -> tuple[Table, Table]:
    """The lengths of the board as figures, to check it with a ruler."""
    names = {point.id: point.name for point in harness.waypoints}
    rows = []
    for node in _nodes(harness):
        leg = node.leg
        if leg is None or node.parent is None:
            continue
        plug_mm = None if node.plug_at_mm is None else node.far_mm - node.plug_at_mm
        rows.append(
            (
                names[node.parent.point.id],
                node.point.name,
                f"{leg.length_mm:g}",
                "" if leg.loop_mm is None else f"{leg.loop_mm:g}",
                f"{node.step_mm:g}",
                leg.plug,
                "" if plug_mm is None else f"{plug_mm:g}",
                str(node.wires),
            )
        )
    lamps = tuple(
        (lamp.name, names.get(lamp.at or "", ""), f"{_spur(lamp):g}")
        for lamp in harness.lamps
        if lamp.at is not None or lamp.measured_mm is not None
    )
    legs = Table(
        title="Legs; the plug is measured from the second place", columns=LEG_COLUMNS, rows=tuple(rows)
    )
    return legs, Table(title="Lamps", columns=LAMP_COLUMNS, rows=lamps)


def _nodes(harness: Harness) -> Iterator[Node]:
    for root in grow(harness).roots:
        yield from root.everything()


def _spur(lamp: Lamp) -> float:
    return lamp.spur_mm if lamp.at is not None else lamp.measured_mm or 0.0


# --- laying out ------------------------------------------------------------------------------------

_TURNS = tuple(
    math.radians(degrees) for degrees in (60, -60, 75, -75, 45, -45, 90, -90, 30, -30, 105, -105, 120, -120)
)
_SPUR_TURNS = tuple(
    math.radians(turn)
    for turn in (60, -60, 40, -40, 80, -80, 100, -100, 120, -120, 20, -20, 140, -140, 160, -160, 0, 180)
)
_CELL_MM = 40.0


class _Grid:
    """Extents by cells, so that a question looks at few of them."""

    def __init__(self) -> None:
        self.cells: dict[tuple[int, int], list[tuple[Extent, object]]] = {}

    def _over(self, extent: Extent) -> Iterator[tuple[int, int]]:
        for column in range(math.floor(extent[0] / _CELL_MM), math.floor(extent[2] / _CELL_MM) + 1):
            for row in range(math.floor(extent[1] / _CELL_MM), math.floor(extent[3] / _CELL_MM) + 1):
                yield column, row

    def add(self, extent: Extent, owner: object) -> None:
        for cell in self._over(extent):
            self.cells.setdefault(cell, []).append((extent, owner))

    def hits(self, extent: Extent) -> set[tuple[Extent, object]]:
        return {
            pair
            for cell in self._over(extent)
            for pair in self.cells.get(cell, ())
            if touches(pair[0], extent)
        }


def _along(start: Point, end: Point, step_mm: float = 4.0) -> list[Point]:
    length = math.dist(start, end)
    count = max(math.ceil(length / step_mm), 1)
    return [
        (start[0] + (end[0] - start[0]) * n / count, start[1] + (end[1] - start[1]) * n / count)
        for n in range(count + 1)
    ]


def _step(start: Point, turn: float, length_mm: float) -> Point:
    return start[0] + length_mm * math.cos(turn), start[1] + length_mm * math.sin(turn)


class _Layout:
    def __init__(self, harness: Harness) -> None:
        self.harness = harness
        self.loom = grow(harness)
        self.lamps = {lamp.id: lamp for lamp in harness.lamps}
        self.lettering = Lettering(harness, SIZE_MM, SMALL_MM)
        self.grid = _Grid()
        self.labels = _Grid()
        self.at: dict[str, Point] = {}
        self.heading: dict[str, float] = {}
        self.taken: dict[str, list[float]] = {}
        self.stretches: list[Stretch] = []
        self.items: list[Item] = []
        self.words: list[Item] = []
        self.lamp_ends: list[tuple[str, Point]] = []
        self.missing: list[str] = []

    def board(self) -> Board:
        spine = self.loom.roots[0]
        if self.loom.reach_mm > LARGEST_MM:
            self.missing.append(
                f"The board is left out: the loom reaches {self.loom.reach_mm / 1000:g} m, "
                f"and a board at most {LARGEST_MM / 1000:g} m."
            )
        else:
            self.lay_spine(spine)
        for root in self.loom.roots[1:]:
            names = ", ".join(node.point.name for node in root.everything())
            self.missing.append(f"Not connected to the controller and not on the board: {names}.")
        items = (*self.items, *self.words)
        left, top, right, bottom = around(items)
        margin = 3.0
        moved = shifted(items, margin - left, margin - top)
        dx, dy = margin - left, margin - top
        figure = Figure(
            title=f"{self.harness.name}: the loom at 1 : 1",
            about="Every leg as long as it is. Slack, spare and the service loop hang out at the ends.",
            width_mm=right - left + 2 * margin,
            height_mm=bottom - top + 2 * margin,
            items=moved,
        )
        stretches = tuple(
            attrs.evolve(
                one, start=(one.start[0] + dx, one.start[1] + dy), end=(one.end[0] + dx, one.end[1] + dy)
            )
            for one in self.stretches
        )
        return Board(figure=figure, stretches=stretches, missing=tuple(self.missing))

    def lay_spine(self, spine: Chain) -> None:
        self.at[spine.nodes[0].point.id] = (0.0, 0.0)
        waiting = [spine]
        while waiting:
            chain = waiting.pop(0)
            self.lay_chain(chain)
            branches = [
                branch for node in chain.nodes if node is not chain.attach for branch in node.branches
            ]
            waiting += sorted(branches, key=_length, reverse=True)
        nodes = list(spine.everything())
        for node in nodes:
            self.spurs(node)
        self.controller(spine.nodes[0])
        for node in nodes:
            self.knot(node)
        for node in nodes:
            self.leg_words(node)
        for node in nodes:
            self.node_words(node)
        for lamp_id, end in self.lamp_ends:
            self.lamp_words(self.lamps[lamp_id], end)

    # --- lines ---

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
        end = _step(start, turn, length_mm)
        for point in _along(start, end):
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
        end = _step(start, turn, node.step_mm)
        self.at[node.point.id] = end
        self.heading[node.point.id] = turn
        self.taken.setdefault(before.point.id, []).append(turn)
        self.taken.setdefault(node.point.id, []).append(turn + math.pi)
        self.line(before.point.id, start, end)
        assert node.leg is not None
        loops = node.leg.loop_mm is not None
        self.items.append(Stroke(points=(start, end), width_mm=_thick(node.wires), dashed=loops))
        self.stretches.append(
            Stretch(
                what=f"{before.point.name} to {node.point.name}", start=start, end=end, length_mm=node.step_mm
            )
        )
        if node.plug_at_mm is not None:
            self.plug(node, _step(end, turn + math.pi, node.far_mm - node.plug_at_mm), turn)

    def line(self, owner: str, start: Point, end: Point) -> None:
        for x, y in _along(start, end):
            self.grid.add((x - 0.5, y - 0.5, x + 0.5, y + 0.5), owner)

    def plug(self, node: Node, at: Point, turn: float) -> None:
        """Two bars across the line; the middle between them is the plug."""
        assert node.leg is not None
        for shift in (-1.0, 1.0):
            middle = _step(at, turn, shift)
            one, other = _step(middle, turn + math.pi / 2, 4), _step(middle, turn - math.pi / 2, 4)
            self.items.append(Stroke(points=(one, other), width_mm=0.7))
        line = self.lettering.maker().say(f"plug {node.leg.plug}", bold=True).line()
        self.place([line], at, 5.0)

    def spurs(self, node: Node) -> None:
        """The lamps that stand apart from their waypoint, each where there is room about it."""
        start = self.at[node.point.id]
        heading = self.heading.get(node.point.id, 0.0)
        for lamp_id in node.lamps:
            lamp = self.lamps[lamp_id]
            length = _spur(lamp)
            if length < SHORT_SPUR_MM:
                continue
            turn, _ = self.best(node.point.id, start, [heading + turn for turn in _SPUR_TURNS], length)
            end = _step(start, turn, length)
            self.taken.setdefault(node.point.id, []).append(turn)
            self.line(node.point.id, start, end)
            self.stretches.append(Stretch(what=lamp.name, start=start, end=end, length_mm=length))
            drawn = False
            for polarity, shift in ((Polarity.PLUS, -0.4), (Polarity.MINUS, 0.4)):
                wires = self.lettering.chain(lamp.id, polarity)
                if wires:
                    one = _step(start, turn + math.pi / 2, shift)
                    other = _step(end, turn + math.pi / 2, shift)
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
        self.labels.add((at[0] - 2, at[1] - 2, at[0] + 2, at[1] + 2), "sign")

    def controller(self, node: Node) -> None:
        x, y = self.at[node.point.id]
        self.items.append(Box(x_mm=x - 9, y_mm=y - 7, wide_mm=9, high_mm=14, filled=True))
        self.labels.add((x - 9, y - 7, x, y + 7), "controller")

    def knot(self, node: Node) -> None:
        """Where a pin goes into the board; open where no joint can be reached."""
        if node.parent is None:
            return
        x, y = self.at[node.point.id]
        self.items.append(Disc(x_mm=x, y_mm=y, radius_mm=1.4, filled=node.point.reachable, width_mm=0.45))
        self.labels.add((x - 1.5, y - 1.5, x + 1.5, y + 1.5), "knot")

    # --- words ---

    def leg_words(self, node: Node) -> None:
        """Length and wires along the leg where it is long enough."""
        if node.leg is None or node.parent is None:
            return
        start, end = self.at[node.parent.point.id], self.at[node.point.id]
        text = f"{node.leg.length_mm:g} mm"
        if node.leg.loop_mm is not None:
            text += f" and {node.leg.loop_mm:g} mm loop"
        if node.wires:
            text += f", {node.wires} wire{'' if node.wires == 1 else 's'}"
        turn = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
        flip = abs(turn) > 90.5
        if node.plug_at_mm is not None:
            # On the longer side of the plug.
            share = (node.plug_at_mm - node.parent.far_mm) / node.step_mm if node.step_mm else 0.0
            plug = (start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share)
            start, end = (start, plug) if share > 0.5 else (plug, end)
        words = Words(x_mm=0, y_mm=0, text=text, size_mm=SMALL_MM, ink=DIM, anchor="middle")
        if words.width_mm > math.dist(start, end) - 8:
            return
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        radians = math.radians(turn + (180 if flip else 0))
        off = _step(middle, radians - math.pi / 2, 1.2 + _thick(node.wires) / 2)
        self.words.append(
            attrs.evolve(
                words, x_mm=off[0], y_mm=off[1], turn=math.degrees(radians) if abs(radians) > 1e-9 else 0.0
            )
        )
        half = words.width_mm / 2
        centre = _step(off, radians - math.pi / 2, 1.0)
        for x, y in _along(_step(centre, radians, -half), _step(centre, radians, half), 2.0):
            self.labels.add((x - 1, y - 1.2, x + 1, y + 1.2), "words")

    def node_words(self, node: Node) -> None:
        """A waypoint's name, its joints, the lamps that sit on it, and legs that close a loop."""
        lines = [self.lettering.maker().say(node.point.name, bold=True).line()]
        lines += [self.lettering.joint(joint, 75.0) for joint in node.joints]
        for lamp_id in node.lamps:
            lamp = self.lamps[lamp_id]
            if _spur(lamp) < SHORT_SPUR_MM:
                lines += self.lamp_lines(lamp)
        for leg, other, wires in node.loops:
            more = f", {wires} wires" if wires else ""
            text = f"another way to {other.name}, {leg.length_mm:g} mm{more}"
            lines.append(self.lettering.maker().say(text, ink=DIM, small=True).line())
        self.place(lines, self.at[node.point.id], 3.0 if node.parent is not None else 10.0)

    def lamp_lines(self, lamp: Lamp) -> list[Line]:
        return [self.lettering.maker().say(lamp.name).line(), self.lettering.lamp_wires(lamp)]

    def lamp_words(self, lamp: Lamp, at: Point) -> None:
        self.place(self.lamp_lines(lamp), at, 3.0)

    def place(self, lines: list[Line], at: Point, near_mm: float) -> None:
        """A block of lines beside a point, clear of lines and other blocks; with a thread where it is far."""
        wide = max(line.width_mm for line in lines)
        high = LINE_MM * len(lines)
        best: tuple[float, Extent] | None = None
        for far in (
            near_mm,
            near_mm + 4,
            near_mm + 9,
            near_mm + 16,
            near_mm + 26,
            near_mm + 40,
            near_mm + 60,
            near_mm + 85,
        ):
            for n in range(16):
                turn = math.tau * n / 16
                x, y = _step(at, turn, far)
                left = x if math.cos(turn) > 0.3 else x - wide if math.cos(turn) < -0.3 else x - wide / 2
                top = y if math.sin(turn) > 0.3 else y - high if math.sin(turn) < -0.3 else y - high / 2
                extent = (left - 0.8, top - 0.4, left + wide + 0.8, top + high + 0.4)
                hits = len(self.labels.hits(extent)) * 3 + len(self.grid.hits(extent))
                cost = hits * 10 + far * 0.3 + (0.0 if math.cos(turn) > 0.3 else 0.6)
                if best is None or cost < best[0]:
                    best = cost, extent
            if best is not None and best[0] < 10:
                break
        assert best is not None
        left, top, right, bottom = best[1]
        self.labels.add(best[1], "words")
        near = (min(max(at[0], left), right), min(max(at[1], top), bottom))
        if math.dist(near, at) > near_mm + 2:
            self.words.append(Stroke(points=(at, near), width_mm=0.12, ink=DIM))
        for place, line in enumerate(lines):
            self.words += line.at(left + 0.8, top + 0.4 + LINE_MM * (place + 0.5))


_COLLISION = 30.0


def _length(chain: Chain) -> float:
    return sum(node.step_mm for node in chain.nodes[1:])


def _thick(wires: int) -> float:
    return min(0.5 * math.sqrt(max(wires, 1)), 3.0)
