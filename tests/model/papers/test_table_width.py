"""Tables in a narrow terminal: nothing is lost and nothing is wider."""

from __future__ import annotations

import pytest

from model.papers.table import Table, as_text, without
from tests.large_models import large_model

TABLE = Table(
    title="Wires",
    columns=("net", "cut length mm", "goes to"),
    rows=(
        ("output 1 (side and marker lamps)", "120", "joint J3 at chassis front, beside the rail"),
        ("common", "5", "pin"),
    ),
)


@pytest.mark.parametrize("width", [30, 40, 60, 79])
def test_a_table_keeps_to_the_width_and_holds_every_word(width: int):
    text = as_text(TABLE, width)
    assert max(map(len, text.splitlines())) <= width
    words = [word for row in (TABLE.columns, *TABLE.rows) for cell in row for word in cell.split()]
    assert sorted(text.split()) == sorted([TABLE.title, *words])


def test_it_is_as_it_was_where_there_is_room():
    assert as_text(TABLE, 100) == as_text(TABLE)
    assert as_text(TABLE).splitlines()[1].split() == ["net", "cut", "length", "mm", "goes", "to"]


def test_a_word_that_is_too_long_is_parted():
    table = Table(title="t", columns=("place", "mm"), rows=(("x" * 30 + " y", "1"),))
    lines = as_text(table, 14).splitlines()
    assert max(map(len, lines)) <= 14
    assert "".join(line.replace(" ", "") for line in lines[2:]) == "x" * 10 + "1" + "x" * 20 + "y"


def test_a_column_can_be_left_out():
    assert without(TABLE, "cut length mm").rows[1] == ("common", "pin")


def test_the_plan_and_the_cuts_are_read_at_80_columns():
    from model.papers.cut_list import cut_text
    from model.papers.plan_table import plan_text
    from model.routing.allot import settle
    from model.routing.merge_plan import apply, best_plan

    harness = settle(apply(large_model(12, 3, 8, seed=1), best_plan(large_model(12, 3, 8, seed=1))))
    for text in (plan_text(harness, width=80), cut_text(harness, width=80)):
        notes = [line for line in text.splitlines() if not line.endswith(".")]
        assert max(map(len, notes)) <= 80
