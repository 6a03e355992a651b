"""Bundles: equal wires by the table, unequal ones by estimate."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from model.errors import BadValue
from model.standards.circles import bundle_diameter_mm, enclosing_ratio

OD_MM = st.floats(0.1, 5)


def test_no_wire_takes_no_room() -> None:
    assert bundle_diameter_mm(()) == 0


@pytest.mark.parametrize(
    ("od_mm", "diameter_mm"),
    [
        ((1.2,), 1.2),
        ((1.0, 0.5), 1.5),
        ((1.0, 1.0, 1.0), 2.1547),
        ((1.0, 1.0, 0.3), 2.0),
        ((1.0, 1.0, 2 / 3), 2.0),  # 2/3 just fills the gap beside two equal ones
        ((3.0, 2.0, 1.0), 5.0),  # radii 3 2 1: 1/3 + 1/2 - 1/5 = 0.63 < 1, so the third lies in the gap
        ((1.0,) * 7, 3.0),
        ((0.84,) * 19, 4.8637 * 0.84),
    ],
)
def test_worked_bundles(od_mm: tuple[float, ...], diameter_mm: float) -> None:
    assert bundle_diameter_mm(od_mm) == pytest.approx(diameter_mm, abs=5e-5)


def test_three_unequal_touch_their_circle() -> None:
    # Radii 1, 1 and 0.8: by Pythagoras the centres lie at (+-1, 0) and (0, sqrt(1.8^2 - 1)); the circle
    # round them is centred at (0, y) with sqrt(1 + y^2) + 1 = sqrt(1.8^2 - 1) - y + 0.8.
    top = math.sqrt(1.8**2 - 1) - 0.2
    y = (top**2 - 1) / (2 * top)
    assert bundle_diameter_mm((2, 2, 1.6)) == pytest.approx(2 * (math.hypot(1, y) + 1))


@given(st.lists(OD_MM, min_size=1, max_size=40))
def test_a_bundle_holds_its_wires(sizes: list[float]) -> None:
    diameter = bundle_diameter_mm(sizes)
    largest = sorted(sizes)[-2:]
    assert diameter >= sum(largest) * (1 - 1e-12)
    # No packing fills its circle: the wires' area is less than the bundle's.
    assert diameter**2 >= sum(size**2 for size in sizes) * (1 - 1e-9)
    assert diameter <= enclosing_ratio(len(sizes)) * largest[-1] * (1 + 1e-9)


@given(OD_MM, st.integers(4, 19))
def test_one_wire_a_hair_thinner_makes_no_jump(od_mm: float, count: int) -> None:
    equal = bundle_diameter_mm([od_mm] * count)
    almost = bundle_diameter_mm([od_mm] * (count - 1) + [od_mm * 0.999999])
    assert almost == pytest.approx(equal, rel=1e-5)


@pytest.mark.parametrize("sizes", [[0.0], [1.0, -1.0], [float("nan")], [float("inf")]])
def test_impossible_wires(sizes: list[float]) -> None:
    with pytest.raises(BadValue):
        bundle_diameter_mm(sizes)


def test_at_least_one_wire_for_a_ratio() -> None:
    with pytest.raises(BadValue):
        enclosing_ratio(0)
