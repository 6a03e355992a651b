"""The plan as tables: the figures of the plan, every net and merge once, and words for how sure it is."""

from __future__ import annotations

import csv
import io
from random import Random

from model import editing
from model.papers.plan_table import bundle_table, plan_csv, plan_tables, plan_text, sure
from model.routing.allot import settle
from model.routing.merge_plan import apply, best_plan
from model.routing.plan_compare import compare
from tests.large_models import large_model
from tests.strategies import walk


def test_the_tables_hold_the_plan():
    harness = walk(large_model(20, 6, 10, seed=1), Random(1), merges=0.3)
    compared = compare(harness)
    plans, nets, merges, bundles = plan_tables(harness, compared)
    assert [row[0] for row in plans.rows] == ["own pairs", "best", "as it stands"]
    assert [row[1] for row in plans.rows] == [f"{one.wire_mm / 1000:.2f}" for one in compared.columns]
    assert len(nets.rows) == len(compared.plan.nets)
    assert sum(float(row[2]) for row in nets.rows) == compared.plan.wire_mm
    joints = [row[1] for row in merges.rows]
    assert sorted(joints) == sorted(joint.id for joint in compared.best.harness.joints)
    assert {row[5] for row in merges.rows} <= {*joints, "pin"}
    assert sum(int(row[3]) > 0 for row in bundles.rows) == len(bundles.rows)


def test_how_sure_it_is():
    plan = best_plan(large_model(30, 3, 12, seed=1))
    words = {sure(net) for net in plan.nets}
    assert "the least" in words
    common = plan.net(None)
    assert sure(common) == f"within {100 * common.gap:.1f} %"
    harness = settle(apply(large_model(5, 2, 4), best_plan(large_model(5, 2, 4))))
    assert {sure(net) for net in best_plan(harness).nets} == {"the least, as it stands"}


def test_a_hole_that_is_too_small_is_said():
    harness = settle(apply(large_model(9, 2, 3), best_plan(large_model(9, 2, 3))))
    for leg in harness.legs:
        harness = editing.set_leg(harness, leg.a, leg.b, hole_mm=0.5)
    assert {row[-1] for row in bundle_table(harness).rows} == {"no"}


def test_the_text_has_tables_picture_and_what_was_left_out():
    harness = editing.add_lamp(large_model(5, 2, 4), "[/] adrift")
    text = plan_text(harness)
    for part in ("Plans", "Best plan by net", "Merges", "Bundles", "The best plan", "joint"):
        assert part in text
    assert "[/] adrift: has no output, so no plan can hold it." in text
    assert "\x1b" not in text


def test_csv_is_read_back():
    rows = list(csv.reader(io.StringIO(plan_csv(large_model(5, 2, 4)))))
    assert rows[0][0] == "plan"
    assert [row[0] for row in rows[1:4]] == ["own pairs", "best", "as it stands"]


def test_nothing_to_plan():
    text = plan_text(editing.new_harness("empty", "EMP"))
    assert "own pairs" in text
    assert "controller" in text
