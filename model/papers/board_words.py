"""The words of a board, clear of its lines and of each other, and where there is room uncut."""

from __future__ import annotations

import math
from copy import deepcopy
from itertools import product

import attrs

from model import lengths
from model.harness import Lamp
from model.papers.board_grid import along, step
from model.papers.board_lines import SHORT_SPUR_MM, SIZE_MM, SMALL_MM, Lines, spur_mm, thick_mm
from model.papers.board_pages import Pages
from model.papers.figure import DIM, Extent, Item, Point, Stroke, Words
from model.papers.lettering import Line
from model.papers.loom import Node
from model.papers.type_metrics import CAP_EM, shortened, wrapped
from model.values import counted

LINE_MM = 4.3
LINE_MOST_MM = 75.0
NAME_MM = 50.0
"""A longer name goes on in a second line, and is shortened if it is longer still."""

_FARTHER = (0, 2, 4, 6.5, 9, 12, 16, 21, 26, 33, 40, 50, 60, 85)
_TURNS = 16
_GOOD = 10.0
"""A place that costs less is taken: nothing is touched, nothing cut."""

_CUT = 24.0
_COVERED = 200.0
_LINE = 2.0
_NEW_PAGE = 40.0


def board_words(lines: Lines, pages: Pages | None) -> list[Item]:
    """Names, lengths, joints, tags; a thread leads to what does not stand beside its place."""
    words = _Words(lines, pages)
    for name, at in lines.plugs:
        words.place(words.name(f"plug {name}", bold=True), at, 5.0)
    for node in lines.nodes:
        words.leg(node)
    for node in lines.nodes:
        words.node(node)
    for lamp_id, end in lines.lamp_ends:
        words.place(words.lamp(lines.lamps[lamp_id]), end, 3.0)
    return words.items


