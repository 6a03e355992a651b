"""How long plans take, how they grow, and shortest trees beside networkx on the same graphs.

Run with `pytest tests/bench/test_plan_speed.py -s`; the figures are printed.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from random import Random

import networkx as nx
import pytest
from networkx.algorithms.approximation import steiner_tree as approximate

from model import editing
from model.harness import Harness, Spool
from model.routing.allot import settle
from model.routing.cutting import cutting_plan
from model.routing.graph import leg_length_mm
from model.routing.merge_plan import apply, best_plan
from model.routing.plan_compare import compare
from model.routing.steiner import steiner_tree
from tests.large_models import large_model


def seconds(work: Callable[[], object], times: int = 1) -> float:
    """The shortest of a few runs, in CPU seconds, so that what else runs does not count."""
    taken = []
    for _ in range(times):
        begin = time.process_time()
        work()
        taken.append(time.process_time() - begin)
    return min(taken)


def fresh(harness: Harness) -> Harness:
    """The same harness as a new value, for which nothing has been worked out yet."""
    return editing.set_progress(harness, walk=f"L{len(harness.lamps)}")


@pytest.mark.parametrize(
    ("lamps", "outputs", "points", "limit_s"),
    [
        (40, 16, 25, 0.5),
        (40, 16, 60, 0.5),
        (300, 40, 60, 5.0),
        (300, 99, 100, 5.0),
        (300, 24, 40, 5.0),
        (300, 16, 60, 5.0),
    ],
)
def test_plans(lamps: int, outputs: int, points: int, limit_s: float):
    for seed in range(2):
        harness = large_model(lamps, outputs, points, seed)
        taken = seconds(lambda harness=harness: best_plan(fresh(harness)))
        plan = best_plan(harness)
        proved = sum(net.exact for net in plan.nets)
        print(
            f"\n{lamps} lamps on {outputs} outputs, {points} waypoints: {taken:.2f} s,"
            f" {plan.wire_mm / 1000:.1f} m, {plan.joint_count} joints,"
            f" {proved} of {len(plan.nets)} nets proved, common within {100 * plan.net(None).gap:.1f} %",
            end="",
        )
        assert taken < limit_s


def test_growth():
    taken = {
        lamps: seconds(lambda lamps=lamps: best_plan(large_model(lamps, min(lamps // 4, 99), 30, 1)))
        for lamps in (30, 60, 120, 240)
    }
    print("\nseconds by lamps:", {lamps: round(time, 2) for lamps, time in taken.items()})
    assert taken[240] / taken[30] < 8**2, "no more than with the square of the lamps"


def test_comparing_and_taking_over():
    harness = large_model(300, 40, 60, 0)
    plan = best_plan(harness)
    taken = seconds(lambda: apply(harness, plan))
    compared = seconds(lambda: compare(fresh(harness)))
    print(f"\n300 lamps: taking over {taken:.2f} s, three plans with all figures {compared:.2f} s")
    assert taken < 0.5
    assert compared < 5.5


def test_cutting():
    harness = settle(apply(large_model(300, 40, 60, 0), best_plan(large_model(300, 40, 60, 0))))
    dice = Random(1)
    spools = [
        Spool(name=f"s{number}", colour=dice.choice(("RD", "BK")), length_mm=float(dice.randint(200, 9000)))
        for number in range(30)
    ]
    harness = editing.set_spools(harness, spools)
    taken = seconds(lambda: cutting_plan(harness))
    plan = cutting_plan(harness)
    print(f"\n{sum(group.count for group in plan.groups)} pieces from 30 spools: {taken:.3f} s")
    assert all(group.exact for group in plan.groups)
    assert taken < 1.0


def test_shortest_trees_beside_networkx():
    rows = []
    for seed in range(6):
        harness = large_model(60, 16, 60, seed)
        graph = nx.Graph()
        for leg in harness.legs:
            graph.add_edge(leg.a, leg.b, weight=leg_length_mm(leg))
        lengths = {
            node: {other: data["weight"] for other, data in near.items()} for node, near in graph.adj.items()
        }
        ends = list(dict.fromkeys(["W1", *(lamp.at or "W1" for lamp in harness.lamps)]))
        for terminals in (ends[:6], ends[:12], ends):
            tree = steiner_tree(lengths, terminals)
            ours = seconds(lambda lengths=lengths, terminals=terminals: steiner_tree(lengths, terminals), 2)
            for method in ("kou", "mehlhorn"):
                found = approximate(graph, terminals, method=method)
                theirs = seconds(
                    lambda graph=graph, terminals=terminals, method=method: approximate(
                        graph, terminals, method=method
                    ),
                    2,
                )
                length = found.size(weight="weight")
                rows.append((len(terminals), method, ours / theirs, tree.weight / length))
                assert tree.weight <= length + 1e-6
    print("\nterminals  method    time ratio  length ratio")
    for count in sorted({row[0] for row in rows}):
        for method in ("kou", "mehlhorn"):
            some = [row for row in rows if row[:2] == (count, method)]
            time_ratio = sum(row[2] for row in some) / len(some)
            length_ratio = sum(row[3] for row in some) / len(some)
            print(f"{count:9}  {method:9} {time_ratio:10.2f}  {length_ratio:12.4f}")
