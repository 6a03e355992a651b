"""Which outputs and lamps may behave otherwise with a fault; all others are as they should be."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from types import MappingProxyType

from model.electrics.network import end_node, joint_node, pin_node
from model.harness import Delivers, Harness
from model.memo import by_identity
from model.routing.wires import derive
from model.tracing.faults import Fault, FaultKind, all_faults, lit_lamps, served


@by_identity
def faults_by_lamp(harness: Harness) -> Mapping[str, tuple[Fault, ...]]:
    """The faults that can change what a lamp does, by lamp id."""
    found: dict[str, list[Fault]] = {}
    for fault, lamps in _touch_map(harness).items():
        for lamp_id in lamps:
            found.setdefault(lamp_id, []).append(fault)
    return MappingProxyType({lamp_id: tuple(faults) for lamp_id, faults in found.items()})


def _touched_outputs(harness: Harness, fault: Fault) -> frozenset[int]:
    lit = lit_lamps(harness)
    lamps = {fault.lamp} if fault.lamp else set()
    lamps |= _lamps_of_wires(harness, fault)
    outputs = {lit[lamp] for lamp in lamps if lamp in lit}
    if fault.kind is FaultKind.SHORT and not fault.lamp:
        outputs |= {lit[lamp] for lamp in _switched_of_short(harness, fault)}
    elif fault.kind is FaultKind.COMMON_LOST:
        outputs |= {lit[lamp] for lamp in served(harness).get(pin_node(fault.ref), ())}
    elif fault.kind is FaultKind.JOINT_OPEN_ALL:
        outputs |= {lit[lamp] for lamp in served(harness).get(joint_node(fault.ref), ())}
    if fault.output is not None:
        outputs.add(fault.output)
    return frozenset(outputs)


def _lamps_of_wires(harness: Harness, fault: Fault) -> set[str]:
    by_key = derive(harness).by_key
    keys = (fault.wire, fault.other) if fault.kind is FaultKind.TAGS_SWAPPED else (fault.wire,)
    return {lamp for key in keys if key for lamp in by_key[key].lamps}


def _switched_of_short(harness: Harness, fault: Fault) -> frozenset[str]:
    """The lamps behind the switched side of a short: those of one output."""
    node = fault.ref if fault.ref in _switched_nodes(harness) else fault.other
    return served(harness).get(node, frozenset())


@by_identity
def _switched_nodes(harness: Harness) -> frozenset[str]:
    return frozenset(
        end_node(wire, end)
        for wire in derive(harness).wires
        if wire.output is not None
        for end in (wire.lamp_end, wire.controller_end)
    )


@by_identity
def _lamps_of_output(harness: Harness) -> Mapping[int, frozenset[str]]:
    found: dict[int, set[str]] = {}
    for lamp, output in lit_lamps(harness).items():
        found.setdefault(output, set()).add(lamp)
    return MappingProxyType({output: frozenset(lamps) for output, lamps in found.items()})


WHOLE_OUTPUT = frozenset(
    (
        FaultKind.SHORT,
        FaultKind.OUTPUT_DEAD,
        FaultKind.OUTPUT_STUCK,
    )
)
"""Faults that every lamp of the output feels."""


def is_plain(harness: Harness, outputs: Collection[int]) -> bool:
    """Whether all of these outputs just give the supply: then no lamp's current depends on another's."""
    return not _regulating(harness) & frozenset(outputs)


@by_identity
def _regulating(harness: Harness) -> frozenset[int]:
    return frozenset(
        output.number for _, output in harness.controller.outputs() if output.delivers is not Delivers.SUPPLY
    )


@by_identity
def _touch_map(harness: Harness) -> Mapping[Fault, frozenset[str]]:
    return MappingProxyType({fault: _touched_lamps(harness, fault) for fault in all_faults(harness)})


@by_identity
def _output_map(harness: Harness) -> Mapping[Fault, frozenset[int]]:
    return MappingProxyType({fault: _touched_outputs(harness, fault) for fault in all_faults(harness)})


def touched_outputs(harness: Harness, fault: Fault) -> frozenset[int]:
    """The outputs whose lamps may behave otherwise with this fault."""
    known = _output_map(harness).get(fault)
    return _touched_outputs(harness, fault) if known is None else known


def touched_lamps(harness: Harness, fault: Fault) -> frozenset[str]:
    """The lamps that may behave otherwise with this fault; all others do as they should."""
    known = _touch_map(harness).get(fault)
    return _touched_lamps(harness, fault) if known is None else known


def _touched_lamps(harness: Harness, fault: Fault) -> frozenset[str]:
    outputs = touched_outputs(harness, fault)
    if fault.kind in WHOLE_OUTPUT or not is_plain(harness, outputs):
        return frozenset().union(*(_lamps_of_output(harness).get(number, frozenset()) for number in outputs))
    return direct_lamps(harness, fault)


def direct_lamps(harness: Harness, fault: Fault) -> frozenset[str]:
    """The lamps whose own way the fault is on; for a short, the lamp that it is at."""
    known = _direct_map(harness).get(fault)
    return _direct_lamps(harness, fault) if known is None else known


@by_identity
def _direct_map(harness: Harness) -> Mapping[Fault, frozenset[str]]:
    return MappingProxyType({fault: _direct_lamps(harness, fault) for fault in all_faults(harness)})


def _direct_lamps(harness: Harness, fault: Fault) -> frozenset[str]:
    lit = lit_lamps(harness)
    if fault.kind in (FaultKind.OUTPUT_DEAD, FaultKind.OUTPUT_STUCK):
        return _lamps_of_output(harness).get(fault.output or 0, frozenset())
    if fault.kind is FaultKind.COMMON_LOST:
        return served(harness).get(pin_node(fault.ref), frozenset())
    if fault.kind is FaultKind.JOINT_OPEN_ALL:
        return served(harness).get(joint_node(fault.ref), frozenset())
    lamps = {fault.lamp} if fault.lamp else _lamps_of_wires(harness, fault)
    return frozenset(lamp for lamp in lamps if lamp in lit)
