"""The base of the screens that print labels: u takes the marks of the last print off again."""

from __future__ import annotations

from collections.abc import Sequence

import attrs

from harness_tui.screens.printing import PrintScreen, remember_marks
from harness_tui.screens.room import Room
from harness_tui.session import Edit
from model.harness import Harness
from model.labels.batch import Label
from model.papers.label_sets import mark_as_in


@attrs.frozen(kw_only=True, eq=False)
class _Marking:
    """Labels that were marked or unmarked last, with the harness before and after."""

    labels: tuple[Label, ...]
    before: Harness
    after: Harness


class PrintRoom(Room):
    """A screen that prints labels and marks them as printed.

    A subclass binds u to `undo_print`.
    """

    _last_marked: _Marking | None = None

    def print_labels(self, labels: Sequence[Label], more: str = "") -> None:
        """Ask where to and print; what is said once they are marked ends with `more`."""
        before = self.session.harness

        def printed(marked: bool | None) -> None:
            self._last_marked = None
            if marked:
                self._marked(labels, before)
            self.redraw()
            if marked:
                self.say(f"Marked as printed; u takes the mark off again.{more}")

        self.app.push_screen(PrintScreen(labels), printed)

    def mark_labels(self, labels: Sequence[Label], edit: Edit, words: str) -> None:
        """Mark labels as printed, or not, without printing, and say so."""
        before = self.session.harness
        self._change_marks(edit, words)
        if self.session.harness is not before:
            self._marked(labels, before)

    def _marked(self, labels: Sequence[Label], before: Harness) -> None:
        self._last_marked = _Marking(labels=tuple(labels), before=before, after=self.session.harness)

    def _change_marks(self, edit: Edit, words: str) -> None:
        trouble = remember_marks(self.session, edit)
        self.redraw()
        self.say(trouble or words, "error" if trouble else "")

    def action_undo_print(self) -> None:
        """Take the marks of the last print off again if nothing was done since, else undo the last edit.

        Undo itself leaves marks alone: what was printed stays printed, whatever is planned.
        """
        last = self._last_marked
        if last is None or self.session.harness is not last.after:
            self.loom.action_undo()
            return
        self._last_marked = None
        count = len(last.labels)
        words = f"mark of {last.labels[0].key} is" if count == 1 else f"marks of {count} labels are"
        self._change_marks(lambda h: mark_as_in(h, last.labels, last.before), f"The {words} as before.")
