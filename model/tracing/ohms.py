"""What an ohmmeter says of plus and minus with the battery off: do they touch?"""

from __future__ import annotations

from model.electrics.network import MINUS_RAIL, PLUS_RAIL
from model.harness import Polarity
from model.routing.wires import derive
from model.tracing.behaviour import Faults, Simulator
from model.tracing.faults import SHORT_BELOW_OHM, Fault, FaultKind

_TOUCHING = frozenset((FaultKind.SHORT, FaultKind.LED_SHORT))
"""The faults that can join plus and minus; swapped wires, too, may bring both ends of a lamp to one joint."""


def short_to_common(simulator: Simulator, faults: Faults, node: str) -> bool:
    """Whether less than `SHORT_BELOW_OHM` lies between a node and the common, the battery off.

    At what a meter puts on it no LED leads, so that only wires count.
    """
    common = simulator.harness.controller.common_polarity
    return _joined(simulator, faults, PLUS_RAIL if common is Polarity.PLUS else MINUS_RAIL, node)


def shorted_across(simulator: Simulator, faults: Faults, plus: str, minus: str) -> bool:
    """Whether less than `SHORT_BELOW_OHM` lies between two nodes, the battery off."""
    return _joined(simulator, faults, plus, minus)


def _joined(simulator: Simulator, faults: Faults, one: str, other: str) -> bool:
    if not any(_may_touch(simulator, fault) for fault in faults):
        return False
    known = simulator.joined.get((faults, one))
    if known is None:
        known = simulator.joined[faults, one] = _reached(simulator, faults, one)
    return other in known


def _may_touch(simulator: Simulator, fault: Fault) -> bool:
    if fault.kind is FaultKind.TAGS_SWAPPED:
        by_key = derive(simulator.harness).by_key
        return by_key[fault.wire].polarity is not by_key[fault.other].polarity
    return fault.kind in _TOUCHING


def _reached(simulator: Simulator, faults: Faults, start: str) -> frozenset[str]:
    """All points that wires of few ohm lead to."""
    outputs = frozenset(simulator.outputs.values())
    near: dict[str, list[str]] = {}
    for part in simulator.faulty_circuit(faults, (), outputs).conductors:
        if part.ohm < SHORT_BELOW_OHM and not part.key.startswith("output "):
            near.setdefault(part.a, []).append(part.b)
            near.setdefault(part.b, []).append(part.a)
    reached, waiting = {start}, [start]
    while waiting:
        for node in near.get(waiting.pop(), ()):
            if node not in reached:
                reached.add(node)
                waiting.append(node)
    return frozenset(reached)
