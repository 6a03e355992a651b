"""Which labels there are of what, which of them are wanted, and that what is printed stays known."""

from __future__ import annotations

from itertools import cycle

import pytest

from harness_tui import examples
from model import editing
from model.bench import bench_order, steps
from model.checks import check
from model.errors import NotThere
from model.harness import Harness, Spool
from model.labels.batch import LabelState
from model.labels.stock import RESOLUTIONS_DPI, packaged_stocks
from model.papers.label_sets import (
    CARD_COLUMNS,
    USUAL,
    What,
    Which,
    better_stocks,
    labels_of,
    mark,
    mark_as_in,
    select,
    stocks_that_take,
)
from model.routing.allot import settle
from model.store import dumps, loads
from tests.model.labels.label_cases import faults
from tests.model.tracing.loom import gritter
from tests.strategies import harness_from_seed

STOCKS = packaged_stocks()


def loom() -> Harness:
    return editing.set_spools(gritter(), [Spool(name="Red 28", colour="RD", length_mm=9500)])


def keys(harness: Harness, what: What, which: Which = Which.ALL, lamp: str = "") -> list[str]:
    return [label.key for label in select(harness, labels_of(harness, what, STOCKS), which, lamp)]


@pytest.mark.parametrize(
    ("what", "count", "some"),
    [
        (What.WIRES, 18, "K7L-L"),
        (What.JOINTS, 1, "J1"),
        (What.PLUGS, 1, "P1"),
        (What.SPOOLS, 1, "RED-28"),
        (What.CARDS, 9, "K7L"),
    ],
)
def test_what_there_is(what: What, count: int, some: str) -> None:
    found = keys(loom(), what)
    assert len(found) == count
    assert some in found


@pytest.mark.parametrize("what", What)
def test_on_its_usual_stock_nothing_is_wrong(what: What) -> None:
    for demo in examples.names():
        harness = settle(loads(examples.text(demo)))
        for label in labels_of(harness, what, STOCKS):
            assert [problem.found for problem in label.problems] == [], label.key


def test_stock_for_each() -> None:
    for what, name in USUAL.items():
        taken = {stock.name for stock in stocks_that_take(STOCKS, what)}
        assert name in taken
    assert {stock.kind for stock in stocks_that_take(STOCKS, What.CARDS)} == {"plate"}
    assert {stock.kind for stock in stocks_that_take(STOCKS, What.WIRES, "sleeve")} == {"sleeve", "strip"}
    with pytest.raises(NotThere):
        list(labels_of(loom(), What.JOINTS, STOCKS, "flag-99"))
    (at_600,) = labels_of(loom(), What.JOINTS, STOCKS, dpi=600)
    assert at_600.layout.stock.dpi == 600


def test_a_card_that_does_not_fit_says_on_which_stock_it_would() -> None:
    small = next(iter(labels_of(loom(), What.CARDS, STOCKS, "plate-50x25")))
    assert {problem.rule for problem in small.layout.problems} >= {"label-line"}
    assert {stock.name for stock in better_stocks(STOCKS, What.CARDS, small)} >= {"cards-a4", "cards-letter"}


def test_a_card_has_a_box_to_tick_for_every_step_each_on_a_line_of_its_own() -> None:
    harness = loom()
    wire = bench_order(harness)[0]
    tag = harness.ledger.live()[wire.key].tag
    harness = editing.do_step(harness, tag, "cut", "2026-03-03")
    card = next(iter(labels_of(harness, What.CARDS, STOCKS)))
    rows = [row.text for row in card.layout.texts if row.role == "line"]
    begun = [row for row in rows if row.startswith("[")]
    assert len(begun) == len(steps(harness, wire))
    assert [row[:3] for row in begun] == ["[x]", *["[ ]"] * (len(begun) - 1)]
    joined = " ".join(rows)
    for step in steps(harness, wire):
        assert step.words in joined
    assert all("[" not in row[1:] for row in rows), "two steps on one line"
    assert all(len(row) <= CARD_COLUMNS for row in rows)


