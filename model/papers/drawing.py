"""The drawing: the loom along its spine, true to scale, with every joint, plug and lamp and the tags of
their wires.

A point of the drawing stands as far to the right as it is from the controller along the wires. The spine
is the way with the most lamps; what branches off lies above and below it, the left of the model above
and the right below where the lamps say so. Whatever hangs on a waypoint has a line of its own that
nothing crosses: what is nearer to the controller lies farther from the spine.
"""

from __future__ import annotations

import math

import attrs

from model import lengths
from model.harness import Hand, Harness, Lamp, Polarity
from model.papers.figure import DIM, FAINT, INK, Box, Disc, Figure, Item, Stroke, Upright, Words
from model.papers.lettering import Lettering, base
from model.papers.loom import Chain, Node, grow
from model.papers.type_metrics import shortened
from model.values import counted

WIDTH_MM = 188.0
REACH_MM = 100.0
"""How far to the right the farthest lamp stands; behind it is room for its words."""

ROW_MM = 3.9
SIZE_MM = 2.45
SMALL_MM = 2.1
TOP_MM = 17.0
HEAD_MM = (2.0, 12.0)
"""Where the ruler lies."""

LEFT_MM = 3.0
ABOUT = (
    "Everything stands as far to the right as it is from the controller along the wires; the left of "
    "the model is above the spine, the right below. A small dot is a waypoint, a ring one where no "
    "joint can be made, a large dot a joint, two bars a plug, a crossed circle a lamp; what is dashed "
    "moves. Behind each tag stands where its wire ends towards the controller: joint, plug and contact, "
    "or block and pin."
)

SCALES = (0.5, 1, 2, 2.5, 4, 5, 8, 10, 15, 20, 25, 30, 40, 50, 80, 100, 150, 200, 250, 400, 500, 1000, 2000)


def drawing(harness: Harness) -> Figure:
    """The whole loom; `breaks` are the lines between which it may be cut into pages."""
    return _Drawing(harness).figure()


def unplaced(harness: Harness) -> tuple[Lamp, ...]:
    """The lamps that no drawing can hold: neither a waypoint nor a measured run is known."""
    return tuple(lamp for lamp in harness.lamps if lamp.at is None and lamp.measured_mm is None)


@attrs.frozen(kw_only=True)
class _Row:
    """One line beside the spine: a lamp, a joint, a leg that closes a loop, or a waypoint's name."""

    kind: str
    ref: str = ""
    node: Node


@attrs.frozen(kw_only=True)
class _Laid:
    """A chain with what lies above and below its line, from the line outwards."""

    chain: Chain
    above: tuple[_Row | _Laid, ...]
    below: tuple[_Row | _Laid, ...]
    inline: frozenset[str]

    @property
    def up_mm(self) -> float:
        """Height above the line."""
        return ROW_MM / 2 + sum(map(_high, self.above)) + (1.6 if self.inline else 0)

    @property
    def down_mm(self) -> float:
        """Height below the line."""
        return ROW_MM / 2 + sum(map(_high, self.below))


def _high(one: _Row | _Laid) -> float:
    return ROW_MM if isinstance(one, _Row) else one.up_mm + one.down_mm


