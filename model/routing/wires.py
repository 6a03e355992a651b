"""Every piece of wire between lamp, joint, plug and pin, derived from what was decided, with its cut length.

A wire is known by its key: where it starts (lamp or joint), its polarity, and from the second piece behind
a plug on the number of the piece: "L3-", "J1+", "L3-.2". The key stays while the plan grows, so the tag
stays on its wire.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from enum import StrEnum

import attrs

from model.harness import Build, Harness, Joint, Lamp, Leg, Polarity, Settings
from model.memo import WIRING, of_parts
from model.routing.graph import route_graph, shortest_way

MEASURED = "measured run"
"""The words of the part that stands for a whole run measured with a string."""


class EndKind(StrEnum):
    """What a wire ends in."""

    LAMP = "lamp"
    JOINT = "joint"
    PLUG = "plug"
    PIN = "pin"


@attrs.frozen(kw_only=True)
class End:
    """One end of a wire. `ref` is "L3", "J1", "P1.4" (plug and contact) or "A.5" (block and pin); "" if not
    known yet.

    `at` is its waypoint; an end at a plug gives the waypoint on its own side.
    """

    kind: EndKind
    ref: str
    at: str | None = None


class PartKind(StrEnum):
    """What a stretch of the cut length is for."""

    LEG = "leg"
    SLACK = "slack"
    MOVING = "moving"
    LOOP = "loop"
    LAMP = "lamp"
    STRIP = "strip"
    JOINT = "joint"
    LEAD = "lead"
    ROUND = "round"


@attrs.frozen(kw_only=True)
class CutPart:
    """One addend of a cut length, in mm, with words for it."""

    kind: PartKind
    words: str
    mm: float


@attrs.frozen(kw_only=True)
class Wire:
    """One piece of wire.

    `output` is its net (None: the common). `path` holds the waypoints it passes. `lamps` are the ids of
    the lamps it feeds. `cut_mm` is the sum of `parts`. `own_lead`: the lamp's own lead is long enough and
    no wire is cut.
    """

    key: str
    origin: str
    polarity: Polarity
    output: int | None
    colour: str
    gauge: str
    path: tuple[str, ...]
    parts: tuple[CutPart, ...]
    lamp_end: End
    controller_end: End
    lamps: tuple[str, ...]
    own_lead: bool = False

    @property
    def cut_mm(self) -> float:
        """Length to cut, in mm."""
        return sum(part.mm for part in self.parts)

    @property
    def spool_mm(self) -> float:
        """Length taken from a spool, in mm: nothing where the lamp's own lead reaches."""
        return 0.0 if self.own_lead else self.cut_mm

    def part_mm(self, kind: PartKind) -> float:
        """Sum of one kind of addend, in mm."""
        return sum(part.mm for part in self.parts if part.kind is kind)


@attrs.frozen(kw_only=True, eq=False)
class WirePlan:
    """All wires of a harness, in the order of the walk, and ways to look them up."""

    wires: tuple[Wire, ...]
    by_key: Mapping[str, Wire]
    into_joint: Mapping[str, tuple[Wire, ...]]
    trunk: Mapping[str, Wire]

    @property
    def spool_mm(self) -> float:
        """All wire taken from spools, in mm."""
        return sum(wire.spool_mm for wire in self.wires)

    def at_joint(self, joint_id: str) -> tuple[Wire, ...]:
        """The wires that meet in a joint, its trunk last."""
        trunk = self.trunk.get(joint_id)
        return self.into_joint.get(joint_id, ()) + ((trunk,) if trunk else ())

    def at_plug(self, plug: str) -> tuple[tuple[Wire, Wire], ...]:
        """The pairs of wires that meet in a plug, lamp side first, by contact."""
        lamp_side = {
            wire.controller_end.ref: wire for wire in self.wires if wire.controller_end.kind is EndKind.PLUG
        }
        other = {wire.lamp_end.ref: wire for wire in self.wires if wire.lamp_end.kind is EndKind.PLUG}
        refs = sorted((ref for ref in lamp_side if ref.rpartition(".")[0] == plug), key=_contact_number)
        return tuple((lamp_side[ref], other[ref]) for ref in refs if ref in other)


def _contact_number(ref: str) -> int:
    number = ref.rpartition(".")[2]
    return int(number) if number.isdigit() else 0


