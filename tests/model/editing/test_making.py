"""What happens in the world: labels printed, steps at the bench, lengths, history."""

from __future__ import annotations

import attrs

from model import editing
from model.harness import Printed
from model.tags import Event, Print
from tests.model.editing.cases import DAY, a_tag, walked


def test_mark_printed():
    harness = walked()
    tag = a_tag(harness)
    harness = editing.mark_printed(harness, [(tag, "L"), (tag, "C")], DAY)
    record = harness.ledger.get(tag)
    assert (record.printed_lamp, record.printed_controller) == (DAY, DAY)
    record = editing.mark_printed(harness, [(tag, "L")], "2026-04-04").ledger.get(tag)
    assert (record.printed_lamp, record.printed_controller) == ("2026-04-04", DAY)
    assert editing.mark_printed(harness, [], DAY).ledger == harness.ledger
    said = {(tag, "L"): "5f3a"}
    record = editing.mark_printed(harness, [(tag, "L"), (tag, "C")], DAY, said=said).ledger.get(tag)
    assert (record.said_lamp, record.said_controller) == ("5f3a", "")


def test_prints_are_remembered_for_each_kind_of_stock_and_put_back():
    tag = a_tag(walked())
    first = editing.mark_printed(walked(), [(tag, "L")], DAY, said={(tag, "L"): "a"}, on="sleeve")
    flag = editing.mark_printed(first, [(tag, "L")], "2026-04-04", said={(tag, "L"): "b"}, on="flag")
    record = flag.ledger.get(tag)
    assert (record.printed_lamp, record.said_lamp, record.on_lamp) == ("2026-04-04", "b", "flag")
    assert record.earlier == (Print(end="L", on="sleeve", day=DAY, said="a"),)
    assert editing.print_as_in(flag, first.ledger.get(tag), "L").ledger == first.ledger
    assert editing.print_as_in(first, walked().ledger.get(tag), "L").ledger == walked().ledger
    # The other end is not touched.
    both = editing.mark_printed(flag, [(tag, "C")], DAY, on="flag")
    assert editing.print_as_in(both, first.ledger.get(tag), "L").ledger.get(tag).printed_controller == DAY


def test_a_step_can_bring_a_length_and_take_it_away():
    tag = a_tag(walked())
    harness = editing.do_step(walked(), tag, "cut", DAY, cut_mm=170.0, note="170 mm")
    record = harness.ledger.get(tag)
    assert (record.cut_mm, record.events[-1]) == (170.0, Event(day=DAY, what="cut", note="170 mm"))
    assert editing.undo_step(harness, tag, "cut", DAY).ledger.get(tag).cut_mm == 170
    assert editing.undo_step(harness, tag, "cut", DAY, forget_cut=True).ledger.get(tag).cut_mm is None


def test_bench_steps():
    harness = walked()
    tag = a_tag(harness)
    harness = editing.do_step(editing.do_step(harness, tag, "cut", DAY), tag, "sleeve", DAY)
    assert harness.ledger.get(tag).steps == ("cut", "sleeve")
    assert editing.do_step(harness, tag, "cut", DAY) is harness, "done twice is done once"
    harness = editing.undo_step(harness, tag, "cut", "2026-03-04")
    assert harness.ledger.get(tag).steps == ("sleeve",)
    assert harness.ledger.get(tag).events == (
        Event(day=DAY, what="cut"),
        Event(day=DAY, what="sleeve"),
        Event(day="2026-03-04", what="not cut"),
    )


def test_length_cut_and_history():
    harness = walked()
    tag = a_tag(harness)
    harness = editing.set_cut(harness, tag, 172.5, DAY)
    assert harness.ledger.get(tag).cut_mm == 172.5
    harness = editing.set_cut(harness, tag, None, DAY)
    assert harness.ledger.get(tag).cut_mm is None
    harness = editing.log_event(harness, tag, "repaired", "new joint sleeve", DAY)
    assert [(event.what, event.note) for event in harness.ledger.get(tag).events] == [
        ("length", "172.5 mm"),
        ("length", ""),
        ("repaired", "new joint sleeve"),
    ]


def test_prints_of_joints_and_plugs_are_remembered_once_each():
    harness = walked()
    first = Printed(kind="joint", name="J1", day="2026-01-24", said="abc")
    again = attrs.evolve(first, day="2026-02-01")
    marked = editing.mark_other_printed(harness, [first])
    assert marked.printed == (first,)
    assert editing.mark_other_printed(marked, [again]).printed == (again,)
    assert editing.mark_other_printed(marked, [first]) is marked
    assert editing.mark_other_printed(marked, [first], forget=True).printed == ()