class _Words:
    def __init__(self, lines: Lines, pages: Pages | None) -> None:
        self.lines = lines
        self.pages = pages
        self.taken = deepcopy(lines.signs)
        self.items: list[Item] = []

    def name(self, text: str, *, bold: bool = False) -> list[Line]:
        first, *rest = wrapped(text, NAME_MM, SIZE_MM, bold=bold)
        shown = [first]
        if rest:
            shown.append(shortened(text[len(first) :].strip(), NAME_MM, SIZE_MM, bold=bold))
        return [self.lines.lettering.maker().say(line, bold=bold).line() for line in shown]

    def aside(self, text: str) -> Line:
        short = shortened(text, LINE_MOST_MM, SMALL_MM)
        return self.lines.lettering.maker().say(short, ink=DIM, small=True).line()

    def lamp(self, lamp: Lamp) -> list[Line]:
        return [*self.name(lamp.name), self.lines.lettering.lamp_wires(lamp)]

    def node(self, node: Node) -> None:
        """A waypoint's name, its joints, the lamps that sit on it, and legs that close a loop."""
        lines = self.name(node.point.name, bold=True)
        lines += [self.lines.lettering.joint(joint, LINE_MOST_MM) for joint in node.joints]
        for lamp_id in node.lamps:
            lamp = self.lines.lamps[lamp_id]
            if spur_mm(lamp) < SHORT_SPUR_MM:
                lines += self.lamp(lamp)
        for leg, other, wires in node.loops:
            more = f", {counted(wires, 'wire')}" if wires else ""
            far = f", {lengths.text(leg.length_mm)}{more}"
            room = (
                LINE_MOST_MM - Words(x_mm=0, y_mm=0, text=f"another way to {far}", size_mm=SMALL_MM).width_mm
            )
            lines.append(self.aside(f"another way to {shortened(other.name, room, SMALL_MM)}{far}"))
        self.place(lines, self.lines.at[node.point.id], 3.0 if node.parent is not None else 10.0)

    def leg(self, node: Node) -> None:
        """Length and wires along the leg where it is long enough."""
        if node.leg is None or node.parent is None:
            return
        start, end = self.lines.at[node.parent.point.id], self.lines.at[node.point.id]
        text = lengths.text(node.leg.length_mm)
        if node.leg.loop_mm is not None:
            text += f" and {lengths.text(node.leg.loop_mm)} loop"
        if node.wires:
            text += f", {counted(node.wires, 'wire')}"
        turn = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
        flip = abs(turn) > 90.5
        if node.plug_at_mm is not None:
            # On the longer side of the plug.
            share = (node.plug_at_mm - node.parent.far_mm) / node.step_mm if node.step_mm else 0.0
            plug = (start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share)
            start, end = (start, plug) if share > 0.5 else (plug, end)
        words = Words(x_mm=0, y_mm=0, text=text, size_mm=SMALL_MM, ink=DIM, anchor="middle")
        room = math.dist(start, end) - 8 - words.width_mm
        if room < 0:
            return
        radians = math.radians(turn + (180 if flip else 0))
        put: list[Words] = []
        beside = 1.2 + thick_mm(node.wires) / 2
        for share, away in product((0.0, 0.25, -0.25, 0.5, -0.5), (beside, -beside - SMALL_MM * CAP_EM)):
            # From the middle towards an end, or on the other side, where a cut would go through it.
            far = 0.5 + share * room / math.dist(start, end)
            middle = (start[0] + (end[0] - start[0]) * far, start[1] + (end[1] - start[1]) * far)
            off = step(middle, radians - math.pi / 2, away)
            turned = math.degrees(radians) if abs(radians) > 1e-9 else 0.0
            put.append(attrs.evolve(words, x_mm=off[0], y_mm=off[1], turn=turned))
        best = min(put, key=lambda one: self.cuts(one.extent))
        self.items.append(best)
        half = words.width_mm / 2
        centre = step((best.x_mm, best.y_mm), radians - math.pi / 2, 1.0)
        for x, y in along(step(centre, radians, -half), step(centre, radians, half), 2.0):
            self.taken.add((x - 1, y - 1.2, x + 1, y + 1.2), "words")

    def cuts(self, extent: Extent) -> float:
        """What it costs that cuts go through an extent, or that it needs pages of its own."""
        if self.pages is None:
            return 0.0
        return _CUT * self.pages.cuts(extent) + _NEW_PAGE * self.pages.unused(extent)

    def place(self, lines: list[Line], at: Point, near_mm: float) -> None:
        """A block of lines beside a point, clear of lines and other blocks; with a thread where it is far."""
        wide = max(line.width_mm for line in lines)
        high = LINE_MM * len(lines)
        best: tuple[float, Extent] | None = None
        for far in (near_mm + farther for farther in _FARTHER):
            for n in range(_TURNS):
                turn = math.tau * n / _TURNS
                x, y = step(at, turn, far)
                left = x if math.cos(turn) > 0.3 else x - wide if math.cos(turn) < -0.3 else x - wide / 2
                top = y if math.sin(turn) > 0.3 else y - high if math.sin(turn) < -0.3 else y - high / 2
                extent = (left - 0.8, top - 0.4, left + wide + 0.8, top + high + 0.4)
                cost = _COVERED * len(self.taken.hits(extent)) + _GOOD * len(self.lines.grid.hits(extent))
                cost += far * 0.3 + (0.0 if math.cos(turn) > 0.3 else 0.6)
                cost += self.cuts(extent)
                if best is None or cost < best[0]:
                    cost += self.thread_cost(at, extent, near_mm)
                if best is None or cost < best[0]:
                    best = cost, extent
            if best is not None and best[0] < _GOOD:
                break
        assert best is not None
        left, top, _, _ = best[1]
        thread = self.thread(at, best[1], near_mm)
        self.taken.add(best[1], "words")
        if thread is not None:
            self.items.append(Stroke(points=thread, width_mm=0.12, ink=DIM))
            for x, y in along(*thread, 3.0)[1:]:
                self.taken.add((x - 0.3, y - 0.3, x + 0.3, y + 0.3), "thread")
        for place, line in enumerate(lines):
            self.items += line.at(left + 0.8, top + 0.4 + LINE_MM * (place + 0.5))

    def thread(self, at: Point, extent: Extent, near_mm: float) -> tuple[Point, Point] | None:
        """From a point to the block that is about it; none where it is near."""
        left, top, right, bottom = extent
        near = (min(max(at[0], left), right), min(max(at[1], top), bottom))
        return (at, near) if math.dist(near, at) > near_mm + 2 else None

    def thread_cost(self, at: Point, extent: Extent, near_mm: float) -> float:
        """What it costs that a thread crosses other words, or lines."""
        thread = self.thread(at, extent, near_mm)
        if thread is None:
            return 0.0
        cost = 0.0
        for x, y in along(*thread, 1.5):
            if math.dist((x, y), at) > 3.0:
                here = (x - 0.4, y - 0.4, x + 0.4, y + 0.4)
                cost += _GOOD * len(self.taken.hits(here)) + _LINE * len(self.lines.grid.hits(here))
        return cost
