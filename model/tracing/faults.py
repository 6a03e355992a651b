"""Every single fault that a harness can have, as a value.

Which kinds there are and how likely each is: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from enum import StrEnum
from itertools import combinations
from types import MappingProxyType

import attrs

from model.electrics.lamps import all_lamps
from model.electrics.network import end_node, joint_node, lamp_node, pin_node, plug_node
from model.electrics.resistor import ResistorChoice
from model.harness import Harness, Polarity
from model.memo import by_identity
from model.routing.wires import EndKind, Wire, derive


class FaultKind(StrEnum):
    """What can be wrong. The value is what a person would call it."""

    BROKEN_LAMP_END = "broken at its lamp end"
    BROKEN_CONTROLLER_END = "broken at its controller end"
    JOINT_OPEN_ONE = "loose in the joint"
    JOINT_OPEN_ALL = "joint open"
    JOINT_RESISTS = "bad contact in the joint"
    PLUG_OPEN = "plug contact open"
    PLUG_RESISTS = "bad plug contact"
    SHORT = "plus touches minus"
    LED_REVERSED = "LED the wrong way round"
    LED_OPEN = "LED dead"
    LED_SHORT = "LED dead, shorted"
    RESISTOR_HIGH = "resistor far too high"
    RESISTOR_LOW = "resistor far too low"
    OUTPUT_DEAD = "output dead"
    OUTPUT_STUCK = "output stuck on"
    COMMON_LOST = "common pin lost"
    TAGS_SWAPPED = "two wires swapped"
    WRONG_OUTPUT = "on the wrong output"


PRIOR: Mapping[FaultKind, float] = MappingProxyType(
    {
        FaultKind.BROKEN_LAMP_END: 6.0,
        FaultKind.BROKEN_CONTROLLER_END: 5.0,
        FaultKind.JOINT_OPEN_ONE: 6.0,
        FaultKind.JOINT_OPEN_ALL: 3.0,
        FaultKind.JOINT_RESISTS: 4.0,
        FaultKind.PLUG_OPEN: 7.0,
        FaultKind.PLUG_RESISTS: 4.0,
        FaultKind.SHORT: 2.0,
        FaultKind.LED_REVERSED: 4.0,
        FaultKind.LED_OPEN: 4.0,
        FaultKind.LED_SHORT: 1.0,
        FaultKind.RESISTOR_HIGH: 2.0,
        FaultKind.RESISTOR_LOW: 2.0,
        FaultKind.OUTPUT_DEAD: 2.0,
        FaultKind.OUTPUT_STUCK: 2.0,
        FaultKind.COMMON_LOST: 3.0,
        FaultKind.TAGS_SWAPPED: 0.1,
        FaultKind.WRONG_OUTPUT: 0.2,
    }
)
"""How often one meets a fault of a kind, against the others; common practice, no source."""

SPANS: Mapping[FaultKind, tuple[float, float]] = MappingProxyType(
    {
        FaultKind.JOINT_RESISTS: (150.0, 5000.0),
        FaultKind.PLUG_RESISTS: (150.0, 5000.0),
        FaultKind.RESISTOR_HIGH: (3.0, 100.0),
        FaultKind.RESISTOR_LOW: (0.1, 0.5),
    }
)
"""From the mildest to the gravest: ohm of a bad contact, share of the right resistor; common practice."""

SHORT_OHM = 0.05
"""Two bare wires that touch; common practice, no source."""


SHORT_BELOW_OHM = 10.0
"""Less between plus and an output's pin than this is a short circuit; common practice, no source."""


@attrs.frozen(kw_only=True)
class Fault:
    """One fault. What it is about stands in the fields that its kind needs, the others are empty.

    `wire` and `other` are keys of wires, `lamp` an id, `ref` a joint, plug contact or pin, `output` a
    number. A short lies between the nodes `ref` and `other`.
    """

    kind: FaultKind
    wire: str = ""
    other: str = ""
    lamp: str = ""
    ref: str = ""
    output: int | None = None


