"""The parts list: what is needed, less what is fitted and what is on hand, in step with the other papers."""

from __future__ import annotations

import math
from collections import Counter

import attrs
import pytest
from hypothesis import given, settings

from model import editing
from model.bench import StepKind
from model.electrics.parts import resistors_needed
from model.harness import Harness, Spool
from model.labels.batch import stock_for, stock_group, wire_batch
from model.labels.stock import packaged_stocks
from model.labels.wire_room import Marking, lamp_sleeve, wire_room
from model.papers.parts import PART_COLUMNS, Part, part_table, parts
from model.papers.shelf import papers
from model.routing.allot import settle
from model.routing.cutting import cutting_plan
from model.routing.wires import derive
from model.standards.wire import gauge
from tests.model.papers.looms import planned
from tests.model.tracing.loom import gritter
from tests.strategies import harnesses

DAY = "2026-03-03"


def of_kind(harness: Harness, kind: str) -> dict[str, Part]:
    return {part.what: part for part in parts(harness) if part.kind == kind}


def test_the_small_lorry_line_by_line() -> None:
    assert [(part.kind, part.what, part.needed, part.buy, part.unit) for part in parts(gritter())] == [
        ("lamp", "LED amber 3 mm", 2, 2, "pieces"),
        ("lamp", "LED white 3 mm", 1, 1, "pieces"),
        ("resistor", "470R 5 % 1/8 W", 1, 1, "pieces"),
        ("resistor", "560R 5 % 1/8 W", 2, 2, "pieces"),
        ("wire", "red 28 AWG", 1.2, 10, "m"),
        ("wire", "black 28 AWG", 0.96, 10, "m"),
        ("sleeve", "heat-shrink 2.4 mm", 0.14, 0.14, "m"),
        ("plug", "plug and socket P1, 2 contacts or more", 1, 1, "pairs"),
        ("contact", "crimp contacts of P1, both halves", 4, 4, "pieces"),
        ("contact", "crimp contacts of controller", 3, 3, "pieces"),
        ("label", "Sleeve 3:1, 1.5 mm, tape", 18, 18, "labels"),
        ("fuse", "0.1 A with holder", 1, 1, "pieces"),
    ]


def test_what_is_on_hand_is_taken_off() -> None:
    harness = gritter()
    spools = (Spool(name="a", colour="RD", length_mm=9000), Spool(name="b", colour="BK", length_mm=100))
    harness = editing.set_spools(harness, spools)
    wire = of_kind(harness, "wire")
    assert (wire["red 28 AWG"].on_hand, wire["red 28 AWG"].buy) == (9, 0)
    assert (wire["black 28 AWG"].on_hand, wire["black 28 AWG"].buy) == (0.1, 10)
    begun = editing.set_spools(harness, [Spool(name="a", colour="RD", length_mm=9000, cut_mm=8800)])
    red = of_kind(begun, "wire")["red 28 AWG"]
    assert (red.on_hand, red.buy) == (0.2, 10), "what was cut from it is gone"
    harness = editing.set_settings(harness, drawer_ohm=(470.0, 560.0))
    for part in of_kind(harness, "resistor").values():
        assert (part.buy, part.note) == (0, "in the drawer")


def test_what_is_done_at_the_bench_is_not_bought_again() -> None:
    harness = gritter()
    before = {kind: of_kind(harness, kind) for kind in ("lamp", "resistor", "wire", "label", "contact")}
    plus = next(record for record in harness.ledger if record.wire == "L1+")
    for kind in StepKind:
        harness = editing.do_step(harness, plus.tag, kind.value, DAY)
    harness = settle(editing.mark_printed(harness, [(plus.tag, "L"), (plus.tag, "C")], DAY))
    cut_m = derive(harness).by_key["L1+"].cut_mm / 1000
    after = {kind: of_kind(harness, kind) for kind in before}
    assert after["lamp"]["LED amber 3 mm"].buy == before["lamp"]["LED amber 3 mm"].buy - 1
    assert sum(part.fitted for part in after["resistor"].values()) == 1
    assert after["wire"]["red 28 AWG"].fitted == pytest.approx(cut_m, abs=0.01)
    assert sum(part.fitted for part in after["label"].values()) == 2
    assert after["contact"]["crimp contacts of controller"].fitted == 1


