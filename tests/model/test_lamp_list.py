"""Lamp lists in and out: what a spreadsheet makes of them, and every bad cell with its line."""

from __future__ import annotations

import csv
import io
import time
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model.editing import add_lamp, add_waypoint, new_harness, remove_lamp
from model.errors import Faults
from model.harness import Build, Hand, Harness, Lamp
from model.integrity import broken_references
from model.lamp_list import (
    ALIASES,
    COLUMNS,
    MOST_COLUMNS,
    MOST_FAULTS,
    MOST_ROWS,
    guarded,
    read_lamps,
    unguarded,
    write_lamps,
)
from model.routing.allot import settle
from model.store.disk import decoded
from tests.mutations import batter, rounds
from tests.strategies import NASTY_NAMES, harness_from_seed, harnesses


def model() -> Harness:
    """A controller of six outputs, two waypoints and a lamp."""
    harness = add_waypoint(new_harness("Gritter", "GRT"), "Cab floor")
    return add_lamp(harness, "Cab light")


def read(text: str, harness: Harness | None = None, **how: bool) -> tuple[Lamp, ...]:
    """The lamps that a list adds."""
    harness = harness or model()
    return read_lamps(text, harness, "lamps.csv", **how).lamps[len(harness.lamps) :]


def faults_of(text: str, harness: Harness | None = None) -> list[str]:
    harness = harness or model()
    before = harness.lamps, harness.waypoints
    with pytest.raises(Faults) as caught:
        read_lamps(text, harness, "lamps.csv")
    assert "nothing was taken from it" in caught.value.message()
    assert (harness.lamps, harness.waypoints) == before
    return [fault.message() for fault in caught.value.faults]


ALL_COLUMNS = """\
name,function,place,side,colour,size,build,current_ma,rated_v,rated_ma,lead_mm,output,waypoint,spur_mm,run_mm
Indicator,indicator,bumper,left,amber,0603,ready-wired,7.5,12,15,150,3,Cab floor,12.5,456.7
"""


def test_every_column() -> None:
    (lamp,) = read(ALL_COLUMNS)
    assert lamp == Lamp(
        id="L2",
        name="Indicator",
        function="indicator",
        place="bumper",
        hand=Hand.LEFT,
        colour="amber",
        size="0603",
        build=Build.WIRED,
        current_ma=7.5,
        rated_v=12.0,
        rated_ma=15.0,
        lead_mm=150.0,
        output=3,
        at="W2",
        spur_mm=12.5,
        measured_mm=456.7,
    )


def test_names_alone() -> None:
    first, second = read("name\nIndicator front left\nReversing lamp\n")
    assert (first.id, second.id) == ("L2", "L3")
    assert (first.function, first.colour, first.hand) == ("indicator", "amber", Hand.LEFT)
    assert (second.function, second.colour, second.hand) == ("reversing lamp", "white", Hand.NONE)


def test_the_list_goes_before_the_name() -> None:
    (lamp,) = read("name,function,colour,side\nIndicator front left,beacon,blue,\n")
    assert (lamp.function, lamp.colour, lamp.hand) == ("beacon", "blue", Hand.NONE)


def test_new_lamps_stand_behind_the_old_with_ids_never_used() -> None:
    harness = remove_lamp(add_lamp(harness_from_seed(4, lamps=(4, 4), walked=1.0), "last"), "L2")
    ids = [lamp.id for lamp in harness.lamps]
    added = read("name\nnew one\nnew two\n", harness)
    assert not {lamp.id for lamp in added} & {*ids, "L2"}
    again = read_lamps("name\nnew one\nnew two\n", harness)
    assert again.lamps[: len(ids)] == harness.lamps
    assert broken_references(settle(again)) == ()


@pytest.mark.parametrize(
    "text",
    [
        "name,current_ma,waypoint\nA,7.5,Cab floor\n",
        "name,current_ma,waypoint\r\nA,7.5,Cab floor\r\n",
        "name,current_ma,waypoint\nA,7.5,Cab floor",
        "\ufeffname,current_ma,waypoint\nA,7.5,Cab floor\n",
        "\n,,\nname,current_ma,waypoint\n\n,,\nA,7.5,Cab floor\n\n",
        "name;current_ma;waypoint\nA;7,5;Cab floor\n",
        "name;current_ma;waypoint\nA;7.5;Cab floor\n",
        "name\tcurrent_ma\twaypoint\nA\t7,5\tCab floor\n",
        '"name","current_ma","waypoint"\n"A","7.5","Cab floor"\n',
        "waypoint,name,current_ma\ncab FLOOR, A ,7.5 mA\n",
        "waypoint,name,current_ma\nW2,A,7.5mA\n",
        "Lamp,Current (mA),At\nA,7.5,Cab floor\n",
        "LAMP NAME;Current;#remark;WAYPOINT\nA;7,5;what, ever;Cab floor\n",
        "name,current_ma,waypoint,,\nA,7.5,Cab floor,,\n",
        "name,current_ma,waypoint,output\nA,7.5,Cab floor\n",
    ],
)
def test_lists_that_say_the_same(text: str) -> None:
    (lamp,) = read(text)
    assert (lamp.name, lamp.current_ma, lamp.at, lamp.output) == ("A", 7.5, "W2", None)