# --- which faults there are -----------------------------------------------------------------------


@by_identity
def all_faults(harness: Harness) -> tuple[Fault, ...]:
    """Every single fault of every kind, of the wires that are planned and the outputs that carry lamps."""
    return tuple(_faults(harness))


def _faults(harness: Harness) -> Iterator[Fault]:
    plan = derive(harness)
    for wire in _live_wires(harness):
        yield Fault(kind=FaultKind.BROKEN_LAMP_END, wire=wire.key)
        yield Fault(kind=FaultKind.BROKEN_CONTROLLER_END, wire=wire.key)
        if wire.controller_end.kind is EndKind.PLUG and not wire.controller_end.ref.endswith("?"):
            yield Fault(kind=FaultKind.PLUG_OPEN, wire=wire.key, ref=wire.controller_end.ref)
            yield Fault(kind=FaultKind.PLUG_RESISTS, wire=wire.key, ref=wire.controller_end.ref)
    live = {wire.key for wire in _live_wires(harness)}
    for joint in harness.joints:
        meeting = [wire for wire in plan.at_joint(joint.id) if wire.key in live]
        if len(meeting) < 2:
            continue
        for wire in meeting:
            yield Fault(kind=FaultKind.JOINT_OPEN_ONE, wire=wire.key, ref=joint.id)
            yield Fault(kind=FaultKind.JOINT_RESISTS, wire=wire.key, ref=joint.id)
        if len(meeting) > 2:
            yield Fault(kind=FaultKind.JOINT_OPEN_ALL, ref=joint.id)
    yield from _of_lamps(harness)
    yield from _of_controller(harness)
    yield from _shorts(harness)
    yield from _swaps(harness)
    yield from _wrong_outputs(harness)


@by_identity
def _live_wires(harness: Harness) -> tuple[Wire, ...]:
    """The wires of lamps that can light."""
    lit = lit_lamps(harness)
    return tuple(wire for wire in derive(harness).wires if any(lamp in lit for lamp in wire.lamps))


def _of_lamps(harness: Harness) -> Iterator[Fault]:
    figures = all_lamps(harness)
    for lamp in lit_lamps(harness):
        yield Fault(kind=FaultKind.LED_REVERSED, lamp=lamp)
        yield Fault(kind=FaultKind.LED_OPEN, lamp=lamp)
        yield Fault(kind=FaultKind.LED_SHORT, lamp=lamp)
        if isinstance(figures[lamp].choice, ResistorChoice):
            yield Fault(kind=FaultKind.RESISTOR_HIGH, lamp=lamp)
            yield Fault(kind=FaultKind.RESISTOR_LOW, lamp=lamp)


@by_identity
def lit_lamps(harness: Harness) -> Mapping[str, int]:
    """The lamps that can light at all, by id, with the output of each."""
    figures = all_lamps(harness)
    known = {output.number for _, output in harness.controller.outputs()}
    return MappingProxyType(
        {
            lamp.id: lamp.output
            for lamp in harness.lamps
            if lamp.run is not None and lamp.output in known and figures[lamp.id].series_ohm is not None
        }
    )


def _of_controller(harness: Harness) -> Iterator[Fault]:
    used = set(lit_lamps(harness).values())
    for block, output in harness.controller.outputs():
        if output.number in used:
            ref = f"{block.name}.{output.pin}"
            yield Fault(kind=FaultKind.OUTPUT_DEAD, output=output.number, ref=ref)
            yield Fault(kind=FaultKind.OUTPUT_STUCK, output=output.number, ref=ref)
    pins = {
        wire.controller_end.ref
        for wire in _live_wires(harness)
        if wire.controller_end.kind is EndKind.PIN and wire.polarity is harness.controller.common_polarity
    }
    for ref in sorted(pins - {""}):
        yield Fault(kind=FaultKind.COMMON_LOST, ref=ref)


