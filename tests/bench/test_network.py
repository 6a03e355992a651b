"""How long the network takes, beside scipy.optimize.root on the same equations.

Run with `pytest tests/bench/test_network.py -s`; the ratios are printed.

`solve` gets the network as it stands (every contact, wire and lamp, a `Circuit`) and gives every voltage and
current. Its Newton steps are on one equation a lamp; that the trees of wires are worked out to this, and back
to nodes and wires at the end, is in its time. scipy gets

- the Kirchhoff equations: the same network as it stands, a current law for every node and a voltage law for
  every lamp, so as many unknowns as nodes and lamps. These are "the same equations";
- the loop equations: what `solve` works out for itself, worked out beforehand into a dense matrix and not in
  scipy's time. No like for like, but the most that can be said for the other side: at 60 lamps MINPACK's
  compiled code is the faster there, at 1,000 lamps no longer.

Each with its Jacobian given, exact as ours, and estimated; from 10 mA a lamp, to a mismatch as small as ours.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from random import Random

import numpy as np
import pytest
from pytest_benchmark.fixture import BenchmarkFixture
from scipy.optimize import root

from model.electrics.circuit import Circuit, Conductor, Light, Solution
from model.electrics.diode import Diode
from model.electrics.lamps import fitting
from model.electrics.network import circuit_of, worst_case
from model.electrics.solving import solve
from model.memo import forget
from tests.strategies import harness_from_seed

RED = Diode(saturation_a=1e-10, emission_v=4.09 * 0.025852, series_ohm=0.1)
BLUE = Diode(saturation_a=1e-10, emission_v=6.68 * 0.025852, series_ohm=0.1)


def network(lamps: int, outputs: int, seed: int = 1) -> Circuit:
    """Lamps between a common tree and one tree an output, no two on the same wires."""
    numbers = Random(seed)
    wires: list[Conductor] = []

    def tree(name: str, rail: str, count: int) -> list[str]:
        nodes = [f"{name} 0"]
        wires.append(Conductor(key=f"{name} pin", a=rail, b=nodes[0], ohm=0.12))
        for place in range(1, count):
            nodes.append(f"{name} {place}")
            ohm = numbers.uniform(0.02, 0.2)
            wires.append(
                Conductor(
                    key=nodes[-1], a=numbers.choice(nodes[max(0, place - 6) : place]), b=nodes[-1], ohm=ohm
                )
            )
        return nodes

    common = tree("common", "+", lamps // 2)
    switched = [tree(f"output {number}", "-", max(lamps // outputs // 2, 1)) for number in range(outputs)]
    lights = []
    for place in range(lamps):
        for side, nodes in (("a", common), ("b", switched[place % outputs])):
            wires.append(
                Conductor(
                    key=f"lead {place}{side}", a=numbers.choice(nodes), b=f"lamp {place}{side}", ohm=0.06
                )
            )
        lights.append(
            Light(
                key=f"lamp {place}",
                a=f"lamp {place}a",
                b=f"lamp {place}b",
                diode=numbers.choice((RED, BLUE)),
                ohm=numbers.choice((330.0, 470.0, 560.0)),
            )
        )
    return Circuit(rails={"+": 8.7, "-": 0.0}, conductors=tuple(wires), lights=tuple(lights))


TOLERANCE = 1e-10
"""Of scipy's unknowns, by their own share; `solve` leaves 1e-11 of the battery's volts at each lamp."""

Equations = tuple[Callable[[np.ndarray], np.ndarray], Callable[[np.ndarray], np.ndarray], np.ndarray]
"""Mismatch, Jacobian and a start; the last unknowns are those of the lamps."""


def curves(circuit: Circuit) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Ohm, saturation current and emission voltage of every lamp."""
    lights = circuit.lights
    return (
        np.array([light.ohm + light.diode.series_ohm for light in lights]),
        np.array([light.diode.saturation_a for light in lights]),
        np.array([light.diode.emission_v for light in lights]),
    )


def kirchhoff_equations(circuit: Circuit) -> Equations:
    """The network as it stands: current law at every node, voltage law and diode law at every lamp."""
    parts = (*circuit.conductors, *circuit.lights)
    nodes = dict.fromkeys(node for part in parts for node in (part.a, part.b) if node not in circuit.rails)
    place = {node: index for index, node in enumerate(nodes)}
    size = len(nodes)
    wires, fed = np.zeros((size, size)), np.zeros(size)
    for wire in circuit.conductors:
        for node, other in ((wire.a, wire.b), (wire.b, wire.a)):
            if node in place:
                wires[place[node], place[node]] += 1 / wire.ohm
                if other in place:
                    wires[place[node], place[other]] -= 1 / wire.ohm
                else:
                    fed[place[node]] += circuit.rails[other] / wire.ohm
    ends = np.zeros((size, len(circuit.lights)))
    for index, light in enumerate(circuit.lights):
        ends[place[light.a], index], ends[place[light.b], index] = 1, -1
    ohm, saturation, emission = curves(circuit)

    def mismatch(x: np.ndarray) -> np.ndarray:
        volts, current = x[:size], np.maximum(x[size:], -0.99 * saturation)
        laws = ends.T @ volts - ohm * current - emission * np.log1p(current / saturation)
        return np.concatenate([wires @ volts - fed + ends @ current, laws])

    def jacobian(x: np.ndarray) -> np.ndarray:
        current = np.maximum(x[size:], -0.99 * saturation)
        return np.block([[wires, ends], [ends.T, -np.diag(ohm + emission / (saturation + current))]])

    return mismatch, jacobian, np.concatenate([np.full(size, 4.0), np.full(len(ohm), 0.010)])