@pytest.mark.parametrize(
    ("column", "cell", "field", "value"),
    [
        ("side", "L", "hand", Hand.LEFT),
        ("side", "Starboard", "hand", Hand.RIGHT),
        ("side", "-", "hand", Hand.NONE),
        ("colour", "Warm-White", "colour", "warm white"),
        ("colour", "uv", "colour", "UV"),
        ("colour", "yellow green", "colour", "yellow-green"),
        ("size", "3mm", "size", "3 mm"),
        ("size", "3", "size", "3 mm"),
        ("size", "5.0 MM", "size", "5 mm"),
        ("size", "1.8", "size", "1.8 mm"),
        ("size", "603", "size", "0603"),
        ("size", "0603", "size", "0603"),
        ("build", "LED", "build", Build.BARE),
        ("function", "INDICATOR", "function", "indicator"),
        ("function", "my own use", "function", "my own use"),
        ("output", "6", "output", 6),
        ("output", "", "output", None),
        ("lead_mm", "", "lead_mm", 0.0),
        ("run_mm", ".5", "measured_mm", 0.5),
        ("run_mm", "+5", "measured_mm", 5.0),
        ("place", "'=1+1", "place", "=1+1"),
        ("place", "'tis", "place", "'tis"),
        ("place", "a  b", "place", "a  b"),
    ],
)
def test_cells(column: str, cell: str, field: str, value: object) -> None:
    (lamp,) = read(f"name,{column}\nA,{cell}\n")
    assert getattr(lamp, field) == value


def test_rated_volts_mean_ready_wired() -> None:
    assert [lamp.build for lamp in read("name,rated_v\nA,12\nB,\n")] == [Build.WIRED, Build.BARE]
    assert [lamp.build for lamp in read("name,rated_v,build\nA,12,bare\n")] == [Build.BARE]


@pytest.mark.parametrize("alias", ALIASES)
def test_every_alias_names_a_column(alias: str) -> None:
    assert ALIASES[alias] in COLUMNS
    assert alias not in COLUMNS


BAD_CELLS = [
    # columns, cells, what is said of line 2
    ("name", "''", None),
    ("name,output", "A,7", "A: output: output 7 does not exist (there are 1, 2, 3, 4, 5, 6). Add it first."),
    ("name,output", "A,1.5", "A: output: 1.5 is not a whole number."),
    ("name,output", "A,-1", "A: output: -1 is not a whole number."),
    ("name,output", f"A,{'9' * 5000}", "is not a whole number."),
    ("name,current_ma", "A,99999", "A: current_ma: 99999 is out of range (more than 0 and at most 3000 mA)."),
    ("name,current_ma", "A,0", "A: current_ma: 0 is out of range"),
    ("name,current_ma", "A,nan", "A: current_ma: nan is not a number (in mA)."),
    ("name,current_ma", "A,inf", "A: current_ma: inf is not a number (in mA)."),
    ("name,current_ma", "A,1e2", "A: current_ma: 1e2 is not a number (in mA)."),
    ("name,current_ma", "A,1_0", "A: current_ma: 1_0 is not a number (in mA)."),
    ("name,current_ma", "A,\u0661", "A: current_ma: \u0661 is not a number (in mA)."),
    (
        "name,current_ma",
        'A,"7,5"',
        "A: current_ma: 7,5 is not a number (in mA). Write a point before its decimals.",
    ),
    ("name;current_ma", "A;1.000,5", "A: current_ma: 1.000,5 is not a number (in mA)."),
    ("name,rated_v", "A,61", "A: rated_v: 61 is out of range"),
    ("name,lead_mm", "A,10 cm", "A: lead_mm: 10 cm is not a number (in mm)."),
    ("name,spur_mm", "A,-1", "A: spur_mm: -1 is out of range"),
    ("name,run_mm", "A,0", "A: run_mm: 0 is out of range"),
    ("name,colour", "A,whit", "A: colour: whit is not known (red, orange,"),
    ("name,size", "A,4 mm", "A: size: 4 mm is not known (1.8 mm,"),
    ("name,build", "A,made", "A: build: made is not known (bare, ready-wired)."),
    ("name,build", "A,wired", "A: rated volts: are missing. Type the volts it is made for."),
    ("name,side", "A,up", "A: side: up is not known (left, right or nothing)."),
    ("name,waypoint", "A,cab flor", "A: waypoint: cab flor is no waypoint. Did you mean cab floor?"),
    ("name,waypoint", "A,W9", "A: waypoint: W9 is no waypoint."),
    ("name,output", "Cab light,1", "Cab light: name: Cab light is the name of a lamp of the project."),
    ("name,output", "CAB LIGHT,1", "CAB LIGHT: name: CAB LIGHT is the name of a lamp of the project."),
    ("name,output", ",1", "lamps.csv line 2: name: is missing. Every lamp needs a name."),
    ("name", "x" * 61, ": name: 61 characters long, at most 60 fit."),
    ("name,place", "A,a\x1b[31mb", "A: place: has a control character: a\\x1b[31mb."),
    ("name,place", '"A","a\nb"', "A: place: has a control character: a\\x0ab."),
    ("name,output", "A,1,extra", "A: cell 3, extra, has no column."),
    ("name,,output", "A,extra,1", "A: cell 2, extra, has no column."),
    ("name", 'A"', None),
    ("name", '"A', "can't be read: unexpected end of data. Look for a quote that is not closed."),
    ("name", '"A"B', "can't be read:"),
]


