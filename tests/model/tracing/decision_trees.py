"""The best way of asking, worked out by trying every order of tests; for few suspects only."""

from __future__ import annotations

from collections.abc import Callable, Mapping

import attrs

from model.tracing.behaviour import Faults
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
class Compared:
    """Tests and effort on the average over all suspects: as proposed, and the least that is possible."""

    suspects: int
    proposed: float
    least: float
    proposed_effort: float
    least_effort: float


def reading_of(trace: Trace, faults: Faults, probe: Probe) -> float | str:
    """What a test gives with these faults: the middle of the volts, the first of several answers."""
    if probe.kind is ProbeKind.VOLTS:
        low, high = volts_of(trace, faults, probe)[0]
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
    whole = frozenset(range(len(hypotheses)))
    # For each test, whom the answer of each suspect leaves.
    leaves: dict[tuple[frozenset[int], ...], float] = {}
    for probe in dict.fromkeys(_probes(trace, left)):
        rows = []
        for faults in hypotheses:
            reading = reading_of(trace, faults, probe)
            rows.append(
                frozenset(
                    place for place, other in enumerate(hypotheses) if _fits(trace, other, probe, reading)
                )
            )
        if any(row != whole for row in rows):
            signature = tuple(rows)
            effort = effort_of(trace, probe)
            leaves[signature] = min(leaves.get(signature, effort), effort)
    proposed = [_proposed(trace, faults) for faults in hypotheses]
    count = len(hypotheses)
    return Compared(
        suspects=count,
        proposed=sum(tests for tests, _ in proposed) / count,
        least=_least(whole, leaves, lambda effort: 1.0),
        proposed_effort=sum(effort for _, effort in proposed) / count,
        least_effort=_least(whole, leaves, lambda effort: effort),
    )


def _least(
    whole: frozenset[int],
    leaves: Mapping[tuple[frozenset[int], ...], float],
    price: Callable[[float], float],
) -> float:
    """The least average price of a tree of tests that goes on as long as any test tells something."""
    costs: dict[frozenset[int], dict[int, float]] = {}

    def cost(left: frozenset[int]) -> dict[int, float]:
        known = costs.get(left)
        if known is not None:
            return known
        best = dict.fromkeys(left, 0.0)
        least = float("inf")
        for rows, effort in leaves.items():
            parts = {one: rows[one] & left for one in left}
            if all(part == left for part in parts.values()):
                continue
            # A test may leave all for one suspect and not for another: it is not made twice.
            if any(part == left for part in parts.values()):
                continue
            tried = {one: price(effort) + cost(part)[one] for one, part in parts.items()}
            if sum(tried.values()) < least:
                least, best = sum(tried.values()), tried
        costs[left] = best
        return best

    return sum(cost(whole).values()) / len(whole)


def _proposed(trace: Trace, true: Faults) -> tuple[int, float]:
    """How many tests are proposed, one after the other, until none tells anything; and their effort."""
    tests, effort = 0, 0.0
    while (proposal := next_test(trace)) is not None:
        effort += proposal.effort
        trace = answer(trace, proposal.probe, reading_of(trace, true, proposal.probe))
        tests += 1
    return tests, effort
