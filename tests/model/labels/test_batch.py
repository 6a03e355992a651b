"""The labels of a harness on their stock: choice of stock, state, what is left out."""

from __future__ import annotations

import attrs
import pytest

from model import editing
from model.errors import NotThere
from model.harness import Harness
from model.labels.batch import (
    LabelState,
    marks,
    one_face,
    other_stocks,
    stock_for,
    stock_group,
    stocks_for,
    wire_batch,
)
from model.labels.stock import packaged_stocks
from model.routing.allot import settle
from model.routing.wires import derive
from tests.model.tracing.loom import gritter

DAY = "2026-03-03"
STOCKS = packaged_stocks()


@pytest.mark.parametrize(
    ("chosen", "group", "od_mm", "name"),
    [
        ("", "sleeve", 0.84, "sleeve-1.5-3to1"),
        ("", "sleeve", 1.1, "sleeve-1.6"),
        ("", "sleeve", 0.14, "sleeve-1.5-3to1"),  # none grips so thin a wire: the thinnest, with a finding
        ("", "flag", 0.14, "flag-12"),
        ("sleeve-3.2", "sleeve", 0.84, "sleeve-3.2"),
    ],
)
def test_the_stock_goes_by_the_wire_unless_chosen(chosen: str, group: str, od_mm: float, name: str) -> None:
    assert stock_for(STOCKS, chosen, group, od_mm).name == name


def test_a_stock_that_is_gone_is_said() -> None:
    with pytest.raises(NotThere, match="flag-99"):
        wire_batch(gritter(), STOCKS, "flag-99", "flag")


def test_groups_hold_every_stock_that_marks_wires() -> None:
    names = {stock.name for group in ("sleeve", "flag") for stock in stocks_for(STOCKS, group)}
    assert names == {stock.name for stock in STOCKS.values() if stock.kind != "plate"}
    assert {stock_group(stock) for stock in stocks_for(STOCKS, "sleeve")} == {"sleeve"}


def printed(harness: Harness, *keys: str) -> Harness:
    labels = [label for label in wire_batch(harness, STOCKS, "", "flag") if label.key in keys]
    said = marks(labels)
    return settle(editing.mark_printed(harness, said, DAY, said=said))


def states(harness: Harness) -> dict[str, LabelState]:
    return {label.key: label.state for label in wire_batch(harness, STOCKS, "", "flag")}


def test_a_label_is_new_then_printed_then_changed_then_printed_again() -> None:
    harness = gritter()
    assert set(states(harness).values()) == {LabelState.NEW}
    harness = printed(harness, "K7L-L")
    assert states(harness)["K7L-L"] is LabelState.PRINTED
    assert states(harness)["K7L-C"] is LabelState.NEW
    harness = settle(editing.edit_lamp(harness, "L1", name="Blinker"))
    assert states(harness)["K7L-L"] is LabelState.CHANGED
    harness = printed(harness, "K7L-L")
    assert states(harness)["K7L-L"] is LabelState.PRINTED


def test_a_changed_stock_does_not_make_a_printed_label_untrue() -> None:
    harness = printed(gritter(), "K7L-L")
    on_sleeves = wire_batch(harness, STOCKS, "", "sleeve")
    assert {label.key for label in on_sleeves if label.state is LabelState.PRINTED} == {"K7L-L"}


def test_a_label_printed_before_its_words_were_kept_counts_as_printed() -> None:
    harness = settle(editing.mark_printed(gritter(), [("K7L", "L")], DAY))
    assert states(harness)["K7L-L"] is LabelState.PRINTED


def test_a_thin_sleeve_leaves_out_the_other_end_but_never_where_its_own_goes() -> None:
    labels = wire_batch(gritter(), STOCKS, "", "sleeve")
    assert any(label.left_out for label in labels)
    for label in labels:
        lines = [text.text for text in label.layout.texts if text.role == "line"]
        assert label.problems or lines, label.key
        assert len(label.text.lines) == 2, "what it should say is kept whole"


def test_a_stock_too_small_is_a_problem_with_a_way_out() -> None:
    labels = wire_batch(gritter(), STOCKS, "sleeve-12.7", "sleeve")
    assert all(label.problems for label in labels)  # far too thick a tube for a thin wire
    for stock in other_stocks(STOCKS, labels[0]):
        (label, *_) = wire_batch(gritter(), STOCKS, stock.name, stock_group(stock))
        assert label.problems == ()


def test_a_flag_is_shown_as_one_of_its_faces() -> None:
    label = wire_batch(gritter(), STOCKS, "", "flag")[0]
    face = one_face(label.layout)
    assert 2 * face.length_mm < label.layout.length_mm
    texts = [text.text for text in label.layout.texts]
    assert texts == 2 * [text.text for text in face.texts]
    (sleeve, *_) = wire_batch(gritter(), STOCKS, "", "sleeve")
    assert one_face(sleeve.layout) is sleeve.layout


def test_resolution_and_wires_are_as_asked() -> None:
    harness = gritter()
    wire = derive(harness).by_key["L1-"]
    labels = wire_batch(harness, STOCKS, "flag-12", "flag", [wire], 203)
    assert [(label.key, label.layout.stock.dpi) for label in labels] == [("K7L-L", 203), ("K7L-C", 203)]


def test_a_wire_without_a_tag_has_no_label() -> None:
    harness = gritter()
    bare = attrs.evolve(harness, ledger=attrs.evolve(harness.ledger, records=()))
    assert wire_batch(bare, STOCKS, "", "flag") == ()
