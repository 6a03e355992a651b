"""A circuit with a fault in it."""

from __future__ import annotations

from collections.abc import Collection, Iterator

import attrs

from model.electrics.circuit import Circuit, Conductor, Light
from model.electrics.network import joint_node
from model.tracing.faults import SHORT_OHM, SPANS, Fault, FaultKind


def outputs_with(fault: Fault, on: Collection[int]) -> frozenset[int]:
    """The outputs that really are on where `on` are meant to be."""
    if fault.kind is FaultKind.OUTPUT_DEAD:
        return frozenset(on) - {fault.output or 0}
    if fault.kind is FaultKind.OUTPUT_STUCK:
        return frozenset(on) | {fault.output or 0}
    return frozenset(on)


def apply_fault(circuit: Circuit, fault: Fault, grade: float = 0.5) -> Circuit:
    """The circuit with this fault in it, where it has the parts; `outputs_with` says which outputs are on.

    `grade` from 0 (mildest) to 1 (gravest) places it in its span. A wire broken at an end is detached
    there and keeps a node of its own.
    """
    span = SPANS.get(fault.kind, (1.0, 1.0))
    size = span[0] * (span[1] / span[0]) ** grade
    kind = fault.kind
    if kind is FaultKind.LED_SHORT:
        return _shorted_lamp(circuit, fault.lamp)
    if kind is FaultKind.SHORT:
        touch = Conductor(key="short", a=fault.ref, b=fault.other, ohm=SHORT_OHM)
        return attrs.evolve(circuit, conductors=(*circuit.conductors, touch))
    if fault.lamp:
        lights = tuple(changed for light in circuit.lights for changed in _light(light, fault, size))
        return attrs.evolve(circuit, lights=lights)
    if kind is FaultKind.TAGS_SWAPPED:
        ends = {wire.key: wire.b for wire in circuit.conductors}
        one, other = f"wire {fault.wire}", f"wire {fault.other}"
        new = {one: ends.get(other, ""), other: ends.get(one, "")}
        parts = tuple(
            attrs.evolve(wire, b=new[wire.key]) if new.get(wire.key) else wire for wire in circuit.conductors
        )
        return attrs.evolve(circuit, conductors=parts)
    parts = tuple(changed for wire in circuit.conductors for changed in _conductor(wire, fault, size))
    return attrs.evolve(circuit, conductors=parts)


def _shorted_lamp(circuit: Circuit, lamp: str) -> Circuit:
    """The LED is a piece of wire; its resistor is still there."""
    light = next((one for one in circuit.lights if one.key == f"lamp {lamp}"), None)
    if light is None:
        return circuit
    through = Conductor(key=f"short lamp {lamp}", a=light.a, b=light.b, ohm=light.ohm)
    lights = tuple(one for one in circuit.lights if one is not light)
    return attrs.evolve(circuit, lights=lights, conductors=(*circuit.conductors, through))


def _light(light: Light, fault: Fault, size: float) -> Iterator[Light]:
    if light.key != f"lamp {fault.lamp}":
        yield light
    elif fault.kind is FaultKind.LED_REVERSED:
        yield attrs.evolve(light, a=light.b, b=light.a)
    elif fault.kind in (FaultKind.RESISTOR_HIGH, FaultKind.RESISTOR_LOW):
        yield attrs.evolve(light, ohm=light.ohm * size)


def _conductor(wire: Conductor, fault: Fault, size: float) -> Iterator[Conductor]:
    kind = fault.kind
    own = wire.key == f"wire {fault.wire}"
    if kind is FaultKind.JOINT_OPEN_ALL:
        node = joint_node(fault.ref)
        # The trunk stays on what is left of the joint.
        yield attrs.evolve(wire, b=f"{wire.key} loose") if wire.b == node else wire
    elif kind is FaultKind.COMMON_LOST:
        if wire.key != f"common {fault.ref}":
            yield wire
    elif kind is FaultKind.PLUG_OPEN:
        if wire.key != f"plug {fault.ref}":
            yield wire
    elif kind is FaultKind.PLUG_RESISTS:
        yield attrs.evolve(wire, ohm=wire.ohm + size) if wire.key == f"plug {fault.ref}" else wire
    elif not own:
        yield wire
    elif kind is FaultKind.JOINT_RESISTS:
        yield attrs.evolve(wire, ohm=wire.ohm + size)
    elif kind is FaultKind.WRONG_OUTPUT:
        yield attrs.evolve(wire, b=fault.ref)
    elif kind is FaultKind.BROKEN_LAMP_END or (
        kind is FaultKind.JOINT_OPEN_ONE and wire.a == joint_node(fault.ref)
    ):
        yield attrs.evolve(wire, a=f"{wire.key} loose")
    elif kind in (FaultKind.BROKEN_CONTROLLER_END, FaultKind.JOINT_OPEN_ONE):
        yield attrs.evolve(wire, b=f"{wire.key} loose")
    else:
        yield wire
