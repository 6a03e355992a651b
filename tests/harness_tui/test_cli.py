"""The plain commands: data on standard output, talk on standard error, exit codes 0, 1 and 2."""

from __future__ import annotations

import csv
import io
import os
import subprocess
import sys
from pathlib import Path

import pytest

from harness_tui import projects
from harness_tui.cli import FINE, FOUND, UNUSABLE, main
from harness_tui.examples import text
from model import editing
from model.labels.batch import LabelState, wire_batch
from model.labels.stock import packaged_stocks
from model.routing.allot import settle
from model.routing.cutting import cutting_plan
from model.routing.plan_compare import compare
from model.routing.spools import add_spool
from model.routing.wires import derive
from model.store import load, save
from tests.harness_tui.homes import own_home


@pytest.fixture
def work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    return own_home(tmp_path, monkeypatch)


@pytest.fixture
def lorry(work: Path) -> Path:
    path = work / "lorry.toml"
    path.write_text(text("gritter"), "utf-8")
    return path


def test_new_import_export_check(work: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["new", "a.toml", "--name", "Barge [/]", "--code", "brg"]) == FINE
    assert main(["new", "a.toml"]) == UNUSABLE
    assert "exists already" in capsys.readouterr().err
    Path("l.csv").write_text("name,output\nBow lamp,1\nStern lamp,2\n", "utf-8")
    assert main(["import", "a.toml", "l.csv"]) == FINE
    harness = load(Path("a.toml"))
    assert (harness.code, [lamp.name for lamp in harness.lamps]) == ("BRG", ["Bow lamp", "Stern lamp"])
    assert main(["export", "a.toml"]) == FINE
    out, _ = capsys.readouterr()
    assert out.splitlines()[0].startswith("name,")
    assert main(["check", "a.toml"]) == FOUND, "no lamp has a place"


def test_a_list_of_another_program_is_read_in_its_encoding(work: Path) -> None:
    main(["new", "a.toml", "--code", "BRG"])
    Path("l.csv").write_bytes("name,output\nBugl\u00e4mpchen,1\n".encode("utf-16"))
    assert main(["import", "a.toml", "l.csv"]) == FINE
    assert [lamp.name for lamp in load(Path("a.toml")).lamps] == ["Bugl\u00e4mpchen"]


def test_of_a_faulty_list_nothing_is_taken(work: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["new", "a.toml", "--code", "BRG"])
    before = Path("a.toml").read_bytes()
    Path("l.csv").write_text("name,output\nBow lamp,1\n,2\nStern lamp,x\n", "utf-8")
    capsys.readouterr()
    assert main(["import", "a.toml", "l.csv"]) == UNUSABLE
    said = capsys.readouterr().err
    assert "l.csv line 3" in said
    assert "l.csv line 4" in said
    assert Path("a.toml").read_bytes() == before


def test_a_sign_the_reader_lacks_is_written_as_its_number(work: Path) -> None:
    save(editing.add_lamp(editing.new_harness("Barge", "BRG"), "lamp \U0001f6a8"), work / "a.toml")
    command = [sys.executable, "-m", "harness_tui", "export", "a.toml"]
    places = {"PYTHONIOENCODING": "cp1252", "PYTHONPATH": str(Path(projects.__file__).parent.parent)}
    done = subprocess.run(command, env={**os.environ, **places}, capture_output=True, timeout=60)
    assert (done.returncode, done.stderr) == (FINE, b"")
    assert b"lamp \\U0001f6a8" in done.stdout


