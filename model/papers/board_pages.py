"""A board that is larger than a page, cut into pages that are laid edge to edge.

The cuts are chosen when the lines of the board lie, and the words are then put where no cut goes
through them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

import attrs

from model.papers.figure import Extent, Item, Point, Stroke

SIGN_MM = 4.5
"""So far from a cut a waypoint or a lamp should be."""

WORDS_MM = (16.0, 7.0)
"""Across and down, about each waypoint and lamp: some of its words will be there."""

_SHARES = 16


@attrs.frozen(kw_only=True)
class Tile:
    """One page of a board: the window from (x, y) of its figure, and its name, a letter down and a
    number across.
    """

    name: str
    x_mm: float
    y_mm: float
    wide_mm: float
    high_mm: float

    def holds(self, extent: Extent) -> bool:
        """Whether an extent is whole on the page."""
        left, top, right, bottom = extent
        right_mm, bottom_mm = self.x_mm + self.wide_mm, self.y_mm + self.high_mm
        return self.x_mm <= left and right <= right_mm and self.y_mm <= top and bottom <= bottom_mm


@attrs.frozen(kw_only=True)
class Pages:
    """Windows of `wide_mm` by `high_mm` edge to edge with a corner at (x, y); `used` are the rows and
    columns that hold lines.
    """

    x_mm: float
    y_mm: float
    wide_mm: float
    high_mm: float
    used: frozenset[tuple[int, int]]

    def over(self, extent: Extent) -> list[tuple[int, int]]:
        """Row and column of each window that an extent touches."""
        left, top, right, bottom = extent
        columns = range(
            math.floor((left - self.x_mm) / self.wide_mm), math.floor((right - self.x_mm) / self.wide_mm) + 1
        )
        rows = range(
            math.floor((top - self.y_mm) / self.high_mm), math.floor((bottom - self.y_mm) / self.high_mm) + 1
        )
        return [(row, column) for row in rows for column in columns]

    def cuts(self, extent: Extent) -> int:
        """How many cuts go through an extent."""
        return len(self.over(extent)) - 1

    def unused(self, extent: Extent) -> int:
        """How many pages would be needed for it alone."""
        return sum(cell not in self.used for cell in self.over(extent))

    def tiles(self, items: Iterable[Item]) -> tuple[Tile, ...]:
        """A page for each window that holds anything, row by row; the first row is A, the first column 1."""
        used = {cell for item in items for piece in pieces(item) for cell in self.over(piece)}
        if not used:
            return ()
        first_row, first_column = min(row for row, _ in used), min(column for _, column in used)
        return tuple(
            Tile(
                name=f"{_letters(row - first_row)}{column - first_column + 1}",
                x_mm=self.x_mm + column * self.wide_mm,
                y_mm=self.y_mm + row * self.high_mm,
                wide_mm=self.wide_mm,
                high_mm=self.high_mm,
            )
            for row, column in sorted(used)
        )


def pages_for(
    lines: Iterable[tuple[Point, Point]], spots: Sequence[Point], wide_mm: float, high_mm: float
) -> Pages:
    """The windows for the straight lines of a board. `spots` are its waypoints and lamps.

    As few pages as can be; then as few spots as can be that lie on a cut; then the loom in their middle.
    """
    across, down = WORDS_MM
    extents = [piece for points in lines for piece in pieces(Stroke(points=points), 30)]
    extents += [(x - across, y - down, x + across, y + down) for x, y in spots]
    if not extents:
        return Pages(x_mm=0.0, y_mm=0.0, wide_mm=wide_mm, high_mm=high_mm, used=frozenset())
    left, top = min(one[0] for one in extents), min(one[1] for one in extents)
    right, bottom = max(one[2] for one in extents), max(one[3] for one in extents)
    score, found = math.inf, (left, top)
    for place in range(_SHARES * _SHARES):
        x = left - wide_mm * (place % _SHARES) / _SHARES
        y = top - high_mm * (place // _SHARES) / _SHARES
        used: set[tuple[float, float]] = set()
        for one in extents:
            columns = (one[0] - x) // wide_mm, (one[2] - x) // wide_mm
            rows = (one[1] - y) // high_mm, (one[3] - y) // high_mm
            used.update((row, column) for row in rows for column in columns)
        near = sum(
            min((at - corner) % size, (corner - at) % size) < SIGN_MM
            for spot in spots
            for at, corner, size in zip(spot, (x, y), (wide_mm, high_mm), strict=True)
        )
        askew = abs((left - x) % wide_mm - (x - right) % wide_mm) / wide_mm
        askew += abs((top - y) % high_mm - (y - bottom) % high_mm) / high_mm
        one_score = 100 * len(used) + 5 * near + askew
        if one_score < score:
            score, found = one_score, (x, y)
    pages = Pages(x_mm=found[0], y_mm=found[1], wide_mm=wide_mm, high_mm=high_mm, used=frozenset())
    return attrs.evolve(pages, used=frozenset(cell for one in extents for cell in pages.over(one)))


def _letters(row: int) -> str:
    return chr(ord("A") + row) if row < 26 else f"{_letters(row // 26 - 1)}{chr(ord('A') + row % 26)}"


def pieces(item: Item, long_mm: float = 10.0) -> Iterator[Extent]:
    """Extents that a slanting line does not blow up: it is taken in pieces of at most `long_mm`."""
    if not isinstance(item, Stroke):
        yield item.extent
        return
    for (x1, y1), (x2, y2) in pairwise(item.points):
        count = max(math.ceil(math.hypot(x2 - x1, y2 - y1) / long_mm), 1)
        for n in range(count):
            xs = [x1 + (x2 - x1) * n / count, x1 + (x2 - x1) * (n + 1) / count]
            ys = [y1 + (y2 - y1) * n / count, y1 + (y2 - y1) * (n + 1) / count]
            yield min(xs), min(ys), max(xs), max(ys)
