"""Sums per output and common pin: what the screen adds up is what the checks judge."""

from __future__ import annotations

import pytest
from hypothesis import given, settings

from model import editing
from model.checks import check
from model.editing import RunChoice, accept_run, add_lamp, new_harness
from model.electrics.lamps import all_lamps
from model.electrics.network import worst_case
from model.electrics.outputs import output_loads, output_sums_ma, pack_lasts_h
from model.harness import Harness, Supply
from model.routing.allot import settle
from tests.strategies import harnesses


def three_lamps() -> Harness:
    harness = new_harness("Tug", "TUG")
    for name, output in (("port", 1), ("starboard", 1), ("stern", 2), ("spare", None)):
        harness = add_lamp(harness, name, output=output, measured_mm=300.0)
    return harness


def test_sums_before_anything_is_walked_are_those_of_the_data_sheets() -> None:
    harness = three_lamps()
    loads = output_loads(harness)
    each_ma = all_lamps(harness)["L1"].current.full_ma
    assert [round(load.full_ma, 6) for load in loads.outputs[:3]] == [
        round(2 * each_ma, 6),
        round(each_ma, 6),
        0,
    ]
    assert loads.outputs[0].margin_ma == pytest.approx(250 - 2 * each_ma)
    assert loads.total_ma == pytest.approx(3 * each_ma)
    assert [lamp.name for lamp in loads.homeless] == ["spare"]
    assert loads.unplanned_ma == pytest.approx(3 * each_ma)
    assert loads.commons[0].full_ma == 0


def test_a_walked_lamp_comes_back_through_its_common_pin() -> None:
    harness = three_lamps()
    for lamp in ("L1", "L3"):
        harness = settle(accept_run(harness, lamp, RunChoice()))
    loads = output_loads(harness)
    wired = worst_case(harness).lamp_ma
    assert [lamp.name for lamp in loads.commons[0].lamps] == ["port", "stern"]
    assert loads.commons[0].full_ma == pytest.approx(wired["L1"] + wired["L3"])
    assert loads.commons[0].ref == "A.7"
    assert [lamp.name for lamp in loads.unplanned] == ["starboard"]


def test_a_lamp_without_output_draws_nothing_through_its_pin() -> None:
    harness = settle(accept_run(three_lamps(), "L4", RunChoice()))
    assert output_loads(harness).commons[0].lamps == ()


@settings(max_examples=40, deadline=None)
@given(harnesses())
def test_outputs_and_commons_carry_the_same_current(harness: Harness) -> None:
    loads = output_loads(harness)
    assert sum(load.full_ma for load in loads.commons) + loads.unplanned_ma == pytest.approx(
        loads.total_ma, abs=1e-6
    )


@settings(max_examples=40, deadline=None)
@given(harnesses())
def test_the_sums_are_those_the_checks_judge(harness: Harness) -> None:
    loads = output_loads(harness)
    assert {
        load.output.number: pytest.approx(load.full_ma, abs=1e-6) for load in loads.outputs
    } == output_sums_ma(harness)
    over = {f"output {load.output.number}" for load in loads.outputs if load.margin_ma < -1e-6}
    assert {one.subject for one in check(harness) if one.rule == "output limit"} == over


def test_how_long_a_pack_lasts() -> None:
    harness = settle(accept_run(three_lamps(), "L1", RunChoice()))
    assert pack_lasts_h(harness) is None
    harness = editing.set_supply(harness, Supply(capacity_mah=3000))
    hours = pack_lasts_h(harness)
    assert hours is not None
    # Three lamps on outputs, one of them wired, at 7.2 V through 470 ohm: (7.2 - 3.2) / 470 = 8.5 mA each,
    # the wired one a little more by its curve. The one without an output draws nothing.
    assert 3 * 8.5 < 3000 / hours < 3 * 8.5 + 0.7
