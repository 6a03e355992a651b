"""Wire on hand: entering, changing and taking off, and what the cuts take from each length."""

from __future__ import annotations

import pytest

from model import bench, editing
from model.errors import BadValue, Conflict, LoomError, NotThere
from model.harness import Harness, Spool
from model.routing.allot import settle
from model.routing.merge_plan import apply, own_pairs
from model.routing.spools import (
    add_spool,
    cut_from,
    edit_spool,
    find_spool,
    free_spool_name,
    parse_length_mm,
    remove_spool,
    spool_for,
    spool_uses,
    to_buy,
)
from model.routing.wires import derive
from tests.large_models import large_model


@pytest.fixture
def joined() -> Harness:
    harness = large_model(6, 3, 4, seed=3, plugs=0)
    return settle(apply(harness, own_pairs(harness)))


def red_mm(harness: Harness) -> float:
    return sum(wire.cut_mm for wire in derive(harness).wires if wire.colour == "RD")


@pytest.mark.parametrize(
    ("typed", "mm"),
    [("850", 850), ("850 mm", 850), ("85cm", 850), ("2,5 m", 2500), ("10M", 10_000), ("", None), ("-", None)],
)
def test_lengths_as_they_are_typed(typed: str, mm: float | None):
    assert parse_length_mm(typed, "length") == mm


@pytest.mark.parametrize("typed", ["m", "mm", "two m", "1 km", "nan m", "1 2"])
def test_what_is_no_length(typed: str):
    with pytest.raises(BadValue):
        parse_length_mm(typed, "length")


def test_names_are_given_and_kept_apart():
    harness = editing.new_harness("Example", "EXM")
    for _ in range(3):
        harness = add_spool(harness, "RD", 1000)
    assert [spool.name for spool in harness.spools] == ["RD 1", "RD 2", "RD 3"]
    harness = remove_spool(harness, "RD 2")
    assert free_spool_name(harness, "RD") == "RD 2"
    with pytest.raises(Conflict):
        edit_spool(harness, "RD 3", name="RD 1")
    assert edit_spool(harness, "RD 3", length_mm=1000) is harness
    changed = edit_spool(harness, "RD 3", name="rest", length_mm=120.5, colour="BK")
    assert changed.spools[1] == Spool(name="rest", colour="BK", length_mm=120.5)
    with pytest.raises(NotThere):
        remove_spool(harness, "RD 9")


@pytest.mark.parametrize("fields", [("XX", 100.0), ("RD", 0.0), ("RD", -5.0), ("RD", float("inf"))])
def test_what_can_not_be_on_hand(fields: tuple[str, float]):
    with pytest.raises(LoomError):
        add_spool(editing.new_harness("Example", "EXM"), *fields)


def test_what_is_cut_from_each_and_what_to_buy(joined: Harness):
    need_mm = red_mm(joined)
    harness = add_spool(add_spool(joined, "RD", need_mm + 500), "GN", 300)
    red, green = spool_uses(harness)
    assert (red.used_mm, red.left_mm, red.wanted) == (pytest.approx(need_mm), pytest.approx(500), True)
    assert red.pieces == sum(wire.colour == "RD" for wire in derive(harness).wires)
    assert (green.pieces, green.left_mm, green.wanted) == (0, 300, False)
    assert [group.colour for group in to_buy(harness)] == ["BK"]
    short = edit_spool(harness, "RD 1", length_mm=need_mm - 1)
    assert {group.colour for group in to_buy(short)} == {"RD", "BK"}
    assert all(use.left_mm >= 0 for use in spool_uses(short))


def test_what_is_cut_at_the_bench_is_taken_off_the_spool(joined: Harness):
    reds = [wire for wire in derive(joined).wires if wire.colour == "RD"]
    harness = add_spool(add_spool(joined, "RD", 10 * red_mm(joined)), "RD", 400)
    live = harness.ledger.live()
    wire = next(wire for wire in reds if spool_for(harness, wire.key) == "RD 2")
    tag = live[wire.key].tag
    cut = bench.mark_step(harness, tag, "cut", "2026-03-03")
    assert cut_from(cut.ledger.get(tag)) == "RD 2"
    assert find_spool(cut, "RD 2").left_mm == 400 - wire.cut_mm
    assert sum(use.left_mm for use in spool_uses(cut)) == pytest.approx(
        10 * red_mm(joined) + 400 - red_mm(joined)
    ), "what is cut is not cut again, and not from a length that is gone"
    assert bench.mark_step(cut, tag, "cut", "2026-03-03") is cut
    # Measured: it took 20 mm more.
    longer = bench.set_length(cut, tag, wire.cut_mm + 20, "2026-03-03")
    assert find_spool(longer, "RD 2").left_mm == 400 - wire.cut_mm - 20
    back = bench.take_back_step(longer, tag, "cut", "2026-03-03")
    assert (find_spool(back, "RD 2").left_mm, cut_from(back.ledger.get(tag))) == (400, "")
    # What is left is entered anew: nothing is cut from that yet.
    again = edit_spool(cut, "RD 2", length_mm=400)
    assert find_spool(again, "RD 2").left_mm == 400


def test_a_length_typed_before_the_cut_is_taken_off_too(joined: Harness):
    harness = add_spool(joined, "RD", 10 * red_mm(joined))
    wire = next(wire for wire in derive(harness).wires if wire.colour == "RD")
    tag = harness.ledger.live()[wire.key].tag
    harness = bench.set_length(harness, tag, 123, "2026-03-03")
    assert find_spool(harness, "RD 1").cut_mm == 0
    assert find_spool(bench.mark_step(harness, tag, "cut", "2026-03-03"), "RD 1").cut_mm == 123


def test_the_bench_says_which_spool_to_take(joined: Harness):
    harness = add_spool(joined, "RD", 10 * red_mm(joined))
    for wire in derive(harness).wires[:6]:
        first = bench.steps(harness, wire)[0]
        assert ("from RD 1" in first.words) is (wire.colour == "RD" and not wire.own_lead)


def test_wires_that_are_cut_are_not_cut_again(joined: Harness):
    harness = add_spool(joined, "RD", 10 * red_mm(joined))
    wire = next(wire for wire in derive(harness).wires if wire.colour == "RD")
    record = harness.ledger.live()[wire.key]
    after = editing.do_step(harness, record.tag, "cut", "2026-03-03")
    assert spool_uses(after)[0].pieces == spool_uses(harness)[0].pieces - 1
