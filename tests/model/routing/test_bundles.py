"""Bundles in legs: what is in them, how thick they are, whether they pass, and what to do if not."""

from __future__ import annotations

from collections import Counter

import pytest

from model import editing
from model.errors import NotThere
from model.harness import Harness
from model.routing.allot import settle
from model.routing.bundles import _bundle, bundle_of, bundles, joint_fit, remedy_words, way_out
from model.routing.findings import route_findings
from model.routing.merge_plan import apply, best_plan, own_pairs
from model.routing.wires import derive
from model.standards.circles import enclosing_ratio
from model.standards.wire import gauge
from tests.large_models import large_model
from tests.strategies import harness_from_seed

OD_MM = gauge("28 AWG").od_mm


def spine(lamps: int, *, merged: bool = False, **leg: object) -> Harness:
    """Controller --100-- tip, with so many lamps on outputs 1, 2, 1, 2 ... at the tip."""
    harness = editing.add_waypoint(editing.new_harness("spine", "SPN"), "tip")
    harness = editing.set_leg(harness, "W1", "W2", length_mm=100, **leg)
    for number in range(lamps):
        harness = editing.add_lamp(harness, f"lamp {number}", output=number % 2 + 1, at="W2")
    return settle(apply(harness, best_plan(harness) if merged else own_pairs(harness)))


@pytest.mark.parametrize("lamps", range(1, 10))
def test_equal_wires_are_packed_as_the_table_says(lamps: int):
    (bundle,) = bundles(spine(lamps))
    assert len(bundle.wires) == 2 * lamps
    assert bundle.diameter_mm == pytest.approx(enclosing_ratio(2 * lamps) * OD_MM)
    assert bundle.by_hand_mm >= bundle.diameter_mm
    assert bundle.sleeve is not None
    assert bundle.sleeve.least_od_mm <= bundle.diameter_mm <= bundle.sleeve.greatest_od_mm


def test_a_leg_without_wires():
    (bundle,) = bundles(spine(0))
    assert (bundle.wires, bundle.diameter_mm, bundle.sleeve, bundle.passes) == ((), 0.0, None, None)


def test_a_plug_parts_each_wire_and_both_pieces_are_in_the_leg():
    harness = spine(2, plug="P1", plug_mm=40)
    (bundle,) = bundles(harness)
    assert len(bundle.wires) == len(bundle.behind) == 4
    assert {wire.controller_end.ref for wire in bundle.wires} == {wire.lamp_end.ref for wire in bundle.behind}


@pytest.mark.parametrize(
    ("lamps", "leg", "held", "times"),
    [(2, {}, "fixed bundle", 6), (2, {"loop_mm": 30}, "flexing", 10), (1, {"loop_mm": 30}, "flexing", 10)],
)
def test_the_least_bend_and_its_rule(lamps: int, leg: dict[str, object], held: str, times: float):
    (bundle,) = bundles(spine(lamps, **leg))
    assert bundle.held == held
    assert bundle.bend_mm == pytest.approx(times * bundle.diameter_mm)


def test_a_single_fixed_wire_bends_most():
    harness = spine(1)
    one = _bundle(harness.legs[0], list(derive(harness).wires[:1]), [])
    assert one.held == "fixed single wire"
    assert one.bend_mm == pytest.approx(2 * OD_MM)


@pytest.mark.parametrize(
    ("hole", "passes", "tight"),
    [(None, None, False), (1.0, False, False), (2.77, True, True), (4.0, True, False)],
)
def test_through_the_hole(hole: float | None, passes: bool | None, tight: bool):
    # Eight wires of 0.84 mm: 2.76 mm at best, 2.84 laid by hand.
    harness = spine(4, hole_mm=hole) if hole is not None else spine(4)
    (bundle,) = bundles(harness)
    assert bundle.passes is passes
    assert bundle.tight is tight


