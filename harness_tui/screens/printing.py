"""The print dialog: which printer or folder, progress and a way to stop; what is written is marked."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import ClassVar

from textual.binding import Binding
from textual.content import Content
from textual.widgets import Static

from harness_tui.preferences import read_state, remember_choice
from harness_tui.printers import Sent, calibration_of, measured_printers, queues, send_labels, stretch_words
from harness_tui.printing import Written, label_folder, write_labels
from harness_tui.screens.printer_slip import PrinterSlip
from harness_tui.session import Edit, Session, today
from harness_tui.widgets.form import Field, FieldInput
from harness_tui.widgets.lines import path_lines
from model.errors import BadValue, LoomError, NotThere
from model.harness import Harness
from model.labels.batch import Label
from model.papers.label_sets import mark, mark_as_in
from model.values import counted, shown

BAR = 30
TELL_EVERY_S = 0.05
PDF = "a PDF, for any printer"


class PrintScreen(PrinterSlip[bool]):
    """Prints labels or writes them to files, and marks them as printed at once.

    A label that is out in the world without a mark is the worse mistake: a later edit would give its wire
    another tag without a word. So no key is needed for the mark, and one takes it off again. Gives True if
    they are marked.
    """

    BINDINGS: ClassVar = [
        Binding("enter", "go", "go on", id="print.go"),
        Binding("escape", "leave", "back", id="print.leave"),
        Binding("n", "take_off", "not printed", tooltip="they did not come out", id="print.take_off"),
    ]

    def __init__(self, labels: Sequence[Label]) -> None:
        super().__init__()
        self.labels = tuple(label for label in labels if label.printable)
        self.left_out = tuple(label for label in labels if not label.printable)
        self.kept = any(label.text.kind != "card" for label in self.labels)
        self.stopping = threading.Event()
        self.working = False
        self.done = False
        self.marked = False
        self._before: Harness | None = None

    def fields(self) -> Iterator[Field]:
        session = self.loom.session
        last = read_state().choices.get("printer", "")
        yield Field(key="printer", label="printer", text=last, choices=_printers((), last), help=PDF)
        folder = str(label_folder(session.path, session.harness.code))
        yield Field(key="folder", label="a PDF into the folder", text=folder)
        yield Field(key="copies", label="copies of each", text="1")
        if any(label.layout.stock.sheet for label in self.labels):
            yield Field(key="start", label="first free place, sheet", text="1")

    def on_mount(self) -> None:
        if not self.labels:
            self.say("None of these labels has room for its tag. Choose a larger stock.", "$text-warning")

    def choices(self, found: Sequence[str], editor: FieldInput) -> tuple[str, ...]:
        return _printers(found, editor.value)

    def say_next(self) -> None:
        names = self.printer_names()
        if names:
            self.hint(f"Enter prints. Tab next field, Escape back. Space next printer: {names}.")
        else:
            self.hint("Enter writes a PDF and a picture of each. Tab next field, Escape back.")

    def heading(self) -> Content:
        stocks = dict.fromkeys(label.layout.stock.title for label in self.labels)
        count = len(self.labels)
        line = Content.styled(f"Print {_counted(count)}", "bold")
        if stocks:
            line += Content(f" on {'; '.join(stocks)}")
        if self.left_out:
            keys = ", ".join(label.key for label in self.left_out[:4])
            more = f" and {len(self.left_out) - 4} more" if len(self.left_out) > 4 else ""
            line += Content.styled(f"\nLeft out, no room for the tag: {keys}{more}", "$text-warning")
        return line

    # --- printing ---

    def action_go(self) -> None:
        """Start printing; afterwards, close."""
        if self.working or not self.labels:
            return
        if self.done:
            self.dismiss(self.marked)
            return
        try:
            copies = self.whole("copies", "copies", 1)
            start = self.whole("start", "first free place", 1) - 1
            printer, folder = self.typed("printer"), self.typed("folder")
            if not printer and not folder:
                raise BadValue("folder", "is empty", remedy="Type where the labels go.")
        except BadValue as error:
            self.say(error.message(), "$text-error")
            return
        self.working = True
        self.stopping.clear()
        self.close_fields()
        self.say("")
        self.hint("Escape stops.")
        work = partial(self._print, printer, Path(folder).expanduser(), copies, start)
        self.run_worker(work, thread=True, exit_on_error=False)

    def _print(self, printer: str, folder: Path, copies: int, start: int) -> None:
        """In a thread of its own: print or write, and tell the screen how far it is."""
        told = 0.0

        def going(done: int, total: int) -> bool:
            nonlocal told
            now = time.monotonic()
            if now - told >= TELL_EVERY_S or done == total:
                told = now
                self.app.call_from_thread(self._progress, done, total)
            return not self.stopping.is_set()

        layouts = [label.layout for label in self.labels]
        code = self.loom.session.harness.code
        came: Sent | Written
        try:
            if printer and printer in queues():
                came = send_labels(layouts, printer, code, start=start, copies=copies, going=going)
            else:
                if printer and printer not in measured_printers():
                    limit = ", ".join(_printers(queues())[1:]) or "no printer is there"
                    raise NotThere(
                        f"printer {shown(printer)}", "is not known", limit=limit,
                        remedy="Empty the field for a PDF, or measure its rulers: c in Labels.",
                    )  # fmt: skip
                calibration = calibration_of(printer) if printer else None
                came = write_labels(
                    layouts, folder, code, start=start, copies=copies, calibration=calibration, going=going
                )
            remember_choice("printer", printer)
        except LoomError as error:
            self.app.call_from_thread(self._failed, error.message())
        except Exception as error:
            # Whatever it is, the dialog has to come back to life.
            self.app.call_from_thread(self._failed, f"The labels can't be printed: {error!r}.")
        else:
            self.app.call_from_thread(self._finished, came, printer)

    def _progress(self, done: int, total: int) -> None:
        full = BAR * done // total if total else BAR
        bar = Content.styled("\u2501" * full, "$accent") + Content.styled("\u2501" * (BAR - full), "dim")
        self.query_one("#state", Static).update(bar + Content(f"  {done} of {total}"))

    def _failed(self, message: str) -> None:
        self._open_again()
        self.say(message, "$text-error")

    def _open_again(self) -> None:
        self.working = False
        self.open_fields("printer")
        self.hint("Enter tries again, Escape back.")

    def _finished(self, came: Sent | Written, printer: str) -> None:
        if came.stopped:
            self._open_again()
            kept = "What was written stays in the folder"
            if isinstance(came, Sent):
                kept = f"{counted(came.pages, 'page')} sent"
            self.say(f"Stopped. {kept}; nothing is marked as printed.", "$text-warning")
            return
        self.working = False
        self.done = True
        room = max(self.app.size.width - 4, 20)
        if isinstance(came, Sent):
            jobs = counted(len(came.jobs), "job")
            measured = stretch_words(came.queue)
            lines = [f"Sent to {came.queue}: {counted(came.pages, 'page')} in {jobs}; printer {measured}."]
        else:
            lines = [line for path in came.pdfs for line in path_lines(f"Written: {path}", room)]
            lines += path_lines(f"and {counted(came.pictures, 'picture')} beside it in {came.folder}", room)
            stretched = f", stretched for {printer}" if printer else ""
            lines.append(f"Print at 100 %, not fitted to the page{stretched}.")
        trouble = self._mark() if self.kept else ""
        if trouble:
            lines.append(trouble)
        elif self.kept:
            lines.append(f"{_counted(len(self.labels))} marked as printed.")
        self.say("\n".join(lines), "$text-error" if trouble else "")
        more = " n: they did not come out, take the mark off." if self.marked else ""
        self.hint(f"Enter or Escape closes.{more}")
        self.refresh_bindings()

    def _mark(self) -> str:
        """Mark the labels as printed; what is wrong with that, "" if it is done."""
        session = self.loom.session
        before = session.harness
        trouble = remember_marks(session, lambda harness: mark(harness, self.labels, today()))
        if session.harness is not before:
            self._before = before
            self.marked = True
        return trouble

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Offer to take the marks off once there are some."""
        return self.marked if action == "take_off" else True

    def action_take_off(self) -> None:
        """The labels did not come out: mark them as before, and close."""
        before = self._before
        if before is not None:
            trouble = remember_marks(
                self.loom.session, lambda harness: mark_as_in(harness, self.labels, before)
            )
            if trouble:
                self.say(trouble, "$text-error")
            else:
                self.dismiss(False)

    def action_leave(self) -> None:
        """Stop printing; else close."""
        if self.working:
            self.stopping.set()
        else:
            self.dismiss(self.marked)


def remember_marks(session: Session, edit: Edit) -> str:
    """Mark labels as printed, or not, and save that; what is wrong with it, "" for nothing.

    It is no step of undo: what is out in the world stays printed, however the plan is changed back.
    """
    session.begin()
    if session.read_only:
        return f"Nothing is marked as printed: this project {session.read_only}."
    session.remember(edit)
    return session.unsaved


def _counted(count: int) -> str:
    return counted(count, "label")


def _printers(found: Sequence[str], last: str = "") -> tuple[str, ...]:
    """What may stand in the field: nothing for a PDF, a queue, or a printer that was measured."""
    return tuple(dict.fromkeys(("", *found, *measured_printers(), *([last] if last else []))))
