"""Reading is strict, names every fault at once and where it is, and never ends in anything but LoomError."""

from __future__ import annotations

import re
import time
import tomllib

import pytest

from model.errors import Faults, LoomError, StoreError
from model.store import SCHEMA, dumps, loads
from model.store import reading as reading_module
from model.store.places import line_of as lines_of
from tests.model.store.samples import SMALL, full_harness, line_of


def faults_of(text: str) -> list[str]:
    with pytest.raises(Faults) as caught:
        loads(text, "lh.toml")
    return [fault.message() for fault in caught.value.faults]


def test_a_file_by_hand() -> None:
    harness = loads(SMALL)
    assert [lamp.name for lamp in harness.lamps] == ["Lantern", "Door"]
    assert harness.legs[0].length_mm == 240.0
    assert isinstance(harness.lamps[0].current_ma, float)
    assert harness.settings.slack_pct == 10.0
    assert harness.controller.find_output(2)[1].limit_ma == 100.0  # type: ignore[index]


def test_line_ends_and_comments_of_other_editors() -> None:
    assert dumps(loads(SMALL.replace("\n", "\r\n"))) == dumps(loads(SMALL))
    assert dumps(loads(SMALL.replace("[[lamp]]", "# a lamp\n[[lamp]]"))) == dumps(loads(SMALL))


STRICT = [
    # what stands in the small file, what is put in its place, what the message says of it
    ("cells = 6", "cells = 2.9", "supply cells: 2.9 is not a whole number"),
    ("cells = 6", "cells = 6.0", "supply cells: 6.0 is not a whole number"),
    ("cells = 6", "cells = true", "supply cells: true is not a whole number"),
    ("cells = 6", 'cells = "6"', "supply cells: '6' is not a whole number"),
    ("cells = 6", "cells = [6]", "supply cells: a list is not a whole number"),
    ("cells = 6", "cells = 61", "supply cells: 61 is out of range (0 to 60)"),
    ("cells = 6", f"cells = 0x{'f' * 5000}", "supply cells: a number of many digits is not"),
    ("length_mm = 240", "length_mm = true", "leg 1 length_mm: true is not a number"),
    (
        "length_mm = 240",
        'length_mm = "240"',
        "leg 1 length_mm: '240' is not a number. Write it without quotes.",
    ),
    ("length_mm = 240", "length_mm = inf", "leg 1 length_mm: inf is out of range"),
    ("length_mm = 240", "length_mm = nan", "leg 1 length_mm: nan is out of range"),
    ("length_mm = 240", "length_mm = -1", "leg 1 length_mm: -1 is out of range"),
    ("length_mm = 240", "length_mm = 1e400", "leg 1 length_mm: inf is out of range"),
    ("length_mm = 240", f"length_mm = 0x{'f' * 300}", "leg 1 length_mm: a number of many digits is not"),
    ("length_mm = 240", "length_mm = 2026-03-01", "leg 1 length_mm: 2026-03-01 is not a number"),
    ("length_mm = 240", "", "leg 1 length_mm: is missing"),
    ('name = "Door"', "name = 5", "lamp L2 name: 5 is not a text. Put it in double quotes."),
    ('name = "Door"', 'name = ""', "lamp L2 name: is empty"),
    ('name = "Door"', 'name = "a\\u001b[31mb"', "lamp L2 name: has a control character: a\\x1b[31mb"),
    ('name = "Door"', f'name = "{"x" * 61}"', "lamp L2 name: 61 characters long"),
    ('name = "Door"', f'name = "{"x" * 5000}"', "lamp L2 name: 5000 characters long"),
    ('name = "Door"', "name = { a = 1 }", "lamp L2 name: a table is not a text"),
    ('id = "L2"', 'id = "X2"', "lamp X2 id: 'X2'"),
    (
        'at = "W1"\n\n[[c',
        'at = "W1"\nswitched = "plus"\n\n[[c',
        "controller switched: 'plus' is not known (negative, positive)",
    ),
    ('at = "W1"\n\n[[c', 'at = "W1"\nswitched = "positiv"\n\n[[c', "Did you mean positive?"),
    ('at = "W1"\n\n[[c', 'at = "W1"\nswitched = 5\n\n[[c', "controller switched: 5 is not a text"),
    ("{ number = 1, pin", "{ number = 1, pine", "controller block A outputs 1 pin: is missing"),
    (
        "{ number = 1, pin",
        "{ number = 1, pine",
        "controller block A outputs 1 pine: is no key of this program. Did you mean pin?",
    ),
    ("limit_ma = 100 }", "limit_ma = 0 }", "controller block A outputs 2 limit_ma: 0 is out of range"),
    (
        'commons = [{ pin = "3" }]',
        'commons = { pin = "3" }',
        "controller block A commons: a table is not a list",
    ),
    ('commons = [{ pin = "3" }]', 'commons = ["3"]', "controller block A commons 1: '3' is not a table"),
    (
        "current_ma = 8",
        "curent_ma = 8",
        "lamp L1 curent_ma: is no key of this program. Did you mean current_ma?",
    ),
    ("current_ma = 8", "xyzzy = 8", "lamp L1 xyzzy: is no key of this program. Known here: id, name"),
    ("current_ma = 8", 'build = "ready-wired"', "lamp L1: rated volts are missing"),
    ("current_ma = 8", "run = []", "lamp L1 run: a list is not a table"),
    ("current_ma = 8", 'run = { way = ["W2", 1] }', "lamp L1 run way 2: 1 is not a text"),
    ("current_ma = 8", 'run = { way = "W2" }', "lamp L1 run way: 'W2' is not a list"),
    ("current_ma = 8", 'run = { plus = { colour = "XX" } }', "lamp L1 run plus colour: XX is not known"),
    ('b = "W2"', 'b = "W1"', "leg 1: leg W1 to W1 starts and ends at one waypoint"),
    ('code = "LH"', 'code = "lh"', "project code: 'lh'"),
    ('code = "LH"', "", "project code: is missing"),
    ('code = "LH"', 'kode = "LH"', "project kode: is no key of this program. Did you mean code?"),
    ('[project]\nname = "Lighthouse"\ncode = "LH"', "", "project: is missing"),
    ("[supply]", "[suply]", "suply: is no key of this program. Did you mean supply?"),
    ("schema = 1\n", "schema = 1\nlamp = 5\n", None),
    (
        '[[waypoint]]\nid = "W1"\nname = "base"\n\n[[waypoint]]',
        "[waypoint]",
        "waypoint: a table is not a list",
    ),
]


