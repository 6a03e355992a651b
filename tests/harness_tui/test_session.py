"""What undo, redo and a backup can't bring back: what stands on labels in the world."""

from __future__ import annotations

from harness_tui.session import Session
from model import editing
from model.editing import RunChoice
from model.harness import Harness
from model.integrity import broken_references
from model.tags import TagScheme

DAY = "2026-03-03"


def model() -> Harness:
    harness = editing.add_waypoint(editing.new_harness("Tug", "TUG"), "mast")
    harness = editing.set_leg(harness, "W1", "W2", length_mm=200)
    return editing.add_lamp(harness, "Masthead light", at="W2", output=1)


def walk(session: Session) -> None:
    choice = RunChoice(way=("W2", "W1"))
    session.apply(lambda harness: editing.accept_run(harness, "L1", choice), "the run")


def print_all(session: Session) -> None:
    both = [(record.tag, end) for record in session.harness.ledger for end in "LC"]
    session.apply(lambda harness: editing.mark_printed(harness, both, DAY), "printed")


def undo_all(session: Session) -> None:
    while session.undo():
        assert not broken_references(session.harness)


def test_a_code_is_undone_until_it_stands_on_a_label() -> None:
    session = Session(model())
    session.apply(lambda harness: editing.rename(harness, code="SEA"), "the code")
    walk(session)
    undo_all(session)
    assert session.harness.code == "TUG"
    while session.redo():
        pass
    print_all(session)
    undo_all(session)
    assert session.harness.code == "SEA"
    assert session.harness.lamp("L1").run is None, "all else is undone"


def test_the_tag_scheme_stays_with_the_tags_given() -> None:
    session = Session(model())
    session.apply(lambda harness: editing.set_settings(harness, tag_scheme=TagScheme.NUMBER), "the scheme")
    session.undo()
    assert session.harness.settings.tag_scheme is TagScheme.CODE
    session.redo()
    walk(session)
    undo_all(session)
    assert session.harness.settings.tag_scheme is TagScheme.NUMBER
    assert {record.tag for record in session.harness.ledger} == {"001", "101"}


def test_a_backup_from_before_keeps_tags_labels_and_bench_steps() -> None:
    session = Session(model())
    walk(session)
    backup = session.harness
    minus = backup.ledger.live()["L1-"].tag
    session.apply(lambda harness: editing.edit_lamp(harness, "L1", output=3), "output 3")
    session.apply(lambda harness: editing.do_step(harness, minus, "cut", DAY), "cut")
    session.put_back(backup, "the backup")
    record = session.harness.ledger.get(minus)
    assert session.harness.lamp("L1").output == 1
    assert (record.steps, record.controller_end, record.live) == (("cut",), "A.3", False)
    assert record.replaced_by == (session.harness.ledger.live()["L1-"].tag,)
    session.undo()
    assert session.harness.ledger.get(minus).live