@pytest.mark.parametrize(("columns", "cells", "said"), BAD_CELLS, ids=range(len(BAD_CELLS)))
def test_bad_cells(columns: str, cells: str, said: str | None) -> None:
    text = f"{columns}\n{cells}\n"
    if said is None:
        assert len(read(text)) == 1
        return
    told = faults_of(text)
    assert any(said in message for message in told), told
    assert len(told) == 1
    assert told[0].startswith("lamps.csv line 2")
    assert told[0].isprintable()


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "lamps.csv: is empty. The first line names the columns: name, function"),
        ("\n\n  \n,,,\n", "lamps.csv: is empty."),
        ("name,output\n", "lamps.csv: names no lamps."),
        ("output,colour\n1,red\n", "lamps.csv line 1: has no column name."),
        ("name,colour,color\nA,red,red\n", "lamps.csv line 1: column colour stands twice."),
        ("name,colur\nA,red\n", "lamps.csv line 1: column 2, colur, is not known. Did you mean colour?"),
        (
            "name,remark\nA,red\n",
            "lamps.csv line 1: column 2, remark, is not known. Put # before it to pass it over.",
        ),
        ("Headlamp left,3\nHeadlamp right,3\n", "lamps.csv line 1: has no column name."),
        ("name\0\nA\n", "holds zero characters"),
        ("name\n" + "A," * MOST_COLUMNS, "lamps.csv line 2: has 101 cells (at most 100)."),
        (
            "name\n" + "".join(f"lamp {n}\n" for n in range(MOST_ROWS + 1)),
            f"line {MOST_ROWS + 2}: is one line too many",
        ),
        ("name\n" + "x" * 200_000, "lamps.csv line 2: can't be read: field larger than field limit"),
    ],
    ids=range(12),
)
def test_lists_that_are_none(text: str, said: str) -> None:
    assert any(said in message for message in faults_of(text))


def test_every_fault_with_its_line() -> None:
    text = 'name,output,place\nA,9,\n\n"B","x","two\nlines"\nC,1,\nA,1,\n,1,\n'
    told = faults_of(text)
    assert [message.partition(":")[0] for message in told] == [
        "lamps.csv line 2, A",
        "lamps.csv line 4, B",
        "lamps.csv line 4, B",
        "lamps.csv line 7, A",
        "lamps.csv line 8",
    ]
    assert "A is the name on line 2 already" in told[3]


def test_faults_past_a_hundred_are_counted() -> None:
    told = faults_of("name,output\n" + "".join(f"lamp {number},99\n" for number in range(150)))
    assert len(told) == MOST_FAULTS + 1
    assert "has 50 faults more" in told[-1]


def test_unknown_waypoints_are_made_where_asked() -> None:
    harness = model()
    text = "name,waypoint\nA,front bumper\nB,Front Bumper\nC,cab floor\nD,roof\nE,\n"
    assert len(faults_of(text, harness)) == 3
    made = read_lamps(text, harness, create_waypoints=True)
    assert [point.name for point in made.waypoints] == ["controller", "Cab floor", "front bumper", "roof"]
    assert [lamp.at for lamp in made.lamps[1:]] == ["W3", "W3", "W2", "W4", None]
    assert broken_references(made) == ()


def test_a_waypoint_that_can_not_be_made_is_a_fault() -> None:
    with pytest.raises(Faults, match="waypoint: 61 characters long"):
        read_lamps(f"name,waypoint\nA,{'x' * 61}\n", model(), create_waypoints=True)