def test_labels_are_written_and_marked_as_printed(lorry: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = load(lorry)
    wires = derive(before).wires
    assert wires
    assert main(["labels", str(lorry), "--stock", "flag-12", "--out", "out", "--draft"]) == FINE
    assert "a draft" in capsys.readouterr().err
    assert load(lorry).ledger == before.ledger
    assert main(["labels", str(lorry), "--stock", "flag-12", "--out", "out"]) == FINE
    out, _ = capsys.readouterr()
    assert [Path(line).suffix for line in out.splitlines()] == [".pdf"]
    assert len(list(Path("out/flag-12").glob("*.png"))) == 2 * len(wires)
    harness = load(lorry)
    batch = wire_batch(harness, packaged_stocks(), "flag-12", "flag")
    assert {label.state for label in batch} == {LabelState.PRINTED}
    # What is printed keeps its meaning: on another output the wire has another tag.
    lamp = next(lamp for lamp in harness.lamps if lamp.run and lamp.run.minus.joint is None)
    old = harness.ledger.live()[f"{lamp.id}-"].tag
    other = next(one.number for _, one in harness.controller.outputs() if one.number != lamp.output)
    assert settle(editing.edit_lamp(harness, lamp.id, output=other)).ledger.get(old).retired


def test_labels_of_a_project_held_elsewhere_are_written_but_not_marked(
    lorry: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = load(lorry).ledger
    session = projects.open_project(lorry)
    session.begin()
    assert main(["labels", str(lorry), "--out", "out"]) == FINE
    assert "Not marked as printed" in capsys.readouterr().err
    assert list(Path("out").glob("*.pdf"))
    assert load(lorry).ledger == before
    projects.close_project(session)


def test_a_project_without_walked_runs_has_no_labels(work: Path, capsys: pytest.CaptureFixture[str]) -> None:
    save(editing.new_harness("Barge", "BRG"), work / "a.toml")
    assert main(["labels", "a.toml"]) == FOUND
    assert "Walk the lamps first" in capsys.readouterr().err


def test_find(lorry: Path, capsys: pytest.CaptureFixture[str]) -> None:
    tag = next(record.tag for record in load(lorry).ledger if record.live)
    assert main(["find", str(lorry), f"GRT-{tag}-C".lower()]) == FINE
    assert tag in capsys.readouterr().out
    assert main(["find", str(lorry), "no", "such", "thing"]) == FOUND
    assert main(["find", str(lorry), "\x1b[31mred"]) == FOUND
    assert "\x1b" not in capsys.readouterr().out


@pytest.mark.parametrize("words", [["demo"], ["demo", "tug"], [], ["lorry.toml"], ["open", "lorry.toml"]])
def test_without_a_terminal_it_says_so(
    words: list[str], lorry: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(words) == UNUSABLE
    out, err = capsys.readouterr()
    assert out == ""
    assert "need a terminal" in err
    assert "check, find" in err


UNUSABLE_FILES = {
    "none": None,
    "toml": b"schema = 1\n[project\n",
    "types": b'schema = 1\n[project]\nname = 5\ncode = "AB"\n',
    "schema": b"schema = 99\n",
    "bytes": b"\xff\xfe\x00",
}


@pytest.mark.parametrize("data", UNUSABLE_FILES.values(), ids=UNUSABLE_FILES.keys())
@pytest.mark.parametrize(
    "command",
    ["check", "find", "labels", "export", "import", "papers", "electrics", "plan", "cuts", "expect", "trace"],
)
def test_a_file_that_cannot_be_used(
    command: str, data: bytes | None, work: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    if data is not None:
        Path("x.toml").write_bytes(data)
    Path("l.csv").write_text("name\nBow lamp\n", "utf-8")
    more = {"find": ["K7L"], "import": ["l.csv"], "expect": ["K7L"], "trace": ["--dark", "Bow lamp"]}
    assert main([command, "x.toml", *more.get(command, [])]) == UNUSABLE
    out, err = capsys.readouterr()
    assert out == ""
    assert "x.toml" in err
    assert (Path("x.toml").read_bytes() if Path("x.toml").exists() else None) == data
    assert not Path("labels").exists()
    assert not Path("papers").exists()


def test_plans_and_cuts_for_a_spreadsheet(lorry: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = lorry.read_bytes()
    assert main(["plan", str(lorry), "--csv"]) == FINE
    rows = list(csv.reader(io.StringIO(capsys.readouterr().out)))
    compared = compare(settle(load(lorry)))
    assert [row[:3] for row in rows[1:4]] == [
        [plan.name, f"{plan.wire_mm / 1000:.2f}", str(plan.joint_count)] for plan in compared.columns
    ]
    assert main(["cuts", str(lorry), "--csv"]) == FINE
    rows = list(csv.reader(io.StringIO(capsys.readouterr().out)))
    pieces = rows[1 : rows.index([])]
    waiting = sum(group.count for group in cutting_plan(settle(load(lorry))).groups)
    assert len(pieces) == waiting
    assert main(["cuts", str(lorry)]) == FINE
    assert "In this order the spool changes" in capsys.readouterr().out
    assert lorry.read_bytes() == before


def test_cuts_are_taken_from_what_is_on_hand(lorry: Path, capsys: pytest.CaptureFixture[str]) -> None:
    save(add_spool(load(lorry), "RD", 5000), lorry)
    assert main(["cuts", str(lorry)]) == FINE
    out = capsys.readouterr().out
    assert "RD 1" in out
    assert "No red 28 AWG" not in out
    assert "No black 28 AWG is entered as on hand" in out


@pytest.mark.parametrize(("kind", "begins"), [("png", b"\x89PNG"), ("svg", b"<?xml"), ("pdf", b"%PDF")])
def test_the_loom_as_an_image(
    kind: str, begins: bytes, lorry: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    image = lorry.with_name(f"loom.{kind}")
    assert main(["plan", str(lorry), "--image", str(image)]) == FINE
    assert capsys.readouterr().out.strip() == str(image)
    assert image.read_bytes().startswith(begins)


def test_an_image_of_a_plan_that_is_not_taken_says_so(
    lorry: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    before = lorry.read_bytes()
    for of, words in (("standing", ""), ("best", "the best plan, not taken"), ("pairs", "not taken")):
        image = lorry.with_name(f"{of}.svg")
        assert main(["plan", str(lorry), "--image", str(image), "--of", of]) == FINE
        drawn = image.read_text("utf-8")
        assert words in drawn
        assert ("not taken" in drawn) == bool(words)
    assert lorry.read_bytes() == before
    capsys.readouterr()
    assert main(["plan", str(lorry), "--image", "loom.gif"]) == UNUSABLE
    assert main(["plan", str(lorry), "--image", str(lorry / "loom.png")]) == UNUSABLE
    out, err = capsys.readouterr()
    assert out == ""
    assert "of no known kind" in err
    assert "can't be written" in err


def test_ctrl_c_ends_a_plain_command_without_a_traceback(
    lorry: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def interrupted(harness: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("model.checks.check", interrupted)
    assert main(["check", str(lorry)]) == 130
    out, talk = capsys.readouterr()
    assert (out, talk.strip()) == ("", "Stopped.")
