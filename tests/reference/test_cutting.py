"""Cutting and packing at their known optimum.

Sources: paper rolls of 5600 mm from an encyclopedia's article on cutting stock; widths 100 and 110 from a
modelling library's example and Fourer, Gay and Kernighan 1993; 17 ft boards from Winston 2004; u120_00 of
OR-Library's binpack1 (Beasley 1990), whose file says 48. Each optimum was proved by integer programming,
apart from this code; linear programming by scipy (HiGHS) here.
"""

from __future__ import annotations

import itertools
import math
from random import Random

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, linprog, milp

from model.routing.packing import fill, pack_equal
from model.routing.patterns import Types, pattern_bound

ROLLS = (
    "1380x22 1520x25 1560x12 1710x14 1820x18 1880x18 1930x20 2000x10 2050x12 2100x14 2140x16 2150x18 2200x20"
)

CASES = [
    ("paper rolls", ROLLS, 5600, 73),
    ("width 100", "14x211 31x395 36x610 45x97", 100, 453),
    ("width 110", "20x48 45x35 50x24 55x10 75x8", 110, 47),
    ("boards of 17 ft", "3x25 5x20 9x15", 17, 19),
    ("length 10", "3x9 4x7 5x5", 10, 9),
    ("sleeves from 1 m", "25x30 40x12 60x7", 1000, 2),
]

U120_00 = """
42 69 67 57 93 90 38 36 45 42 33 79 27 57 44 84 86 92 46 38 85 33 82 73 49 70 59 23 57 72 74 69 33
42 28 46 30 64 29 74 41 49 55 98 80 32 25 38 82 30 35 39 57 84 62 50 55 27 30 36 20 78 47 26 45 41
58 98 91 96 73 84 37 93 91 43 73 85 81 79 71 80 76 83 41 78 70 23 42 87 43 84 60 55 49 78 73 62 36
44 94 69 32 96 70 84 58 78 25 80 58 66 83 24 98 60 42 43 43 39
"""


def pieces_of(text: str) -> list[int]:
    """ "25x30" is thirty pieces of 25."""
    pairs = (part.split("x") for part in text.split())
    return [int(size) for size, count in pairs for _ in range(int(count))]


def assert_cut(pieces: list[int], capacity: int, bins: tuple[tuple[int, ...], ...]) -> None:
    """Every piece is cut once and no length holds too much."""
    assert sorted(place for cut in bins for place in cut) == list(range(len(pieces)))
    assert all(sum(pieces[place] for place in cut) <= capacity for cut in bins)


@pytest.mark.parametrize(("text", "capacity", "optimum"), [c[1:] for c in CASES], ids=[c[0] for c in CASES])
def test_cutting_stock(text: str, capacity: int, optimum: int):
    pieces = pieces_of(text)
    found = pack_equal(pieces, capacity)
    assert_cut(pieces, capacity, found.bins)
    assert len(found.bins) == optimum
    assert found.bound == optimum
    assert found.exact


def test_bin_packing_u120_00():
    pieces = [int(word) for word in U120_00.split()]
    assert len(pieces) == 120
    assert math.ceil(sum(pieces) / 150) == 48
    found = pack_equal(pieces, 150)
    assert_cut(pieces, 150, found.bins)
    assert len(found.bins) == 48
    assert found.exact


def patterns(types: Types) -> np.ndarray:
    """Every way to cut one length, a column each."""
    ranges = [range(types.whole // size + 1) for size in types.sizes]
    return np.array(
        [
            counts
            for counts in itertools.product(*ranges)
            if 0 < sum(count * size for count, size in zip(counts, types.sizes, strict=True)) <= types.whole
        ]
    ).T


@pytest.mark.parametrize("seed", range(40))
def test_small_cases_against_linear_and_integer_programming(seed: int):
    dice = Random(seed)
    whole = dice.randint(20, 60)
    sizes = sorted(dice.sample(range(whole // 5, whole), dice.randint(2, 5)))
    pieces = [size for size in sizes for _ in range(dice.randint(1, 25))]
    types = Types.of(pieces, whole)
    table = patterns(types)
    ones, wanted = np.ones(table.shape[1]), np.array(types.counts)
    least = linprog(ones, A_ub=-table, b_ub=-wanted, bounds=(0, None)).fun
    best = milp(
        ones,
        constraints=LinearConstraint(table, lb=wanted),
        integrality=ones,
        bounds=Bounds(0, np.inf),
    ).fun
    # Worths need not be those of the optimum for a bound, but the simplex method comes to it.
    assert pattern_bound(types) in (math.ceil(least - 1e-6), math.ceil(best - 1e-6))
    found = pack_equal(pieces, whole)
    assert_cut(pieces, whole, found.bins)
    assert found.bound <= round(best) <= len(found.bins)
    assert len(found.bins) == round(best)


@pytest.mark.parametrize("seed", range(40))
def test_lengths_on_hand_against_integer_programming(seed: int):
    """As much as can be cut from lengths on hand: each piece in one length or none."""
    dice = Random(seed)
    pieces = [dice.randint(20, 90) for _ in range(dice.randint(3, 12))]
    lengths = [dice.randint(60, 260) for _ in range(dice.randint(1, 4))]
    count, stock = len(pieces), len(lengths)
    once = np.kron(np.ones(stock), np.eye(count))
    room = np.kron(np.eye(stock), np.array(pieces))
    best = -milp(
        -np.tile(pieces, stock),
        constraints=[LinearConstraint(once, ub=np.ones(count)), LinearConstraint(room, ub=np.array(lengths))],
        integrality=np.ones(count * stock),
        bounds=Bounds(0, 1),
    ).fun
    found = fill(pieces, lengths)
    used = [place for cut in found.bins for place in cut]
    assert sorted([*used, *found.rest]) == list(range(count))
    assert all(
        sum(pieces[place] for place in cut) <= length for cut, length in zip(found.bins, lengths, strict=True)
    )
    assert found.filled == sum(pieces[place] for place in used)
    assert found.filled == pytest.approx(best)
    assert found.exact
    assert found.bound == found.filled
