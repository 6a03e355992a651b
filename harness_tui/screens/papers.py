"""Papers: every paper to read here, and to write into a folder."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from pathlib import Path
from typing import ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Container, ScrollableContainer
from textual.content import Content
from textual.widgets import DataTable, Static

from harness_tui.printing import PapersWritten, make_folder, paper_folder, write_papers
from harness_tui.screens.room import Room, styles_beside
from harness_tui.session import today
from harness_tui.stocks import all_stocks
from harness_tui.widgets.ask_checked import AskChecked
from harness_tui.widgets.columns import FittedTable, spread
from harness_tui.widgets.lines import clip
from harness_tui.widgets.table import Row
from model.errors import BadValue, LoomError
from model.harness import Harness
from model.labels.stock import PAGES
from model.papers.shelf import PAPERS, Paper, papers
from model.values import counted, shown

WIDE_FROM = 112
"""Columns from which the paper stands beside the list."""

LIST_WIDTH = 60
"""Columns of the list then."""

_LABELS = "labels"


class PapersScreen(Room):
    """The list of papers; the one under the cursor in plain text."""

    DEFAULT_CSS = styles_beside(__file__)

    WORD = "Papers"
    HELP = (
        "Everything on paper. Enter reads the paper under the cursor, Escape comes back. Space chooses; x "
        "writes those chosen, or the one under the cursor: one PDF to print, one HTML file for the phone "
        "that finds a wire by its tag, and CSV of every table; p changes the paper size. The figures are "
        "those of the screens. Labels are printed in Labels."
    )
    BINDINGS: ClassVar = [
        Binding("space", "choose", "choose", tooltip="choose this paper, or not", id="papers.choose"),
        Binding("a", "all", "all", tooltip="choose all, or none", id="papers.all"),
        Binding("x", "write", "write", tooltip="write those chosen into a folder", id="papers.write"),
        Binding("p", "page", "paper size", tooltip="print on A4 or on Letter", id="papers.page"),
        Binding("l", "labels", "labels", tooltip="print labels, in Labels", id="papers.labels"),
        Binding("escape", "leave", "back", show=False, id="papers.leave"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.chosen = {paper.key for paper in PAPERS}
        self.page = next(iter(PAGES))
        self.working = False
        self.stopping = threading.Event()
        self._folder = ""
        """The folder that was typed last, "" for the one that is proposed."""
        self._drawn: tuple[Harness, str] | None = None

    def compose_body(self) -> ComposeResult:
        with Container(id="both"):
            yield FittedTable(("", "paper", "what for"), id="papers")
            with ScrollableContainer(id="view"):
                yield Static("", id="text", markup=False)

    def on_mount(self) -> None:
        self.page = self.loom.preferences.paper
        self.query_one(FittedTable).focus()

    def where(self) -> str:
        return f"Papers {len(self.chosen)} of {len(PAPERS)} chosen, {self.page}"

    def go_to(self, ref: str) -> None:
        if self.query_one(FittedTable).go_to(ref):
            self._show_paper()

    def _paper(self) -> Paper | None:
        here = self.query_one(FittedTable).here
        return next((paper for paper in papers(all_stocks()) if paper.key == here), None)

    # --- drawing ---

    def show_harness(self) -> None:
        self.set_class(self.app.size.width >= WIDE_FROM, "-wide")
        room = LIST_WIDTH if self.has_class("-wide") else self.app.size.width
        widths = spread(room - 1, (1, 11, 20), (0, 0, 1))
        self.query_one(FittedTable).fill_to(widths, list(self._rows(widths[2])))
        self._show_paper()

    def _rows(self, room: int) -> Iterator[Row]:
        for paper in PAPERS:
            mark = "\u2713" if paper.key in self.chosen else ""
            yield paper.key, (Content.styled(mark, "bold $accent"), paper.title, clip(paper.about, room))

    @on(DataTable.RowHighlighted)
    def _moved(self) -> None:
        self._show_paper()

    def _show_paper(self) -> None:
        paper = self._paper()
        harness = self.session.harness
        if paper is None or (self._drawn is not None and self._drawn == (harness, paper.key)):
            return
        fresh = self._drawn is None or self._drawn[1] != paper.key
        self._drawn = (harness, paper.key)
        if fresh:
            self.query_one("#view").scroll_home(animate=False)
            self.query_one("#text", Static).update(Content.styled(f"{paper.title} ...", "dim"))
        # Some papers take a moment to work out; the cursor moves on meanwhile.
        self.run_worker(
            lambda: self._work_out(paper, harness),
            group="view",
            exclusive=True,
            thread=True,
            exit_on_error=False,
        )

    def _work_out(self, paper: Paper, harness: Harness) -> None:
        """In a thread of its own: the text of a paper."""
        try:
            text, style = paper.text(harness), ""
        except LoomError as error:
            text, style = error.message(), "$text-error"
        except Exception as error:
            # In a thread nobody would see it.
            text, style = f"{paper.title} can't be worked out: {error!r}", "$text-error"
        self.app.call_from_thread(self._show_text, paper, harness, Content.styled(text, style))

    def _show_text(self, paper: Paper, harness: Harness, text: Content) -> None:
        if self._drawn == (harness, paper.key) and self.is_mounted:
            self.query_one("#text", Static).update(text)

    # --- keys ---

    def action_choose(self) -> None:
        """Choose the paper under the cursor, or not."""
        paper = self._paper()
        if paper is not None:
            self.chosen ^= {paper.key}
            self.redraw()

    def action_all(self) -> None:
        """Choose all papers, or none."""
        everything = {paper.key for paper in PAPERS}
        self.chosen = set() if self.chosen == everything else everything
        self.redraw()

    def action_page(self) -> None:
        """The next paper size."""
        sizes = list(PAGES)
        self.page = sizes[(sizes.index(self.page) + 1) % len(sizes)]
        self.redraw()

    @on(DataTable.RowSelected)
    def _read(self) -> None:
        # In a small window the paper takes the room of the list until Escape.
        self.add_class("-reading")
        self.query_one("#view").focus()

    def action_labels(self) -> None:
        """Go to Labels, where they are printed."""
        self.loom.action_go(_LABELS)

    def action_leave(self) -> None:
        """Stop writing; else from the paper to the list, from there to the screen before."""
        if self.working:
            self.stopping.set()
        elif self.has_class("-reading") or self.focused is self.query_one("#view"):
            self.remove_class("-reading")
            self.query_one(FittedTable).focus()
        else:
            self.loom.action_room_before()

    def _wanted(self) -> list[Paper]:
        chosen = [paper for paper in papers(all_stocks()) if paper.key in self.chosen]
        here = self._paper()
        return chosen or ([here] if here else [])

    def action_write(self) -> None:
        """Ask for a folder and write the papers chosen."""
        papers = self._wanted()
        if self.working or not papers:
            return
        count = f"{len(papers)} papers" if len(papers) > 1 else papers[0].title
        folder = self._folder or str(paper_folder(self.session.path, self.session.harness.code))
        more = f"One PDF on {self.page}, one HTML file for a phone, CSV of the tables. Old ones are replaced."
        question = f"Write {count} into the folder"
        self.app.push_screen(
            AskChecked(question, folder, check=lambda typed: make_folder(_folder_of(typed)), more=more),
            self._write_into,
        )

    def _write_into(self, typed: str | None) -> None:
        if typed is None:
            return
        folder = _folder_of(typed)
        self._folder = typed
        papers, harness = self._wanted(), self.session.harness
        self.working = True
        self.stopping.clear()
        self.run_worker(
            lambda: self._write(papers, harness, folder), group="write", thread=True, exit_on_error=False
        )

    def _write(self, papers: list[Paper], harness: Harness, folder: Path) -> None:
        """In a thread of its own: write, and say how far it is."""

        def going(done: int, total: int) -> bool:
            self.app.call_from_thread(self.say, f"Writing {done} of {total}. Escape stops.")
            return not self.stopping.is_set()

        try:
            written = write_papers(papers, harness, folder, page=self.page, day=today(), going=going)
        except LoomError as error:
            self.app.call_from_thread(self._done, None, error.message())
        except Exception as error:
            self.app.call_from_thread(self._done, None, f"The papers can't be written: {error!r}.")
        else:
            self.app.call_from_thread(self._done, written, "")

    def _done(self, written: PapersWritten | None, trouble: str) -> None:
        self.working = False
        if written is None:
            self.say(trouble, "error")
        elif written.stopped:
            self.say(f"Stopped. {counted(len(written.files), 'file')} stay in {written.folder}.", "warning")
        else:
            pdf = next((path.name for path in written.files if path.suffix == ".pdf"), "")
            self.say(f"{counted(len(written.files), 'file')} in {written.folder}. Print {pdf} at 100 %.")


def _folder_of(typed: str) -> Path:
    """The folder that was typed. BadValue where there is none."""
    if not typed.strip():
        raise BadValue("folder", "is missing", remedy="Type where the papers go, or Escape.")
    try:
        return Path(typed.strip()).expanduser()
    except RuntimeError as error:
        raise BadValue("folder", shown(typed.strip()), limit="of a person that is known here") from error
