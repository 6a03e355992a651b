"""A name from a file is data in everything that is written: no writer makes code, markup or a path of it."""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest

from harness_tui.cli import main
from harness_tui.examples import text
from model import editing
from model.harness import Harness
from model.labels.batch import wire_batch
from model.labels.items import Text
from model.labels.stock import packaged_stocks
from model.routing.allot import settle
from model.routing.walk import propose
from model.store import loads, save
from tests.harness_tui.homes import own_home

FORMULA = "=cmd|' /C calc'!A0"
SCRIPT = "<script>alert(1)</script>"
PATH = "../../etc/passwd"
MARKUP = "[/][red]x[/red] [@click=app.quit]y[/]"
HEBREW = "\u05de\u05e0\u05d5\u05e8\u05d4"
COMBINED = "e\u0301clairage"
WIDE = "\u4fe1\u53f7"

COMMANDS = (
    ("export",),
    ("check",),
    ("electrics",),
    ("electrics", "--csv"),
    ("plan",),
    ("plan", "--csv"),
    ("cuts",),
    ("cuts", "--csv"),
    ("find", "L1"),
    ("find", "J1"),
    ("labels", "--out", "labels", "--draft"),
    ("papers", "--out", "papers"),
)


def hostile() -> Harness:
    """The lighthouse, all walked, with names that something careless would stumble over."""
    harness = loads(text("lighthouse"))
    names = iter((FORMULA, SCRIPT, MARKUP, HEBREW, COMBINED, WIDE, "@SUM(A1)", "-2+3", "+1"))
    for lamp in harness.lamps:
        harness = editing.edit_lamp(harness, lamp.id, name=next(names), place=PATH)
    for lamp in harness.lamps:
        harness = settle(propose(harness, lamp.id).accept(harness))
    for point in harness.waypoints:
        harness = editing.edit_waypoint(harness, point.id, name=next(names))
    harness = editing.rename(harness, name=PATH)
    return settle(editing.set_controller(harness, name=SCRIPT[:30]))


@pytest.fixture
def work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    return own_home(tmp_path, monkeypatch)


class Elements(HTMLParser):
    """The elements of a page, and the attributes that can act."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.scripts = 0
        self.acting: list[str] = []
        self.feed(page)

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        self.scripts += tag == "script"
        self.acting += [name for name, _ in attributes if name.startswith("on")]


def cells_are_no_formulas(table: str, source: object) -> None:
    for row in csv.reader(io.StringIO(table)):
        for cell in row:
            harmless = re.fullmatch(r"[+-]?[\d.,]*", cell)
            assert harmless or cell[0] not in "=+-@\t\r\uff1d\uff0b\uff0d\uff20", (source, cell)


def test_every_writer(work: Path, capfd: pytest.CaptureFixture[str]) -> None:
    save(hostile(), work / "rock.toml")
    outside = {path for path in work.parent.rglob("*") if "state" not in path.parts}
    printed = []
    for command, *words in COMMANDS:
        assert main([command, "rock.toml", *words]) in (0, 1), (command, capfd.readouterr().err)
        out, err = capfd.readouterr()
        printed.append(out)
        for sign in out + re.sub(r"\r\x1b\[K", "", err):  # its own wiping of a line of progress
            assert sign in "\n\r" or unicodedata.category(sign) not in ("Cc", "Cf", "Cs"), (command, sign)
        if "--csv" in words or command == "export":
            cells_are_no_formulas(out, command)
    assert any(HEBREW in one for one in printed)
    for image in ("svg", "png", "pdf"):
        assert main(["plan", "rock.toml", "--image", f"loom.{image}"]) in (0, 1)
    capfd.readouterr()

    written = [path for path in work.parent.rglob("*") if path.is_file() and "state" not in path.parts]
    made = [path for path in written if path not in outside]
    assert all(work in path.parents for path in made), "nothing is written elsewhere"
    for path in made:
        assert re.fullmatch(r"[A-Za-z0-9.-]+", path.name), path
    kinds = {path.suffix for path in made}
    assert {".csv", ".html", ".pdf", ".png", ".svg"} <= kinds
    for path in made:
        if path.suffix == ".csv":
            cells_are_no_formulas(path.read_text("utf-8-sig"), path.name)
        elif path.suffix == ".html":
            elements = Elements(path.read_text("utf-8"))
            assert elements.scripts == 1, "its own search, and no other"
            assert elements.acting == []
        elif path.suffix == ".svg":
            tags = {element.tag.rpartition("}")[2] for element in ElementTree.parse(path).iter()}
            assert tags <= {"svg", "title", "desc", "g", "path", "line", "rect", "circle", "text", "tspan",
                            "polyline", "polygon", "defs", "style"}, tags  # fmt: skip
        elif path.suffix == ".pdf":
            data = path.read_bytes()
            for act in (b"/JavaScript", b"/JS", b"/Launch", b"/EmbeddedFile"):
                assert act not in data, (path, act)


def test_what_a_label_cannot_show_is_said(work: Path) -> None:
    """Right-to-left and wide signs are in no font of the labels: left out, with a finding that names them. A
    combined accent is drawn as one sign.
    """
    harness = hostile()
    names = (HEBREW, f"{WIDE} Tor", COMBINED)
    for lamp, name in zip(harness.lamps, names, strict=True):
        harness = editing.edit_lamp(harness, lamp.id, name=name)
    lacking = dict.fromkeys((lamp.id for lamp in harness.lamps), "")
    drawn = dict.fromkeys(lacking, "")
    for label in wire_batch(harness, packaged_stocks(), "flag-24", "flag"):
        lamp_id = label.wires[0].key.rstrip("+-")
        if label.text.end != "L" or lamp_id not in lacking:
            continue
        drawn[lamp_id] += " ".join(item.text for item in label.layout.items if isinstance(item, Text))
        for problem in label.layout.problems:
            if problem.rule == "label-glyph":
                lacking[lamp_id] += f"{problem.found} {problem.limit} {problem.remedy}"
    hebrew, wide, combined = lacking
    assert "HEBREW LETTER MEM" in lacking[hebrew].upper()
    assert "TOR" in drawn[wide].upper()
    assert "4FE1" in lacking[wide].upper()
    assert lacking[combined] == ""
    assert "\u00c9CLAIRAGE" in drawn[combined].upper()
    assert not any(sign in drawn[lamp] for lamp in drawn for sign in HEBREW + WIDE)