def _shorts(harness: Harness) -> Iterator[Fault]:
    """At each lamp, between joints at one waypoint, between neighbours in a plug."""
    for lamp in lit_lamps(harness):
        plus, minus = lamp_node(lamp, Polarity.PLUS), lamp_node(lamp, Polarity.MINUS)
        yield Fault(kind=FaultKind.SHORT, ref=plus, other=minus, lamp=lamp)
    for one, two in combinations(harness.joints, 2):
        ends = frozenset((joint_node(one.id), joint_node(two.id)))
        live = all(served(harness).get(node) for node in ends)
        if live and one.at == two.at and (one.output is None) is not (two.output is None):
            yield Fault(kind=FaultKind.SHORT, ref=joint_node(one.id), other=joint_node(two.id))
    contacts: dict[tuple[str, int], Wire] = {}
    for wire in _live_wires(harness):
        plug, _, contact = wire.controller_end.ref.rpartition(".")
        if wire.controller_end.kind is EndKind.PLUG and contact.isdigit():
            contacts[plug, int(contact)] = wire
    for (plug, number), wire in contacts.items():
        beside = contacts.get((plug, number + 1))
        if beside is not None and (wire.output is None) is not (beside.output is None):
            yield Fault(
                kind=FaultKind.SHORT,
                ref=plug_node(f"{plug}.{number}", wire.origin, lamp_side=True),
                other=plug_node(f"{plug}.{number + 1}", beside.origin, lamp_side=True),
            )


def _swaps(harness: Harness) -> Iterator[Fault]:
    """Wires that end at one place on different things: on pins, in one plug, in joints of one waypoint."""
    groups: dict[str, list[Wire]] = {}
    for wire in _live_wires(harness):
        end = wire.controller_end
        if not end.ref or end.ref.endswith("?"):
            continue
        if end.kind is EndKind.PIN:
            groups.setdefault("pins", []).append(wire)
        elif end.kind is EndKind.PLUG:
            groups.setdefault(f"plug {end.ref.rpartition('.')[0]}", []).append(wire)
        else:
            groups.setdefault(f"at {end.at}", []).append(wire)
    for wires in groups.values():
        for one, two in combinations(wires, 2):
            # Of one net, or both of the common, nobody would see it.
            if one.output != two.output and one.controller_end.ref != two.controller_end.ref:
                yield Fault(kind=FaultKind.TAGS_SWAPPED, wire=one.key, other=two.key)


def _wrong_outputs(harness: Harness) -> Iterator[Fault]:
    """A switched wire on the pin of another output, or in a joint of another output at its waypoint."""
    pins = {output.number: f"{block.name}.{output.pin}" for block, output in harness.controller.outputs()}
    for wire in _live_wires(harness):
        if wire.output is None:
            continue
        end = wire.controller_end
        if end.kind is EndKind.PIN and end.ref:
            for number, ref in pins.items():
                if number != wire.output:
                    yield Fault(kind=FaultKind.WRONG_OUTPUT, wire=wire.key, ref=pin_node(ref), output=number)
        elif end.kind is EndKind.JOINT:
            for joint in harness.joints:
                if joint.at == end.at and joint.output not in (None, wire.output):
                    node = joint_node(joint.id)
                    yield Fault(kind=FaultKind.WRONG_OUTPUT, wire=wire.key, ref=node, output=joint.output)


@by_identity
def served(harness: Harness) -> Mapping[str, frozenset[str]]:
    """The lamps behind every node."""
    found: dict[str, set[str]] = {}
    lit = lit_lamps(harness)
    for wire in derive(harness).wires:
        lamps = [lamp for lamp in wire.lamps if lamp in lit]
        for end in (wire.lamp_end, wire.controller_end):
            found.setdefault(end_node(wire, end), set()).update(lamps)
    return MappingProxyType({node: frozenset(lamps) for node, lamps in found.items()})
