"""How long one step of a trace takes on 60 lamps: what is left, and what to test next.

Run with `pytest tests/bench/test_trace_speed.py -s`; the times are printed.
"""

from __future__ import annotations

import statistics
import time
from random import Random

import pytest

from model.electrics.lamps import all_lamps
from model.harness import Delivers, Harness
from model.routing.wires import derive
from model.store import dumps, loads
from model.tracing.behaviour import Sight
from model.tracing.proposing import next_test
from model.tracing.trace import Trace, answer, begin, see, see_rest, suspects
from tests.model.tracing.decision_trees import reading_of
from tests.strategies import harness_from_seed


def sixty(seed: int, *, limited: bool) -> Harness:
    """60 walked lamps on 12 outputs or more; `limited`: one output limits the current itself."""
    for place in range(1000 * seed, 1000 * seed + 1000):
        harness = harness_from_seed(place, lamps=(60, 60), points=(12, 12), walked=1.0)
        outputs = [output for _, output in harness.controller.outputs()]
        if len(outputs) >= 12 and any(one.delivers is Delivers.CURRENT for one in outputs) is limited:
            return harness
    raise AssertionError("no such harness")


def timed(trace: Trace) -> float:
    """Seconds of one processor for the suspects and the next test."""
    start = time.process_time()
    suspects(trace)
    next_test(trace)
    return time.process_time() - start


@pytest.mark.parametrize("limited", [False, True])
def test_one_step_on_sixty_lamps(limited: bool, capsys: pytest.CaptureFixture[str]) -> None:
    first: list[float] = []
    later: list[float] = []
    numbers = Random(3)
    for seed in range(3):
        harness = sixty(seed, limited=limited)
        for lamp in numbers.sample(list(begin(harness).simulator.outputs), 8):
            for rest in (True, False):
                trace = see(begin(harness), lamp, Sight.DARK)
                if rest:
                    trace = see_rest(trace)
                first.append(timed(trace))
                true = numbers.choice(suspects(trace)).faults
                while (proposal := next_test(trace)) is not None:
                    trace = answer(trace, proposal.probe, reading_of(trace, true, proposal.probe))
                    later.append(timed(trace))
    first.sort()
    later.sort()
    with capsys.disabled():
        print(f"\n60 lamps{', one output limits its current' if limited else ''}")
        for name, taken in (("first step", first), ("later steps", later)):
            most = [1000 * one for one in (statistics.median(taken), taken[-len(taken) // 20], taken[-1])]
            print(f"  {name}: {most[0]:.0f} ms, 19 of 20 under {most[1]:.0f} ms, at most {most[2]:.0f} ms")
    assert statistics.median(first) < 0.3
    assert later[-len(later) // 20] < 0.3
    # Lamps that share out the current of one output change with every wire that is crossed there.
    assert max(first[-1], later[-1]) < (2.5 if limited else 0.5)


def test_the_very_first_step(capsys: pytest.CaptureFixture[str]) -> None:
    """A project just read: its faults, too, are listed for the first time. Its wires are known by then."""
    taken = []
    for seed in range(3):
        text = dumps(sixty(seed, limited=False))
        for rest in (True, False):
            harness = loads(text, "sixty.toml")
            derive(harness), all_lamps(harness)
            start = time.process_time()
            trace = see(begin(harness), harness.lamps[7].id, Sight.DARK)
            trace = see_rest(trace) if rest else trace
            assert suspects(trace)
            assert next_test(trace)
            taken.append(time.process_time() - start)
    with capsys.disabled():
        print(f"\n60 lamps, the very first step: {', '.join(f'{1000 * one:.0f}' for one in taken)} ms")
    assert statistics.median(taken) < 0.3


def test_what_a_person_types(capsys: pytest.CaptureFixture[str]) -> None:
    """Lamp after lamp entered, the first dark one in between, as the screen does it."""
    trace = begin(sixty(1, limited=False))
    worst = 0.0
    for place, lamp in enumerate(trace.simulator.outputs):
        trace = see(trace, lamp, Sight.DARK if place == 7 else Sight.LIT)
        worst = max(worst, timed(trace))
    with capsys.disabled():
        print(f"\n60 lamps entered one by one: at most {1000 * worst:.0f} ms a key")
    assert worst < 0.6
