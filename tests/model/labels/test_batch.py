"""The labels of a harness on their stock: choice of stock, state, what is left out."""

from __future__ import annotations

import attrs
import pytest

from model import editing
from model.errors import NotThere
from model.harness import Harness
from model.labels.batch import (
    Label,
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
from model.labels.wire_room import wire_room
from model.routing.allot import settle
from model.routing.wires import derive
from model.store.reading import loads
from model.store.writing import dumps
from model.tags import Print
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
        assert label.problems or lines or not label.layout.text.lines, label.key
        if not lines:  # its wire is too short for more than the tag at both ends
            assert label.layout.length_mm <= wire_room(gritter(), label.wires[0]).left_mm / 2
        assert len(label.text.lines) == 2, "what it should say is kept whole"


def on_wire_of(cut_mm: float) -> tuple[Label, ...]:
    """The sleeves of K7L once it is cut to that length.

    11 mm are stripped (3 at the lamp, 8 in the joint) and 15 mm are for the sleeve over the solder point.
    """
    harness = editing.set_cut(gritter(), "K7L", cut_mm, DAY)
    wires = [derive(harness).by_key["L1-"]]
    labels = wire_batch(harness, STOCKS, "", "sleeve", wires)
    room = wire_room(harness, wires[0], harness.ledger.get("K7L"))
    assert (room.insulated_mm, room.left_mm) == (cut_mm - 11, cut_mm - 26)
    if all(label.printable for label in labels):
        assert sum(label.layout.length_mm for label in labels) <= room.left_mm
    return labels


def test_both_sleeves_are_shortened_until_they_lie_on_the_wire_together() -> None:
    usual = on_wire_of(180)
    assert sum(label.layout.length_mm for label in usual) > 70
    # 74 mm are left, then 54, then 34, then 24: less is said from step to step, the tag always.
    said_on = [
        [[text.text for text in label.layout.texts] for label in on_wire_of(mm)] for mm in (100, 60, 50)
    ]
    assert [len(texts) for texts in said_on[0]] == [3, 3]
    assert said_on[1:] == [[["K7L", "\N{MINUS SIGN}"]] * 2, [["K7L"]] * 2]
    assert [round(label.layout.length_mm, 1) for label in on_wire_of(50)] == [12.0, 12.0]
    for label in on_wire_of(50):
        assert (label.problems, label.layout.stock, label.left_out) == ((), usual[0].layout.stock, 2)


def test_a_wire_too_short_for_two_sleeves_has_one_for_both_ends() -> None:
    (one,) = on_wire_of(49)
    assert (one.key, one.problems, one.printable) == ("K7L", (), True)
    assert [problem.rule for problem in one.layout.problems] == ["label-one"]
    harness = editing.set_cut(gritter(), "K7L", 49, DAY)
    harness = settle(editing.mark_printed(harness, marks([one]), DAY, said=marks([one]), on="sleeve"))
    record = harness.ledger.get("K7L")
    assert (record.printed_lamp, record.printed_controller) == (DAY, DAY)
    (again,) = wire_batch(harness, STOCKS, "", "sleeve", one.wires)
    assert again.state is LabelState.PRINTED
    half = settle(editing.mark_printed(harness, [("K7L", "C")], ""))
    (again,) = wire_batch(half, STOCKS, "", "sleeve", one.wires)
    assert again.state is LabelState.NEW, "of the two ends the worse counts"


@pytest.mark.parametrize(
    ("cut_mm", "said_of"),
    [(37, "no room on the wire for a tag sleeve"), (25, "no room on the wire for its sleeves")],
)
def test_a_wire_too_short_for_any_sleeve_is_a_problem_that_flags_mend(cut_mm: float, said_of: str) -> None:
    labels = on_wire_of(cut_mm)
    assert [label.printable for label in labels] == [False, False]
    problem = labels[0].problems[0]
    assert (problem.rule, problem.found) == ("label-wire", said_of)
    assert problem.limit == (
        f"{cut_mm - 11} mm of insulation, 15 mm for the sleeve over the solder point at the lamp"
    )
    better = other_stocks(STOCKS, labels[0])
    assert better
    assert {stock_group(stock) for stock in better} == {"flag"}
    flags = wire_batch(gritter(), STOCKS, better[0].name, "flag", labels[0].wires)
    assert all(label.problems == () for label in flags)


def test_a_colour_code_with_a_descender_gives_way_to_the_tag() -> None:
    harness = settle(editing.set_settings(gritter(), minus_colour="TQ"))
    labels = wire_batch(harness, STOCKS, "", "sleeve")
    assert any(label.text.colour_code == "TQ" for label in labels)
    assert all(label.printable for label in labels)


def test_sleeves_and_flags_are_printed_each_for_itself() -> None:
    harness = gritter()

    def known(harness: Harness, group: str) -> set[LabelState]:
        return {label.state for label in wire_batch(harness, STOCKS, "", group, wires)}

    wires = [derive(harness).by_key["L1-"]]
    said_now = marks(wire_batch(harness, STOCKS, "", "sleeve", wires))
    harness = editing.mark_printed(harness, said_now, DAY, said=said_now, on="sleeve")
    assert (known(harness, "sleeve"), known(harness, "flag")) == ({LabelState.PRINTED}, {LabelState.NEW})
    both = editing.mark_printed(harness, said_now, "2026-04-04", said=said_now, on="flag")
    assert known(both, "sleeve") == known(both, "flag") == {LabelState.PRINTED}
    both = loads(dumps(both))
    assert both.ledger.get("K7L").print_on("L", "sleeve") == Print(
        end="L", on="sleeve", day=DAY, said=said_now["K7L", "L"]
    )
    renamed = settle(editing.edit_lamp(both, "L1", name="Blinker"))
    anew = marks(wire_batch(renamed, STOCKS, "", "flag", wires))
    renamed = editing.mark_printed(renamed, anew, "2026-05-05", said=anew, on="flag")
    assert (known(renamed, "sleeve"), known(renamed, "flag")) == ({LabelState.CHANGED}, {LabelState.PRINTED})
    back = editing.mark_printed(both, said_now, "", on="flag")
    assert (known(back, "sleeve"), known(back, "flag")) == ({LabelState.PRINTED}, {LabelState.NEW})
    assert back.ledger.get("K7L").printed_lamp == DAY


def test_a_print_from_before_the_kind_was_kept_counts_for_both() -> None:
    harness = editing.mark_printed(gritter(), [("K7L", "L")], DAY)
    flag = editing.mark_printed(harness, [("K7L", "L")], "2026-04-04", on="flag")
    record = flag.ledger.get("K7L")
    days = [found.day for group in ("sleeve", "flag") if (found := record.print_on("L", group))]
    assert days == [DAY, "2026-04-04"]
    gone = editing.mark_printed(harness, [("K7L", "L")], "", on="flag").ledger.get("K7L")
    assert gone.printed is False


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