def test_what_is_printed_is_known_until_what_it_says_changes() -> None:
    harness = loom()
    for what in (What.JOINTS, What.PLUGS, What.SPOOLS):
        labels = tuple(labels_of(harness, what, STOCKS))
        printed = mark(harness, labels, "2026-03-03")
        again = tuple(labels_of(loads(dumps(printed)), what, STOCKS))
        assert {(label.state, label.day) for label in again} == {(LabelState.PRINTED, "2026-03-03")}
        assert keys(printed, what, Which.NEW) == []
        forgotten = mark(printed, labels, "")
        assert forgotten.printed == ()
        assert keys(forgotten, what, Which.NEW) == keys(harness, what)
    every = [label for what in (What.JOINTS, What.PLUGS) for label in labels_of(harness, what, STOCKS)]
    printed = mark(harness, every, "2026-03-03")
    moved = settle(editing.edit_waypoint(printed, "W2", name="cab"))
    assert keys(moved, What.JOINTS, Which.CHANGED) == ["J1"]
    assert keys(moved, What.JOINTS, Which.NEW) == []
    (finding,) = (one for one in check(moved) if one.rule == "label says otherwise")
    assert (finding.subject, finding.place, finding.ref) == ("J1 and P1", "labels", "J1")
    assert all(one.rule != "label says otherwise" for one in check(printed))
    again = mark(moved, labels_of(moved, What.JOINTS, STOCKS), "2026-04-04")
    assert keys(again, What.JOINTS, Which.CHANGED) == []
    assert [(one.kind, one.day) for one in again.printed] == [("joint", "2026-04-04"), ("plug", "2026-03-03")]


def test_wires_are_marked_in_the_ledger_and_cards_nowhere() -> None:
    harness = loom()
    wires = tuple(labels_of(harness, What.WIRES, STOCKS))[:3]
    printed = mark(harness, wires, "2026-03-03")
    assert len(keys(printed, What.WIRES, Which.NEW)) == 15
    assert printed.printed == ()
    assert keys(mark(printed, wires, ""), What.WIRES, Which.NEW) == keys(harness, What.WIRES)
    cards = tuple(labels_of(harness, What.CARDS, STOCKS))
    assert mark(harness, cards, "2026-03-03") is harness
    assert {label.state for label in cards} == {LabelState.UNKNOWN}


def test_a_print_that_came_to_nothing_leaves_what_was_printed_before() -> None:
    harness = loom()
    joints = list(labels_of(harness, What.JOINTS, packaged_stocks()))
    wires = list(labels_of(harness, What.WIRES, packaged_stocks()))
    before = mark(mark(harness, joints[:1], "2026-01-01"), wires[:1], "2026-01-01")
    after = mark(mark(before, joints, "2026-02-02"), wires, "2026-02-02")
    back = mark_as_in(mark_as_in(after, joints, before), wires, before)
    assert back.printed == before.printed
    assert back.ledger == before.ledger


def test_only_those_of_a_run_and_only_of_wires_not_made_yet() -> None:
    harness = loom()
    assert set(keys(harness, What.WIRES, lamp="L1")) == {
        f"{tag}-{end}" for tag in ("K7L", "F8N", "9C9") for end in "LC"
    }
    assert keys(harness, What.JOINTS, lamp="L1") == ["J1"]
    assert keys(harness, What.SPOOLS, lamp="L1") == []
    joined = [wire for wire in bench_order(harness) if "L1" in wire.lamps]
    live = harness.ledger.live()
    for wire in joined:
        for step in steps(harness, wire):
            harness = editing.do_step(harness, live[wire.key].tag, step.id, "2026-03-03")
    unmade = keys(harness, What.WIRES, Which.UNMADE)
    assert len(unmade) == 18 - 2 * len(joined)
    assert not any(key.startswith(("K7L", "F8N", "9C9")) for key in unmade)
    assert keys(harness, What.JOINTS, Which.UNMADE) == ["J1"], "H4E comes into it and is not made"
    assert len(keys(harness, What.CARDS, Which.UNMADE)) == 9 - len(joined)


@pytest.mark.parametrize("seeds", [range(start, start + 25) for start in range(0, 150, 25)], ids=str)
def test_cards_and_spools_of_random_harnesses(seeds: range) -> None:
    """As the labels of wires elsewhere: nothing outside the print, on another thing, or too small."""
    stocks = cycle(
        [stock.at(dpi) for dpi in RESOLUTIONS_DPI for stock in stocks_that_take(STOCKS, What.CARDS)]
    )
    count = 0
    for seed in seeds:
        harness = harness_from_seed(seed)
        stock = next(stocks)
        for label in labels_of(harness, What.CARDS, STOCKS, stock.name, dpi=stock.dpi):
            assert faults(label.layout) == [], (seed, label.key, stock.name)
            count += 1
    assert count > 50