class _Drawing:
    def __init__(self, harness: Harness) -> None:
        self.harness = harness
        self.loom = grow(harness)
        self.lettering = Lettering(harness, SIZE_MM, SMALL_MM)
        self.lamps = {lamp.id: lamp for lamp in harness.lamps}
        self.scale = next((scale for scale in SCALES if self.loom.reach_mm / scale <= REACH_MM), SCALES[-1])
        self.items: list[Item] = []
        self.words: list[Item] = []
        self.breaks: list[float] = []
        self.uprights: dict[str, Upright] = {}

    def x(self, mm: float) -> float:
        """Where something `mm` from the controller stands."""
        return LEFT_MM + mm / self.scale

    def figure(self) -> Figure:
        y = TOP_MM
        for place, root in enumerate(self.loom.roots):
            laid = self.lay(root)
            if place:
                y += 2 * ROW_MM
                self.say(LEFT_MM, y - 1, "not connected to the controller:", DIM, SMALL_MM)
            self.breaks.append(y)
            self.draw(laid, y + laid.up_mm, self.x(0))
            y += laid.up_mm + laid.down_mm
            self.breaks.append(y)
        self.ruler()
        height = y + 2.0
        name = self.harness.name
        return Figure(
            title=f"{name}: the loom at 1 : {self.scale:g}",
            about=ABOUT,
            width_mm=WIDTH_MM,
            height_mm=height,
            items=(*self.items, *self.words),
            breaks=tuple(sorted({round(at, 3) for at in self.breaks})),
            head_mm=HEAD_MM,
            uprights=tuple(self.uprights.values()),
        )

    # --- what goes where ---

    def lay(self, chain: Chain) -> _Laid:
        """Sides for all that hangs on a chain. The farther from the controller, the closer to the line."""
        above: list[_Row | _Laid] = []
        below: list[_Row | _Laid] = []
        inline = self.inline(chain)
        for place, node in reversed(list(enumerate(chain.nodes))):
            if place == 0 and chain.attach is not None:
                continue  # it belongs to the chain this one branches off
            rows = [_Row(kind="joint", ref=joint, node=node) for joint in node.joints]
            rows += [_Row(kind="lamp", ref=lamp, node=node) for lamp in node.lamps]
            rows += [_Row(kind="loop", ref=str(n), node=node) for n, _ in enumerate(node.loops)]
            hung: list[tuple[int, _Row | _Laid]] = []
            for row in rows:
                hung.append((self.side(row), row))
            hung += [(self.lean(branch), self.lay(branch)) for branch in node.branches]
            for side, one in hung:
                heights = sum(map(_high, above)), sum(map(_high, below))
                up = side < 0 or (side == 0 and heights[0] <= heights[1])
                (above if up else below).append(one)
            if node.point.id not in inline:
                above.append(_Row(kind="name", node=node))
        return _Laid(chain=chain, above=tuple(above), below=tuple(below), inline=inline)

    def side(self, row: _Row) -> int:
        if row.kind != "lamp":
            return 0
        return {Hand.LEFT: -1, Hand.RIGHT: 1, Hand.NONE: 0}[self.lamps[row.ref].hand]

    def lean(self, chain: Chain) -> int:
        """Whether more of a branch's lamps are on the left (-1) or on the right (1)."""
        total = 0
        for node in chain.everything():
            for lamp in node.lamps:
                total += {Hand.LEFT: -1, Hand.RIGHT: 1, Hand.NONE: 0}[self.lamps[lamp].hand]
        return (total > 0) - (total < 0)

    def inline(self, chain: Chain) -> frozenset[str]:
        """The waypoints whose names go onto the line, before whatever comes next on it."""
        found = []
        nodes = chain.nodes
        for place, node in enumerate(nodes):
            if place == 0 and chain.attach is not None:
                continue
            room = WIDTH_MM - self.x(node.far_mm)
            if place + 1 < len(nodes):
                after = nodes[place + 1]
                until = after.far_mm if after.plug_at_mm is None else after.plug_at_mm
                room = (until - node.far_mm) / self.scale - 1.5
            needed = sum(part.width_mm + 1 for part in self.name_parts(0, 0, node))
            if needed <= room:
                found.append(node.point.id)
        return frozenset(found)

    # --- drawing ---

    def say(
        self, x: float, y: float, text: str, ink: str = INK, size: float = SIZE_MM, **more: object
    ) -> float:
        """Words on the base line; returns where they end."""
        words = Words(x_mm=x, y_mm=y, text=text, ink=ink, size_mm=size, **more)  # type: ignore[arg-type]
        self.words.append(words)
        return x + words.width_mm

    def draw(self, laid: _Laid, y: float, start_x: float) -> None:
        """A chain whose line lies at y, and all that hangs on it."""
        chain = laid.chain
        self.breaks += [y - ROW_MM / 2 - (1.6 if laid.inline else 0), y + ROW_MM / 2]
        for before, node in zip(chain.nodes, chain.nodes[1:], strict=False):
            self.leg(node, self.x(before.far_mm), y)
        if chain.attach is None:
            self.controller(y) if chain is self.loom.roots[0] else None
        upper = y - ROW_MM / 2 - (1.6 if laid.inline else 0)
        for one in laid.above:
            high = _high(one)
            self.hang(one, upper - (ROW_MM / 2 if isinstance(one, _Row) else one.down_mm), y)
            upper -= high
            self.breaks.append(upper)
        lower = y + ROW_MM / 2
        for one in laid.below:
            high = _high(one)
            self.hang(one, lower + (ROW_MM / 2 if isinstance(one, _Row) else one.up_mm), y)
            lower += high
            self.breaks.append(lower)
        for place, node in enumerate(chain.nodes):
            if place == 0 and chain.attach is not None:
                continue
            self.knot(node, y)
            if node.point.id in laid.inline:
                self.name(node, y - 1.5)

    def upright(self, node: Node, y: float, from_y: float) -> None:
        """The line on which all that hangs on a waypoint hangs reaches this far."""
        before = self.uprights.get(node.point.id)
        top, bottom = min(y, from_y), max(y, from_y)
        self.uprights[node.point.id] = Upright(
            x_mm=self.x(node.far_mm),
            top_mm=top if before is None else min(top, before.top_mm),
            bottom_mm=bottom if before is None else max(bottom, before.bottom_mm),
            name=node.point.name,
        )

    def hang(self, one: _Row | _Laid, y: float, from_y: float) -> None:
        self.upright(one.chain.nodes[0] if isinstance(one, _Laid) else one.node, y, from_y)
        if isinstance(one, _Laid):
            node = one.chain.nodes[0]
            x = self.x(node.far_mm)
            thick = _thick(one.chain.nodes[1].wires)
            corner = thick / 2 if y > from_y else -thick / 2
            self.items.append(Stroke(points=((x, from_y), (x, y + corner)), width_mm=thick))
            self.draw(one, y, x)
            return
        x = self.x(one.node.far_mm)
        if one.kind == "name":
            self.items.append(Stroke(points=((x, from_y), (x, y + 1.2)), width_mm=0.12, ink=DIM))
            self.name(one.node, base(y, SIZE_MM))
            return
        self.items.append(Stroke(points=((x, from_y), (x, y)), width_mm=0.25))
        if one.kind == "lamp":
            self.lamp(self.lamps[one.ref], x, y)
        elif one.kind == "joint":
            self.joint(one.ref, x, y)
        else:
            leg, other, wires = one.node.loops[int(one.ref)]
            end = x + leg.length_mm / self.scale
            self.items.append(Stroke(points=((x, y), (end, y)), width_mm=_thick(wires), dashed=True))
            text = f"another way to {other.name}, {lengths.text(leg.length_mm)}" + (
                f", {_wires(wires)}" if wires else ""
            )
            room = WIDTH_MM - end - 1.5
            self.say(end + 1, base(y, SMALL_MM), shortened(text, room, SMALL_MM), DIM, SMALL_MM)

    def leg(self, node: Node, start_x: float, y: float) -> None:
        """The stretch towards a waypoint, as thick as it has wires; dashed where it moves."""
        end_x = self.x(node.far_mm)
        moves = node.leg is not None and node.leg.loop_mm is not None
        self.items.append(
            Stroke(points=((start_x, y), (end_x, y)), width_mm=_thick(node.wires), dashed=moves)
        )
        if node.leg is not None and node.leg.plug and node.plug_at_mm is not None:
            x = self.x(node.plug_at_mm)
            for shift in (-0.5, 0.5):
                self.items.append(Stroke(points=((x + shift, y - 1.5), (x + shift, y + 1.5)), width_mm=0.45))
            self.say(x, y - 2.0, node.leg.plug, INK, SMALL_MM, bold=True, anchor="middle", halo=True)

    def controller(self, y: float) -> None:
        x = self.x(0)
        self.items.append(Box(x_mm=x - 2.6, y_mm=y - 2.2, wide_mm=2.6, high_mm=4.4, filled=True))

    def knot(self, node: Node, y: float) -> None:
        """A waypoint on the line: a ring, open where no joint can be reached."""
        x = self.x(node.far_mm)
        if node.parent is None:
            return
        self.items.append(Disc(x_mm=x, y_mm=y, radius_mm=0.75, filled=node.point.reachable, width_mm=0.3))

    def name_parts(self, x: float, y: float, node: Node) -> list[Words]:
        """A waypoint's name, and the leg towards it."""
        room = max(WIDTH_MM - x - 34, 24)
        name = Words(
            x_mm=x,
            y_mm=y,
            text=shortened(node.point.name, room, SIZE_MM, bold=True),
            size_mm=SIZE_MM,
            bold=True,
        )
        if node.leg is None:
            return [name]
        text = lengths.text(node.leg.length_mm)
        if node.leg.loop_mm is not None:
            text += f", moves (+{lengths.figure(node.leg.loop_mm)})"
        if node.wires:
            text += f", {_wires(node.wires)}"
        figures = Words(x_mm=x + name.width_mm + 1.2, y_mm=y, text=text, size_mm=SMALL_MM, ink=DIM)
        return [name, figures]

    def name(self, node: Node, y: float) -> None:
        x = self.x(node.far_mm) + (0.9 if node.parent is not None else 0.8)
        self.words += [attrs.evolve(part, halo=True) for part in self.name_parts(x, y, node)]

    def lamp(self, lamp: Lamp, x: float, y: float) -> None:
        """A lamp's spur in the colours of its wires, its sign, its name, and the tags of its wires."""
        length = lamp.spur_mm if lamp.at is not None else lamp.measured_mm or 0.0
        end = x + length / self.scale
        ink = INK if lamp.run is not None else DIM
        for polarity, shift in ((Polarity.PLUS, -0.3), (Polarity.MINUS, 0.3)):
            wires = self.lettering.chain(lamp.id, polarity)
            if wires and end > x:
                points = ((x, y + shift), (end, y + shift))
                self.items.append(Stroke(points=points, width_mm=0.4, ink=wires[0].colour))
        if lamp.run is None:
            self.items.append(Stroke(points=((x, y), (end, y)), width_mm=0.2, ink=DIM, dashed=True))
        self.lamp_sign(end, y, ink)
        after = end + 2.9
        wires_line = self.lettering.lamp_wires(lamp)
        room = max(WIDTH_MM - after - wires_line.width_mm - 1.2, 8.0)
        after = self.say(after, base(y, SIZE_MM), shortened(lamp.name, room, SIZE_MM), ink) + 1.2
        self.words += wires_line.at(after, y)

    def lamp_sign(self, x: float, y: float, ink: str) -> None:
        """A crossed circle (IEC 60617)."""
        radius = 1.15
        self.items.append(
            Disc(x_mm=x + radius - 0.2, y_mm=y, radius_mm=radius, filled=False, width_mm=0.3, ink=ink)
        )
        reach = radius * 0.7
        middle = x + radius - 0.2
        for way in (1, -1):
            self.items.append(
                Stroke(
                    points=((middle - reach, y - way * reach), (middle + reach, y + way * reach)),
                    width_mm=0.22,
                    ink=ink,
                )
            )

    def joint(self, joint_id: str, x: float, y: float) -> None:
        """A joint's dot, what meets in it, and the trunk that goes on."""
        self.items.append(Stroke(points=((x, y), (x + 1.4, y)), width_mm=0.25))
        self.items.append(Disc(x_mm=x + 1.4, y_mm=y, radius_mm=0.95))
        self.words += self.lettering.joint(joint_id, WIDTH_MM - x - 3.2).at(x + 3.2, y)

    def ruler(self) -> None:
        """Distance from the controller, over the drawing, with faint lines down through it."""
        one_mm, unit = (1.0, "mm") if lengths.unit() == "mm" else (lengths.MM_PER_INCH, "inches")
        reach = max(self.loom.reach_mm, 10.0) / one_mm
        step = next(step for step in _STEPS if step * one_mm / self.scale >= 9)
        y = 6.0
        last = self.x(reach * one_mm)
        self.items.insert(0, Stroke(points=((self.x(0), y), (last, y)), width_mm=0.2, ink=DIM))
        at = 0.0
        while at <= reach + 1e-6:
            x = self.x(at * one_mm)
            self.items.insert(0, Stroke(points=((x, y), (x, y + 1.4)), width_mm=0.2, ink=DIM))
            if at:
                self.items.insert(
                    0, Stroke(points=((x, y + 6), (x, max(self.breaks))), width_mm=0.1, ink=FAINT)
                )
            self.say(x, y + 3.8, f"{at:g}", DIM, SMALL_MM, anchor="middle")
            at += step
        self.say(self.x(0), y - 1.6, f"{unit} from the controller along the wires", DIM, SMALL_MM)


_STEPS = (*(lead * 10**power for power in range(6) for lead in (1, 2, 5)), 10**9)


def _thick(wires: int) -> float:
    """Line of a bundle: the area grows with the wires."""
    return min(0.3 * math.sqrt(max(wires, 1)), 2.0)


def _wires(count: int) -> str:
    return counted(count, "wire")
