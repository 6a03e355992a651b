"""One open project: the harness as it stands, undo, and saving. The only mutable thing in the program."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path

import attrs

from model.editing import put_back
from model.errors import ChangedOnDisk, Conflict, LoomError
from model.findings import Finding
from model.harness import Harness

Edit = Callable[[Harness], Harness]
Saver = Callable[[Harness], None]

UNDO_STEPS = 500
"""How many steps back are kept; each is one shared value, so memory is no concern."""


def today() -> str:
    """The day as YYYY-MM-DD, for histories and prints."""
    return datetime.date.today().isoformat()


def _settled(harness: Harness) -> Harness:
    # Read with the first edit: the first screen comes up without the rules that follow one.
    from model.routing.allot import settle

    return settle(harness)


@attrs.frozen(kw_only=True)
class Step:
    """One step that can be undone: the value before it and what it was, in words."""

    before: Harness
    words: str


class Session:
    """One open project.

    `path` is its file, None for a harness that is only held in memory. Each accepted edit is written by
    `save` before `apply` returns; when that fails the edit is kept here, `unsaved` says why, and the
    next edit tries again. `read_only` holds the reason why nothing may be changed, or an empty string.
    `told` is called after each save that failed, and after the first that succeeded again.
    """

    def __init__(
        self,
        harness: Harness,
        path: Path | None = None,
        *,
        save: Saver | None = None,
        read_only: str = "",
        claim: Callable[[], LoomError | None] | None = None,
    ) -> None:
        """`claim` takes hold of the file and returns why it can only be read, or None; it is called by
        `begin`.
        """
        self.harness = harness
        self.path = path
        self.read_only = read_only
        self._way_out = "Close the other session, or save a copy to work in (s in Setup)."
        self.trouble: LoomError | None = None
        self.told: Callable[[], None] = lambda: None
        self.battery_v: float | None = None
        """What the battery was measured to have now, None for its nominal volts; belongs to no file."""
        self._save = save
        self._claim = claim
        self._begun = False
        self._undo: list[Step] = []
        self._redo: list[Step] = []
        self._checked: Harness | None = None
        if claim is None:
            self.begin()

    def begin(self) -> bool:
        """Take hold of the file, and let follow what follows from what was read. True if anything is other
        than before.

        The first screen comes up before this; no edit is made before it.
        """
        if self._begun:
            return False
        self._begun = True
        if self._claim is not None and not self.read_only:
            self.refused(self._claim())
        before = self.harness
        self.harness = _settled(before)
        if self.harness is not before and not self.read_only:
            self._write()
        return bool(self.read_only) or self.harness is not before

    def refused(self, why: LoomError | None) -> None:
        """Only read from now on, for this reason; with None, write."""
        self.read_only = why.found if why is not None else ""
        if why is not None and why.remedy:
            self._way_out = why.remedy

    @property
    def why_reading(self) -> str:
        """Why nothing may be changed, who holds the file and what to do; "" where it may."""
        return f"This project {self.read_only}. {self._way_out}".strip() if self.read_only else ""

    @property
    def unsaved(self) -> str:
        """Why the last step is not on disk; "" where it is."""
        return self.trouble.message() if self.trouble is not None else ""

    @property
    def conflict(self) -> bool:
        """Whether it is not on disk because the file is no longer what this session left there."""
        return isinstance(self.trouble, ChangedOnDisk)

    @property
    def findings(self) -> tuple[Finding, ...]:
        """What the checks say of the harness now, worst first."""
        # Read when first asked for: the first screen comes up without the rules.
        from model.checks import check

        self._checked = self.harness
        return check(self.harness)

    @property
    def findings_known(self) -> bool:
        """Whether `findings` has been worked out for the harness as it stands and costs nothing."""
        return self._checked is self.harness

    def apply(self, edit: Edit, words: str) -> bool:
        """Make an edit, let follow what follows from it, save. True if anything changed.

        Raises what the edit raises, with nothing changed, and Conflict on a project open for reading.
        """
        self._refuse_if_read_only()
        before = self.harness
        after = _settled(edit(before))
        if after is before:
            return False
        self.harness = after
        self._undo.append(Step(before=before, words=words))
        del self._undo[:-UNDO_STEPS]
        self._redo.clear()
        self._write()
        return True

    def put_back(self, harness: Harness, words: str) -> None:
        """Take another state of the project, such as a backup, as one step.

        Tags given, labels printed and bench steps done meanwhile stay in the ledger.
        """
        self.apply(lambda now: put_back(harness, now, made=True), words)

    def remember(self, edit: Edit) -> None:
        """Make and save a change that is not worth an undo step, such as where the walk stands."""
        self.begin()
        if self.read_only:
            return
        after = edit(self.harness)
        if after is not self.harness:
            self.harness = after
            self._write()

    def undo(self) -> str:
        """Go one step back; returns what was undone, "" if there is nothing. Tags given meanwhile stay in
        the ledger.
        """
        return self._travel(self._undo, self._redo)

    def redo(self) -> str:
        """Go forward again; returns what was done again, "" if there is nothing."""
        return self._travel(self._redo, self._undo)

    def _travel(self, back: list[Step], forth: list[Step]) -> str:
        self._refuse_if_read_only()
        if not back:
            return ""
        step = back.pop()
        now = self.harness
        forth.append(Step(before=now, words=step.words))
        self.harness = _settled(attrs.evolve(put_back(step.before, now), progress=now.progress))
        self._write()
        return step.words

    def retry_save(self) -> None:
        """Try once more to write what could not be written; `told` is called only if that ends otherwise
        than before.
        """
        if self.unsaved:
            self._write(again=True)

    def _refuse_if_read_only(self) -> None:
        self.begin()
        if self.read_only:
            raise Conflict("this project", self.read_only, remedy=self._way_out)

    def _write(self, *, again: bool = False) -> None:
        if self._save is None:
            return
        before = self.unsaved
        try:
            self._save(self.harness)
        except LoomError as error:
            self.trouble = error
        else:
            self.trouble = None
        if self.unsaved != before or (self.unsaved and not again):
            self.told()
