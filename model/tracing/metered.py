"""What a meter to the battery's minus shows at the points of a circuit, also where they hang free."""

from __future__ import annotations

import math
from collections.abc import Mapping

import attrs

from model.electrics.circuit import Circuit, Conductor
from model.electrics.network import MINUS_RAIL
from model.electrics.solving import solve

METER_INPUT_OHM = 1e7
"""Input resistance of a usual digital voltmeter; common practice, no source."""

LEAK_V = 1.0
"""What LEDs that leak backwards, 0.1 uA, may add on a meter at a point that hangs free; common practice."""

LEAST_LED_V = 1.2
"""An LED that passes the meter's microampere keeps at least this; from memory."""

_DRIVEN_V = 0.5

Span = tuple[float, float]
"""From the least to the most that a meter may show, in V."""


def as_metered(circuit: Circuit, solved: Mapping[str, float], led_v: Mapping[str, float]) -> dict[str, Span]:
    """The span at every node; one point where it is held, wide where it is fed through an LED at most.

    `led_v` is the forward voltage of each light at its usual current, by key. The curve of an LED says
    little of what it keeps at a microampere: anything from `LEAST_LED_V` to that. NotSolved where there is
    no working point with a meter.
    """
    hanging = {node for node, value in solved.items() if math.isnan(value)}
    if not hanging:
        return {node: (value, value) for node, value in solved.items()}
    group: dict[str, str] = {node: node for node in hanging}

    def root(node: str) -> str:
        while group[node] != node:
            group[node] = group[group[node]]
            node = group[node]
        return node

    for conductor in circuit.conductors:
        if conductor.a in group and conductor.b in group:
            group[root(conductor.a)] = root(conductor.b)
    trees = {root(node) for node in hanging}
    meters = tuple(
        Conductor(key=f"meter at {node}", a=node, b=MINUS_RAIL, ohm=METER_INPUT_OHM) for node in trees
    )
    metered = solve(attrs.evolve(circuit, conductors=(*circuit.conductors, *meters))).volts
    fed: dict[str, tuple[float, float]] = {}
    for light in circuit.lights:
        source_v = solved.get(light.a, math.nan)
        if light.b in group and light.a not in group and source_v > _DRIVEN_V:
            least, most = fed.get(root(light.b), (0.0, 0.0))
            fed[root(light.b)] = (
                max(least, source_v - led_v.get(light.key, LEAST_LED_V)),
                max(most, source_v - LEAST_LED_V),
            )
    found: dict[str, Span] = {}
    for node, plain in metered.items():
        value = 0.0 if math.isnan(plain) else plain
        if node not in group:
            found[node] = (value, value)
        elif root(node) in fed and value > _DRIVEN_V:
            least, most = fed[root(node)]
            found[node] = (min(value, least), max(value, most))
        else:
            found[node] = (value, value + LEAK_V)
    return found