@attrs.frozen(kw_only=True)
class _Origin:
    """What a chain of wires needs to be derived, whether it starts at a lamp or at a joint."""

    name: str
    polarity: Polarity
    output: int | None
    start: End
    path: tuple[str, ...]
    measured_mm: float | None
    spur_mm: float
    lead_mm: float
    target: End
    colour: str
    gauge: str


def origin_name(item_id: str, polarity: Polarity) -> str:
    """The key of the chain of wires that starts at a lamp or joint."""
    return f"{item_id}{polarity}"


@of_parts(*WIRING)
def derive(harness: Harness) -> WirePlan:
    """Every wire of the lamps whose run is accepted, and of every joint."""
    behind = _lamps_behind(harness)
    wires: list[Wire] = []
    for origin in _origins(harness):
        wires += _pieces(harness, origin, behind[origin.name])
    into: dict[str, list[Wire]] = {joint.id: [] for joint in harness.joints}
    trunk: dict[str, Wire] = {}
    for wire in wires:
        if wire.controller_end.kind is EndKind.JOINT:
            into.setdefault(wire.controller_end.ref, []).append(wire)
        if wire.lamp_end.kind is EndKind.JOINT:
            trunk[wire.lamp_end.ref] = wire
    return WirePlan(
        wires=tuple(wires),
        by_key={wire.key: wire for wire in wires},
        into_joint={joint: tuple(ones) for joint, ones in into.items()},
        trunk=trunk,
    )


def chain(harness: Harness, item_id: str, polarity: Polarity) -> tuple[Wire, ...]:
    """The wires from a lamp or joint up to its joint or pin, without deriving the whole harness."""
    if item_id.startswith("J"):
        origin = _joint_origin(harness, harness.joint(item_id))
    else:
        lamp = harness.lamp(item_id)
        if lamp.run is None:
            return ()
        origin = _lamp_origin(harness, lamp, polarity)
    return tuple(_pieces(harness, origin, ()))


def _origins(harness: Harness) -> Iterator[_Origin]:
    waiting = {joint.id: joint for joint in harness.joints}
    for lamp in harness.lamps:
        if lamp.run is None:
            continue
        for polarity in (harness.controller.common_polarity, harness.controller.switched_polarity):
            yield _lamp_origin(harness, lamp, polarity)
            # A trunk follows the first lamp that feeds it: that is the order of the work.
            joint_id = lamp.run.lead(polarity).joint
            while joint_id is not None and (joint := waiting.pop(joint_id, None)):
                yield _joint_origin(harness, joint)
                joint_id = joint.onto


def _lamps_behind(harness: Harness) -> dict[str, tuple[str, ...]]:
    behind: dict[str, tuple[str, ...]] = {}
    joints = {joint.id: joint for joint in harness.joints}
    for lamp in harness.lamps:
        if lamp.run is None:
            continue
        for polarity in Polarity:
            behind[origin_name(lamp.id, polarity)] = (lamp.id,)
            joint = joints.get(lamp.run.lead(polarity).joint or "")
            passed: set[str] = set()
            while joint is not None and joint.id not in passed:
                passed.add(joint.id)
                name = origin_name(joint.id, polarity)
                behind[name] = (*behind.get(name, ()), lamp.id)
                joint = joints.get(joint.onto or "")
    for joint in harness.joints:
        behind.setdefault(origin_name(joint.id, harness.polarity_of(joint)), ())
    return behind


def wire_colour(harness: Harness, output: int | None, polarity: Polarity, own: str | None) -> str:
    """The colour of a wire: its own, else its output's on the switched side where the scheme says so, else
    its polarity's.
    """
    if own is not None:
        return own
    settings = harness.settings
    if settings.colour_per_output and output is not None:
        found = harness.controller.find_output(output)
        if found is not None and found[1].colour is not None:
            return found[1].colour
    return settings.colour(polarity)


def _lamp_origin(harness: Harness, lamp: Lamp, polarity: Polarity) -> _Origin:
    assert lamp.run is not None
    lead = lamp.run.lead(polarity)
    output = harness.net_of(lamp, polarity)
    target = _target_end(harness, lead.joint, lead.pin, output, polarity)
    path = _path(harness, lamp.run.way, lamp.at, target.at)
    measured = None if lamp.run.way else _measured_mm(harness, lamp, target)
    return _Origin(
        name=origin_name(lamp.id, polarity),
        polarity=polarity,
        output=output,
        start=End(kind=EndKind.LAMP, ref=lamp.id, at=lamp.at),
        path=(target.at or harness.controller.at,) if measured is not None else path,
        measured_mm=measured,
        spur_mm=lamp.spur_mm,
        lead_mm=lamp.lead_mm if lamp.build is Build.WIRED else 0.0,
        target=target,
        colour=wire_colour(harness, output, polarity, lead.colour),
        gauge=harness.settings.gauge,
    )


