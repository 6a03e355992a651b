"""What happens in the world: labels printed, steps at the bench, lengths, history."""

from __future__ import annotations

import attrs

from model import editing
from model.harness import Printed
from model.tags import Event
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
