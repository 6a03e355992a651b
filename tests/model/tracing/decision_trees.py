"""The best way of asking, worked out by trying every order of tests; for few suspects only."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import attrs

from model.tracing.behaviour import Faults
from model.tracing.faults import FaultKind
from model.tracing.proposing import _probes, effort_of, next_test
from model.tracing.trace import (
    Probe,
    ProbeKind,
    Trace,
    answer,
    outcomes,
    suspects,
    tolerance_v,
    volts_of,
)


@attrs.frozen(kw_only=True)
class World:
    """One suspect is true. A short has two worlds: the output feeds it on, or has given up."""

    place: int
    faults: Faults
    gives_up: bool = False
    weight: float = 1.0


@attrs.frozen(kw_only=True)
class Compared:
    """Tests and effort on the average over all suspects: as proposed, and the least that is possible."""

    suspects: int
    proposed: float
    least: float
    proposed_effort: float
    least_effort: float


def reading_of(trace: Trace, faults: Faults, probe: Probe, *, gives_up: bool = False) -> float | str:
    """What a test gives with these faults: the middle of the volts, the first of several answers."""
    if probe.kind is ProbeKind.VOLTS:
        spans = volts_of(trace, faults, probe)
        low, high = spans[-1 if gives_up else 0]
        return (low + high) / 2
    return min(outcomes(trace, faults, probe))


def _fits(trace: Trace, faults: Faults, probe: Probe, reading: float | str) -> bool:
    if isinstance(reading, str):
        return reading in outcomes(trace, faults, probe)
    off = tolerance_v(trace)
    return any(low - off <= reading <= high + off for low, high in volts_of(trace, faults, probe))


def compare(trace: Trace) -> Compared:
    """Each suspect in turn is taken to be true; all count alike."""
    left = suspects(trace)
    hypotheses = [one.faults for one in left]
    worlds: list[World] = []
    for place, faults in enumerate(hypotheses):
        if any(fault.kind is FaultKind.SHORT for fault in faults):
            worlds += [
                World(place=place, faults=faults, weight=0.5),
                World(place=place, faults=faults, weight=0.5, gives_up=True),
            ]
        else:
            worlds.append(World(place=place, faults=faults))
    whole = frozenset(range(len(hypotheses)))
    # For each test, whom the answer of each world leaves.
    leaves: dict[tuple[frozenset[int], ...], float] = {}
    for probe in dict.fromkeys(_probes(trace, left)):
        rows = []
        for world in worlds:
            reading = reading_of(trace, world.faults, probe, gives_up=world.gives_up)
            fitting = (place for place, other in enumerate(hypotheses) if _fits(trace, other, probe, reading))
            rows.append(frozenset(fitting))
        if any(row != whole for row in rows):
            effort = effort_of(trace, probe)
            leaves[tuple(rows)] = min(leaves.get(tuple(rows), effort), effort)
    proposed = [_proposed(trace, world) for world in worlds]
    count = len(hypotheses)
    return Compared(
        suspects=count,
        proposed=sum(world.weight * one[0] for world, one in zip(worlds, proposed, strict=True)) / count,
        least=_least(worlds, leaves, lambda effort: 1.0) / count,
        proposed_effort=sum(world.weight * one[1] for world, one in zip(worlds, proposed, strict=True))
        / count,
        least_effort=_least(worlds, leaves, lambda effort: effort) / count,
    )


def _least(
    worlds: Sequence[World],
    leaves: Mapping[tuple[frozenset[int], ...], float],
    price: Callable[[float], float],
) -> float:
    """The least price of a tree of tests over all worlds; it goes on as long as any test tells something."""
    costs: dict[tuple[frozenset[int], frozenset[int]], dict[int, float]] = {}

    def cost(left: frozenset[int], possible: frozenset[int]) -> dict[int, float]:
        """By world, of those that the answers so far allow."""
        known = costs.get((left, possible))
        if known is not None:
            return known
        best = dict.fromkeys(possible, 0.0)
        least = float("inf")
        for rows, effort in leaves.items():
            parts = {world: rows[world] & left for world in possible}
            # A test that leaves all for one world and not for another would be made for ever.
            if any(part == left for part in parts.values()):
                continue
            tried: dict[int, float] = {}
            for part in set(parts.values()):
                here = frozenset(world for world in possible if parts[world] == part)
                for world, more in cost(part, here).items():
                    tried[world] = price(effort) + more
            total = sum(worlds[world].weight * one for world, one in tried.items())
            if total < least:
                least, best = total, tried
        costs[left, possible] = best
        return best

    found = cost(frozenset(world.place for world in worlds), frozenset(range(len(worlds))))
    return sum(worlds[world].weight * one for world, one in found.items())


def _proposed(trace: Trace, world: World) -> tuple[int, float]:
    """How many tests are proposed, one after the other, until none tells anything; and their effort."""
    tests, effort = 0, 0.0
    while (proposal := next_test(trace)) is not None:
        effort += proposal.effort
        reading = reading_of(trace, world.faults, proposal.probe, gives_up=world.gives_up)
        trace = answer(trace, proposal.probe, reading)
        tests += 1
    return tests, effort
