"""The first power-on: what to expect, what was found, and the record that stays."""

from __future__ import annotations

import math

import attrs
import pytest

from harness_tui.examples import text
from model import editing
from model.electrics.network import Spread, circuit_of, conditions_of
from model.errors import BadValue
from model.papers.record import record_tables
from model.routing.allot import settle
from model.routing.wires import derive
from model.store import loads
from model.tracing.behaviour import Sight
from model.tracing.commission import (
    REPAIRED,
    checklist,
    current_verdict,
    is_repair_logged,
    isolation,
    isolation_verdict,
    last_readings,
    last_sights,
    log_all_lit,
    log_current,
    log_isolation,
    log_lamp,
    log_repair,
    ohm_words,
    output_tests,
    parse_ohm,
    record_table,
    short_places,
    trace_of_tests,
)
from model.tracing.faults import FaultKind
from model.tracing.trace import see_rest, suspects
from model.tracing.trace_text import trace_of
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
        assert "4.7 kohm where over 500 kohm is right" in isolation_verdict(one, 4700.0)
        assert "300 ohm where over 500 kohm" in isolation_verdict(one, 300.0)
        assert one.limit_ohm == 5e5
        assert isolation_verdict(one, one.limit_ohm) == ""
        assert isolation_verdict(one, one.limit_ohm - 1)


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
        ("test again", "F8N mended"),
    ]
    assert [event.note for event in harness.ledger.get("F8N").events] == ["soldered anew"]
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
    ("ohm", "words"),
    [(4.7, "4.7 ohm"), (300.0, "300 ohm"), (7e5, "700 kohm"), (2e6, "2 Mohm"), (None, "over range")],
)
def test_a_resistance_as_people_write_it(ohm: float | None, words: str) -> None:
    assert ohm_words(ohm) == words
    harness = log_isolation(gritter(), isolation(gritter())[0], ohm, DAY)
    assert record_table(harness).rows[0][3].startswith(f"common to its pin: {words}, ")
    assert last_readings(harness).ohms == {"A.2": math.inf if ohm is None else ohm}
    assert last_readings(harness).ohm_days == {"A.2": DAY}


@pytest.mark.parametrize(("note", "words"), [("2e+06 ohm", "2 Mohm"), ("700000 ohm", "700 kohm")])
def test_a_resistance_of_an_older_project_is_read_and_written_anew(note: str, words: str) -> None:
    harness = editing.log_event(gritter(), "9C9", "measured", f"common to its pin: {note}, right", DAY)
    assert record_table(harness).rows[0][3] == f"common to its pin: {words}, right"
    assert last_readings(harness).ohms == {"A.5": pytest.approx(float(note.split()[0]))}


def test_within_a_day_the_record_is_in_the_order_of_the_work() -> None:
    harness = gritter()
    beacon, indicators = output_tests(harness)
    harness = editing.check_off(harness, "battery", DAY)
    for one in isolation(harness):
        harness = log_isolation(harness, one, None, DAY)
    harness = log_all_lit(harness, beacon, DAY)
    harness = log_current(harness, indicators, 20.0, DAY)
    harness = log_lamp(harness, indicators, "L1", Sight.DARK, DAY)
    harness = log_isolation(harness, isolation(harness)[0], 5e3, "2026-03-01")
    rows = record_table(harness).rows
    assert [row[0] for row in rows] == sorted(row[0] for row in rows)
    same_day = [row for row in rows if row[0] == DAY]
    what = ["check" if row[2] == "checked" else "ohm" if "its pin" in row[3] else "test" for row in same_day]
    assert what == ["check", "ohm", "ohm", "test", "test", "test"]


def test_what_was_entered_stands_in_the_rows_of_the_record() -> None:
    harness = gritter()
    beacon, indicators = output_tests(harness)
    harness = log_all_lit(harness, beacon, DAY)
    harness = log_lamp(harness, indicators, "L1", Sight.DARK, DAY)
    harness = log_current(harness, beacon, 8.9, DAY)
    harness = log_isolation(harness, isolation(harness)[1], 300.0, DAY)
    harness = editing.check_off(harness, "fuse", DAY)
    entered = {}
    for table in record_tables(harness)[:-1]:
        for row in table.rows:
            named = dict(zip(table.columns, row, strict=True))
            if named["measured"]:
                entered[row[0]] = (named["measured"], named["day"])
    assert entered == {
        "Beacon": ("lit", DAY),
        "Indicator front left": ("dark", DAY),
        "2": ("8.9 mA, right (7 to 11 mA)", DAY),
        "A5": ("300 ohm, wrong", DAY),
        "fuse in the positive lead": ("ticked off", DAY),
    }


def test_a_short_that_a_meter_found_goes_to_the_trace() -> None:
    harness = gritter()
    _, indicators = output_tests(harness)
    harness = log_lamp(harness, indicators, "L1", Sight.DARK, DAY)
    harness = log_lamp(harness, indicators, "L2", Sight.DARK, DAY)
    before = suspects(trace_of_tests(harness))
    harness = log_isolation(harness, isolation(harness)[1], 0.4, DAY)
    after = suspects(trace_of_tests(harness))
    assert any(fault.kind is not FaultKind.SHORT for one in before for fault in one.faults)
    assert {fault.kind for fault in after[0].faults} == {FaultKind.SHORT}
    # A bad reading that is no short is nothing a trace knows of.
    harness = log_isolation(harness, isolation(harness)[1], 300.0, DAY)
    assert trace_of_tests(harness).answers == ()


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


def test_an_open_joint_is_written_to_its_own_wires_only() -> None:
    """The lamps behind it are to be tested again, as what was seen of them says nothing more."""
    harness = settle(loads(text("gritter"), "gritter.toml"))
    dark = ("Beacon front right", "Roof marker left", "Roof marker right")
    trace = see_rest(trace_of(harness, [(Sight.DARK, dark)]))
    opened = next(one.faults for one in suspects(trace) if one.faults[0].kind is FaultKind.JOINT_OPEN_ALL)
    own = {wire.key for wire in derive(harness).at_joint(opened[0].ref)}
    live = harness.ledger.live()
    minus = live[f"{trace.odd[0]}-"].tag
    output = harness.lamp(trace.odd[0]).output
    tested = editing.log_event(harness, minus, "tested", f"dark with output {output}", DAY)
    assert trace.odd[0] in last_sights(tested)
    logged = log_repair(tested, trace, opened, "J14 open: mended", DAY)
    told = {record.wire for record in logged.ledger if any(e.what == REPAIRED for e in record.events)}
    assert told == own
    assert logged.ledger.get(minus).events[-1].what == "test again"
    assert trace.odd[0] not in last_sights(logged)
    assert is_repair_logged(logged, opened, "J14 open: mended")
    assert not is_repair_logged(tested, opened, "J14 open: mended")
