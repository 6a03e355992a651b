"""The papers: each figure is that of the core, and nothing in them acts on a terminal or a spreadsheet."""

from __future__ import annotations

import csv
import io
from random import Random

import attrs
import pytest
from hypothesis import given, settings

from model import editing
from model.bench import StepKind
from model.cautions import CAUTIONS
from model.electrics.outputs import output_loads
from model.harness import Delivers, Harness
from model.papers.cautions import cautions_text
from model.papers.output_map import COMMON_COLUMNS, OUTPUT_COLUMNS, delivers, output_map
from model.papers.shelf import PAPERS
from model.papers.table import Table, as_csv, number_columns
from model.papers.wire_list import TAG_COLUMNS, WIRE_COLUMNS, tag_table, wire_table
from model.routing.allot import settle
from model.routing.wires import derive
from model.tags import TagScheme
from tests.model.tracing.loom import gritter, moved
from tests.strategies import harnesses, walk

DAY = "2026-03-03"
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def rows(table: Table, key: str) -> dict[str, dict[str, str]]:
    """The rows by one of their columns."""
    named = (dict(zip(table.columns, row, strict=True)) for row in table.rows)
    return {row[key]: row for row in named}


def test_a_wire_stands_in_the_list_with_ends_length_and_state() -> None:
    harness = editing.do_step(gritter(), "K7L", StepKind.CUT, DAY)
    harness = editing.set_cut(harness, "K7L", 182.5, DAY)
    harness = settle(editing.mark_printed(harness, [("K7L", "L")], DAY))
    row = rows(wire_table(harness), "tag")["K7L"]
    assert row == {
        "tag": "K7L",
        "from": "Indicator front left minus",
        "to": "joint J1 at cab floor",
        "net": "output 5 (indicators left)",
        "polarity": "minus",
        "colour": "BK",
        "gauge": "28 AWG",
        "cut mm": "182.5",
        "joints": "J1",
        "made": "1 of 7",
        "labels": "lamp end",
        "lamps": "Indicator front left",
    }


@settings(max_examples=30, deadline=None)
@given(harness=harnesses(lamps=(1, 8), world=True))
def test_the_list_holds_every_wire_once_with_the_length_of_the_plan(harness: Harness) -> None:
    table = wire_table(harness)
    live = harness.ledger.live()
    by_tag = rows(table, "tag")
    assert len(by_tag) == len(table.rows) == len(derive(harness).wires)
    for wire in derive(harness).wires:
        record = live[wire.key]
        cut_mm = wire.cut_mm if record.cut_mm is None else record.cut_mm
        assert float(by_tag[record.tag]["cut mm"]) == pytest.approx(cut_mm, rel=1e-5)
        assert (by_tag[record.tag]["made"] == "made") == (len(record.steps) >= 6 and "test" in record.steps)


def test_every_tag_ever_given_is_listed() -> None:
    harness = moved()
    table = tag_table(harness)
    assert [row[0] for row in table.rows] == sorted(record.tag for record in harness.ledger)
    old = rows(table, "tag")["N6H"]
    assert old["state"] == "retired"
    assert old["why"]
    assert old["labels"] == "both"
    heir = rows(table, "tag")[old["now"]]
    assert heir["state"] == "in use"
    assert "output 3" in heir["meaning"]


def test_the_output_map_has_the_figures_of_the_outputs_screen() -> None:
    harness = gritter()
    outputs, commons = output_map(harness)
    loads = output_loads(harness)
    assert outputs.columns == OUTPUT_COLUMNS
    assert commons.columns == COMMON_COLUMNS
    five = rows(outputs, "output")["5"]
    load = next(one for one in loads.outputs if one.output.number == 5)
    assert five["lamps"] == "Indicator front left, Indicator side left"
    assert (five["block"], five["pin"], five["function"]) == ("A", "5", "indicators left")
    assert float(five["full mA"]) == pytest.approx(load.full_ma, abs=0.05)
    assert float(five["margin mA"]) == pytest.approx(250 - load.full_ma, abs=0.05)
    # What all outputs give comes back on the common.
    back = sum(float(row[COMMON_COLUMNS.index("full mA")]) for row in commons.rows)
    assert back == pytest.approx(loads.total_ma, abs=0.1)
    assert "negative" in outputs.title


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({}, "supply"),
        ({"delivers": Delivers.REGULATED, "delivers_v": 5.0}, "5 V"),
        ({"delivers": Delivers.CURRENT, "delivers_ma": 20.0}, "20 mA"),
    ],
)
def test_what_an_output_delivers_in_a_word(fields: dict[str, object], words: str) -> None:
    _, output = gritter().controller.find_output(1) or pytest.fail("no output 1")
    assert delivers(attrs.evolve(output, **fields)) == words


