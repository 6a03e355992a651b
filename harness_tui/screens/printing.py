"""The print dialog: which printer or folder, progress and a way to stop, whether the labels came out well."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import ClassVar

import attrs
from textual.binding import Binding
from textual.content import Content
from textual.widgets import Static

from harness_tui.preferences import read_state, remember_choice
from harness_tui.printers import Sent, calibration_of, measured_printers, queues, send_labels, stretch_words
from harness_tui.printing import Written, label_folder, write_labels
from harness_tui.session import today
from harness_tui.widgets.form import Field, FieldInput
from harness_tui.widgets.lines import clip
from harness_tui.widgets.slip import Slip
from model.errors import BadValue, LoomError, NotThere
from model.labels.batch import Label
from model.papers.label_sets import mark
from model.values import shown

BAR = 30
TELL_EVERY_S = 0.05
PDF = "a PDF, for any printer"


class PrintScreen(Slip[bool]):
    """Prints labels or writes them to files; once the person says they came out well, marks them as printed.

    Gives True if they were marked.
    """

    BINDINGS: ClassVar = [
        Binding("enter", "go", "go on", id="print.go"),
        Binding("escape", "leave", "back", id="print.leave"),
    ]

    def __init__(self, labels: Sequence[Label]) -> None:
        super().__init__()
        self.labels = tuple(label for label in labels if label.printable)
        self.left_out = tuple(label for label in labels if not label.printable)
        self.kept = any(label.text.kind != "card" for label in self.labels)
        self.stopping = threading.Event()
        self.working = False
        self.done = False

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
        self._say_next()
        if not self.labels:
            self.say("None of these labels has room for its tag. Choose a larger stock.", "$text-warning")
        self.query_one("#printer").focus()
        self.run_worker(self._look_for_printers, thread=True, exit_on_error=False)

    def _look_for_printers(self) -> None:
        """In a thread of its own: the system may take a while to answer."""
        found = queues()
        self.app.call_from_thread(self._offer, found)

    def _offer(self, found: tuple[str, ...]) -> None:
        if self.is_mounted:
            editor = self.query_one("#printer", FieldInput)
            editor.show(attrs.evolve(editor.field, text=editor.value, choices=_printers(found, editor.value)))
            self._say_next()

    def _say_next(self) -> None:
        choices = [choice for choice in self.query_one("#printer", FieldInput).field.choices if choice]
        if choices:
            names = ", ".join(choices[:3])
            self.hint(f"Enter prints. Tab next field, Escape back. Space next printer: {names}.")
        else:
            self.hint("Enter writes a PDF and a picture of each. Tab next field, Escape back.")

    def heading(self) -> Content:
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

    # --- printing ---

    def action_go(self) -> None:
        """Start printing; afterwards, mark the labels as printed."""
        if self.working or not self.labels:
            return
        if self.done:
            self._mark()
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
            kept = f"{came.pages} pages were sent" if isinstance(came, Sent) else "What was written stays"
            self.say(f"Stopped. {kept}{'' if isinstance(came, Sent) else ' in the folder'}.", "$text-warning")
            return
        self.working = False
        self.done = True
        room = max(self.app.size.width - 4, 20)
        if isinstance(came, Sent):
            jobs = f"{len(came.jobs)} job{'' if len(came.jobs) == 1 else 's'}"
            measured = stretch_words(came.queue)
            lines = [f"Sent to {came.queue}: {came.pages} pages in {jobs}; printer {measured}."]
        else:
            lines = [clip(f"Written: {path}", room) for path in came.pdfs]
            lines.append(clip(f"and {came.pictures} pictures beside it in {came.folder}", room))
            stretched = f", stretched for {printer}" if printer else ""
            lines.append(f"Print at 100 %, not fitted to the page{stretched}.")
        self.say("\n".join(lines))
        if self.kept:
            self.hint("Came out well? Enter marks them as printed. Escape leaves them as they are.")
        else:
            self.hint("Enter or Escape closes.")

    def _mark(self) -> None:
        count = len(self.labels)
        try:
            self.loom.session.apply(
                lambda harness: mark(harness, self.labels, today()),
                f"{count} label{'' if count == 1 else 's'} printed",
            )
        except LoomError as error:
            self.say(error.message(), "$text-error")
            self.hint("Escape back.")
            return
        self.dismiss(self.kept)

    def action_leave(self) -> None:
        """Stop printing; else close without marking."""
        if self.working:
            self.stopping.set()
        else:
            self.dismiss(False)


def _printers(found: Sequence[str], last: str = "") -> tuple[str, ...]:
    """What may stand in the field: nothing for a PDF, a queue, or a printer that was measured."""
    return tuple(dict.fromkeys(("", *found, *measured_printers(), *([last] if last else []))))
