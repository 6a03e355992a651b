"""The tables of the electrics, and tables as text and CSV."""

from __future__ import annotations

import csv
import io
import textwrap

import pytest
from hypothesis import given, settings

from model import editing
from model.electrics.lamps import all_lamps
from model.electrics.outputs import output_sums_ma
from model.errors import NotThere
from model.harness import Build, Harness, Supply
from model.papers.electrics_table import (
    COMMON_COLUMNS,
    LAMP_COLUMNS,
    LED_COLUMNS,
    RESISTOR_COLUMNS,
    WIRE_COLUMNS,
    WIRED_NOTE,
    common_table,
    electrics_csv,
    electrics_tables,
    electrics_text,
    lamp_table,
    led_table,
    output_table,
    resistor_table,
    sum_table,
    switched_on_tables,
    wire_table,
)
from model.papers.table import NOTE_COLUMNS, Table, as_csv, as_text
from tests.strategies import harnesses, walk


def small() -> Harness:
    harness = editing.new_harness("Test", "TST")
    harness = editing.set_supply(harness, Supply(chemistry="NiMH", cells=6, capacity_mah=1000))
    harness = editing.add_lamp(harness, "bare", colour="amber", output=1, at="W1")
    harness = editing.add_lamp(
        harness, "wired", colour="white", build=Build.WIRED, rated_v=12.0, output=2, at="W1"
    )
    harness = editing.add_lamp(harness, "blind", vf_v=7.0)
    return walk(harness)


def test_lamp_rows() -> None:
    bare, wired, blind = (dict(zip(LAMP_COLUMNS, row, strict=True)) for row in lamp_table(small()).rows)
    assert bare["resistor"] == "560R"
    assert bare["marks"] == "green blue brown gold"
    assert (bare["worst mA"], bare["limit mA"]) == ("12.8", "25")
    assert (bare["full mA"], bare["nominal mA"], bare["flat mA"]) == ("11.8", "9.1", "7.0")
    assert float(bare["wired mA"]) > 9.1
    assert "wired mA is what a meter shows" in as_text(lamp_table(small()))
    assert (bare["part"], bare["worst mW"]) == ("1/8 W", "87")
    assert (bare["verdict"], bare["remark"]) == ("right", "")
    assert wired["resistor"] == "inside, 440 ohm"
    assert (wired["percent"], wired["verdict"]) == ("45", "too dim")
    assert wired["remark"] == "made for 12 V: 45 % of its current at 7.2 V"
    assert (blind["verdict"], blind["output"], blind["wired mA"]) == ("no resistor holds it", "", "")


def test_output_rows_add_up() -> None:
    harness = small()
    sums = output_sums_ma(harness)
    for row, (_, output) in zip(output_table(harness).rows, harness.controller.outputs(), strict=True):
        assert row[0] == str(output.number)
        assert float(row[3]) == round(sums[output.number], 1)
        assert abs(float(row[3]) + float(row[6]) - float(row[5])) < 0.11


def test_sums() -> None:
    harness = small()
    rows = dict(sum_table(harness).rows)
    assert rows["supply flat / nominal / full"] == "6.0 / 7.2 / 8.7 V"
    assert rows["fuse in the positive battery lead"] == "0.1 A"
    hours = float(rows["a pack of 1000 mAh lasts"].removesuffix(" h"))
    draw_ma = float(rows["all lamps on, nominal volts"].removesuffix(" mA"))
    assert abs(hours - 1000 / draw_ma) < 0.06 * hours


def test_led_rows_say_where_they_are_from() -> None:
    amber, white = (dict(zip(LED_COLUMNS, row, strict=True)) for row in led_table(small()).rows[:2])
    assert (amber["lowest V"], amber["usual V"], amber["highest V"]) == ("1.9", "2.1", "2.3")
    assert (amber["good mA"], amber["rated mA"], amber["limit mA"]) == ("10", "20", "25")
    assert amber["source"] == "volts: usual range of data sheets; currents: common practice, no source"
    assert white["LED"] == "white 3 mm"


def test_what_to_buy() -> None:
    harness = editing.add_lamp(small(), "second", colour="amber", output=3)
    (row,) = (dict(zip(RESISTOR_COLUMNS, row, strict=True)) for row in resistor_table(harness).rows)
    assert (row["resistor"], row["marks"]) == ("560R", "green blue brown gold")
    assert row["codes"] == "GN BU BN GD"
    assert (row["part"], row["body"], row["pieces"]) == ("1/8 W", "1.8 x 3.5 mm", "2")
    assert row["lamps"] == "bare, second"


