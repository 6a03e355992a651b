"""What can go wrong, each with its subject, what was found, the limit and what to do.

The shell turns these into messages; nothing in the core prints.
"""

from __future__ import annotations

from collections.abc import Iterable


class LoomError(Exception):
    """Base of every error the core raises on purpose.

    `subject` names the thing (a lamp, a tag, a file and its place), `found` says what is there,
    `limit` what would be right (may be empty), `remedy` what the person can do.
    """

    def __init__(self, subject: str, found: str, *, limit: str = "", remedy: str = "") -> None:
        self.subject = subject
        self.found = found
        self.limit = limit
        self.remedy = remedy
        super().__init__(self.message())

    def message(self) -> str:
        """One sentence or two, without trailing punctuation left out."""
        text = f"{self.subject}: {self.found}"
        if self.limit:
            text += f" ({self.limit})"
        return f"{text}. {self.remedy}" if self.remedy else f"{text}."


class BadValue(LoomError):
    """A value that no harness can hold: out of range, of the wrong kind, or unknown."""


class NotThere(LoomError):
    """A lamp, waypoint, output, tag or stock that was asked for by name and does not exist."""


class Conflict(LoomError):
    """An edit that is possible in itself but would break something that stands already."""


class NotSolved(LoomError):
    """A computation that did not come to a result; the cause is in `found`."""


class StoreError(LoomError):
    """A file could not be read or written."""


class ChangedOnDisk(StoreError):
    """A file is no longer what it was when it was read: it was not written over."""


class Held(StoreError):
    """A project is open in another session; `holder` says which, `since` when it began (may be empty)."""

    def __init__(self, subject: str, found: str, *, holder: str, since: str, remedy: str = "") -> None:
        self.holder = holder
        self.since = since
        super().__init__(subject, found, remedy=remedy)


class Faults(LoomError):
    """Several faults reported at once, as of a damaged file."""

    def __init__(self, subject: str, faults: Iterable[LoomError], *, remedy: str = "") -> None:
        self.faults = tuple(faults)
        count = len(self.faults)
        super().__init__(subject, f"{count} fault{'' if count == 1 else 's'}", remedy=remedy)

    def message(self) -> str:
        """The heading, then one line for each fault."""
        head = super().message()
        return "\n".join([head, *(f"  {fault.message()}" for fault in self.faults)])
