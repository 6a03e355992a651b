"""Rounding up to preferred values."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from model.errors import BadValue
from model.standards import preferred


@pytest.mark.parametrize(
    ("ohm", "series", "expected"),
    [
        (320, "E6", 330),
        (320, "E12", 330),
        (320, "E24", 330),
        (320, "E96", 324),
        (68, "E12", 68),
        (68, "E96", 68.1),
        (115, "E6", 150),
        (115, "E12", 120),
        (115, "E24", 120),
        (115, "E96", 115),
        (27, "E6", 33),
        (27, "E24", 27),
        (27, "E96", 27.4),
        (83, "E6", 100),
        (83, "E12", 100),
        (83, "E24", 91),
        (83, "E96", 84.5),
        (472, "E6", 680),
        (472, "E12", 560),
        (472, "E24", 510),
        (472, "E96", 475),
        (1000, "E3", 1000),
        (1000, "E96", 1000),
        (0.47, "E3", 0.47),
    ],
)
def test_round_up(ohm: float, series: str, expected: float) -> None:
    assert preferred.round_up(ohm, series) == expected


@pytest.mark.parametrize(
    ("ohm", "series", "expected"),
    [
        (200.00000000000003, "E24", 200),
        ((3.3 - 1.8) / 0.002, "E24", 750),
        (220.00001, "E12", 270),
        (1000.0000001, "E12", 1000),
    ],
)
def test_a_hair_above_counts_as_reached(ohm: float, series: str, expected: float) -> None:
    assert preferred.round_up(ohm, series) == expected


@given(ohm=st.floats(0.01, 1e7), series=st.sampled_from(list(preferred.SERIES)))
def test_never_below_and_the_next_one_down_is(ohm: float, series: str) -> None:
    value = preferred.round_up(ohm, series)
    assert value >= ohm * (1 - 1e-9)
    assert preferred.is_preferred(value, series)
    assert preferred.next_above(value, series) > value
    # No other value of the series lies between: the one before it is too small.
    step = max(b / a for a, b in zip(preferred.SERIES[series], preferred.SERIES[series][1:], strict=False))
    assert value <= ohm * max(step, 10 * preferred.SERIES[series][0] / preferred.SERIES[series][-1]) * (
        1 + 1e-9
    )


@pytest.mark.parametrize("ohm", [0, -1, float("nan"), float("inf")])
def test_no_value_for_nonsense(ohm: float) -> None:
    with pytest.raises(BadValue):
        preferred.round_up(ohm)


def test_unknown_series_lists_the_known() -> None:
    with pytest.raises(BadValue, match="E3, E6, E12, E24, E48, E96"):
        preferred.round_up(100, "E10")


def test_drawer() -> None:
    drawer = (1000, 330, 470)
    assert preferred.round_up_among(331, drawer) == 470
    assert preferred.round_up_among(330.0000000001, drawer) == 330
    assert preferred.round_up_among(1001, drawer) is None
    assert preferred.round_up_among(1, ()) is None


def test_only_six_values_of_e24_are_in_e96() -> None:
    shared = [value for value in preferred.SERIES["E24"] if preferred.is_preferred(value, "E96")]
    assert shared == [10, 11, 13, 15, 20, 75]