def loop_equations(circuit: Circuit) -> Equations:
    """One equation a lamp, over the logarithm of its current, the wires as one matrix made beforehand."""
    up = {wire.b: wire for wire in circuit.conductors}
    row = {wire.key: index for index, wire in enumerate(circuit.conductors)}
    ways = np.zeros((len(row), len(circuit.lights)))
    for index, light in enumerate(circuit.lights):
        for node, sign in ((light.a, 1.0), (light.b, -1.0)):
            while node not in circuit.rails:
                ways[row[up[node].key], index] = sign
                node = up[node].a
    ohm, saturation, emission = curves(circuit)
    matrix = ways.T @ (np.array([wire.ohm for wire in circuit.conductors])[:, None] * ways) + np.diag(ohm)

    def mismatch(x: np.ndarray) -> np.ndarray:
        current = np.exp(np.minimum(x, 5))
        return 8.7 - matrix @ current - emission * np.log1p(current / saturation)

    def jacobian(x: np.ndarray) -> np.ndarray:
        current = np.exp(np.minimum(x, 5))
        return -(matrix * current) - np.diag(emission * current / (saturation + current))

    return mismatch, jacobian, np.full(len(ohm), math.log(0.010))


def best_of(times: int, work: Callable[[], object]) -> float:
    """Seconds of the fastest of several runs."""
    best = math.inf
    for _ in range(times):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return best


def beside(equations: Equations, *, given: bool, times: int) -> tuple[np.ndarray, float]:
    """What scipy finds and how long it takes, the Jacobian `given` or worked out by differences."""
    mismatch, jacobian, start = equations

    def work() -> np.ndarray:
        found = root(mismatch, start, jac=jacobian if given else None, tol=TOLERANCE)
        assert found.success, found.message
        return found.x

    return work(), best_of(times, work)


def mismatch_of(ours: Solution, circuit: Circuit) -> float:
    """The greatest mismatch that our answer leaves in the Kirchhoff equations, in A or V."""
    mismatch, _, _ = kirchhoff_equations(circuit)
    parts = (*circuit.conductors, *circuit.lights)
    nodes = dict.fromkeys(node for part in parts for node in (part.a, part.b) if node not in circuit.rails)
    volts = [ours.volts[node] for node in nodes]
    return float(np.abs(mismatch(np.array(volts + [ours.light_a[one.key] for one in circuit.lights]))).max())


def test_sixty_lamps_beside_scipy(capsys: pytest.CaptureFixture[str]) -> None:
    circuit = network(60, 12)
    ours = solve(circuit)
    our_s = best_of(20, lambda: solve(circuit))
    lines = [f"network of 60 lamps, {len(ours.volts)} nodes: {1000 * our_s:.2f} ms"]
    taken: dict[str, float] = {}
    for name, made in (("Kirchhoff", kirchhoff_equations), ("loop", loop_equations)):
        equations = made(circuit)
        makes_s = best_of(5, lambda made=made: made(circuit))
        lines.append(
            f"  {len(equations[2])} {name} equations, made in {1000 * makes_s:.2f} ms (not counted):"
        )
        for given in (False, True):
            found, taken_s = beside(equations, given=given, times=5)
            currents = found[-60:] if name == "Kirchhoff" else np.exp(found)
            for light, current_a in zip(circuit.lights, currents, strict=True):
                assert ours.light_a[light.key] == pytest.approx(current_a, rel=1e-6)
            taken[f"{name} {given}"] = taken_s
            lines.append(
                f"    scipy.optimize.root, Jacobian {'given' if given else 'estimated'}: "
                f"{1000 * taken_s:.2f} ms, {taken_s / our_s:.1f} times ours"
            )
    with capsys.disabled():
        print("\n" + "\n".join(lines))
    assert mismatch_of(ours, circuit) < 1e-9, "and ours is no looser"
    assert our_s < 0.020
    assert min(taken["Kirchhoff False"], taken["Kirchhoff True"]) > 5 * our_s


def test_thousand_lamps_beside_scipy(capsys: pytest.CaptureFixture[str]) -> None:
    circuit = network(1000, 40)
    ours = solve(circuit)
    our_s = best_of(3, lambda: solve(circuit))
    found, taken_s = beside(loop_equations(circuit), given=True, times=1)
    for light, log_a in zip(circuit.lights, found, strict=True):
        assert ours.light_a[light.key] == pytest.approx(math.exp(log_a), rel=1e-6)
    with capsys.disabled():
        print(
            f"\nnetwork of 1000 lamps: {1000 * our_s:.1f} ms\n"
            f"  scipy.optimize.root, loop equations, Jacobian given: {taken_s:.1f} s, "
            f"{taken_s / our_s:.0f} times ours"
        )
    assert our_s < 0.5
    assert taken_s > 5 * our_s


@pytest.mark.parametrize("lamps", [30, 60])
def test_whole_harness(benchmark: BenchmarkFixture, lamps: int) -> None:
    harness = harness_from_seed(4, lamps=(lamps, lamps), points=(12, 12), walked=1.0)
    circuit_of(harness)  # the wires and lamps are worked out once a harness and remembered
    benchmark(lambda: solve(circuit_of(harness)))
    assert benchmark.stats["min"] < 0.020


def test_whole_harness_with_nothing_remembered(benchmark: BenchmarkFixture) -> None:
    """Sixty lamps from what a person decided to every current: wires and resistors are worked out as well."""
    harness = harness_from_seed(4, lamps=(60, 60), points=(12, 12), walked=1.0)

    def cold() -> None:
        forget()
        fitting.cache_clear()

    benchmark.pedantic(worst_case, args=(harness,), setup=cold, rounds=20)
    assert benchmark.stats["min"] < 0.020
