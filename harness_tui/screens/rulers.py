"""Rulers: print a page with two of them and enter what they measure; labels then come out true."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from typing import ClassVar

from textual.binding import Binding
from textual.content import Content

from harness_tui.preferences import read_state
from harness_tui.printers import (
    checked_name,
    measured_printers,
    print_rulers,
    queues,
    remember_measures,
    stretch_words,
    write_rulers,
)
from harness_tui.printing import label_folder
from harness_tui.screens.printer_slip import PrinterSlip
from harness_tui.stocks import all_stocks
from harness_tui.widgets.form import Field, FieldInput
from model.errors import BadValue, LoomError
from model.labels.sheets import TAPE_RULER_LEAST_MM, Rulers, tape_rulers
from model.labels.stock import PAGES, Stock


class RulersScreen(PrinterSlip[None]):
    """Asks for a printer; prints its rulers while nothing is measured, else remembers what was measured."""

    BINDINGS: ClassVar = [
        Binding("enter", "go", "go on", id="rulers.go"),
        Binding("escape", "leave", "back", id="rulers.leave"),
    ]

    def __init__(self) -> None:
        super().__init__()
        self.working = False

    def heading(self) -> Content:
        return Content.styled("Rulers: how true does a printer print?", "bold") + Content(
            "  Each printer is measured once."
        )

    def fields(self) -> Iterator[Field]:
        last = read_state().choices.get("printer", "")
        names = tuple(dict.fromkeys((*measured_printers(), *([last] if last else []))))
        yield Field(
            key="printer", label="printer", text=last, choices=names, free=True, help="its queue, or any name"
        )
        yield Field(
            key="paper",
            label="on paper or tape",
            text=next(iter(PAGES)),
            choices=(*PAGES, *_tapes()),
            help=f"a tape, {TAPE_RULER_LEAST_MM:g} mm or wider, if it takes no paper",
        )
        rulers = Rulers()
        yield Field(
            key="across",
            label=f"across, {rulers.x_mm:g} mm on paper",
            help="as measured; of a tape it may stay empty",
        )
        yield Field(
            key="down",
            label=f"along, {rulers.y_mm:g} mm on paper",
            help="as measured; on a tape 100 mm are true",
        )

    def choices(self, found: Sequence[str], editor: FieldInput) -> tuple[str, ...]:
        return tuple(dict.fromkeys((*found, *editor.field.choices)))

    def say_next(self) -> None:
        names = self.printer_names()
        more = f" Space next printer: {names}." if names else ""
        self.hint(f"Enter prints, or remembers what is measured. Escape back.{more}")

    def action_go(self) -> None:
        """Print the rulers, or remember what was measured."""
        if self.working:
            return
        try:
            name = checked_name(self.typed("printer"))
            paper = self.typed("paper")
            tapes = _tapes()
            if paper not in PAGES and paper not in tapes:
                if paper in all_stocks():
                    tape_rulers(all_stocks()[paper])  # says why it takes none
                raise BadValue("paper or tape", paper or "is empty", limit=", ".join((*PAGES, *tapes)))
            across, down = self.number("across", "across"), self.number("down", "along")
            if (across is None) != (down is None) and (paper in PAGES or down is None):
                raise BadValue(
                    "rulers", "one of them is not measured", remedy="Measure both, from end to end."
                )
            if down is not None:
                remember_measures(name, across, down)
                for key in ("across", "down"):
                    self.query_one(f"#{key}", FieldInput).value = ""
                self.say(f"Labels for {name} are {stretch_words(name)} from now on.")
                self.hint("Enter prints the rulers once more, to check. Escape back.")
                return
        except LoomError as error:
            self.say(error.message(), "$text-error")
            return
        self.working = True
        self.close_fields()
        self.say("...")
        folder = label_folder(self.loom.session.path, self.loom.session.harness.code)
        on = tapes.get(paper, paper)
        make = partial(self._made, name, on, lambda: str(write_rulers(name, on, folder)))
        self.run_worker(make, thread=True, exit_on_error=False)

    def _made(self, name: str, on: str | Stock, write: Callable[[], str]) -> None:
        """In a thread of its own: print or write the page."""
        try:
            if name in queues():
                said = f"Sent to {name} as {print_rulers(name, on)}."
            else:
                said = f"Written: {write()}\nPrint it on {name} at 100 %, not fitted to the page."
        except LoomError as error:
            self.app.call_from_thread(self._done, error.message(), "$text-error")
        except Exception as error:
            # Whatever it is, the dialog has to come back to life.
            self.app.call_from_thread(self._done, f"The rulers can't be printed: {error!r}.", "$text-error")
        else:
            self.app.call_from_thread(self._done, f"{said} Then measure both rulers from end to end.", "")

    def _done(self, said: str, style: str) -> None:
        self.working = False
        self.open_fields("printer" if style else "across")
        self.say(said, style)
        if not style:
            self.hint("Type what they measure here, now or another day; Enter remembers. Escape back.")

    def action_leave(self) -> None:
        """Close; what was measured is remembered already."""
        if not self.working:
            self.dismiss(None)


def _tapes() -> Mapping[str, Stock]:
    """The tapes that are wide enough for rulers, by name."""
    return {
        name: stock
        for name, stock in all_stocks().items()
        if stock.medium == "tape" and stock.height_mm >= TAPE_RULER_LEAST_MM
    }