def test_keys_are_file_names_and_all_are_different() -> None:
    keys = [paper.key for paper in PAPERS]
    assert len(set(keys)) == len(keys)
    assert all(key.replace("-", "").isalpha() and key.isascii() for key in keys)


@pytest.mark.parametrize("paper", PAPERS, ids=lambda paper: paper.key)
def test_every_paper_can_be_written_for_an_empty_project(paper: object) -> None:
    empty = editing.new_harness("Empty", "NIL")
    assert "Empty (NIL)" in paper.text(empty)  # type: ignore[attr-defined]
    paper.csv(empty)  # type: ignore[attr-defined]


@pytest.mark.parametrize("paper", PAPERS, ids=lambda paper: paper.key)
@settings(max_examples=15, deadline=None)
@given(harness=harnesses(lamps=(1, 5), nasty=0.9, world=True))
def test_no_cell_is_a_formula(paper: object, harness: Harness) -> None:
    text = paper.csv(harness)  # type: ignore[attr-defined]
    if text is None:
        assert paper.key in ("cautions", "drawing")  # type: ignore[attr-defined]
        return
    for row in csv.reader(io.StringIO(text)):
        for cell in row:
            number = cell.removeprefix("-").removeprefix("+").replace(".", "", 1).isdigit()
            assert number or not cell.startswith(FORMULA_STARTS), cell


def test_a_name_that_is_a_formula_is_still_the_same_name() -> None:
    harness = editing.edit_lamp(gritter(), "L1", name="=1+1")
    harness = settle(harness)
    cells = [cell for row in csv.reader(io.StringIO(as_csv([wire_table(harness)]))) for cell in row]
    assert "'=1+1 minus" in cells
    assert "'=1+1" in cells


@pytest.mark.parametrize(
    ("cell", "written"),
    [
        ("001", "'001"),
        ("0603", "'0603"),
        ("001 002", "'001 002"),
        ("7E9", "'7E9"),
        ("2.5e3", "'2.5e3"),
        ("1/2", "'1/2"),
        ("1:16", "'1:16"),
        ("3-2", "'3-2"),
        ("2 A", "'2 A"),
        ("12:30 pm", "'12:30 pm"),
        ("0.1 A", "0.1 A"),
        ("2A", "2A"),
        ("3MAR", "'3MAR"),
        ("May 4", "'May 4"),
        ("true", "'true"),
        ("123456789012345678", "'123456789012345678"),
        ("+", "'+"),
        ("Marker 4", "Marker 4"),
        ("K7L", "K7L"),
        ("28 AWG", "28 AWG"),
        ("2026-03-03", "2026-03-03"),
        ("501", "501"),
        ("-9.4", "-9.4"),
        ("0.30", "0.30"),
        ("", ""),
    ],
)
def test_a_name_comes_out_of_a_spreadsheet_as_it_went_in(cell: str, written: str) -> None:
    table = Table(title="t", columns=("name", "other"), rows=((cell, "x"),))
    assert next(csv.reader(io.StringIO(as_csv([table]).partition("\r\n")[2]))) == [written, "x"]


def test_tags_that_are_plain_numbers_stay_tags() -> None:
    harness = editing.new_harness("Numbers", "NUM")
    harness = editing.set_settings(harness, tag_scheme=TagScheme.NUMBER)
    harness = editing.add_lamp(harness, "Lamp", output=1, at="W1", spur_mm=100.0)
    harness = walk(settle(harness), Random(1), merges=0.0)
    tags = {row[0] for row in wire_table(harness).rows}
    assert tags == {"001", "101"}
    listed = list(csv.reader(io.StringIO(as_csv([wire_table(harness)]))))[1:]
    assert {row[0] for row in listed} == {"'001", "'101"}
    assert 0 not in number_columns(wire_table(harness))


def test_the_cautions_are_whole() -> None:
    text = cautions_text(60)
    assert all(len(line) <= 60 for line in text.splitlines())
    flat = " ".join(text.split())
    for caution in CAUTIONS:
        assert f"{caution.about} {caution.words}" in flat


def test_columns_are_told_apart_by_name() -> None:
    for columns in (WIRE_COLUMNS, TAG_COLUMNS, OUTPUT_COLUMNS, COMMON_COLUMNS):
        assert len(set(columns)) == len(columns)
