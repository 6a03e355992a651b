"""Cutting pieces from lengths: as few new lengths as can be, and as little left over as can be.

Both are packing problems. A lower bound comes with each answer: by the sum, by linear programming over
cutting patterns (Gilmore and Gomory 1961, made safe after Farley 1990), or by what fits best into each
length alone. Where the answer meets its bound it is proved to be the best.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Sequence
from random import Random

import attrs

from model.errors import BadValue
from model.routing.patterns import Types, dive, pattern_bound

UNITS_PER_MM = 100
"""Lengths are counted in hundredths of a millimetre: pieces rounded up, stock down."""

SHUFFLES = 60
"""How many shaken orders are tried where the plain ones miss the bound; the same every time."""

FILL_NODES = 20_000
"""A search for the best fill of several lengths ends, unproved, after so many of them were looked at."""


@attrs.frozen(kw_only=True)
class Packing:
    """Pieces by length cut: for each its pieces, as their places in the list given; and a bound on the
    number.
    """

    bins: tuple[tuple[int, ...], ...]
    bound: int
    exact: bool


@attrs.frozen(kw_only=True)
class Filling:
    """Pieces by length on hand, in the order given, and those that went into none.

    `filled` is the sum of all that went in, `bound` a sum that no filling can be above.
    """

    bins: tuple[tuple[int, ...], ...]
    rest: tuple[int, ...]
    filled: float
    bound: float
    exact: bool


def pack_equal(pieces: Sequence[float], capacity: float) -> Packing:
    """The pieces cut from as few equal lengths as were found, with a bound on the number.

    Raises BadValue for a piece that is longer than a length, or not above 0.
    """
    sizes, (whole,) = _units(pieces, (capacity,))
    for size, piece in zip(sizes, pieces, strict=True):
        if size > whole:
            raise BadValue(
                "piece", f"{piece:g} mm", limit=f"at most {capacity:g} mm", remedy="Take a longer length."
            )
    if not pieces:
        return Packing(bins=(), bound=0, exact=True)
    bound = max(math.ceil(sum(sizes) / whole), _big_pieces_bound(sizes, whole))
    best = _plain_orders(sizes, whole)
    if len(best) > bound:
        types = Types.of(sizes, whole)
        bound = max(bound, pattern_bound(types))
        if len(best) > bound:
            best = min(best, _by_patterns(sizes, whole, types), key=len)
        if len(best) > bound:
            best = min(best, _shaken(sizes, whole, bound), key=len)
    return Packing(bins=tuple(map(tuple, best)), bound=bound, exact=len(best) == bound)


def fill(pieces: Sequence[float], lengths: Sequence[float]) -> Filling:
    """As much as can be cut from lengths on hand, shorter lengths first; what does not go in is the rest."""
    sizes, caps = _units(pieces, lengths)
    order = sorted(range(len(caps)), key=caps.__getitem__)
    alone = sum(_best_sum(sizes, cap) for cap in caps)
    bound = min(alone, sum(sizes))
    tries = (_fill_in_order(sizes, caps, ranking) for ranking in (order, order[::-1]))
    best = max(tries, key=lambda bins: _filled(sizes, bins))
    exact = _filled(sizes, best) >= bound
    if not exact:
        search = _FillSearch(sizes, [caps[place] for place in order], bound)
        found, exact = search.best([best[place] for place in order])
        best = [bins for _, bins in sorted(zip(order, found, strict=True), key=lambda pair: pair[0])]
    used = {piece for bins in best for piece in bins}
    scale = _scale(pieces, lengths)
    filled = sum(pieces[piece] for piece in used)
    return Filling(
        bins=tuple(map(tuple, best)),
        rest=tuple(piece for piece in range(len(pieces)) if piece not in used),
        filled=filled,
        bound=filled if exact else max(bound * scale / UNITS_PER_MM, filled),
        exact=exact,
    )


# --- whole numbers ------------------------------------------------------------------------------------------


def _scale(pieces: Iterable[float], lengths: Iterable[float]) -> int:
    sizes = [math.ceil(piece * UNITS_PER_MM - 1e-6) for piece in pieces]
    caps = [math.floor(length * UNITS_PER_MM + 1e-6) for length in lengths]
    return max(math.gcd(*sizes), 1) if sizes else max(math.gcd(*caps), 1)


def _units(pieces: Sequence[float], lengths: Sequence[float]) -> tuple[list[int], list[int]]:
    """Pieces and lengths as whole numbers of their greatest common unit."""
    for piece in pieces:
        if not (math.isfinite(piece) and piece > 0):
            raise BadValue("piece", f"{piece:g} mm", limit="above 0 mm")
    scale = _scale(pieces, lengths)
    sizes = [math.ceil(piece * UNITS_PER_MM - 1e-6) // scale for piece in pieces]
    return sizes, [math.floor(length * UNITS_PER_MM + 1e-6) // scale for length in lengths]


def _reachable(sizes: Sequence[int], cap: int) -> list[int]:
    """After each piece the sums that can be made of those so far, as bits."""
    mask = (1 << (cap + 1)) - 1
    reach = [1]
    for size in sizes:
        reach.append((reach[-1] | reach[-1] << size) & mask)
    return reach


def _best_sum(sizes: Sequence[int], cap: int) -> int:
    return _reachable(sizes, cap)[-1].bit_length() - 1


def _best_fill(sizes: Sequence[int], pieces: Sequence[int], cap: int) -> list[int]:
    """Pieces that fill a length as far as can be; of equal sums the one with the pieces that come first."""
    reach = _reachable([sizes[piece] for piece in pieces], cap)
    target = reach[-1].bit_length() - 1
    chosen = []
    for place in range(len(pieces) - 1, -1, -1):
        if not reach[place] >> target & 1:
            chosen.append(pieces[place])
            target -= sizes[pieces[place]]
    return chosen[::-1]


# --- equal lengths ------------------------------------------------------------------------------------------


def _big_pieces_bound(sizes: Sequence[int], whole: int) -> int:
    """Pieces over half a length need one each; so many beside them as the rest fills (Martello and Toth
    1990).
    """
    best = 0
    for cut in {size for size in sizes if 2 * size <= whole} | {0}:
        alone = [size for size in sizes if size > whole - cut]
        over_half = [size for size in sizes if whole - cut >= size and 2 * size > whole]
        small = sum(size for size in sizes if cut <= size and 2 * size <= whole)
        more = math.ceil((small - (len(over_half) * whole - sum(over_half))) / whole)
        best = max(best, len(alone) + len(over_half) + max(more, 0))
    return best


def _plain_orders(sizes: Sequence[int], whole: int) -> list[list[int]]:
    order = sorted(range(len(sizes)), key=lambda piece: -sizes[piece])
    return min(_first_fit(sizes, order, whole), _full_bins(sizes, order, whole), key=len)


def _first_fit(sizes: Sequence[int], order: Sequence[int], whole: int) -> list[list[int]]:
    bins: list[list[int]] = []
    free: list[int] = []
    for piece in order:
        for place, room in enumerate(free):
            if sizes[piece] <= room:
                bins[place].append(piece)
                free[place] -= sizes[piece]
                break
        else:
            bins.append([piece])
            free.append(whole - sizes[piece])
    return bins


def _full_bins(sizes: Sequence[int], order: Sequence[int], whole: int) -> list[list[int]]:
    """One length after the other, the first piece left and what fills it up best (Gupta and Ho 1999)."""
    left = list(order)
    bins = []
    while left:
        first, *others = left
        chosen = [first, *_best_fill(sizes, others, whole - sizes[first])]
        bins.append(chosen)
        gone = set(chosen)
        left = [piece for piece in left if piece not in gone]
    return bins


def _shaken(sizes: Sequence[int], whole: int, bound: int) -> list[list[int]]:
    """Orders a little away from the longest first, until one of them meets the bound."""
    dice = Random(len(sizes))
    best: list[list[int]] = [[piece] for piece in range(len(sizes))]
    for turn in range(SHUFFLES):
        spread = 0.02 + 0.3 * turn / SHUFFLES
        key = [-size * (1 + spread * dice.random()) for size in sizes]
        order = sorted(range(len(sizes)), key=key.__getitem__)
        best = min(best, _full_bins(sizes, order, whole), key=len)
        if len(best) <= bound:
            break
    return best


def _by_patterns(sizes: Sequence[int], whole: int, types: Types) -> list[list[int]]:
    """Lengths cut by the patterns of the linear programme; the last few by the plain orders."""
    places: dict[int, list[int]] = {}
    for piece, size in enumerate(sizes):
        places.setdefault(size, []).append(piece)
    best: list[list[int]] = [[piece] for piece in range(len(sizes))]
    chosen: list[list[int]] = []
    left = {size: list(pieces) for size, pieces in places.items()}
    for pattern, times in dive(types):
        for _ in range(times):
            cut = [
                left[size].pop()
                for size, count in pattern.items()
                for _ in range(min(count, len(left[size])))
            ]
            if cut:
                chosen.append(cut)
        over = [piece for pieces in left.values() for piece in pieces]
        over.sort(key=lambda piece: -sizes[piece])
        rest = min(_first_fit(sizes, over, whole), _full_bins(sizes, over, whole), key=len)
        best = min(best, [*chosen, *rest], key=len)
    return best


# --- lengths on hand ----------------------------------------------------------------------------------------


def _filled(sizes: Sequence[int], bins: Iterable[Iterable[int]]) -> int:
    return sum(sizes[piece] for cut in bins for piece in cut)


def _fill_in_order(sizes: Sequence[int], caps: Sequence[int], ranking: Sequence[int]) -> list[list[int]]:
    left = sorted(range(len(sizes)), key=lambda piece: -sizes[piece])
    bins: list[list[int]] = [[] for _ in caps]
    for place in ranking:
        bins[place] = _best_fill(sizes, left, caps[place])
        gone = set(bins[place])
        left = [piece for piece in left if piece not in gone]
    return bins


class _FillSearch:
    """Branch and bound over what is cut from each length, the shortest length first."""

    def __init__(self, sizes: Sequence[int], caps: Sequence[int], bound: int) -> None:
        self.caps = caps
        self.bound = bound
        self.places: dict[int, list[int]] = {}
        for piece, size in enumerate(sizes):
            self.places.setdefault(size, []).append(piece)
        self.sizes = sorted(self.places, reverse=True)
        self.nodes = FILL_NODES
        self.most = 0
        self.cuts: list[Counter[int]] = []

    def best(self, known: list[list[int]]) -> tuple[list[list[int]], bool]:
        """The best filling and whether it is proved; `known` where nothing better was found."""
        size_of = {piece: size for size, pieces in self.places.items() for piece in pieces}
        self.most = sum(size_of[piece] for cut in known for piece in cut)
        self._go_on(0, {size: len(pieces) for size, pieces in self.places.items()}, 0, [])
        proved = self.nodes > 0 or self.most >= self.bound
        if not self.cuts:
            return known, proved
        left = {size: list(pieces) for size, pieces in self.places.items()}
        return [[left[size].pop() for size in cut.elements()] for cut in self.cuts], proved

    def _go_on(self, place: int, left: dict[int, int], filled: int, cuts: list[Counter[int]]) -> None:
        if place == len(self.caps):
            if filled > self.most:
                self.most, self.cuts = filled, list(cuts)
            return
        pieces = [size for size in self.sizes for _ in range(left[size])]
        still = sum(_best_sum(pieces, cap) for cap in self.caps[place:])
        if filled + min(still, sum(pieces)) <= self.most or self.most >= self.bound:
            return
        for cut in self._cuts(left, 0, self.caps[place], Counter()):
            self.nodes -= 1
            if self.nodes <= 0:
                return
            more = {size: count - cut[size] for size, count in left.items()}
            self._go_on(place + 1, more, filled + sum(cut.elements()), [*cuts, cut])

    def _cuts(self, left: dict[int, int], at: int, room: int, cut: Counter[int]) -> Iterable[Counter[int]]:
        """Every cut of one length to which no piece can be added, larger pieces first."""
        if at == len(self.sizes):
            if all(size > room or cut[size] == left[size] for size in self.sizes):
                yield Counter(cut)
            return
        size = self.sizes[at]
        for count in range(min(left[size], room // size), -1, -1):
            cut[size] = count
            yield from self._cuts(left, at + 1, room - count * size, cut)
        cut[size] = 0
