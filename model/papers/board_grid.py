"""Where things lie on a board: extents by cells, and steps along a line."""

from __future__ import annotations

import math
from collections.abc import Iterator

from model.papers.figure import Extent, Point, touches

CELL_MM = 40.0


class Grid:
    """Extents by cells, so that a question looks at few of them."""

    def __init__(self) -> None:
        self.cells: dict[tuple[int, int], list[tuple[Extent, object]]] = {}

    def _over(self, extent: Extent) -> Iterator[tuple[int, int]]:
        for column in range(math.floor(extent[0] / CELL_MM), math.floor(extent[2] / CELL_MM) + 1):
            for row in range(math.floor(extent[1] / CELL_MM), math.floor(extent[3] / CELL_MM) + 1):
                yield column, row

    def add(self, extent: Extent, owner: object) -> None:
        for cell in self._over(extent):
            self.cells.setdefault(cell, []).append((extent, owner))

    def hits(self, extent: Extent) -> set[tuple[Extent, object]]:
        return {
            pair
            for cell in self._over(extent)
            for pair in self.cells.get(cell, ())
            if touches(pair[0], extent)
        }


def along(start: Point, end: Point, step_mm: float = 4.0) -> list[Point]:
    length = math.dist(start, end)
    count = max(math.ceil(length / step_mm), 1)
    return [
        (start[0] + (end[0] - start[0]) * n / count, start[1] + (end[1] - start[1]) * n / count)
        for n in range(count + 1)
    ]


def step(start: Point, turn: float, length_mm: float) -> Point:
    return start[0] + length_mm * math.cos(turn), start[1] + length_mm * math.sin(turn)