def _measured_mm(harness: Harness, lamp: Lamp, target: End) -> float | None:
    """The length of a lamp's wire by its measured run, in mm; None where it goes by legs.

    The run is measured to the controller. To a joint on the way there the legs count; where none lead from
    the lamp to the joint, those from the joint to the controller come off. What can't be less stays whole:
    too long can be shortened.
    """
    whole = lamp.measured_mm
    if whole is None or target.at is None or target.at == harness.controller.at:
        return whole
    if lamp.at is not None and shortest_way(harness, lamp.at, target.at):
        return None
    rest = whole - route_graph(harness).distance_mm.get(target.at, 0.0)
    return rest if rest > 0 else whole


def _joint_origin(harness: Harness, joint: Joint) -> _Origin:
    polarity = harness.polarity_of(joint)
    target = _target_end(harness, joint.onto, joint.pin, joint.output, polarity)
    return _Origin(
        name=origin_name(joint.id, polarity),
        polarity=polarity,
        output=joint.output,
        start=End(kind=EndKind.JOINT, ref=joint.id, at=joint.at),
        path=_path(harness, joint.way, joint.at, target.at),
        measured_mm=None,
        spur_mm=0.0,
        lead_mm=0.0,
        target=target,
        colour=wire_colour(harness, joint.output, polarity, joint.colour),
        gauge=joint.gauge or harness.settings.gauge,
    )


def _target_end(
    harness: Harness, joint_id: str | None, pin: str | None, output: int | None, polarity: Polarity
) -> End:
    if joint_id is not None:
        return End(kind=EndKind.JOINT, ref=joint_id, at=harness.joint(joint_id).at)
    at = harness.controller.at
    if polarity is harness.controller.common_polarity:
        return End(kind=EndKind.PIN, ref=pin or "", at=at)
    found = harness.controller.find_output(output)
    return End(kind=EndKind.PIN, ref=f"{found[0].name}.{found[1].pin}" if found else "", at=at)


def _path(harness: Harness, way: tuple[str, ...], start: str | None, end: str | None) -> tuple[str, ...]:
    """From `start` to `end`, along `way` as far as it leads there, else the shortest way."""
    if start is None or end is None:
        return ()
    if start in way and end in way:
        first, last = way.index(start), way.index(end)
        if first <= last:
            return way[first : last + 1]
    return shortest_way(harness, start, end) or ()


def crossings(harness: Harness, path: Sequence[str]) -> list[Leg]:
    """The legs with a plug along a path, in order."""
    legs = route_graph(harness).legs
    return [leg for one, other in itertools.pairwise(path) if (leg := legs[one][other]).plug]


def chain_paths(harness: Harness) -> Iterator[tuple[str, int | None, tuple[str, ...]]]:
    """The name, net and waypoints of every chain of wires, in the order of the walk."""
    for origin in _origins(harness):
        yield origin.name, origin.output, origin.path


def _pieces(harness: Harness, origin: _Origin, lamps: tuple[str, ...]) -> list[Wire]:
    stretches = _stretches(harness, origin)
    contacts = {contact.plug: contact.number for contact in harness.contacts if contact.origin == origin.name}
    wires: list[Wire] = []
    start = origin.start
    for place, (points, parts, plug) in enumerate(stretches):
        if plug is None:
            end = origin.target
        else:
            end = End(kind=EndKind.PLUG, ref=f"{plug}.{contacts.get(plug, '?')}", at=points[-1])
        all_parts, own_lead = _cut(harness.settings, parts, start, end, origin.lead_mm if place == 0 else 0.0)
        wires.append(
            Wire(
                key=origin.name if place == 0 else f"{origin.name}.{place + 1}",
                origin=origin.name,
                polarity=origin.polarity,
                output=origin.output,
                colour=origin.colour,
                gauge=origin.gauge,
                path=tuple(points),
                parts=all_parts,
                lamp_end=start,
                controller_end=end,
                lamps=lamps,
                own_lead=own_lead,
            )
        )
        if plug is not None:
            start = End(kind=EndKind.PLUG, ref=end.ref, at=stretches[place + 1][0][0])
    return wires