@pytest.mark.parametrize(("old", "new", "said"), STRICT, ids=range(len(STRICT)))
def test_nothing_is_bent_to_fit(old: str, new: str, said: str | None) -> None:
    assert old in SMALL
    text = SMALL.replace(old, new, 1)
    if said is None:
        with pytest.raises(LoomError):
            loads(text, "lh.toml")
        return
    told = faults_of(text)
    assert any(said in message for message in told), told


@pytest.mark.parametrize(
    ("old", "new", "part"),
    [
        ("cells = 6", "cells = 2.9", "cells"),
        ("length_mm = 240", "length_mm = true", "length_mm"),
        ("current_ma = 8", "curent_ma = 8", "curent_ma"),
        ("limit_ma = 100 }", "limit_ma = 0 }", "limit_ma"),
        ("current_ma = 8", 'run = { plus = { colour = "XX" } }', "run ="),
        ('commons = [{ pin = "3" }]', 'commons = [\n{ pin = "3" },\n{ pin = 4 },\n]', "pin = 4"),
        ("current_ma = 8", "x.y = 8", "x.y"),
        ("current_ma = 8", '"current ma" = 8', '"current ma"'),
        ("[supply]", "[suply]", "[suply]"),
        ('name = "Door"', 'name = """a\nb"""', 'name = """a'),
    ],
)
def test_a_fault_names_its_line(old: str, new: str, part: str) -> None:
    text = SMALL.replace(old, new, 1)
    told = faults_of(text)
    assert f"lh.toml line {line_of(text, part)}, " in "\n".join(told)


def test_all_faults_at_once_in_the_order_of_the_file() -> None:
    text = (
        SMALL.replace("cells = 6", "cells = 2.9")
        .replace("limit_ma = 100", 'limit_ma = "100"')
        .replace("length_mm = 240", "length_mm = -5")
        .replace("current_ma = 8", "current_ma = 99999\nspur_mm = true\ncolour = 'whit'")
    )
    told = faults_of(text)
    lines = [int(re.match(r"lh\.toml line (\d+),", message).group(1)) for message in told]  # type: ignore[union-attr]
    assert lines == sorted(lines)
    assert len(told) == 6


def test_value_faults_and_broken_references_together() -> None:
    text = SMALL.replace("cells = 6", "cells = 61").replace('at = "W2"', 'at = "W9"')
    told = faults_of(text)
    assert told[0].startswith(f"lh.toml line {line_of(text, 'cells')}, supply cells: 61")
    assert told[1].startswith(f"lh.toml line {line_of(text, '[[lamp]]')}, lamp Lantern: is at waypoint W9")
    assert len(told) == 2


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('at = "W2"\n', "at = 5\n"),
        ('id = "W2"', 'id = "2"'),
        ("output = 1", "output = 1.5"),
        ("number = 2", "number = 2.5"),
    ],
)
def test_no_false_references_from_a_faulty_reference(old: str, new: str) -> None:
    """A lamp whose waypoint can't be read is not also told that something is missing from it."""
    assert len(faults_of(SMALL.replace(old, new, 1))) == 1


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('id = "L2"', 'id = "L1"', "lamp L1: stands 2 times"),
        ('b = "W2"', 'b = "W7"', "waypoint W7 does not exist"),
        ("output = 1", "output = 5", "lamp Lantern: is on output 5, which does not exist"),
        ("number = 2", "number = 1", "output 1: stands 2 times"),
        (
            "current_ma = 8",
            'run = { way = ["W2", "W1"], plus = { joint = "J4" } }',
            "ends in joint J4, which does not exist",
        ),
    ],
)
def test_broken_references(old: str, new: str, said: str) -> None:
    assert any(said in message for message in faults_of(SMALL.replace(old, new, 1)))


