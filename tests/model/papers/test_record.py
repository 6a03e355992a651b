"""Bench cards and the test record say what the bench says."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from model import editing
from model.bench import StepKind, bench_order, joint_card, most_ohm, steps
from model.checks import check
from model.electrics.lamps import all_lamps
from model.electrics.network import usual_case
from model.electrics.outputs import output_loads
from model.harness import Harness, Supply
from model.papers.bench_cards import bench_tables, wire_cards
from model.papers.electrics_table import sum_table
from model.papers.parts import part_table
from model.papers.record import BY_HAND, day_tested, record_tables
from model.papers.table import as_text
from tests.model.papers.looms import planned
from tests.model.tracing.loom import gritter
from tests.strategies import harnesses

DAY = "2026-03-03"


@settings(max_examples=20, deadline=None)
@given(harness=harnesses(lamps=(1, 6), world=True))
def test_a_card_has_the_steps_of_the_bench(harness: Harness) -> None:
    cards = wire_cards(harness)
    live = harness.ledger.live()
    assert [card.tag for card in cards] == [live[wire.key].tag for wire in bench_order(harness)]
    for card, wire in zip(cards, bench_order(harness), strict=True):
        done = live[wire.key].steps
        assert card.steps == tuple((step.words, step.id in done) for step in steps(harness, wire))
        if live[wire.key].cut_mm is None and not wire.own_lead:
            assert f"cut {card.cut_mm:g} mm of {card.colour_name} {card.gauge}" in card.steps[0][0]


def test_a_joint_has_its_tags_and_its_trunk() -> None:
    harness = planned("gritter")
    _, joints = bench_tables(harness)
    assert [row[0] for row in joints.rows] == [joint.id for joint in harness.joints]
    for row in joints.rows:
        card = joint_card(harness, row[0])
        assert row[3].split() + row[4].split() == [one.tag for one in card.wires]


def test_the_record_names_the_day_of_the_test_and_leaves_room_for_a_pencil() -> None:
    harness = editing.do_step(gritter(), "K7L", StepKind.TEST.value, DAY)
    tables = record_tables(harness)
    assert all(table.by_hand == BY_HAND for table in tables)
    wires = next(table for table in tables if table.title.startswith("Wires"))
    by_tag = {row[0]: dict(zip(wires.columns, row, strict=True)) for row in wires.rows}
    assert by_tag["K7L"]["tested"] == DAY
    assert by_tag["H4E"]["tested"] == ""
    assert all(row[-1] == row[-2] == row[-3] == "" for row in wires.rows)
    assert all(name in as_text(wires) for name in BY_HAND)
    for wire in bench_order(harness):
        tag = harness.ledger.live()[wire.key].tag
        assert by_tag[tag]["under ohm"] == str(most_ohm(wire))
        assert f"under {most_ohm(wire)} ohm" in steps(harness, wire)[-1].words


def test_a_test_that_is_taken_back_is_no_test() -> None:
    harness = editing.do_step(gritter(), "K7L", StepKind.TEST.value, DAY)
    harness = editing.undo_step(harness, "K7L", StepKind.TEST.value, DAY)
    assert day_tested(harness.ledger.get("K7L")) == ""
    assert day_tested(None) == ""


def test_outputs_carry_what_the_output_map_says() -> None:
    harness = planned("gritter")
    outputs = record_tables(harness)[-1]
    loads = {str(load.output.number): load for load in output_loads(harness).outputs if load.lamps}
    assert {row[0] for row in outputs.rows} == set(loads)
    for row in outputs.rows:
        assert float(row[3]) == pytest.approx(loads[row[0]].full_ma, abs=0.05)


@pytest.mark.parametrize("name", ["gritter", "tug"])
def test_volts_and_current_of_a_lamp_can_both_be_true(name: str) -> None:
    """What the resistor and the wires drop at that current is what is missing to the supply's volts."""
    harness = planned(name)
    wired = usual_case(harness)
    table = next(table for table in record_tables(harness) if table.title.startswith("Lamps"))
    figures = {lamp.name: (lamp.id, all_lamps(harness)[lamp.id]) for lamp in harness.lamps}
    checked = 0
    for row in table.rows:
        lamp_id, one = figures[row[0]]
        if not one.choice or lamp_id not in wired.lamp_ma or row[2] == "not yet":
            continue
        ohm = one.choice.ohm
        left_v = one.supply.nominal_v - wired.lost_mv[lamp_id] / 1000 - float(row[2])
        assert left_v == pytest.approx(float(row[3]) / 1000 * ohm, abs=0.06 + 0.05e-3 * ohm), row
        checked += 1
    assert checked > 5


def test_a_regulated_supply_is_no_battery() -> None:
    harness = editing.set_supply(gritter(), Supply(chemistry="regulated", nominal_v=5.0))
    words = " ".join(
        " ".join((table.title, *table.columns, *(cell for row in table.rows for cell in row)))
        for table in (*record_tables(harness), sum_table(harness), part_table(harness))
    )
    assert "Outputs, at 5 V" in words
    assert "positive supply lead" in words
    assert "battery" not in words
    findings = check(harness)
    assert findings
    assert not [one for one in findings if "battery" in f"{one.subject} {one.found} {one.remedy}"]