def test_waypoints_of_one_name_need_their_id() -> None:
    harness = add_waypoint(model(), "cab floor")
    assert (
        "Cab floor is the name of 2 waypoints. Write W2 or W3."
        in faults_of("name,waypoint\nA,Cab floor\n", harness)[0]
    )
    (lamp,) = read("name,waypoint\nA,W3\n", harness)
    assert lamp.at == "W3"
    assert "W3" in write_lamps(read_lamps("name,waypoint\nA,W3\n", harness))


@pytest.mark.parametrize(
    "text",
    [
        "=1+1",
        "+1",
        "-1",
        "@SUM(A1)",
        "\t=1",
        "\r=1",
        "=cmd|' /C calc'!A0",
        " =1",
        "\uff1d1",
        "'",
        "'=1",
        "''x",
        "'@",
    ],
)
def test_no_cell_is_a_formula(text: str) -> None:
    assert guarded(text).startswith("'")
    assert unguarded(guarded(text)) == text


@given(st.text(max_size=20))
def test_guarding_loses_nothing(text: str) -> None:
    assert unguarded(guarded(text)) == text
    assert guarded(text).lstrip()[:1] not in ("=", "+", "-", "@")


def test_written_cells_are_guarded() -> None:
    harness = new_harness("=1", "T1")
    for name in ("=1+1", "@x", "-5", "plain", *NASTY_NAMES):
        harness = add_lamp(harness, name, place=name, function=name)
    rows = list(csv.reader(io.StringIO(write_lamps(harness))))
    assert len(rows) == len(harness.lamps) + 1
    assert not [cell for row in rows[1:] for cell in row if cell[:1] in "=+-@\t\r" and cell]


def test_rfc_4180_lines() -> None:
    text = write_lamps(add_lamp(new_harness("A", "AA"), 'say "a, b"'))
    assert text.endswith("\r\n")
    assert "\n" not in text.replace("\r\n", "")
    assert '"say ""a, b"""' in text


@given(harnesses(later_edits=2))
@settings(max_examples=60, deadline=None)
def test_what_is_written_reads_back(harness: Harness) -> None:
    """Into a project with the same waypoints and outputs, as far as names are not double."""
    seen: set[str] = set()
    for lamp in harness.lamps:
        key = lamp.name.strip().casefold()
        if key in seen:
            harness = remove_lamp(harness, lamp.id)
        seen.add(key)
    text = write_lamps(harness)
    empty = harness
    for lamp in harness.lamps:
        empty = remove_lamp(empty, lamp.id)
    if not harness.lamps:
        return
    again = read_lamps(text, empty)
    fields = list(COLUMNS.values())
    assert [[getattr(lamp, field) for field in fields] for lamp in again.lamps] == [
        [getattr(lamp, field) for field in fields] for lamp in harness.lamps
    ]
    assert write_lamps(again) == text


def test_a_full_list_is_quick() -> None:
    text = "name,output,waypoint\n" + "".join(f"lamp {number},1,Cab floor\n" for number in range(MOST_ROWS))
    harness = model()
    start = time.perf_counter()
    assert len(read(text, harness)) == MOST_ROWS
    assert time.perf_counter() - start < 2


@pytest.mark.skipif("sys.platform == 'win32'", reason="no resource module")
def test_damaged_lists() -> None:
    """As for project files: a clear error or a correct reading; LOOMTAG_FUZZ=100000 runs the whole."""
    harness = add_waypoint(model(), "front bumper")
    good = [ALL_COLUMNS.encode()]
    for seed in range(6):
        good.append(write_lamps(harness_from_seed(seed, lamps=(2, 5))).encode())
    good.append(ALL_COLUMNS.replace(",", ";").replace("7.5", "7,5").encode("utf-8-sig"))

    bare = harness
    for lamp in harness.lamps:
        bare = remove_lamp(bare, lamp.id)

    def take(data: bytes) -> Harness:
        create = Random(len(data)).random() < 0.5
        return read_lamps(decoded(data, "lamps.csv"), harness, "lamps.csv", create_waypoints=create)

    def check(made: Harness) -> None:
        assert broken_references(made) == ()
        assert made.lamps[: len(harness.lamps)] == harness.lamps
        assert len(made.lamps) > len(harness.lamps)
        again = read_lamps(write_lamps(made), bare, create_waypoints=True)
        assert [lamp.name for lamp in again.lamps] == [lamp.name for lamp in made.lamps]

    figures = batter(good, take, check, rounds(2500), seed=2)
    print(figures)
    assert figures["read"] > 0.05 * figures["count"]
    assert figures["refused"] > 0.3 * figures["count"]
