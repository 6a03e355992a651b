"""Lengths in mm and in inches: what is written is read back as the same."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from hypothesis import given
from hypothesis import strategies as st

from model import lengths
from model.bench import steps
from model.errors import BadValue
from model.routing.wires import derive
from tests.strategies import harness_from_seed


@pytest.fixture
def inch() -> Iterator[None]:
    lengths.write_in("inch")
    yield
    lengths.write_in("mm")


@pytest.mark.parametrize(
    ("typed", "mm"),
    [
        *(("", None), ("-", None), ("240", 240.0), ("240 mm", 240.0), ("24 cm", 240.0)),
        *(("2,5 m", 2500.0), ("0,5", 0.5), ("9.5 in", 241.3), ('9 1/2"', 241.3)),
        *(("9-1/2 inches", 241.3), ("3/4 IN", 19.0), (".25 in", 6.3), ("1 inch", 25.4)),
    ],
)
def test_a_unit_that_is_typed_counts(typed: str, mm: float | None) -> None:
    assert lengths.read(typed, "leg") == mm


@pytest.mark.usefixtures("inch")
@pytest.mark.parametrize(("typed", "mm"), [("9.5", 241.3), ("9 1/2", 241.3), ("240 mm", 240.0), ("1", 25.4)])
def test_without_a_unit_it_is_in_inches(typed: str, mm: float) -> None:
    assert lengths.read(typed, "leg") == mm


@pytest.mark.usefixtures("inch")
def test_what_is_sold_in_mm_is_typed_in_mm_whatever_the_unit_of_wire() -> None:
    assert lengths.read("9.5", "hole", "mm") == 9.5
    assert lengths.read("3/8 in", "hole", "mm") == 9.5
    with pytest.raises(BadValue, match="a number in mm"):
        lengths.read("wide", "hole", "mm")


@pytest.mark.parametrize(
    "typed", ["mm", "in", "nine", "1/0", "1 2 3", "inf", "nan", "1_0", "9 feet", "1e999", "1/2/3", "--"]
)
def test_what_is_no_length_is_refused(typed: str) -> None:
    with pytest.raises(BadValue, match="is not a number"):
        lengths.read(typed, "leg")


@pytest.mark.parametrize(
    ("mm", "text", "typed"),
    [
        (170, "6.69 in", "6.693"),
        (241.3, "9.5 in", "9.5"),
        (25.4, "1 in", "1"),
        (0, "0 in", "0"),
        (3, "0.12 in", "0.12"),
        (10, "0.39 in", "0.394"),
    ],
)
@pytest.mark.usefixtures("inch")
def test_inches(mm: float, text: str, typed: str) -> None:
    assert lengths.text(mm) == text
    assert lengths.typed(mm) == typed


@pytest.mark.usefixtures("inch")
@pytest.mark.parametrize(
    ("mm", "text"), [(3, "0.12 in"), (3048, "120 in"), (3050, "10.0 ft"), (8930, "29.3 ft")]
)
def test_sums_of_many_feet_are_in_feet(mm: float, text: str) -> None:
    assert lengths.long(mm) == text
    assert lengths.total(mm) == text


@pytest.mark.usefixtures("inch")
def test_a_change_of_a_sum_names_its_unit_once_where_it_is_one() -> None:
    assert lengths.total_change(8170, 13000) == "26.8 to 42.7 ft"
    assert lengths.total_change(2540, 13000) == "100 in to 42.7 ft"


def test_sums_in_mm_stay_in_mm() -> None:
    assert lengths.long(8930) == "8930 mm"
    assert lengths.total(8930) == "8.93 m"
    assert lengths.total_change(8170, 13000) == "8.17 to 13.00 m"


@given(st.integers(0, 1_000_000), st.sampled_from(lengths.UNITS))
def test_a_field_that_is_only_accepted_changes_nothing(tenths: int, unit: lengths.Unit) -> None:
    mm = tenths / 10
    lengths.write_in(unit)
    try:
        assert lengths.read(lengths.typed(mm), "leg") == (mm if unit == "inch" else float(f"{mm:g}"))
    finally:
        lengths.write_in("mm")


def test_sentences_follow_the_unit_and_lengths_do_not() -> None:
    harness = harness_from_seed(5, lamps=(3, 3), nasty=0.0, walked=1.0)
    wire = next(wire for wire in derive(harness).wires if not wire.own_lead)
    in_mm = [step.words for step in steps(harness, wire)]
    assert any(f"cut {wire.cut_mm:g} mm of" in words for words in in_mm)
    lengths.write_in("inch")
    try:
        in_inch = [step.words for step in steps(harness, wire)]
        assert any(f"cut {lengths.figure(wire.cut_mm)} in of" in words for words in in_inch)
        assert next(one for one in derive(harness).wires if one.key == wire.key).cut_mm == wire.cut_mm
    finally:
        lengths.write_in("mm")
    assert [step.words for step in steps(harness, wire)] == in_mm
