"""Cutting patterns by linear programming: how many lengths are needed at the least, and good patterns.

Gilmore and Gomory 1961: the simplex method with one pattern entering at a time, found by filling a length
with the greatest worth. Whatever worths the pieces have, their sum over the greatest worth of one length is
a bound (Farley 1990), so that no rounding of the simplex method can make the bound false.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence

import attrs

STEPS_MAX = 2_000
"""The simplex method ends after so many patterns, with a bound that may be lower than it could."""

TINY = 1e-9


@attrs.frozen(kw_only=True)
class Types:
    """Pieces by size, larger first, and how many of each, to be cut from `whole`; all whole numbers."""

    sizes: tuple[int, ...]
    counts: tuple[int, ...]
    whole: int

    @classmethod
    def of(cls, sizes: Sequence[int], whole: int) -> Types:
        """The pieces counted."""
        counted = sorted(Counter(sizes).items(), reverse=True)
        return cls(
            sizes=tuple(size for size, _ in counted), counts=tuple(count for _, count in counted), whole=whole
        )


def pattern_bound(types: Types) -> int:
    """So many lengths are needed at the least."""
    return _Simplex(types).solve().bound


def dive(types: Types) -> Iterator[tuple[dict[int, int], int]]:
    """Patterns (how many of each size) and how often to cut each, as the programme has them; rounded on the
    way.

    What is left after each is solved anew. A pattern never holds more of a size than are left of it.
    """
    left = dict(zip(types.sizes, types.counts, strict=True))
    while any(left.values()):
        sizes = tuple(size for size in types.sizes if left[size])
        simplex = _Simplex(
            Types(sizes=sizes, counts=tuple(left[size] for size in sizes), whole=types.whole)
        ).solve()
        used = [
            (times, dict(zip(sizes, column, strict=True)))
            for times, column in zip(simplex.times, simplex.columns, strict=True)
            if times > TINY and all(count >= 0 for count in column)
        ]
        whole = [(math.floor(times + TINY), pattern) for times, pattern in used if times >= 1 - TINY]
        for times, pattern in whole or [(1, max(used, key=lambda one: one[0])[1])]:
            wanted = {size: count for size, count in pattern.items() if count}
            fits = min([times, *(left[size] // count for size, count in wanted.items())]) if whole else 1
            cut = {size: min(count, left[size]) for size, count in wanted.items()}
            if fits:
                for size, count in cut.items():
                    left[size] -= count * fits
                yield cut, fits


class _Simplex:
    """Least sum of times so that the patterns together cut every piece; the inverse of the basis is kept."""

    def __init__(self, types: Types) -> None:
        self.types = types
        kinds = range(len(types.sizes))
        self.columns: list[tuple[int, ...]] = [
            tuple(
                min(types.whole // types.sizes[kind], types.counts[kind]) if kind == row else 0
                for row in kinds
            )
            for kind in kinds
        ]
        self.inverse = [
            [1 / self.columns[kind][kind] if kind == row else 0.0 for row in kinds] for kind in kinds
        ]
        self.times = [types.counts[kind] / self.columns[kind][kind] for kind in kinds]
        self.cost = [1.0] * len(types.sizes)
        self.bound = 0

    def solve(self) -> _Simplex:
        """Let patterns enter until none is worth more than a length."""
        for _ in range(STEPS_MAX):
            worth = self._worths()
            negative = min(range(len(worth)), key=worth.__getitem__)
            if worth[negative] < -TINY:
                # A piece too many does no harm: it is thrown away.
                self._enter(tuple(-1 if row == negative else 0 for row in range(len(worth))), 0.0)
                continue
            pattern, most = _worthiest(self.types, worth)
            total = sum(one * count for one, count in zip(worth, self.types.counts, strict=True))
            self.bound = max(self.bound, math.ceil(total / max(most, 1.0) - 1e-6))
            if most <= 1 + TINY or not self._enter(pattern, 1.0):
                break
        return self

    def _worths(self) -> list[float]:
        """What one piece of each size is worth: the prices of the programme."""
        kinds = range(len(self.cost))
        return [
            sum(self.cost[row] * self.inverse[row][kind] for row in kinds if self.cost[row]) for kind in kinds
        ]

    def _enter(self, column: tuple[int, ...], cost: float) -> bool:
        """Take a column into the basis in the place of the one that is used up first; False if none is."""
        kinds = range(len(column))
        used = [kind for kind in kinds if column[kind]]
        change = [sum(row[kind] * column[kind] for kind in used) for row in self.inverse]
        ratios = [(self.times[row] / change[row], row) for row in kinds if change[row] > TINY]
        if not ratios:
            return False
        step, leaves = min(ratios)
        pivot = change[leaves]
        new = [value / pivot for value in self.inverse[leaves]]
        for row in kinds:
            if row != leaves and change[row]:
                factor = change[row]
                self.inverse[row] = [
                    one - factor * other for one, other in zip(self.inverse[row], new, strict=True)
                ]
                self.times[row] = max(self.times[row] - factor * step, 0.0)
        self.inverse[leaves] = new
        self.times[leaves] = step
        self.columns[leaves] = column
        self.cost[leaves] = cost
        return True


def _worthiest(types: Types, worth: Sequence[float]) -> tuple[tuple[int, ...], float]:
    """The pattern of the greatest worth that goes into a length, no more of a size than there are."""
    best = [0.0] * (types.whole + 1)
    taken: list[list[int]] = []
    for size, count, one in zip(types.sizes, types.counts, worth, strict=True):
        took = [0] * (types.whole + 1)
        if one > TINY:
            before = best
            best = before[:]
            for times in range(1, min(count, types.whole // size) + 1):
                gain, need = one * times, size * times
                for room in range(need, types.whole + 1):
                    value = before[room - need] + gain
                    if value > best[room] + TINY:
                        best[room] = value
                        took[room] = times
        taken.append(took)
    room = types.whole
    pattern = []
    for size, took in zip(reversed(types.sizes), reversed(taken), strict=True):
        pattern.append(took[room])
        room -= took[room] * size
    return tuple(reversed(pattern)), best[types.whole]
