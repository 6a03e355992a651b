"""Column widths of a table that takes the whole screen, the wider the terminal the more to read."""

from __future__ import annotations

import re
from collections.abc import Sequence

from harness_tui.widgets.lines import clip
from harness_tui.widgets.table import Row, ThingTable
from model import lengths


class FittedTable(ThingTable):
    """A table whose columns take the width there is."""

    def __init__(self, titles: Sequence[str], *, id: str | None = None) -> None:
        self._words = tuple(titles)
        super().__init__([(title, 1) for title in titles], id=id)

    def fill_to(self, widths: Sequence[int], rows: Sequence[Row]) -> None:
        """Show these rows in columns of these widths; the cursor stays on its thing."""
        titles = tuple((in_unit(word), width) for word, width in zip(self._words, widths, strict=True))
        if self.columns and titles != self._titles:
            here = self.here
            self.fill(())
            self.clear(columns=True)
            self._titles = titles
            for title, width in titles:
                self.add_column(title, key=title, width=width)
            self.fill(rows)
            self.go_to(here)
        else:
            self.fill(rows)


def in_unit(title: str) -> str:
    """A title with the unit of lengths that is in use."""
    return re.sub(r"\bmm\b", lengths.unit(), title)


def spread(room: int, least: Sequence[int], share: Sequence[int], padding: int = 2) -> tuple[int, ...]:
    """Widths that fill `room` columns: the `least` of each, and what is left by `share`.

    `padding` is what the table adds to each column. Never less than the least, even if that is too much.
    """
    left = max(room - sum(least) - padding * len(least), 0)
    whole = sum(share) or 1
    widths = [low + left * part // whole for low, part in zip(least, share, strict=True)]
    widest = max(range(len(share)), key=lambda place: share[place])
    if any(share):
        widths[widest] += left - sum(left * part // whole for part in share)
    return tuple(widths)


def fitted(text: str, width: int, *, right: bool = False) -> str:
    """`text` in exactly `width` columns: shortened with a mark, or padded."""
    from rich.cells import cell_len

    shown = clip(text, width)
    gap = " " * (width - cell_len(shown))
    return gap + shown if right else shown + gap
