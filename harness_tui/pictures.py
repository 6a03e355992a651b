"""Whether the terminal draws pictures (sixels), and how large a cell is; asked before the screens begin.

Where it doesn't, or doesn't say, labels are drawn in half blocks. Nothing here imports what draws.
"""

from __future__ import annotations

import contextlib
import os
import re
import select
import sys
import time
from typing import IO, Any

import attrs

PATIENCE_S = 0.1
"""How long an answer is waited for; a terminal answers within a few milliseconds."""

FAR_PATIENCE_S = 1.0
"""The same over a network: an answer that came later would be read as keys."""

SIXEL = "4"
"""The attribute that says so in the primary device attributes of DEC's video terminals."""

ASK = "\x1b[16t\x1b[c"
"""The size of a cell in pixels; then the attributes, which every terminal answers: they end the waiting."""

_CELL = re.compile(r"\x1b\[6;(\d+);(\d+)t")
_ATTRIBUTES = re.compile(r"\x1b\[\?([\d;]*)c")


@attrs.frozen(kw_only=True)
class Cell:
    """A cell of a terminal that draws pictures, in pixels."""

    width: int
    height: int


class Question:
    """Asks the terminal, before anything else reads its keys; what is done until `answer` costs no waiting.

    Nothing is asked where input or output is no terminal, or where something is typed already, which would be
    lost in the answer. `answer` must be called, also after an error: it gives the terminal its ways back.
    """

    def __init__(self, source: IO[str] | None = None, target: IO[str] | None = None) -> None:
        self._source = -1
        self._before: list[Any] | None = None
        self._end = 0.0
        source, target = source or sys.__stdin__, target or sys.__stdout__
        if os.name != "posix" or source is None or target is None or os.environ.get("TERM", "dumb") == "dumb":
            return
        try:
            if source.isatty() and target.isatty():
                self._ask(source.fileno(), target.fileno())
        except (OSError, ValueError):
            return

    def _ask(self, source: int, target: int) -> None:
        import termios
        import tty

        if select.select([source], [], [], 0)[0]:
            return
        try:
            before = termios.tcgetattr(source)
            tty.setcbreak(source, termios.TCSANOW)
        except termios.error:
            return
        self._source, self._before = source, before
        os.write(target, ASK.encode())
        self._end = time.monotonic() + (FAR_PATIENCE_S if os.environ.get("SSH_CONNECTION") else PATIENCE_S)

    def answer(self) -> Cell | None:
        """What the terminal said, once; None where there are no pictures, or nothing is said in time."""
        if self._before is None:
            return None
        import termios

        said = ""
        try:
            while not _ATTRIBUTES.search(said):
                left = max(self._end - time.monotonic(), 0)
                if not select.select([self._source], [], [], left)[0]:
                    break
                said += os.read(self._source, 1).decode("latin-1")
            return read_answer(said)
        except (OSError, ValueError):
            return None
        finally:
            before, self._before = self._before, None
            with contextlib.suppress(termios.error):  # the terminal may be gone by now
                termios.tcsetattr(self._source, termios.TCSANOW, before)


def read_answer(answer: str) -> Cell | None:
    """What an answer to ASK says: the cell if there are sixels and a size of it that can be."""
    attributes, size = _ATTRIBUTES.search(answer), _CELL.search(answer)
    if attributes is None or size is None or SIXEL not in attributes[1].split(";")[1:]:
        return None
    height, width = int(size[1]), int(size[2])
    return Cell(width=width, height=height) if 2 <= width <= 200 and 4 <= height <= 400 else None