@settings(max_examples=25, deadline=None)
@given(harness=harnesses(lamps=(1, 8), world=True))
def test_sums_are_those_of_the_other_papers(harness: Harness) -> None:
    assert sum(part.needed for part in parts(harness) if part.kind == "lamp") == len(harness.lamps)
    pieces = sum(need.pieces for need in resistors_needed(harness))
    assert sum(part.needed for part in parts(harness) if part.kind == "resistor") == pieces
    for group in cutting_plan(harness).groups:
        wire = next(
            part
            for part in parts(harness)
            if part.kind == "wire" and part.marks == group.colour and part.what.endswith(group.gauge)
        )
        assert wire.buy == pytest.approx(group.buy * group.sold_mm / 1000)
        assert wire.needed - wire.fitted == pytest.approx(group.total_mm / 1000, abs=0.02)
    labels = sum(part.needed for part in parts(harness) if part.kind == "label")
    live = harness.ledger.live()
    markings = []
    for wire in derive(harness).wires:
        stock = stock_for(packaged_stocks(), "", "sleeve", gauge(wire.gauge).od_mm)
        markings.append(wire_room(harness, wire, live.get(wire.key)).marking(stock))
    # Two sleeves, two flags where there is no room for any, and one sleeve where there is room for one.
    assert labels == 2 * len(markings) - markings.count(Marking.ONE)
    for part in parts(harness):
        assert 0 <= part.fitted <= part.needed + 1e-6
        assert part.buy >= 0


def test_sleeves_are_those_of_the_bench() -> None:
    harness = planned("gritter")
    named: Counter[str] = Counter()
    for wire in derive(harness).wires:
        found = lamp_sleeve(harness, wire)
        if found is not None and found[0] is not None:
            named[f"heat-shrink {found[0].name}"] += 1
    sleeves = of_kind(harness, "sleeve")
    for name, count in named.items():
        at_lamps = [word for word in sleeves[name].note.split(", ") if "joints" not in word]
        assert sum(int(word.split(" x ")[0]) for word in at_lamps) == count
    joints = sum(
        int(word.split(" x ")[0])
        for part in sleeves.values()
        for word in part.note.split(", ")
        if word.endswith("joints")
    )
    assert joints == len(harness.joints)


def test_a_resistor_no_size_holds_is_said() -> None:
    harness = editing.edit_lamp(gritter(), "L3", current_ma=900.0, max_ma=1000.0)
    whats = [part.what for part in parts(settle(harness)) if part.kind == "resistor"]
    assert any("no size is large enough" in what for what in whats)


def test_the_table_has_a_row_a_part_and_whole_numbers_of_pieces() -> None:
    harness = planned("tug")
    table = part_table(harness)
    assert table.columns == PART_COLUMNS
    assert len(table.rows) == len(parts(harness))
    for part in parts(harness):
        assert part.unit == "m" or math.isclose(part.buy, round(part.buy))


@pytest.mark.parametrize("name", ["flag-12", "sleeve-1.5-3to1", "wrap-38x38"])
def test_so_much_tape_is_bought_as_the_labels_take(name: str) -> None:
    harness = editing.set_settings(gritter(), sleeve_stock=name)
    stock = packaged_stocks()[name]
    batch = wire_batch(harness, packaged_stocks(), name, stock_group(stock))
    tape = stock.medium == "tape"
    taken = sum(
        (label.layout.length_mm if tape else label.layout.height_mm) + stock.gap_mm for label in batch
    )
    (bought,) = of_kind(harness, "label").values()
    assert bought.note == f"about {taken / 1000:.1f} m"


def test_a_stock_of_ones_own_is_what_is_bought() -> None:
    own = attrs.evolve(packaged_stocks()["flag-12"], name="mine", title="My own flags")
    harness = editing.set_settings(gritter(), sleeve_stock="mine")
    labels = [part for part in parts(harness, {**packaged_stocks(), "mine": own}) if part.kind == "label"]
    assert [part.what for part in labels] == ["My own flags"]
    assert next(part for part in parts(harness) if part.kind == "label").what != "My own flags"
    (listed,) = [paper for paper in papers({**packaged_stocks(), "mine": own}) if paper.key == "parts-list"]
    assert "My own flags" in listed.text(harness)


def test_an_empty_project_needs_nothing() -> None:
    assert parts(editing.new_harness("Empty", "NIL")) == ()
    lit = editing.add_lamp(editing.new_harness("One", "ONE"), "Lamp")
    assert [part.kind for part in parts(lit)] == ["lamp", "resistor"]
    assert attrs.has(Part)
