"""Each figure is the same wherever it stands: in every paper and its file, at the bench, on the screen."""

from __future__ import annotations

import csv
import io
import re

import pytest
from pypdfium2 import PdfDocument

from harness_tui.app import LoomApp
from harness_tui.session import Session
from model.bench import bench_order, steps
from model.harness import Harness
from model.papers.csv_writer import papers_csv
from model.papers.pdf_writer import papers_pdf
from model.papers.shelf import PAPERS
from model.papers.summary import summary
from model.routing.wires import derive
from tests.harness_tui.screen_text import screen_text
from tests.model.papers.looms import big, planned

Rows = list[dict[str, str]]
LOOMS = {"gritter": planned("gritter"), "tug": planned("tug"), "big": big(60)}


def read(harness: Harness) -> dict[str, Rows]:
    """Every table as a spreadsheet would read it, by its file's name without the project's code."""
    files = papers_csv(PAPERS, harness)
    return {
        name.removeprefix(f"{harness.code}-").removesuffix(".csv"): [
            {column: cell.removeprefix("'") for column, cell in row.items()}
            for row in csv.DictReader(io.StringIO(text))
        ]
        for name, text in files.items()
    }


@pytest.fixture(params=LOOMS, scope="module")
def loom(request: pytest.FixtureRequest) -> tuple[Harness, dict[str, Rows]]:
    return LOOMS[request.param], read(LOOMS[request.param])


def column(rows: Rows, key: str, value: str) -> dict[str, str]:
    return {row[key]: row[value] for row in rows}


def test_currents_of_outputs_and_commons(loom: tuple[Harness, dict[str, Rows]]) -> None:
    _, tables = loom
    for value in ("full mA", "limit mA", "margin mA"):
        first = column(tables["output-map-outputs"], "output", value)
        assert column(tables["electrics-outputs"], "output", value) == first
        if value != "margin mA":
            record = column(tables["test-record-outputs"], "output", value)
            assert record == {output: first[output] for output in record}
        pins = {f"{row['block']}{row['common pin']}": row[value] for row in tables["output-map-common"]}
        found = column(tables["electrics-common"], "common pin", value)
        assert {pin: found[pin] for pin in pins} == pins


def test_cut_lengths(loom: tuple[Harness, dict[str, Rows]]) -> None:
    harness, tables = loom
    cut = column(tables["wire-list"], "tag", "cut mm")
    planned_mm = {tag: cut[tag] for tag in column(tables["electrics-wires"], "tag", "cut mm")}
    assert column(tables["electrics-wires"], "tag", "cut mm") == planned_mm
    pieces = column(tables["cut-list-cut"], "tag", "cut mm")
    assert pieces == {tag: cut[tag] for tag in pieces}
    first_step = {row["tag"]: row["what to do"] for row in tables["bench-cards-steps"] if row["step"] == "1"}
    live = harness.ledger.live()
    for wire in bench_order(harness):
        tag = live[wire.key].tag
        assert first_step[tag] == steps(harness, wire)[0].words
        if not wire.own_lead and live[wire.key].cut_mm is None:
            assert f"cut {cut[tag]} mm " in first_step[tag]
    total = dict(summary(harness))["wires"]
    assert f"{derive(harness).spool_mm / 1000:.2f} m" in total


def test_resistors(loom: tuple[Harness, dict[str, Rows]]) -> None:
    _, tables = loom
    needed = {
        f"{row['resistor']} {row['tolerance %']} % {row['part']}": (row["pieces"], row["marks"])
        for row in tables["electrics-resistors"]
    }
    listed = {
        row["what"]: (row["in all"], row["marks"])
        for row in tables["parts-list"]
        if row["kind"] == "resistor"
    }
    assert listed == needed
    of_lamp = column(tables["electrics-lamps"], "lamp", "resistor")
    plus = {
        row["tag"]: row["from"].removesuffix(" plus")
        for row in tables["wire-list"]
        if row["from"].endswith(" plus")
    }
    said = 0
    for row in tables["bench-cards-steps"]:
        found = re.search(r"solder to resistor (\S+)", row["what to do"])
        if found and row["tag"] in plus:
            assert of_lamp[plus[row["tag"]]] == found.group(1)
            said += 1
    assert said or not needed


