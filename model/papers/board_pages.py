"""A figure that is larger than a page, cut into pages that are laid edge to edge."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from itertools import pairwise

import attrs

from model.papers.figure import Extent, Figure, Item, Point, Stroke


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


def tiles(figure: Figure, wide_mm: float, high_mm: float) -> tuple[Tile, ...]:
    """The windows of `wide_mm` by `high_mm` that hold anything of the figure, row by row.

    The windows are shifted so that as few as can be are needed, and the loom lies in the middle of them.
    """
    extents = [piece for item in figure.items for piece in _pieces(item)]
    if not extents:
        return ()
    spare_x = math.ceil(figure.width_mm / wide_mm) * wide_mm - figure.width_mm
    spare_y = math.ceil(figure.height_mm / high_mm) * high_mm - figure.height_mm
    best: list[tuple[int, int]] = []
    best_shift = (spare_x / 2, spare_y / 2)
    for share_x in (0.5, 0.0, 0.25, 0.75, 1.0):
        for share_y in (0.5, 0.0, 0.25, 0.75, 1.0):
            shift = (spare_x * share_x, spare_y * share_y)
            used = _used(extents, shift, wide_mm, high_mm)
            if not best or len(used) < len(best):
                best, best_shift = used, shift
    return tuple(
        Tile(
            name=f"{_letters(row)}{column + 1}",
            x_mm=column * wide_mm - best_shift[0],
            y_mm=row * high_mm - best_shift[1],
            wide_mm=wide_mm,
            high_mm=high_mm,
        )
        for row, column in sorted(best)
    )


def _letters(row: int) -> str:
    return chr(ord("A") + row) if row < 26 else f"{_letters(row // 26 - 1)}{chr(ord('A') + row % 26)}"


def _pieces(item: Item) -> Iterator[Extent]:
    """Extents that a slanting line does not blow up: it is taken in pieces."""
    if not isinstance(item, Stroke):
        yield item.extent
        return
    for (x1, y1), (x2, y2) in pairwise(item.points):
        count = max(math.ceil(math.hypot(x2 - x1, y2 - y1) / 10), 1)
        for n in range(count):
            xs = [x1 + (x2 - x1) * n / count, x1 + (x2 - x1) * (n + 1) / count]
            ys = [y1 + (y2 - y1) * n / count, y1 + (y2 - y1) * (n + 1) / count]
            yield min(xs), min(ys), max(xs), max(ys)


def _used(extents: Iterable[Extent], shift: Point, wide: float, high: float) -> list[tuple[int, int]]:
    found: set[tuple[int, int]] = set()
    for left, top, right, bottom in extents:
        columns = range(math.floor((left + shift[0]) / wide), math.floor((right + shift[0]) / wide) + 1)
        rows = range(math.floor((top + shift[1]) / high), math.floor((bottom + shift[1]) / high) + 1)
        found.update((row, column) for row in rows for column in columns)
    return [(max(row, 0), max(column, 0)) for row, column in found]
