"""Packing: small cases by hand, what holds for any, what is refused. Known optima: tests/reference."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from model.errors import BadValue
from model.routing.packing import fill, pack_equal
from model.routing.patterns import Types, pattern_bound


@pytest.mark.parametrize(
    ("pieces", "capacity", "count"),
    [
        ([], 10, 0),
        ([10], 10, 1),
        ([5, 5], 10, 1),
        ([5, 5.1], 10, 2),
        ([6, 6, 6], 10, 3),
        ([4, 4, 6, 6], 10, 2),
        ([0.1] * 100, 10, 1),
        ([3.3, 3.3, 3.3], 9.9, 1),
        ([7, 5, 5, 3], 10, 2),
    ],
)
def test_by_hand(pieces: list[float], capacity: float, count: int):
    found = pack_equal(pieces, capacity)
    assert len(found.bins) == found.bound == count
    assert found.exact


@pytest.mark.parametrize(
    ("pieces", "lengths", "bins", "rest"),
    [
        ([], [10], [set()], set()),
        ([5], [], [], {0}),
        ([4, 3, 5], [9, 3], [{0, 2}, {1}], set()),
        ([8, 8], [10], [{0}], {1}),
        ([20], [10], [set()], {0}),
    ],
)
def test_filling_by_hand(pieces: list[float], lengths: list[float], bins: list[set[int]], rest: set[int]):
    found = fill(pieces, lengths)
    assert len(found.bins) == len(lengths)
    assert found.exact
    assert set(found.rest) == rest or found.filled == sum(
        pieces[place] for place in range(len(pieces)) if place not in rest
    )
    assert sum(pieces[place] for cut in bins for place in cut) == found.filled


@pytest.mark.parametrize(("piece", "capacity"), [(11, 10), (0, 10), (-1, 10), (math.inf, 10), (math.nan, 10)])
def test_pieces_that_can_not_be_cut_are_refused(piece: float, capacity: float):
    with pytest.raises(BadValue, match="piece"):
        pack_equal([5, piece], capacity)


LENGTHS = st.lists(st.integers(1, 200).map(lambda tens: tens * 5.0), max_size=30)


@given(LENGTHS, st.integers(200, 400))
def test_any_packing(pieces: list[float], fives: int):
    capacity = fives * 5.0
    found = pack_equal(pieces, capacity)
    assert sorted(place for cut in found.bins for place in cut) == list(range(len(pieces)))
    assert all(0 < sum(pieces[place] for place in cut) <= capacity for cut in found.bins)
    assert math.ceil(sum(pieces) / capacity) <= found.bound <= len(found.bins)
    assert found.exact == (found.bound == len(found.bins))


@given(LENGTHS, st.lists(st.floats(1, 2000).map(lambda length: round(length, 1)), max_size=6))
def test_any_filling(pieces: list[float], lengths: list[float]):
    found = fill(pieces, lengths)
    used = [place for cut in found.bins for place in cut]
    assert sorted([*used, *found.rest]) == list(range(len(pieces)))
    for cut, length in zip(found.bins, lengths, strict=True):
        assert sum(pieces[place] for place in cut) <= length + 1e-6
    assert found.filled == pytest.approx(sum(pieces[place] for place in used))
    assert found.filled <= found.bound + 1e-6 <= sum(pieces) + 1e-3
    if found.exact and found.rest:
        # Where all could be cut, all is.
        assert found.filled <= min(sum(pieces), sum(lengths)) + 1e-6


def test_the_bound_sees_what_the_sum_does_not():
    # Two pieces of 36 and one of 14 fill 86 of 100; no sum says so.
    pieces = [36] * 10 + [45] * 2
    assert math.ceil(sum(pieces) / 100) == 5
    assert pattern_bound(Types.of(pieces, 100)) == 6
    assert pack_equal(pieces, 100).exact