_Stretch = tuple[list[str], list[CutPart], str | None]


def _stretches(harness: Harness, origin: _Origin) -> list[_Stretch]:
    """The path cut at its plugs: waypoints, leg parts, and the plug at the far end (None: the chain's own
    end).
    """
    parts: list[CutPart] = []
    if origin.measured_mm is not None:
        measured = CutPart(kind=PartKind.LEG, words=MEASURED, mm=origin.measured_mm)
        return [(list(origin.path), [measured], None)]
    names = {point.id: point.name for point in harness.waypoints}
    if origin.spur_mm:
        parts.append(
            CutPart(
                kind=PartKind.LEG, words=f"lamp to {names.get(origin.start.at or '', '?')}", mm=origin.spur_mm
            )
        )
    legs = route_graph(harness).legs
    stretches: list[_Stretch] = []
    points = list(origin.path[:1])
    for one, other in zip(origin.path, origin.path[1:], strict=False):
        leg = legs[one][other]
        words = f"{names[one]} to {names[other]}"
        rest = leg.length_mm
        if leg.plug:
            to_plug = leg.plug_mm if one == leg.a else leg.length_mm - leg.plug_mm
            parts.append(CutPart(kind=PartKind.LEG, words=f"{names[one]} to plug {leg.plug}", mm=to_plug))
            # The waypoint before the plug is this piece's last, the one behind it the next piece's first.
            stretches.append((points, parts, leg.plug))
            points, parts = [other], []
            words, rest = f"plug {leg.plug} to {names[other]}", leg.length_mm - to_plug
        else:
            points.append(other)
        parts.append(CutPart(kind=PartKind.LEG, words=words, mm=rest))
        if leg.loop_mm:
            parts.append(
                CutPart(
                    kind=PartKind.MOVING, words=f"moving joint {names[one]} to {names[other]}", mm=leg.loop_mm
                )
            )
    stretches.append((points, parts, None))
    return stretches


def _cut(
    settings: Settings, parts: list[CutPart], lamp_end: End, controller_end: End, lead_mm: float
) -> tuple[tuple[CutPart, ...], bool]:
    """Legs, slack, loops, ends and rounding as one sum; and whether the lamp's own lead of `lead_mm` is
    enough.

    Slack is a share of the legs, with a least; an end in a joint overlaps there, every other end is stripped.
    """
    parts = list(parts)
    run = sum(part.mm for part in parts if part.kind is PartKind.LEG)
    slack = max(run * settings.slack_pct / 100, settings.slack_min_mm)
    parts.append(CutPart(kind=PartKind.SLACK, words="slack", mm=slack))
    if lamp_end.kind is EndKind.LAMP and not lead_mm:
        parts.append(CutPart(kind=PartKind.LAMP, words="spare at the lamp", mm=settings.lamp_spare_mm))
    if controller_end.kind is EndKind.PIN:
        parts.append(CutPart(kind=PartKind.LOOP, words="service loop", mm=settings.service_loop_mm))
    ends: list[CutPart] = []
    for end, word in ((lamp_end, "lamp"), (controller_end, "controller")):
        if end.kind is EndKind.JOINT:
            ends.append(
                CutPart(kind=PartKind.JOINT, words=f"overlap in {end.ref}", mm=settings.joint_overlap_mm)
            )
        elif end.kind is not EndKind.LAMP or not lead_mm:
            ends.append(CutPart(kind=PartKind.STRIP, words=f"strip at the {word} end", mm=settings.strip_mm))
    parts += ends
    own_lead = False
    if lead_mm:
        needed = sum(part.mm for part in parts)
        own_lead = needed <= lead_mm
        if not own_lead:
            parts.append(
                CutPart(kind=PartKind.JOINT, words="overlap on the lamp's lead", mm=settings.joint_overlap_mm)
            )
            parts.append(CutPart(kind=PartKind.LEAD, words="the lamp's own lead", mm=-lead_mm))
    total = sum(part.mm for part in parts)
    # A sum of tenths can end a hair over a multiple; 1e-6 mm is no wire.
    rounded = math.ceil(total / settings.round_mm - 1e-6) * settings.round_mm
    if rounded - total > 1e-6:
        parts.append(
            CutPart(kind=PartKind.ROUND, words=f"up to {settings.round_mm:g} mm", mm=rounded - total)
        )
    return tuple(parts), own_lead
