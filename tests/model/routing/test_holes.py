"""Bundles through their holes: a plan that costs a little more where the cheapest can't be pulled through."""

from __future__ import annotations

import itertools
from random import Random

import attrs
import pytest

from model import editing
from model.harness import Harness, Leg
from model.papers.plan_table import sure
from model.routing.allot import settle
from model.routing.bundles import bundle_of, bundles
from model.routing.gather import Tree, tree_cost
from model.routing.merge_plan import Plan, apply, best_plan, own_pairs
from model.routing.nets import build_net, nets
from model.routing.plan_compare import compare
from model.routing.tolls import tolled
from model.routing.wires import derive
from model.standards.circles import bundle_diameter_mm
from model.standards.wire import gauge
from tests.following import assert_connected
from tests.large_models import large_model

OD_MM = gauge("28 AWG").od_mm


def gate(hole_mm: float | None = None, joint_cost_mm: float = 40.0) -> Harness:
    """Controller --200-- inside --40-- outside, two lamps on each of two outputs outside."""
    harness = editing.new_harness("gate", "GAT")
    for name in ("inside", "outside"):
        harness = editing.add_waypoint(harness, name)
    harness = editing.set_leg(harness, "W1", "W2", length_mm=200)
    harness = editing.set_leg(harness, "W2", "W3", length_mm=40, hole_mm=hole_mm)
    for number in range(4):
        harness = editing.add_lamp(harness, f"lamp {number + 1}", output=number % 2 + 1, at="W3")
    return editing.set_settings(harness, joint_cost_mm=joint_cost_mm)


def stuck(harness: Harness, plan: Plan) -> list[Leg]:
    return [bundle.leg for bundle in bundles(apply(harness, plan)) if bundle.passes is False]


def test_wires_are_merged_before_a_hole_they_would_not_pass():
    # At this price of a joint none is worth its wire, but for the common, whose pin holds two wires.
    free = best_plan(gate(joint_cost_mm=400))
    leg = gate().legs[1]
    loose = bundle_of(apply(gate(joint_cost_mm=400), free), leg)
    assert len(loose.wires) > 3
    three = bundle_diameter_mm([OD_MM] * 3)
    assert three < loose.diameter_mm
    harness = gate(hole_mm=round(three + 0.05, 2), joint_cost_mm=400)
    plan = best_plan(harness)
    assert not stuck(harness, plan)
    assert len(bundle_of(apply(harness, plan), harness.legs[1]).wires) == 3
    dearer = [net for net in plan.nets if net.for_room_mm]
    assert dearer
    for net in dearer:
        least = free.net(net.output)
        assert net.cost_mm == pytest.approx(least.cost_mm + net.for_room_mm)
        assert net.bound_mm == least.bound_mm
        assert not net.exact
        assert sure(net) == f"within {100 * net.gap:.1f} %, for a hole"
    figures = compare(harness)
    assert (figures.own_pairs.stuck, figures.best.stuck) == (1, 0)


def test_a_hole_that_is_wide_enough_changes_nothing():
    free, wide = gate(joint_cost_mm=400), gate(hole_mm=20, joint_cost_mm=400)
    assert [net.cost_mm for net in best_plan(wide).nets] == [net.cost_mm for net in best_plan(free).nets]
    assert not any(net.for_room_mm for net in best_plan(wide).nets)


def test_a_hole_that_nothing_passes_leaves_the_cheapest_plan():
    free, tight = gate(joint_cost_mm=400), gate(hole_mm=OD_MM, joint_cost_mm=400)
    plan = best_plan(tight)
    assert stuck(tight, plan) == [tight.legs[1]]
    assert [net.cost_mm for net in plan.nets] == [net.cost_mm for net in best_plan(free).nets]


def narrowed(seed: int) -> Harness:
    """A model of which three full legs get a hole that is a little too small for the cheapest plan."""
    harness, dice = large_model(20, 5, 12, seed), Random(seed)
    full = [bundle for bundle in bundles(apply(harness, best_plan(harness))) if len(bundle.wires) > 3]
    for bundle in dice.sample(full, min(3, len(full))):
        hole_mm = round(bundle.diameter_mm * dice.choice((0.75, 0.85, 0.95)), 1)
        harness = editing.set_leg(harness, bundle.leg.a, bundle.leg.b, hole_mm=hole_mm)
    return harness


def without_holes(harness: Harness) -> Harness:
    legs = tuple(attrs.evolve(leg, hole_mm=None) for leg in harness.legs)
    return attrs.evolve(harness, legs=legs)


def test_what_holds_for_any_holes():
    passed = 0
    for seed in range(5):
        harness = narrowed(seed)
        free, plan = best_plan(without_holes(harness)), best_plan(harness)
        before, after = stuck(harness, free), stuck(harness, plan)
        assert {leg.ends for leg in after} <= {leg.ends for leg in before}, seed
        passed += len(before) - len(after)
        for net in plan.nets:
            least = free.net(net.output)
            assert net.cost_mm == pytest.approx(least.cost_mm + net.for_room_mm), seed
            assert least.bound_mm <= net.bound_mm + 1e-6 <= net.cost_mm + 2e-6, seed
        if len(after) == len(before):
            assert [net.cost_mm for net in plan.nets] == [net.cost_mm for net in free.nets], seed
        settled = settle(apply(harness, plan))
        assert_connected(settled)
        assert derive(settled).spool_mm == pytest.approx(plan.wire_mm)
        assert apply(settled, best_plan(settled)) is settled, "taken over it is what is planned"
    assert passed > 2


def test_a_toll_is_paid_by_every_wire_that_passes():
    """The tolled price of a tree less its price is the toll times the wires in the leg."""
    for seed in range(12):
        harness, dice = large_model(9, 2, 8, seed), Random(seed)
        leg = dice.choice(harness.legs)
        for output, plan in itertools.product(nets(harness), (own_pairs(harness), best_plan(harness))):
            net = build_net(harness, output)
            tree = net.tree(plan.net(output).layout)
            assert isinstance(tree, Tree)
            tolled_problem = tolled(harness, net, {leg.ends: 15.0})
            more_mm = tree_cost(tolled_problem, tree) - tree_cost(net.problem, tree)
            joined = apply(harness, plan, [output])
            inside = bundle_of(joined, leg).wires
            own = [wire for wire in inside if wire.output == output and wire.polarity is net.polarity]
            assert more_mm == pytest.approx(15.0 * len(own)), seed


def test_work_on_holes_can_be_given_up_too():
    class Stop(Exception):
        pass

    shares: list[float] = []

    def report(share: float) -> None:
        shares.append(share)
        if share > 0.75:
            raise Stop

    with pytest.raises(Stop):
        best_plan(narrowed(4), report)
    assert shares == sorted(shares)
