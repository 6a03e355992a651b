"""The base of the slips that ask for a printer: the system's printers are offered once it has named them."""

from __future__ import annotations

from collections.abc import Sequence

import attrs

from harness_tui.printers import queues
from harness_tui.widgets.form import FieldInput
from harness_tui.widgets.slip import Slip, T


class PrinterSlip(Slip[T]):
    """A slip with a field `printer`.

    A subclass gives `choices`, what may stand in it, and `say_next`, the hint that names some of them.
    """

    def on_mount(self) -> None:
        self.say_next()
        self.query_one("#printer").focus()
        self.run_worker(self._look_for_printers, thread=True, exit_on_error=False)

    def choices(self, found: Sequence[str], editor: FieldInput) -> tuple[str, ...]:
        """What may stand in the field now that these printers were `found`."""
        raise NotImplementedError

    def say_next(self) -> None:
        """Say what Enter does and which printers there are."""
        raise NotImplementedError

    def printer_names(self) -> str:
        """The first few of the printers that can be chosen, "" for none."""
        names = [choice for choice in self.query_one("#printer", FieldInput).field.choices if choice]
        return ", ".join(names[:3])

    def _look_for_printers(self) -> None:
        """In a thread of its own: the system may take a while to answer."""
        found = queues()
        self.app.call_from_thread(self._offer, found)

    def _offer(self, found: tuple[str, ...]) -> None:
        if self.is_mounted:
            editor = self.query_one("#printer", FieldInput)
            choices = self.choices(found, editor)
            editor.show(attrs.evolve(editor.field, text=editor.value, choices=choices))
            self.say_next()
