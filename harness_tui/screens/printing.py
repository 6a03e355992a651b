"""The print dialog: where the labels go, progress with a way to stop, and whether they came out well."""

from __future__ import annotations

import threading
import time
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, cast

from textual import on
from textual.app import ComposeResult
from textual.binding import Binding
from textual.containers import Grid, Vertical
from textual.content import Content
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from harness_tui.printing import Written, label_folder, write_labels
from harness_tui.session import today
from harness_tui.widgets.lines import clip
from model import editing
from model.errors import BadValue, LoomError
from model.labels.batch import WireLabel, marks
from model.values import parse_number

if TYPE_CHECKING:
    from harness_tui.app import LoomApp

BAR = 30
TELL_EVERY_S = 0.05


class PrintScreen(ModalScreen[bool]):
    """Writes labels to files and, once the person says that they came out well, marks them as printed.

    Gives True if they were marked.
    """

    DEFAULT_CSS = """
    PrintScreen { align: left bottom; background: transparent; }
    PrintScreen Vertical { height: auto; max-height: 90%; background: $background; border-top: solid $accent;
                           padding: 0 1; }
    PrintScreen Grid { grid-size: 2; grid-columns: 24 1fr; grid-rows: 1; height: auto; }
    PrintScreen Input { height: 1; }
    PrintScreen .dim { text-style: dim; height: auto; }
    PrintScreen #state { height: auto; }
    """
    BINDINGS: ClassVar = [
        Binding("enter", "go", "go on", id="print.go"),
        Binding("escape", "leave", "back", id="print.leave"),
    ]

    def __init__(self, labels: Sequence[WireLabel]) -> None:
        super().__init__()
        self.labels = tuple(label for label in labels if label.printable)
        self.left_out = tuple(label for label in labels if not label.printable)
        self.stopping = threading.Event()
        self.working = False
        self.written: Written | None = None

    @property
    def loom(self) -> LoomApp:
        """The app, by its own type."""
        return cast("LoomApp", self.app)

    def compose(self) -> ComposeResult:
        session = self.loom.session
        sheets = any(label.layout.stock.sheet for label in self.labels)
        with Vertical():
            yield Static(self._heading(), markup=False, id="heading")
            with Grid():
                yield Static("into the folder", markup=False, classes="dim")
                yield Input(str(label_folder(session.path, session.harness.code)), compact=True, id="folder")
                yield Static("copies of each", markup=False, classes="dim")
                yield Input("1", compact=True, id="copies")
                if sheets:
                    yield Static("first free place, sheet", markup=False, classes="dim")
                    yield Input("1", compact=True, id="start")
            yield Static("", markup=False, id="state")
            yield Static("", markup=False, id="hint", classes="dim")

    def on_mount(self) -> None:
        self._hint("Enter writes a PDF and a picture of each label. Tab next field, Escape back.")
        if not self.labels:
            self._state("None of these labels has room for its tag. Choose a larger stock.", "$text-warning")
        self.query_one("#folder").focus()

    def _heading(self) -> Content:
        stocks = dict.fromkeys(label.layout.stock.title for label in self.labels)
        count = len(self.labels)
        line = Content.styled(f"Print {count} label{'' if count == 1 else 's'}", "bold")
        if stocks:
            line += Content(f" on {'; '.join(stocks)}")
        if self.left_out:
            keys = ", ".join(label.key for label in self.left_out[:4])
            more = f" and {len(self.left_out) - 4} more" if len(self.left_out) > 4 else ""
            line += Content.styled(f"\nLeft out, no room for the tag: {keys}{more}", "$text-warning")
        return line

    def _state(self, text: str, style: str = "") -> None:
        self.query_one("#state", Static).update(Content.styled(text, style))

    def _hint(self, text: str) -> None:
        self.query_one("#hint", Static).update(Content(text))

    # --- writing ---

    @on(Input.Submitted)
    def _submitted(self, event: Input.Submitted) -> None:
        event.stop()
        self.action_go()

    def action_go(self) -> None:
        """Start writing; afterwards, mark the labels as printed."""
        if self.working or not self.labels:
            return
        if self.written is not None:
            self._mark()
            return
        try:
            copies, start = (
                self._whole("copies", "copies", 1),
                self._whole("start", "first free place", 1) - 1,
            )
            typed = self.query_one("#folder", Input).value.strip()
            if not typed:
                raise BadValue("folder", "is empty", remedy="Type where the labels go.")
        except BadValue as error:
            self._state(error.message(), "$text-error")
            return
        folder = Path(typed).expanduser()
        self.working = True
        self.stopping.clear()
        for field in self.query(Input):
            field.disabled = True
        self.set_focus(None)
        self._hint("Escape stops.")
        code = self.loom.session.harness.code
        self.run_worker(lambda: self._write(folder, code, copies, start), thread=True, exit_on_error=False)

    def _whole(self, field: str, words: str, default: int) -> int:
        found = self.query(f"#{field}")
        if not found:
            return default
        value = parse_number(found.first(Input).value, words)
        if value is None:
            return default
        if value != int(value) or value < 1:
            raise BadValue(words, f"{value:g}", limit="a whole number from 1 on")
        return int(value)

    def _write(self, folder: Path, code: str, copies: int, start: int) -> None:
        """In a thread of its own: write, and tell the screen how far it is."""
        told = 0.0

        def going(done: int, total: int) -> bool:
            nonlocal told
            now = time.monotonic()
            if now - told >= TELL_EVERY_S or done == total:
                told = now
                self.app.call_from_thread(self._progress, done, total)
            return not self.stopping.is_set()

        layouts = [label.layout for label in self.labels]
        try:
            written = write_labels(layouts, folder, code, start=start, copies=copies, going=going)
        except LoomError as error:
            self.app.call_from_thread(self._failed, error.message())
        except Exception as error:
            # Whatever it is, the dialog has to come back to life.
            self.app.call_from_thread(self._failed, f"The labels can't be written: {error!r}.")
        else:
            self.app.call_from_thread(self._finished, written)

    def _progress(self, done: int, total: int) -> None:
        full = BAR * done // total if total else BAR
        bar = Content.styled("\u2501" * full, "$accent") + Content.styled("\u2501" * (BAR - full), "dim")
        self.query_one("#state", Static).update(bar + Content(f"  {done} of {total}"))

    def _failed(self, message: str) -> None:
        self._open_again()
        self._state(message, "$text-error")

    def _open_again(self) -> None:
        self.working = False
        for field in self.query(Input):
            field.disabled = False
        self.query_one("#folder").focus()
        self._hint("Enter tries again, Escape back.")

    def _finished(self, written: Written) -> None:
        if written.stopped:
            self._open_again()
            self._state("Stopped. What was written so far stays in the folder.", "$text-warning")
            return
        self.working = False
        self.written = written
        room = max(self.app.size.width - 4, 20)
        lines = [clip(f"Written: {path}", room) for path in written.pdfs]
        lines.append(clip(f"and {written.pictures} pictures beside it in {written.folder}", room))
        lines.append("Print at 100 %, not fitted to the page.")
        self._state("\n".join(lines))
        self._hint("Came out well? Enter marks them as printed. Escape leaves them as they are.")

    def _mark(self) -> None:
        said = marks(self.labels)
        count = len(said)
        try:
            self.loom.session.apply(
                lambda harness: editing.mark_printed(harness, said, today(), said=said),
                f"{count} label{'' if count == 1 else 's'} printed",
            )
        except LoomError as error:
            self._state(error.message(), "$text-error")
            self._hint("Escape back.")
            return
        self.dismiss(True)

    def action_leave(self) -> None:
        """Stop writing; else close without marking."""
        if self.working:
            self.stopping.set()
        else:
            self.dismiss(False)
