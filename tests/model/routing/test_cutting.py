"""The cutting plan: remnants first, nothing short, what to buy, and how often the spool changes."""

from __future__ import annotations

from random import Random

import pytest

from model import editing
from model.errors import Conflict
from model.harness import Harness, Spool
from model.routing.allot import settle
from model.routing.cutting import END_MM, CuttingPlan, GroupCuts, cutting_plan
from model.routing.merge_plan import apply, best_plan
from model.routing.wires import derive
from tests.large_models import large_model
from tests.strategies import harness_from_seed

DAY = "2026-03-03"


def lamps_at(*runs: float, spools: tuple[Spool, ...] = ()) -> Harness:
    """Lamps on outputs of their own, measured so that each wire is cut to the length given."""
    harness = editing.new_harness("cuts", "CUT")
    # 15 at the lamp, 60 loop, 3 and 3 strip: 81 besides the run; slack off.
    harness = editing.set_settings(harness, slack_pct=0, slack_min_mm=0, round_mm=1)
    for number, cut_mm in enumerate(runs):
        harness = editing.add_lamp(harness, f"lamp {number}", output=number % 6 + 1, measured_mm=cut_mm - 81)
        harness = editing.accept_run(harness, harness.lamps[-1].id, editing.RunChoice())
    return editing.set_spools(settle(harness), spools)


def red(name: str, length_mm: float) -> Spool:
    return Spool(name=name, colour="RD", length_mm=length_mm)


def group(plan: CuttingPlan, colour: str = "RD") -> GroupCuts:
    return next(one for one in plan.groups if one.colour == colour)


def cuts(found: GroupCuts) -> dict[str, list[float]]:
    return {rod.name: [piece.cut_mm for piece in rod.pieces] for rod in found.rods}


def test_without_spools_new_ones_are_assumed():
    plan = cutting_plan(lamps_at(600, 450, 300))
    assert [(one.colour, one.count, one.buy, one.assumed) for one in plan.groups] == [
        ("RD", 3, 1, True),
        ("BK", 3, 1, True),
    ]
    assert cuts(group(plan)) == {"new 1": [600, 450, 300]}
    assert (plan.changes, plan.changes_by_wire) == (1, 5)


def test_short_lengths_are_used_up_before_a_spool_is_cut():
    stock = (red("spool", 10_000), red("long rest", 1200), red("short rest", 755))
    found = group(cutting_plan(lamps_at(600, 450, 300, 300, 150, spools=stock)))
    # The short one comes out even but for its end: 450 + 300; the long one gives 600 + 300 + 150.
    assert [rod.left_mm for rod in found.rods] == [5, 150]
    assert [rod.name for rod in found.rods] == ["short rest", "long rest"]
    assert found.total_mm == 1800
    assert (found.scrap_mm, found.scrap_bound_mm) == (5, 5)
    assert found.exact
    assert found.buy == 0


def test_nothing_comes_out_short():
    stock = (red("a", 500), red("b", 500))
    found = group(cutting_plan(lamps_at(300, 300, 300, spools=stock)))
    # 900 of 1,000 mm, but only one piece goes into each.
    assert cuts(found) == {"a": [300], "b": [300], "new 1": [300]}
    assert (found.buy, found.buy_bound, found.exact) == (1, 1, True)


@pytest.mark.parametrize(("length_mm", "buy"), [(904, 1), (905, 0)])
def test_the_last_piece_does_not_need_the_very_end(length_mm: float, buy: int):
    """A rest that is as long as its pieces to the millimetre would be short by what a ruler misses."""
    found = group(cutting_plan(lamps_at(300, 300, 300, spools=(red("rest", length_mm),))))
    assert found.buy == buy


def test_a_remnant_too_short_for_anything_is_left_alone():
    found = group(cutting_plan(lamps_at(300, spools=(red("crumb", 200), red("spool", 5000)))))
    assert cuts(found) == {"spool": [300]}


def test_a_wire_longer_than_what_is_sold():
    found = group(cutting_plan(lamps_at(2500, 400), sold_mm=1000))
    assert found.sold_mm == 3000
    assert cuts(found) == {"new 1": [2500, 400]}


def test_wires_that_are_cut_are_not_cut_again():
    harness = lamps_at(600, 450)
    live = harness.ledger.live()
    harness = editing.do_step(harness, live["L1+"].tag, "cut", DAY)
    harness = editing.set_cut(harness, live["L2-"].tag, 460.0, DAY)
    plan = cutting_plan(harness)
    assert {piece.key for one in plan.groups for rod in one.rods for piece in rod.pieces} == {"L1-", "L2+"}


def test_spools_need_names_of_their_own():
    with pytest.raises(Conflict, match="stands 2 times"):
        editing.set_spools(lamps_at(300), [red("a", 100), red("a", 200)])
    harness = lamps_at(300, spools=(red("a", 100),))
    assert editing.set_spools(harness, harness.spools) is harness


def check(harness: Harness, plan: CuttingPlan) -> None:
    """Every wire once, from its own colour and gauge, and no length more than it has."""
    wires = derive(harness).by_key
    seen = []
    on_hand = {spool.name: spool for spool in harness.spools}
    for found in plan.groups:
        for rod in found.rods:
            assert rod.used_mm <= rod.length_mm - END_MM + 1e-6
            if not rod.bought:
                spool = on_hand[rod.name]
                assert (spool.colour, spool.gauge, spool.length_mm) == (
                    found.colour,
                    found.gauge,
                    rod.length_mm,
                )
            for piece in rod.pieces:
                wire = wires[piece.key]
                assert (wire.colour, wire.gauge, wire.cut_mm) == (found.colour, found.gauge, piece.cut_mm)
                seen.append(piece.key)
        assert found.scrap_bound_mm <= found.scrap_mm + 1e-6
        assert found.buy_bound <= found.buy
        assert found.buy == sum(rod.bought for rod in found.rods)
    live = harness.ledger.live()
    waiting = [
        wire.key
        for wire in wires.values()
        if not wire.own_lead and "cut" not in live[wire.key].steps and live[wire.key].cut_mm is None
    ]
    assert sorted(seen) == sorted(waiting)
    assert plan.changes <= plan.changes_by_wire or plan.changes_by_wire == 0


@pytest.mark.parametrize("seed", range(40))
def test_any_cutting_plan(seed: int):
    dice = Random(seed)
    harness = harness_from_seed(seed, world=True, lamps=(1, 10))
    wires = derive(harness).wires
    kinds = sorted({(wire.colour, wire.gauge) for wire in wires})
    if kinds:
        spools = [
            Spool(name=f"s{number}", colour=colour, gauge=gauge, length_mm=dice.uniform(50, 3000))
            for number, (colour, gauge) in enumerate(dice.choices(kinds, k=dice.randint(0, 6)))
        ]
        harness = editing.set_spools(harness, spools)
    check(harness, cutting_plan(harness, sold_mm=dice.choice((2500.0, 10_000.0))))


def test_a_large_model_is_cut_at_the_bound():
    harness = large_model(150, 20, 40, seed=1)
    harness = settle(apply(harness, best_plan(harness)))
    dice = Random(1)
    spools = [
        Spool(name=f"s{number}", colour=dice.choice(("RD", "BK")), length_mm=float(dice.randint(200, 9000)))
        for number in range(12)
    ]
    harness = editing.set_spools(harness, spools)
    plan = cutting_plan(harness)
    check(harness, plan)
    assert all(found.exact for found in plan.groups)
    assert plan.changes < plan.changes_by_wire / 5