def test_volts_and_currents_of_lamps(loom: tuple[Harness, dict[str, Rows]]) -> None:
    _, tables = loom
    wired = column(tables["electrics-lamps"], "lamp", "wired mA")
    record = column(tables["test-record-lamps"], "lamp", "about mA")
    assert {lamp: record[lamp] for lamp, current in wired.items() if current and record[lamp]} == {
        lamp: current for lamp, current in wired.items() if current and record[lamp]
    }
    volts = column(tables["test-record-lamps"], "lamp", "about V")
    for row in tables["bench-cards-steps"]:
        for lamp, about in re.findall(r"on: (.+?) lights, about ([\d.]+) V", row["what to do"]):
            assert volts[lamp] == about


def test_the_fuse_and_the_draw(loom: tuple[Harness, dict[str, Rows]]) -> None:
    harness, tables = loom
    sums = column(tables["electrics-sums"], "what", "value")
    cover = dict(summary(harness))
    assert cover["all lamps on, full battery"] == sums["all lamps on, full battery"]
    fuse = next(row["what"] for row in tables["parts-list"] if row["kind"] == "fuse")
    assert cover["fuse in the positive battery lead"] == sums["fuse in the positive battery lead"]
    assert fuse.startswith(sums["fuse in the positive battery lead"])


def test_the_wire_that_is_bought(loom: tuple[Harness, dict[str, Rows]]) -> None:
    _, tables = loom
    groups = {(row["colour"], row["gauge"]): row["buy"] for row in tables["cut-list-by"]}
    for row in tables["parts-list"]:
        if row["kind"] == "wire":
            gauge = " ".join(row["what"].split()[-2:])
            buy = groups.get((row["marks"], gauge), "")
            count, _, each = buy.partition(" x ")
            metres = float(count) * float(each.removesuffix(" m")) if buy else 0.0
            assert float(row["buy"]) == metres


@pytest.mark.parametrize("name", ["gritter", "tug"])
def test_every_cell_stands_in_the_pdf_as_in_the_spreadsheet(name: str) -> None:
    harness = LOOMS[name]
    shown = [paper for paper in PAPERS if paper.tables is not None and paper.key != "bench-cards"]
    content = papers_pdf(shown, harness, day="2026-03-03")
    assert content is not None
    document = PdfDocument(content)
    pages = [squeezed(document[n].get_textpage().get_text_range()) for n in range(len(document))]
    cover = document[0].get_textpage().get_text_range()
    cells = 0
    for paper in shown:
        found = re.search(rf"{paper.title}.*?pages? (\d+)(?: to (\d+))?", cover)
        assert found, paper.title
        text = "".join(pages[int(found.group(1)) - 1 : int(found.group(2) or found.group(1))])
        for table in paper.tables(harness) if paper.tables is not None else ():
            for cell in {cell for row in table.rows for cell in row}:
                assert squeezed(cell) in text, (paper.key, cell)
                cells += 1
    assert cells > 300


def squeezed(text: str) -> str:
    """A text without its gaps: a cell may be broken into lines."""
    return re.sub(r"[\s\ufffe\xad]+", "", text)


def flat(app: LoomApp) -> str:
    """The screen without its gaps and rules."""
    return " ".join(screen_text(app).replace("\u2502", " ").split())


async def test_the_screens_show_the_figures_of_the_papers() -> None:
    harness = planned("gritter")
    tables = read(harness)
    app = LoomApp(Session(harness), room="outputs")
    async with app.run_test(size=(120, 60)) as pilot:
        await pilot.pause()
        for row in tables["output-map-outputs"]:
            if row["lamps"]:
                app.screen.go_to(row["output"])  # type: ignore[attr-defined]
                await pilot.pause()
                assert f"sum on a full battery {row['full mA']} mA" in flat(app), row
        await pilot.press("slash")
        await pilot.pause()
        wire = tables["wire-list"][10]
        await pilot.press(*wire["tag"], "enter")
        await pilot.pause()
        assert f"{wire['cut mm']} mm" in flat(app)
        assert wire["gauge"] in flat(app)