def test_what_would_let_it_through():
    harness = spine(4, hole_mm=2.0)
    (bundle,) = bundles(harness)
    out = way_out(harness, bundle)
    assert out.drill_mm == 3.0
    assert out.fits == 3
    # Four wires of the common, two each of both outputs: three wires are left if each is merged.
    assert out.merge == ((None, 4), (1, 2), (2, 2))
    assert out.merged_passes
    assert out.gauge is not None
    assert enclosing_ratio(8) * gauge(out.gauge).od_mm <= 2.0
    assert not out.round
    words = remedy_words(harness, bundle)
    assert words.startswith("Drill it to 3 mm, merge before it (common has 4 wires there), or use ")
    heavy = {wire.key: 200.0 for wire in bundle.wires}
    assert way_out(harness, bundle, heavy).gauge is None


def test_another_way_is_proposed_only_where_there_is_one():
    harness = editing.add_waypoint(spine(4, hole_mm=2.0), "round about")
    harness = editing.set_leg(harness, "W1", "W3", length_mm=300)
    assert not way_out(harness, bundle_of(harness, harness.legs[0])).round
    harness = editing.set_leg(harness, "W3", "W2", length_mm=300)
    assert "another way" in remedy_words(harness, bundle_of(harness, harness.legs[0]))


def test_findings():
    fine = spine(4, hole_mm=6.0)
    assert route_findings(fine) == ()
    (small,) = route_findings(spine(4, hole_mm=2.0))
    assert (small.rule, small.subject) == ("hole too small", "leg controller to tip")
    assert small.found == "8 wires make a bundle of 2.8 mm"
    assert small.limit == "hole of 2 mm"
    assert small.remedy.startswith("Drill it to 3 mm")
    (just,) = route_findings(spine(4, hole_mm=2.77))
    assert just.rule == "hole only just large enough"
    assert just.severity < small.severity
    # Ten times 2.76 mm is 27.6 mm; half a turn of that is 87 mm.
    assert route_findings(spine(4, loop_mm=10)) == ()
    (bend,) = route_findings(editing.set_leg(spine(4, loop_mm=10), "W1", "W2", length_mm=60))
    assert bend.rule == "bend too tight"
    assert bend.found == "8 wires need 87 mm for half a turn, it has 70 mm"
    assert bend.remedy.startswith("Give it a loop of 30 mm")
    mended = editing.set_leg(spine(4, loop_mm=30), "W1", "W2", length_mm=60)
    assert route_findings(mended) == ()


def test_every_wire_is_in_every_leg_that_it_passes():
    for seed in range(40):
        harness = harness_from_seed(seed, lamps=(1, 8))
        found: Counter[str] = Counter()
        for bundle in bundles(harness):
            found.update(wire.key for wire in (*bundle.wires, *bundle.behind))
        for wire in derive(harness).wires:
            plugs = sum(end.ref.startswith("P") for end in (wire.lamp_end, wire.controller_end))
            assert found[wire.key] == max(len(wire.path) - 1, 0) + plugs, (seed, wire.key)


def test_a_joints_sleeve_goes_over_all_and_grips_the_lamps_side():
    harness = spine(4, merged=True)
    for joint in harness.joints:
        fit = joint_fit(harness, joint.id)
        assert fit.lamp_side_mm < fit.all_mm
        assert fit.sleeve is not None
        assert fit.sleeve.greatest_od_mm >= fit.all_mm
        assert fit.sleeve.least_od_mm <= fit.lamp_side_mm
        assert fit.sleeve_mm == 19  # 8 mm overlap and 5 mm beyond on either side, 5 % longer
    with pytest.raises(NotThere):
        joint_fit(harness, "J99")


def test_large_bundles():
    harness = settle(apply(large_model(60, 12, 6, seed=1), own_pairs(large_model(60, 12, 6, seed=1))))
    for bundle in bundles(harness):
        assert bundle.diameter_mm >= (len(bundle.wires) ** 0.5) * OD_MM * 0.99
