"""Sleeve sizes and what shrinking does to them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from model.errors import BadValue
from model.standards.heatshrink import (
    SLEEVES,
    TWO_TO_ONE,
    Sleeve,
    finished_od_mm,
    sleeve_for,
    squeeze,
    wall_on_mm,
)

# Expanded wall, half circumference, lay-flat width, thinnest and thickest wire, in mm, worked out by hand.
WORKED = [
    ("1.2 mm", 0.27, 1.84, 2.38, 0.64, 0.97),
    ("1.6 mm", 0.28, 2.51, 3.07, 0.87, 1.33),
    ("2.4 mm", 0.31, 3.71, 4.33, 1.29, 1.97),
    ("3.2 mm", 0.30, 5.00, 5.59, 1.74, 2.65),
    ("4.8 mm", 0.28, 7.46, 8.03, 2.60, 3.96),
    ("6.4 mm", 0.36, 9.97, 10.70, 3.50, 5.29),
    ("9.5 mm", 0.35, 14.97, 15.67, 5.23, 7.94),
    ("12.7 mm", 0.34, 19.95, 20.64, 6.99, 10.58),
    ("19.1 mm", 0.40, 29.92, 30.73, 10.48, 15.88),
    ("25.4 mm", 0.46, 39.90, 40.82, 13.97, 21.17),
]


@pytest.mark.parametrize(("name", "wall", "half", "flat", "least", "greatest"), WORKED)
def test_worked_sizes(
    name: str, wall: float, half: float, flat: float, least: float, greatest: float
) -> None:
    sleeve = next(one for one in TWO_TO_ONE if one.name == name)
    assert sleeve.expanded_wall_mm == pytest.approx(wall, abs=0.006)
    assert sleeve.printable_mm == pytest.approx(half, abs=0.006)
    assert sleeve.lay_flat_mm == pytest.approx(flat, abs=0.012)
    assert sleeve.least_od_mm == pytest.approx(least, abs=0.006)
    assert sleeve.greatest_od_mm == pytest.approx(greatest, abs=0.006)


@given(od_mm=st.floats(0.64, 21.16))
def test_every_wire_and_bundle_has_a_two_to_one_sleeve(od_mm: float) -> None:
    sleeve = sleeve_for(od_mm)
    assert sleeve is not None
    assert sleeve.least_od_mm <= od_mm <= sleeve.greatest_od_mm


def test_what_is_too_thin_or_too_thick_has_none() -> None:
    assert sleeve_for(0.5) is None
    assert sleeve_for(22) is None
    thin = sleeve_for(0.6, ratio=3)
    assert thin is not None
    assert thin.name == "1.5 mm 3:1"


def test_a_sleeve_must_pass_the_joint_and_still_grip_the_wire() -> None:
    chosen = sleeve_for(1.4, over_mm=1.9)
    assert chosen is not None
    assert chosen.name == "2.4 mm"
    assert sleeve_for(0.8, over_mm=2.5) is None
    three = sleeve_for(1.2, over_mm=2.5, ratio=3)
    assert three is not None
    assert three.name == "3 mm 3:1"


def test_print_round_the_sleeve_is_squeezed() -> None:
    sleeve = next(one for one in TWO_TO_ONE if one.name == "3.2 mm")
    assert wall_on_mm(sleeve, 2.0) == pytest.approx(-1 + math.sqrt(1 + 2.08 * 0.5))
    assert squeeze(sleeve, 2.0) == pytest.approx(0.76, abs=0.005)


@pytest.mark.parametrize("sleeve", SLEEVES, ids=lambda sleeve: sleeve.name)
def test_shrinking_keeps_the_cross_section_of_the_wall(sleeve: Sleeve) -> None:
    for od_mm in (sleeve.recovered_mm, (sleeve.recovered_mm + sleeve.expanded_mm) / 2, sleeve.expanded_mm):
        wall = wall_on_mm(sleeve, od_mm)
        assert (od_mm + wall) * wall == pytest.approx(sleeve.wall_constant_mm2)
        assert finished_od_mm(sleeve, od_mm) == pytest.approx(od_mm + 2 * wall)
    assert squeeze(sleeve, sleeve.expanded_mm) == pytest.approx(1)
    # On something too thin to grip it stays at its recovered size.
    assert finished_od_mm(sleeve, sleeve.recovered_mm / 2) == pytest.approx(
        sleeve.recovered_mm + 2 * sleeve.wall_mm
    )


@pytest.mark.parametrize("od_mm", [0, -1, float("nan"), float("inf")])
def test_no_sleeve_for_nonsense(od_mm: float) -> None:
    with pytest.raises(BadValue):
        sleeve_for(od_mm)


def test_only_known_ratios() -> None:
    with pytest.raises(BadValue, match="2:1 or 3:1"):
        sleeve_for(1.0, ratio=4)
