"""The three plans side by side."""

from __future__ import annotations

from random import Random

import pytest

from model import editing
from model.harness import Harness, Polarity
from model.routing.allot import settle
from model.routing.merge_plan import apply, best_plan
from model.routing.plan_compare import compare, longest_mm
from model.routing.wires import PartKind, derive
from tests.following import follow
from tests.large_models import large_model
from tests.strategies import harness_from_seed, walk


def test_the_columns():
    harness = walk(large_model(20, 6, 10, seed=1), Random(1), merges=0.3)
    found = compare(harness)
    pairs, best, standing = found.columns
    assert [figures.name for figures in found.columns] == ["own pairs", "best", "as it stands"]
    assert pairs.joint_count == 0
    assert best.cost_mm <= standing.cost_mm <= pairs.cost_mm
    assert best.wire_mm == pytest.approx(found.plan.wire_mm)
    assert standing.harness is harness
    assert {figures.lamps for figures in found.columns} == {20}
    assert {figures.open_lamps for figures in found.columns} == {0}
    # All are counted at one place, where the pairs are thickest: both wires of each lamp behind it.
    assert found.tightest is not None
    assert best.tight_wires < pairs.tight_wires
    assert pairs.tight_wires == max(
        sum(set(path) >= leg.ends for path in paths(harness)) * 2 for leg in harness.legs
    )


def paths(harness: Harness) -> list[tuple[str, ...]]:
    return [lamp.run.way for lamp in harness.lamps if lamp.run]


def test_lamps_that_were_not_walked_are_counted_as_open_in_what_stands():
    harness = large_model(6, 3, 5, seed=2)
    found = compare(harness)
    assert (found.standing.lamps, found.standing.open_lamps) == (0, 6)
    assert (found.best.lamps, found.best.open_lamps) == (6, 0)
    assert found.standing.wire_mm == found.standing.longest_mm == 0


def test_a_known_hole_makes_the_tightest_leg():
    harness = large_model(12, 3, 6, seed=3)
    quiet = min(harness.legs, key=lambda leg: leg.length_mm)
    used = compare(harness).tightest
    assert used is not None
    harness = editing.set_leg(harness, used.a, used.b, hole_mm=50.0)
    other = next(leg for leg in harness.legs if leg.ends != used.ends and leg.ends != quiet.ends)
    harness = editing.set_leg(harness, other.a, other.b, hole_mm=0.5)
    tightest = compare(harness).tightest
    assert tightest is not None
    assert tightest.ends == other.ends


def test_the_longest_run_is_that_of_the_longest_chain():
    for seed in range(30):
        harness = harness_from_seed(seed, lamps=(1, 8))
        chains = [
            sum(wire.cut_mm - wire.part_mm(PartKind.LEAD) for wire in follow(harness, lamp.id, polarity))
            for lamp in harness.lamps
            if lamp.run
            for polarity in Polarity
        ]
        assert longest_mm(harness) == pytest.approx(max(chains, default=0.0))


def test_comparing_changes_nothing():
    harness = walk(large_model(8, 3, 5, seed=4))
    found = compare(harness)
    assert derive(settle(found.best.harness)).spool_mm == pytest.approx(found.best.wire_mm)
    assert apply(harness, best_plan(harness)).joints == found.best.harness.joints
