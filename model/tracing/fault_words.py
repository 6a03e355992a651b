"""A fault in words: what it is called, which tags it concerns, and where one would see it."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from model.electrics.network import end_node, joint_node, pin_node
from model.harness import Harness, Polarity
from model.memo import by_identity
from model.routing.wires import derive
from model.routing.words import pin_words, place_name
from model.tracing.faults import Fault, FaultKind


@by_identity
def _tags(harness: Harness) -> Mapping[str, str]:
    return MappingProxyType({key: record.tag for key, record in harness.ledger.live().items()})


def wire_tag(harness: Harness, key: str) -> str:
    """The tag of a wire, else its key."""
    return _tags(harness).get(key, key)


def node_words(harness: Harness, node: str) -> str:
    """A node of the circuit as a person knows it: "Headlamp left minus", "joint J3 at cab floor"."""
    kind, _, ref = node.partition(" ")
    if kind == "lamp":
        lamp = harness.find_lamp(ref[:-1])
        return f"{lamp.name if lamp else ref[:-1]} {Polarity(ref[-1]).word}"
    if kind == "joint":
        joint = harness.find_joint(ref)
        place = place_name(harness, joint.at) if joint else ""
        return f"joint {ref} at {place}" if place else f"joint {ref}"
    if kind == "plug":
        contact, _, side = ref.partition(" ")
        plug, _, number = contact.rpartition(".")
        return f"plug {plug} contact {number}, {side}"
    return pin_words(harness, ref)


def fault_words(harness: Harness, fault: Fault) -> str:
    """The fault in one clause that names its wire, lamp or place."""
    kind = fault.kind
    if kind is FaultKind.SHORT:
        if fault.lamp:
            return f"plus and minus touch at {harness.lamp(fault.lamp).name}"
        return f"{node_words(harness, fault.ref)} touches {node_words(harness, fault.other)}"
    if fault.lamp:
        return _LAMP_WORDS[kind].format(harness.lamp(fault.lamp).name)
    if kind is FaultKind.OUTPUT_DEAD:
        return f"output {fault.output} gives nothing"
    if kind is FaultKind.OUTPUT_STUCK:
        return f"output {fault.output} is stuck on"
    if kind is FaultKind.COMMON_LOST:
        return f"{pin_words(harness, fault.ref, None)} has lost its contact"
    if kind is FaultKind.JOINT_OPEN_ALL:
        return f"{node_words(harness, joint_node(fault.ref))} is open for all its wires"
    tag = wire_tag(harness, fault.wire)
    if kind is FaultKind.JOINT_OPEN_ONE:
        return f"{tag} is loose in {node_words(harness, joint_node(fault.ref))}"
    if kind is FaultKind.JOINT_RESISTS:
        return f"{tag} has a bad contact in {node_words(harness, joint_node(fault.ref))}"
    if kind in (FaultKind.PLUG_OPEN, FaultKind.PLUG_RESISTS):
        plug, _, number = fault.ref.rpartition(".")
        state = "does not touch" if kind is FaultKind.PLUG_OPEN else "touches badly"
        return f"plug {plug} contact {number} ({tag}) {state}"
    if kind is FaultKind.TAGS_SWAPPED:
        return f"{tag} and {wire_tag(harness, fault.other)} are swapped"
    wire = derive(harness).by_key[fault.wire]
    if kind is FaultKind.WRONG_OUTPUT:
        return f"{tag} is on output {fault.output} instead of {wire.output}"
    end = wire.lamp_end if kind is FaultKind.BROKEN_LAMP_END else wire.controller_end
    return f"{tag} is broken at {node_words(harness, end_node(wire, end))}"


_LAMP_WORDS = {
    FaultKind.LED_REVERSED: "the LED of {} is the wrong way round",
    FaultKind.LED_OPEN: "the LED of {} is dead, or its resistor open",
    FaultKind.LED_SHORT: "the LED of {} is dead and shorted",
    FaultKind.RESISTOR_HIGH: "the resistor of {} is far too high",
    FaultKind.RESISTOR_LOW: "the resistor of {} is far too low",
}


def fault_tags(harness: Harness, fault: Fault) -> tuple[str, ...]:
    """The tags of the wires that a fault is on, or that end where it is."""
    by_key = derive(harness).by_key
    keys = [key for key in (fault.wire, fault.other) if key in by_key]
    if fault.lamp:
        keys = [f"{fault.lamp}{polarity}" for polarity in Polarity]
    elif not keys:
        nodes = {fault.ref, fault.other, joint_node(fault.ref), pin_node(fault.ref)}
        keys = [
            wire.key
            for wire in derive(harness).wires
            if nodes & {end_node(wire, wire.lamp_end), end_node(wire, wire.controller_end)}
        ]
    tags = _tags(harness)
    return tuple(tags[key] for key in keys if key in tags)


def fault_places(harness: Harness, fault: Fault) -> frozenset[str]:
    """Where one would see the fault by looking and wiggling: "lamp L3", "joint J1", "plug P1", "pin A.5".

    Empty for what can't be seen from outside.
    """
    kind = fault.kind
    if kind in (FaultKind.LED_OPEN, FaultKind.LED_SHORT, FaultKind.OUTPUT_DEAD, FaultKind.OUTPUT_STUCK):
        return frozenset()
    if kind is FaultKind.COMMON_LOST:
        return frozenset((f"pin {fault.ref}",))
    if kind is FaultKind.SHORT:
        return frozenset((node_place(fault.ref), node_place(fault.other)))
    if fault.lamp:
        return frozenset((f"lamp {fault.lamp}",))
    if kind in (FaultKind.JOINT_OPEN_ALL, FaultKind.JOINT_OPEN_ONE, FaultKind.JOINT_RESISTS):
        return frozenset((f"joint {fault.ref}",))
    by_key = derive(harness).by_key
    wire = by_key[fault.wire]
    if kind is FaultKind.BROKEN_LAMP_END:
        return frozenset((node_place(end_node(wire, wire.lamp_end)),))
    places = {node_place(end_node(wire, wire.controller_end))}
    if kind is FaultKind.TAGS_SWAPPED:
        other = by_key[fault.other]
        places.add(node_place(end_node(other, other.controller_end)))
    elif kind is FaultKind.WRONG_OUTPUT:
        places.add(node_place(fault.ref))
    return frozenset(places)


def node_place(node: str) -> str:
    """The place one looks at for a node: both terminals of a lamp are one, all contacts of a plug are."""
    kind, _, ref = node.partition(" ")
    if kind == "lamp":
        return f"lamp {ref[:-1]}"
    if kind == "plug":
        return f"plug {ref.partition(' ')[0].rpartition('.')[0]}"
    return node


def place_words(harness: Harness, place: str) -> str:
    """A place in words."""
    kind, _, ref = place.partition(" ")
    if kind == "lamp":
        lamp = harness.find_lamp(ref)
        return lamp.name if lamp else ref
    return f"plug {ref}" if kind == "plug" else node_words(harness, place)