def test_faults_past_a_hundred_are_counted() -> None:
    lamps = "".join(
        f'\n[[lamp]]\nid = "L{number}"\nname = "lamp {number}"\nspur_mm = -1\n' for number in range(3, 303)
    )
    told = faults_of(SMALL + lamps)
    assert len(told) == reading_module.MOST_FAULTS + 1
    assert "has 200 faults more" in told[-1]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "has no schema number"),
        ("\ufeff", "line 1"),
        ("name = 'x'", "has no schema number"),
        ("schema = 0", "0 is not known (1 to 1)"),
        ("schema = -1", "-1 is not known"),
        ("schema = 1.0", "1.0 is not known"),
        ("schema = true", "true is not known"),
        ('schema = "1"', "'1' is not known"),
        ("schema = 2", "is of schema 2, written by a newer version of this program"),
        ("schema = 999999999999999999999", "written by a newer version"),
        (SMALL.replace("schema = 1", "schema = 2"), "the file was not touched"),
        ("schema = 1\nname", "x.toml line 2, at the end: can't be read"),
        ("schema = 1\n= 5\n", "x.toml line 2, column 1: can't be read"),
        ("schema = 1\nschema = 1\n", "line 2"),
        ("schema = 1\n[[lamp]]\n[lamp]\n", "line 3"),
        ("schema = 1\nx = 2026-99-99\n", "line 2"),
        ("schema = 1\nx = 'a\x1bb'\n", "line 2"),
        ("schema = 1\nx = " + "[" * 100_000, "is nested too deep"),
        ("schema = 1\nx = " + "{a=" * 100_000, "is nested too deep"),
        ("schema = 1\n" + "a." * 200_000 + "a = 1", "has keys nested too deep"),
        ("schema = 1\n[" + "a." * 200_000 + "a]", "has keys nested too deep"),
        ("schema = 1\nx = " + "9" * 10_000, "holds a number too long to read"),
        ("schema = 1\nx = '''" + "a" * 1_000_000, "line 2, at the end"),
        ("schema = 1\nx = '''" + "a. " * 300_000, "has keys nested too deep"),
        ("schema = 1\n" + '"a".' * 200_000 + "a = 1", "has keys nested too deep"),
        ("schema = 1\n" + "'a' . " * 200_000 + "a = 1", "has keys nested too deep"),
        ("schema = 1\n" + '"' * 1_000_001, "line 2"),
    ],
    ids=lambda value: value[:24] if isinstance(value, str) else None,
)
def test_a_text_that_is_no_project(text: str, said: str) -> None:
    start = time.perf_counter()
    with pytest.raises(StoreError) as caught:
        loads(text, "x.toml")
    assert said in caught.value.message()
    assert caught.value.message().startswith("x.toml")
    assert caught.value.remedy
    assert time.perf_counter() - start < 2


def test_messages_hold_no_control_characters() -> None:
    text = 'schema = 1\n"a\\u001b[31m" = "\\u0007"\n[project]\nname = "\\u001b]0;x"\ncode = "\\n"\n'
    with pytest.raises(Faults) as caught:
        loads(text, "x.toml")
    assert all(sign == "\n" or sign.isprintable() for sign in caught.value.message())


def test_an_older_schema_is_brought_up_to_date(monkeypatch: pytest.MonkeyPatch) -> None:
    """As a later version will: its schema is 2, and the step from 1 renames a key."""

    def to_two(data: dict[str, object]) -> dict[str, object]:
        return {**{key: value for key, value in data.items() if key != "battery"}, "supply": data["battery"]}

    monkeypatch.setattr(reading_module, "SCHEMA", SCHEMA + 1)
    monkeypatch.setitem(reading_module.MIGRATIONS, 1, to_two)
    harness = loads(SMALL.replace("[supply]", "[battery]").replace("cells = 6", "cells = 7"))
    assert harness.supply.cells == 7


def test_lines_agree_with_the_parser_on_every_path() -> None:
    """The reader of lines finds exactly the paths that tomllib finds."""

    def paths(value: object, path: tuple[str | int, ...] = ()) -> set[tuple[str | int, ...]]:
        found = {path} if path else set()
        inner = (
            value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
        )
        for key, item in inner:
            found |= paths(item, (*path, key))
        return found

    text = dumps(full_harness())
    lines = lines_of(text)
    real = paths(tomllib.loads(text))
    # Only the arrays of tables have no place of their own, but each of their tables has.
    arrays = {
        (key,)
        for key in ("waypoint", "leg", "lamp", "joint", "contact", "spool", "printed", "checked", "tag")
    } | {("controller", "block")}
    assert real - set(lines) == arrays
    assert set(lines) <= real
    assert lines["lamp", 1, "id"] == line_of(text, 'id = "L2"')
    assert lines["tag", 0, "events", 0, "note"] == line_of(text, "a little short")
