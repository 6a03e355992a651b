"""Papers: what is read on the screen is what is written."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from pathlib import Path

import pytest
from pypdfium2 import PdfDocument
from textual.widgets import Input

from harness_tui.app import LoomApp
from harness_tui.printing import Going, PapersWritten, write_papers
from harness_tui.screens import papers as papers_screen
from harness_tui.screens.papers import PapersScreen
from harness_tui.session import Session
from harness_tui.widgets.columns import FittedTable
from model import editing
from model.cautions import CAUTIONS
from model.editing import new_harness
from model.errors import StoreError
from model.harness import Harness
from model.papers.csv_writer import papers_csv
from model.papers.shelf import PAPERS, Paper
from model.routing.allot import settle
from tests.harness_tui.screen_text import screen_text
from tests.model.tracing.loom import gritter


def papers(harness: Harness, path: Path | None = None) -> LoomApp:
    return LoomApp(Session(harness, path), room="papers")


def flat(app: LoomApp) -> str:
    """The screen without its line breaks."""
    return " ".join(screen_text(app).split())


async def test_every_paper_is_read_here() -> None:
    app = papers(gritter())
    async with app.run_test(size=(120, 40)) as pilot:
        for paper in PAPERS:
            app.screen.query_one(FittedTable).go_to(paper.key)
            await pilot.pause()
            await app.workers.wait_for_complete()
            await pilot.pause()
            assert f"{paper.title} of Gritter (GRT)" in screen_text(app)
        assert CAUTIONS[0].words[:40] in flat(app)


async def test_those_chosen_are_written_and_are_what_was_read(tmp_path: Path) -> None:
    app = papers(gritter(), tmp_path / "gritter.toml")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("a")
        await pilot.pause()
        assert "Papers 0 of" in screen_text(app)
        await pilot.press("down", "space", "x")
        await pilot.pause()
        assert "Write Wire list into the folder" in screen_text(app)
        await pilot.press("enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "3 files in" in flat(app)
        assert "Print GRT-papers.pdf at 100 %" in flat(app)
        folder = tmp_path / "GRT-papers"
        names = ["GRT-papers.html", "GRT-papers.pdf", "GRT-wire-list.csv"]
        assert sorted(path.name for path in folder.iterdir()) == names
        document = PdfDocument(folder / "GRT-papers.pdf")
        assert [round(side / 72 * 25.4) for side in document.get_page_size(0)] == [210, 297]
        with (folder / "GRT-wire-list.csv").open(encoding="utf-8-sig", newline="") as file:
            rows = list(csv.DictReader(file))
        assert {row["tag"] for row in rows} == {record.tag for record in app.session.harness.ledger}


async def test_none_chosen_writes_the_one_under_the_cursor_and_all_writes_all(tmp_path: Path) -> None:
    app = papers(gritter(), tmp_path / "gritter.toml")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("a", "ctrl+end", "x", "enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        folder = tmp_path / "GRT-papers"
        assert {path.name for path in folder.iterdir()} == {"GRT-papers.pdf", "GRT-papers.html"}
        assert 'id="paper-cautions"' in (folder / "GRT-papers.html").read_text(encoding="utf-8")
        assert 'id="paper-board"' not in (folder / "GRT-papers.html").read_text(encoding="utf-8")
        await pilot.press("a", "p")
        await pilot.pause()
        assert "Letter" in screen_text(app)
        await pilot.press("x", "enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        html = (folder / "GRT-papers.html").read_text(encoding="utf-8")
        assert all(f'id="paper-{paper.key}"' in html for paper in PAPERS)
        assert {path.name for path in folder.glob("*.csv")} == set(papers_csv(PAPERS, app.session.harness))
        size = PdfDocument(folder / "GRT-papers.pdf").get_page_size(0)
        assert [round(side / 72 * 25.4, 1) for side in size] == [215.9, 279.4]


async def test_a_paper_is_scrolled_and_left_again() -> None:
    app = papers(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("enter", *("right",) * 4)
        await pilot.pause()
        view = app.screen.query_one("#view")
        assert app.focused is view
        await pilot.press("escape")
        assert app.focused is app.screen.query_one(FittedTable)
        assert isinstance(app.screen, PapersScreen)
        await pilot.press("l")
        await pilot.pause()
        assert "Labels 18" in screen_text(app)


async def test_in_a_small_window_the_paper_that_is_read_has_the_room_of_the_list() -> None:
    app = papers(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("down", "enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        tags = [record.tag for record in app.screen.session.harness.ledger if record.live]  # type: ignore[attr-defined]
        assert all(tag in screen_text(app) for tag in tags)
        assert "what for" not in screen_text(app)
        await pilot.press("escape")
        await pilot.pause()
        assert "what for" in screen_text(app)
        assert app.screen.query_one(FittedTable).has_focus


async def test_a_folder_that_cannot_be_is_said_and_stays_to_be_mended(tmp_path: Path) -> None:
    (tmp_path / "GRT-papers").write_text("in the way")
    app = papers(gritter(), tmp_path / "gritter.toml")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("a", "x", "enter")
        await pilot.pause()
        assert "can't be made" in flat(app)
        assert (tmp_path / "GRT-papers").read_text() == "in the way"
        line = app.focused
        assert isinstance(line, Input)
        assert line.value == str(tmp_path / "GRT-papers")
        line.value = " "
        await pilot.press("enter")
        await pilot.pause()
        assert "folder: is missing" in flat(app)
        line.value = str(tmp_path / "other")
        await pilot.press("enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert (tmp_path / "other" / "GRT-papers.pdf").exists()
        await pilot.press("x")
        await pilot.pause()
        assert app.focused is not None
        assert getattr(app.focused, "value", "") == str(tmp_path / "other")  # it is proposed from now on


async def test_escape_stops_the_writing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def endless(
        papers: Sequence[Paper], harness: Harness, folder: Path, *, page: str, day: str, going: Going
    ) -> PapersWritten:
        import time

        for done in range(1000):
            if not going(done, 1000):
                return PapersWritten(folder=folder, files=(), stopped=True)
            time.sleep(0.01)
        raise AssertionError("was not stopped")

    monkeypatch.setattr(papers_screen, "write_papers", endless)
    app = papers(gritter(), tmp_path / "gritter.toml")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("x", "enter")
        await pilot.pause(0.3)
        assert "Escape stops" in screen_text(app)
        await pilot.press("escape")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "Stopped." in screen_text(app)


def test_a_paper_that_cannot_be_written_leaves_the_old_one(tmp_path: Path) -> None:
    harness = gritter()
    cautions = [paper for paper in PAPERS if paper.key == "cautions"]
    path, _ = write_papers(cautions, harness, tmp_path).files
    before = path.read_bytes()
    (tmp_path / "GRT-papers.pdf.part").mkdir()
    with pytest.raises(StoreError, match="can't be written"):
        write_papers(PAPERS, harness, tmp_path)
    assert path.read_bytes() == before


@pytest.mark.parametrize(
    ("size", "name"),
    [((20, 5), "[/]"), ((40, 10), "=1+1"), ((200, 60), "\U0001f6a8" * 9), ((80, 24), "x" * 60)],
)
async def test_any_name_in_any_window(tmp_path: Path, size: tuple[int, int], name: str) -> None:
    harness = settle(editing.edit_lamp(gritter(), "L1", name=name))
    app = papers(harness, tmp_path / "a.toml")
    async with app.run_test(size=size) as pilot:
        await pilot.press("down", "down", "enter", "escape", "x", "enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        with (tmp_path / "GRT-papers" / "GRT-wire-list.csv").open(encoding="utf-8-sig", newline="") as file:
            cells = [cell.removeprefix("'") for row in csv.reader(file) for cell in row]
        assert f"{name} minus" in cells


async def test_an_empty_project_has_papers_too() -> None:
    app = papers(new_harness("Empty", "NIL"))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("down", "down", "down")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "Empty (NIL)" in screen_text(app)
