"""Does Trace find the fault? Faults put in by another path, worked out by ngspice, traced to the end.

Lamps and volts are ngspice's; what a look at an opened joint shows follows from where the fault was put.
`LOOMTAG_WHOLE=1 pytest tests/model/tracing/test_trace_truth.py -s` runs all 200 harnesses and prints the
table; without it a sample runs.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from random import Random

import pytest

from harness_tui.examples import names, text
from model.harness import Harness
from model.routing.allot import settle
from model.store import loads
from model.tracing.behaviour import Sight, Simulator
from model.tracing.fault_words import fault_words
from model.tracing.faults import FaultKind, all_faults
from model.tracing.trace import begin, see, suspects
from tests.model.tracing.decision_trees import Compared, compare
from tests.model.tracing.following_faults import Followed, follow_harnesses, table
from tests.spice import needs_ngspice
from tests.strategies import harness_from_seed, walk

WHOLE = bool(os.environ.get("LOOMTAG_WHOLE"))
HARNESSES = 200 if WHOLE else 8
SMALL = 200 if WHOLE else 30
FIRST_SEED = 1000


def demo(name: str) -> Harness:
    """A demo with all its lamps walked."""
    return walk(settle(loads(text(name), f"{name}.toml")))


def random_harnesses(count: int) -> list[Harness]:
    """Harnesses of 2 to 16 lamps."""
    return [
        harness_from_seed(FIRST_SEED + place, lamps=(2, 16), points=(2, 8), walked=1.0)
        for place in range(count)
    ]


def check(
    found: Sequence[Followed], title: str, capsys: pytest.CaptureFixture[str], first: float = 0.95
) -> None:
    """The bar: the true fault always among those left, in the share `first` ranked first or tied."""
    if WHOLE:
        with capsys.disabled():
            print(f"\n{title}\n{table(found)}")
    seen = [one for one in found if one.visible]
    assert len(seen) > 0.9 * len(found)
    assert {one.case.fault.kind for one in seen if one.case.fault} >= set(FaultKind) - PLUGS_ONLY
    lost = [one for one in seen if not one.kept]
    assert not lost, [(fault_words(one.case.harness, one.case.fault), one.lost_at) for one in lost]  # type: ignore[arg-type]
    assert sum(one.rank == 1 for one in seen) >= first * len(seen)


PLUGS_ONLY = {FaultKind.PLUG_OPEN, FaultKind.PLUG_RESISTS}


@needs_ngspice
@pytest.mark.parametrize(("shown", "looking"), [(1.0, True), (0.3, True), (1.0, False)])
def test_random_harnesses(shown: float, looking: bool, capsys: pytest.CaptureFixture[str]) -> None:
    found = follow_harnesses(random_harnesses(HARNESSES), Random(FIRST_SEED), shown=shown, looking=looking)
    how = "lamps, meter and looking" if looking else "lamps and meter only"
    title = f"{HARNESSES} random harnesses, {100 * shown:.0f} % of the right lamps seen, {how}"
    # From outside a wire that is loose and one that is broken beside the joint are the same.
    check(found, title, capsys, first=0.95 if looking else 0.85)


@needs_ngspice
def test_demos(capsys: pytest.CaptureFixture[str]) -> None:
    rounds = 5 if WHOLE else 1
    harnesses = [demo(name) for name in names()] * rounds
    check(follow_harnesses(harnesses, Random(7)), f"the three demos, {rounds} times", capsys)


def test_no_more_tests_than_needed(capsys: pytest.CaptureFixture[str]) -> None:
    """Where all orders of tests can be tried: at most half as many again as the best needs on the average."""
    found: list[Compared] = []
    for seed in range(SMALL):
        harness = harness_from_seed(seed, lamps=(3, 7), points=(2, 6), walked=1.0)
        rng = Random(seed)
        simulator = Simulator(harness)
        faults = all_faults(harness)
        for fault in rng.sample(faults, min(4, len(faults))):
            trace = begin(harness)
            for lamp in simulator.outputs:
                looks = simulator.look((fault,), lamp)
                trace = see(trace, lamp, Sight.LIT if Sight.LIT in looks else min(looks))
            if trace.odd and 2 <= len(suspects(trace)) <= 8:
                found.append(compare(trace))
    assert len(found) >= SMALL // 2
    proposed, least = sum(one.proposed for one in found), sum(one.least for one in found)
    effort = sum(one.proposed_effort for one in found) / sum(one.least_effort for one in found)
    worst = max(one.proposed / one.least for one in found if one.least)
    if WHOLE:
        with capsys.disabled():
            print(
                f"\n{len(found)} small cases: {proposed / len(found):.2f} tests, the best tree"
                f" {least / len(found):.2f}, ratio {proposed / least:.3f}, worst case {worst:.2f};"
                f" effort ratio {effort:.3f}"
            )
    assert all(one.proposed >= one.least - 1e-9 for one in found)
    assert proposed <= 1.5 * least
    assert worst <= 2.0
