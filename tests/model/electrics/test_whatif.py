"""What changes with another supply or series."""

from __future__ import annotations

import pytest

from model import editing
from model.bench import StepKind, mark_step
from model.electrics.whatif import compare
from model.harness import Build, Harness, Supply
from model.routing.allot import settle


def two_lamps() -> Harness:
    harness = editing.new_harness("Test", "TST")
    harness = editing.add_lamp(harness, "bare", colour="amber", output=1)
    return editing.add_lamp(harness, "wired", colour="white", build=Build.WIRED, rated_v=9.0, output=2)


def test_nothing_changes() -> None:
    harness = two_lamps()
    comparison = compare(harness, editing.edit_lamp(harness, "L1", place="elsewhere"))
    assert comparison.same
    assert comparison.lamps == ()
    assert comparison.total_after_ma == comparison.total_before_ma > 0


def test_another_supply() -> None:
    harness = two_lamps()
    comparison = compare(harness, editing.set_supply(harness, Supply(chemistry="NiMH", cells=8)))
    bare, wired = comparison.lamps
    assert (bare.lamp.name, wired.lamp.name) == ("bare", "wired")
    assert bare.other_resistor
    assert bare.before is not None
    assert bare.after is not None
    assert (bare.before.series_ohm, bare.after.series_ohm) == (560, 820)
    assert not wired.other_resistor
    assert wired.worse
    assert not wired.better
    assert [change.number for change in comparison.outputs] == [1, 2]
    assert (comparison.volts_before.nominal_v, comparison.volts_after.nominal_v) == (7.2, 9.6)


def test_a_soldered_resistor_stays() -> None:
    harness = two_lamps()
    harness = editing.edit_lamp(harness, "L1", measured_mm=300.0)
    harness = settle(editing.accept_run(harness, "L1", editing.RunChoice()))
    tag = harness.ledger.live()["L1+"].tag
    typed = editing.edit_lamp(harness, "L1", resistor_ohm=560.0)
    made = mark_step(harness, tag, StepKind.LAMP, "2026-03-03")
    higher = Supply(chemistry="NiMH", cells=8)
    for before, soldered in ((harness, False), (typed, False), (made, True)):
        (bare, _) = compare(before, editing.set_supply(before, higher)).lamps
        assert bare.soldered is soldered
    assert not bare.other_resistor


def test_back_again_is_better() -> None:
    harness = two_lamps()
    higher = editing.set_supply(harness, Supply(chemistry="NiMH", cells=8))
    wired = compare(higher, harness).lamps[1]
    assert wired.better
    assert not wired.worse


def test_another_series() -> None:
    harness = two_lamps()
    comparison = compare(harness, editing.set_settings(harness, series="E24"))
    (bare,) = comparison.lamps
    assert bare.after is not None
    assert bare.after.series_ohm == 510
    (output,) = comparison.outputs
    assert output.before_ma == pytest.approx(1000 * 6.6 / 560)
    assert output.after_ma == pytest.approx(1000 * 6.6 / 510)
    assert output.limit_ma == 250
    assert not output.over


def test_an_output_that_comes_over_its_limit() -> None:
    harness = editing.edit_output(two_lamps(), 1, limit_ma=12.0)
    comparison = compare(harness, editing.set_settings(harness, series="E24"))
    assert [change.over for change in comparison.outputs] == [True]
    assert not compare(editing.set_settings(harness, series="E24"), harness).outputs[0].over


def test_lamps_and_outputs_that_come_and_go() -> None:
    harness = two_lamps()
    more = editing.add_lamp(editing.add_block(harness), "new", output=7)
    comparison = compare(harness, more)
    (new,) = comparison.lamps
    assert new.before is None
    assert new.other_resistor
    assert [change.number for change in comparison.outputs] == [7, 8, 9, 10, 11, 12]
    assert comparison.outputs[0].before_ma is None
    (gone,) = compare(more, harness).lamps
    assert gone.after is None
    assert not gone.worse
