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
from model.findings import Severity
from model.harness import Build, Delivers, Harness, Supply
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
    found = [one for one in check(harness) if one.rule == "output limit"]
    over = {f"output {load.output.number}" for load in loads.outputs if load.margin_ma < 0}
    at_worst = {
        f"output {load.output.number}" for load in loads.outputs if load.worst_ma > load.output.limit_ma
    }
    assert {one.subject for one in found if one.severity is Severity.DANGER} == over
    assert {one.subject for one in found} == over | at_worst


def test_how_long_a_pack_lasts() -> None:
    harness = settle(accept_run(three_lamps(), "L1", RunChoice()))
    assert pack_lasts_h(harness) is None
    harness = editing.set_supply(harness, Supply(capacity_mah=3000))
    hours = pack_lasts_h(harness)
    assert hours is not None
    # Three lamps on outputs, one of them wired, at 7.2 V through 470 ohm: (7.2 - 3.2) / 470 = 8.5 mA each,
    # the wired one a little more by its curve. The one without an output draws nothing.
    assert 3 * 8.5 < 3000 / hours < 3 * 8.5 + 0.7


@pytest.mark.parametrize(
    ("lamp", "worst_ma"),
    [
        ({"colour": "amber"}, (8.7 - 1.9) / 0.532),  # 560 ohm less 5 %
        ({"colour": "amber", "resistor_ohm": 680.0}, (8.7 - 1.9) / 0.646),
        # 345 ohm inside: 6.9 V at 20 mA
        ({"colour": "amber", "build": Build.WIRED, "rated_v": 9.0}, (8.7 - 1.9) / (0.95 * 0.345)),
    ],
)
def test_the_worst_that_a_lamp_draws(lamp: dict[str, object], worst_ma: float) -> None:
    loads = output_loads(add_lamp(new_harness("Tug", "TUG"), "port", output=1, **lamp))
    assert loads.outputs[0].worst_ma == loads.worst_ma == pytest.approx(worst_ma)


def test_an_output_of_limited_current_gives_no_more_at_the_worst() -> None:
    harness = editing.edit_output(three_lamps(), 1, delivers=Delivers.CURRENT, delivers_ma=20.0)
    assert output_loads(harness).outputs[0].worst_ma == pytest.approx(20.0)


@pytest.mark.parametrize(
    ("lamps", "full_ma", "worst_ma", "fuse_ma"),
    [
        (6, 70.7, 76.7, 100.0),  # a quarter over the usual sum
        (0, 0.0, 0.0, None),
        (700, 8250.0, 8947.0, None),  # more than any fuse of the table holds
    ],
)
def test_the_fuse(lamps: int, full_ma: float, worst_ma: float, fuse_ma: float | None) -> None:
    harness = new_harness("Tug", "TUG")
    for number in range(lamps):
        harness = add_lamp(harness, f"lamp {number}", output=1, colour="amber")
    loads = output_loads(harness)
    assert loads.total_ma == pytest.approx(full_ma, rel=1e-3)
    assert loads.worst_ma == pytest.approx(worst_ma, rel=1e-3)
    assert loads.fuse_ma == fuse_ma


def test_the_fuse_stays_whole_at_the_worst() -> None:
    """With resistors of 20 % the spread is more than the fuse's own margin of a quarter."""
    harness = editing.set_settings(new_harness("Tug", "TUG"), resistor_tolerance_pct=20.0)
    for number in range(12):
        harness = add_lamp(harness, f"lamp {number}", output=1, colour="white", resistor_ohm=835.0)
    loads = output_loads(harness)
    assert 1.25 * loads.total_ma < 100 < loads.worst_ma
    assert loads.fuse_ma == 125


@settings(max_examples=30, deadline=None)
@given(harnesses(lamps=(0, 12), points=(1, 5)))
def test_the_worst_is_never_less_than_the_usual(harness: Harness) -> None:
    loads = output_loads(harness)
    for load in (*loads.outputs, *loads.commons):
        assert load.worst_ma >= load.full_ma
