"""What an ohmmeter says of plus and minus with the battery off: do they touch?"""

from __future__ import annotations

from model.electrics.network import MINUS_RAIL, PLUS_RAIL
from model.harness import Polarity
from model.tracing.behaviour import Faults, Simulator
from model.tracing.faults import SHORT_BELOW_OHM, FaultKind

_TOUCHING = frozenset((FaultKind.SHORT, FaultKind.LED_SHORT))
"""The faults that can join plus and minus."""


def short_to_common(simulator: Simulator, faults: Faults, node: str) -> bool:
    """Whether less than `SHORT_BELOW_OHM` lies between a node and the common, the battery off.

    At what a meter puts on it no LED leads, so that only wires count.
    """
    common = simulator.harness.controller.common_polarity
    return _joined(simulator, faults, node, PLUS_RAIL if common is Polarity.PLUS else MINUS_RAIL)


def shorted_across(simulator: Simulator, faults: Faults, plus: str, minus: str) -> bool:
    """Whether less than `SHORT_BELOW_OHM` lies between two nodes, the battery off."""
    return _joined(simulator, faults, plus, minus)


def _joined(simulator: Simulator, faults: Faults, one: str, other: str) -> bool:
    if not any(fault.kind in _TOUCHING for fault in faults):
        return False
    outputs = simulator.touched(faults) | simulator.outputs_behind(one) | simulator.outputs_behind(other)
    near: dict[str, list[str]] = {}
    for part in simulator.faulty_circuit(faults, (), outputs).conductors:
        if part.ohm < SHORT_BELOW_OHM and not part.key.startswith("output "):
            near.setdefault(part.a, []).append(part.b)
            near.setdefault(part.b, []).append(part.a)
    reached, waiting = {one}, [one]
    while waiting:
        for node in near.get(waiting.pop(), ()):
            if node not in reached:
                reached.add(node)
                waiting.append(node)
    return other in reached
