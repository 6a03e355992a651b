"""The cut list: every piece once under its spool, sums that agree, and what to buy in words."""

from __future__ import annotations

import csv
import io

import pytest

from model import editing
from model.harness import Harness, Spool
from model.papers.cut_list import cut_csv, cut_tables, cut_text, sure
from model.routing.allot import settle
from model.routing.cutting import cutting_plan
from model.routing.merge_plan import apply, best_plan
from model.routing.wires import derive
from tests.large_models import large_model


def joined() -> Harness:
    harness = large_model(12, 3, 6, seed=1)
    return settle(apply(harness, best_plan(harness)))


def test_every_wire_once_and_the_sums_agree():
    harness = joined()
    pieces, groups = cut_tables(harness)
    tags = [row[4] for row in pieces.rows]
    assert sorted(tags) == sorted(record.tag for record in harness.ledger if record.live)
    assert sum(float(row[3]) for row in pieces.rows) == pytest.approx(derive(harness).spool_mm)
    for row in groups.rows:
        own = [float(piece[3]) for piece in pieces.rows if piece[:2] == (row[0], row[2])]
        assert (int(row[3]), float(row[4])) == (len(own), pytest.approx(sum(own)))
        assert row[-1] == "the least"
    # Spool after spool, none of them taken up twice.
    order = [row[:3] for row in pieces.rows]
    assert [row for place, row in enumerate(order) if row in order[:place] and row != order[place - 1]] == []


def test_what_to_buy_in_words():
    harness = joined()
    assert "No red 28 AWG is entered as on hand: spools of 10 m are assumed." in cut_text(harness)
    short = [
        Spool(name="rest", colour="RD", length_mm=300),
        Spool(name="black", colour="BK", length_mm=50_000),
    ]
    text = cut_text(editing.set_spools(harness, short))
    assert "The red 28 AWG on hand does not suffice: buy 1 of 10 m." in text
    assert "black 28 AWG on hand" not in text
    assert "1 x 10 m" in text


def test_what_is_on_hand_and_what_is_left_of_it():
    harness = joined()
    assert len(cut_tables(harness)) == 2
    spools = [
        Spool(name="long", colour="RD", length_mm=90_000),
        Spool(name="other", colour="TQ", length_mm=300),
    ]
    pieces, _, on_hand = cut_tables(editing.set_spools(harness, spools))
    from_long = [float(row[3]) for row in pieces.rows if row[2] == "long"]
    assert on_hand.rows == (
        ("long", "RD", "28 AWG", "90000", str(len(from_long)), f"{90_000 - sum(from_long):g}"),
        ("other", "TQ", "28 AWG", "300", "", "300"),
    )


def test_nothing_left_to_cut():
    assert "No wire is left to cut." in cut_text(editing.new_harness("empty", "EMP"))


def test_how_sure_it_is():
    (found, *_) = cutting_plan(joined()).groups
    assert sure(found) == "the least"


@pytest.mark.parametrize("name", ["=1+1", "+1+1", "-1+1", "@SUM(A1)", "\uff1d1+1", "\uff0b1", "\uff20A"])
def test_csv_can_not_act_as_a_formula(name: str):
    harness = joined()
    harness = settle(editing.edit_lamp(harness, "L1", name=name))
    rows = list(csv.reader(io.StringIO(cut_csv(harness))))
    assert rows[0] == ["colour", "gauge", "from", "cut mm", "tag", "wire"]
    assert not any(cell.startswith(name[0]) for row in rows for cell in row)
    assert any(cell.startswith(f"'{name[0]}") for row in rows for cell in row)