def test_wires_and_common_pins_carry_what_the_outputs_give() -> None:
    harness = editing.add_lamp(small(), "waiting", colour="amber", output=3)
    wires = [dict(zip(WIRE_COLUMNS, row, strict=True)) for row in wire_table(harness).rows]
    assert {wire["tag"] for wire in wires} == {record.tag for record in harness.ledger}
    by_name = {wire["wire"]: wire for wire in wires}
    plus, minus = by_name["bare plus to common pin A7"], by_name["bare minus to output 1, pin A1"]
    outputs = {row[0]: float(row[3]) for row in output_table(harness).rows}
    assert float(plus["full mA"]) == float(minus["full mA"]) == outputs["1"]
    assert float(plus["drop mV"]) > 0
    pins = [dict(zip(COMMON_COLUMNS, row, strict=True)) for row in common_table(harness).rows]
    assert [(pin["common pin"], pin["lamps"]) for pin in pins] == [("A7", "2"), ("not walked yet", "1")]
    assert abs(sum(float(pin["full mA"]) for pin in pins) - sum(outputs.values())) < 0.2


def test_only_some_outputs_on() -> None:
    harness = small()
    lamps, sums = switched_on_tables(harness, {2})
    assert [row[0] for row in lamps.rows] == ["wired"]
    rows = dict(sums.rows)
    assert float(rows["nominal mA"]) == float(lamps.rows[0][3])
    assert float(rows["flat mA"]) < float(rows["nominal mA"]) < float(rows["full mA"])
    hours = float(rows["a pack of 1000 mAh lasts"].removesuffix(" h"))
    assert abs(hours - 1000 / float(rows["nominal mA"])) < 0.6
    both = dict(switched_on_tables(harness, {1, 2})[1].rows)
    assert float(both["nominal mA"]) > float(rows["nominal mA"])
    late = editing.add_lamp(harness, "late", output=2)
    assert dict(switched_on_tables(late, {2})[1].rows)["not wired yet and left out"] == "late"
    with pytest.raises(NotThere, match="output 99"):
        switched_on_tables(harness, {99})


def test_empty_project() -> None:
    text = electrics_text(editing.new_harness("Test", "TST"))
    assert text.startswith("Lamps\nlamp  function")
    assert dict(sum_table(editing.new_harness("Test", "TST")).rows)["all lamps on, full battery"] == "0 mA"
    assert "fuse" not in text


def test_text_aligns_wide_and_combining_signs() -> None:
    table = Table(
        title="T",
        columns=("name", "mA", "empty"),
        rows=(("\u30e9\u30f3\u30d7", "9.1", ""), ("e\u0301te\u0301", "12.0", ""), ("abcdef", "", "")),
    )
    assert as_text(table).splitlines() == [
        "T",
        "name      mA",
        "\u30e9\u30f3\u30d7   9.1",
        "e\u0301te\u0301     12.0",
        "abcdef",
    ]


def test_csv_is_no_formula_and_keeps_numbers() -> None:
    table = Table(
        title="T",
        columns=("name", "margin mA"),
        rows=(("=1+1", "-5.0"), ("@x", "+3"), ("-lamp", "4"), ('say "hi", you', "")),
    )
    rows = list(csv.reader(io.StringIO(as_csv([table]), newline="")))
    assert rows == [
        ["name", "margin mA"],
        ["'=1+1", "-5.0"],
        ["'@x", "+3"],
        ["'-lamp", "4"],
        ['say "hi", you', ""],
    ]


@given(harnesses(lamps=(0, 12), points=(1, 5), nasty=0.5))
@settings(deadline=None, max_examples=25)
def test_any_harness_makes_whole_tables(harness: Harness) -> None:
    tables = electrics_tables(harness)
    for table in tables:
        assert all(len(row) == len(table.columns) for row in table.rows)
    figures = all_lamps(harness)
    for lamp, row in zip(harness.lamps, tables[0].rows, strict=True):
        assert row[0] == lamp.name
        assert row[LAMP_COLUMNS.index("full mA")] == f"{figures[lamp.id].current.full_ma:.1f}"
    read = list(csv.reader(io.StringIO(electrics_csv(harness), newline="")))
    assert len(read) == sum(len(table.rows) + 1 for table in tables) + len(tables) - 1
    lines = sum(len(table.rows) + 2 for table in tables) + len(tables) - 1
    lines += len(textwrap.wrap(WIRED_NOTE, NOTE_COLUMNS)) if harness.lamps else 0
    assert electrics_text(harness).count("\n") == lines
