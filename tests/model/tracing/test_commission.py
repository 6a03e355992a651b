"""The first power-on: what to expect, what was found, and the record that stays."""

from __future__ import annotations

import attrs
import pytest

from model import editing
from model.electrics.network import Spread, circuit_of, conditions_of
from model.errors import BadValue
from model.papers.record import record_tables
from model.tracing.behaviour import Sight
from model.tracing.commission import (
    REPAIRED,
    checklist,
    current_verdict,
    isolation,
    isolation_verdict,
    last_readings,
    last_sights,
    log_all_lit,
    log_current,
    log_isolation,
    log_lamp,
    log_repair,
    output_tests,
    parse_ohm,
    record_table,
    short_places,
    trace_of_tests,
)
from model.tracing.trace import suspects
from tests.model.tracing.loom import gritter
from tests.spice import needs_ngspice, spice

DAY = "2026-03-03"


def test_the_checks_in_order() -> None:
    found = checklist(gritter())
    assert found[0].id == "battery"
    words = {item.id: item.words for item in found}
    assert "9 of 9 are not made yet" in words["wires"]
    assert words["plugs"].startswith("plug P1 ")
    assert "0.1 A" in words["fuse"]
    assert len(words) == len(found)


def test_between_common_and_output_nothing_leads() -> None:
    found = isolation(gritter())
    assert [one.output for one in found] == [2, 5]
    for one in found:
        assert one.least_ohm == pytest.approx(1e6)
        assert isolation_verdict(one, None) == ""
        assert isolation_verdict(one, 2e6) == ""
        assert "short circuit" in isolation_verdict(one, 0.4)
        assert "at least" in isolation_verdict(one, 4700.0)


def test_what_each_output_should_do() -> None:
    tests = output_tests(gritter())
    assert [(one.output, [lamp.name for lamp in one.lamps]) for one in tests] == [
        (2, ["Beacon"]),
        (5, ["Indicator front left", "Indicator side left"]),
    ]
    assert [lamp.tag for lamp in tests[1].lamps] == ["K7L", "H4E"]
    assert tests[1].tags == ("9C9",)
    for one in tests:
        assert one.least_ma < one.usual_ma < one.most_ma
        assert current_verdict(one, one.usual_ma) == ""
        assert "too much" in current_verdict(one, 2 * one.usual_ma)
        assert "too little" in current_verdict(one, 0.0)
        for current in (-1.0, float("nan"), float("inf")):
            with pytest.raises(BadValue):
                current_verdict(one, current)


@needs_ngspice
def test_currents_are_those_of_ngspice() -> None:
    harness = gritter()
    for one in output_tests(harness):
        for spread, bound in ((Spread.HIGH, one.least_ma / 0.9), (Spread.LOW, one.most_ma / 1.1)):
            conditions = attrs.evolve(conditions_of(harness.settings), spread=spread)
            circuit = circuit_of(harness, supply_v=one.battery_v, on={one.output}, conditions=conditions)
            lamp_a, _ = spice(circuit)
            assert 1000 * sum(lamp_a.values()) == pytest.approx(bound, rel=2e-3)


def test_a_test_is_written_down_and_opens_a_trace() -> None:
    harness = gritter()
    beacon, indicators = output_tests(harness)
    harness = log_all_lit(harness, beacon, DAY)
    harness = log_lamp(harness, indicators, "L1", Sight.DARK, DAY)
    harness = log_lamp(harness, indicators, "L2", Sight.LIT, DAY)
    assert last_sights(harness) == {
        "L1": (DAY, Sight.DARK),
        "L2": (DAY, Sight.LIT),
        "L3": (DAY, Sight.LIT),
    }
    trace = trace_of_tests(harness)
    assert trace.odd == ("L1",)
    found = suspects(trace)
    assert found

    harness = log_repair(harness, trace, found[0].faults, "soldered anew", DAY)
    history = harness.ledger.get("K7L").events
    assert [(event.what, event.note) for event in history] == [
        ("tested", "dark with output 5"),
        ("repaired", "soldered anew"),
    ]
    # What was seen before the repair says nothing any more.
    assert set(last_sights(harness)) == {"L2", "L3"}
    harness = log_lamp(harness, indicators, "L1", Sight.LIT, "2026-03-04")
    assert trace_of_tests(harness).odd == ()


def test_readings_are_judged_and_kept() -> None:
    harness = gritter()
    beacon = output_tests(harness)[0]
    harness = log_current(harness, beacon, round(beacon.usual_ma, 1), DAY)
    harness = log_current(harness, beacon, 90.0, DAY)
    harness = log_isolation(harness, isolation(harness)[0], None, DAY)
    harness = log_isolation(harness, isolation(harness)[0], 3.0, "2026-03-02")
    assert record_tables(gritter())[-1].title == "Outputs, full battery"
    table = record_tables(harness)[-1]
    assert table == record_table(harness)
    assert table.columns == ("day", "tag", "what", "result", "wire")
    results = [row[3] for row in table.rows]
    assert results[0] == "common to its pin: 3 ohm, wrong"
    assert [row[0] for row in table.rows] == sorted(row[0] for row in table.rows)
    assert any("8.9 mA, right (7 to 11 mA)" in result for result in results)
    assert any("90 mA, wrong" in result for result in results)
    assert "common to its pin: over range, right" in results
    assert {row[1] for row in table.rows} == {"N6H"}


@pytest.mark.parametrize(
    ("typed", "ohm"),
    [("4", 4.0), ("12k", 12e3), ("2.2 Mohm", 2.2e6), ("0,47 M", 0.47e6), ("", None), ("OL", None)],
)
def test_a_resistance_as_a_meter_shows_it(typed: str, ohm: float | None) -> None:
    assert parse_ohm(typed) == (None if ohm is None else pytest.approx(ohm))


@pytest.mark.parametrize("typed", ["many", "k", "4 V"])
def test_what_is_no_resistance(typed: str) -> None:
    with pytest.raises(BadValue, match="resistance"):
        parse_ohm(typed)


def test_the_last_readings_until_a_repair() -> None:
    harness = gritter()
    one = next(one for one in isolation(harness) if one.output == 5)
    test = next(test for test in output_tests(harness) if test.output == 5)
    harness = log_isolation(harness, one, 4.0, DAY)
    harness = log_isolation(harness, one, None, DAY)
    harness = log_current(harness, test, 21.5, DAY)
    assert dict(last_readings(harness).ohms) == {one.ref: float("inf")}
    assert dict(last_readings(harness).currents_ma) == {5: 21.5}
    mended = editing.log_event(harness, test.tags[0], REPAIRED, "soldered", DAY)
    assert not last_readings(mended).ohms
    assert not last_readings(mended).currents_ma


def test_where_plus_and_minus_may_touch() -> None:
    harness = gritter()
    one = next(one for one in isolation(harness) if one.output == 5)
    assert short_places(harness, one) == ("Indicator front left", "Indicator side left")
