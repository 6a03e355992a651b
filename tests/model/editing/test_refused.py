"""When an edit is refused, and that the message says what is wrong and what to do."""

from __future__ import annotations

import pytest

from model import editing
from model.editing import Merge, RunChoice
from model.errors import BadValue, Conflict, LoomError, NotThere
from model.harness import Build, Delivers, Harness
from model.tags import TagScheme
from tests.model.editing.cases import DAY, WAY, Edit, a_tag, accept, printed, walked

REFUSED: tuple[tuple[str, Edit, type[LoomError], str], ...] = (
    ("no name", lambda h: editing.rename(h, name=""), BadValue, "empty"),
    ("long name", lambda h: editing.rename(h, name="x" * 500), BadValue, "500 characters"),
    ("escape in name", lambda h: editing.rename(h, name="a\x1b[2J"), BadValue, r"\\x1b"),
    ("lower-case code", lambda h: editing.rename(h, code="grt"), BadValue, "project code"),
    (
        "code on labels",
        lambda h: editing.rename(printed(h), code="NEW"),
        Conflict,
        "GRT is on printed labels",
    ),
    ("one colour for both", lambda h: editing.set_settings(h, plus_colour="BK"), BadValue, "both polarities"),
    ("slack of 200 %", lambda h: editing.set_settings(h, slack_pct=200), BadValue, "0 to 100"),
    (
        "scheme after tags",
        lambda h: editing.set_settings(h, tag_scheme=TagScheme.NUMBER),
        Conflict,
        "given already",
    ),
    ("controller nowhere", lambda h: editing.set_controller(h, at="W9"), NotThere, "W9"),
    ("block twice", lambda h: editing.add_block(h, "A"), Conflict, "exists already"),
    ("long block name", lambda h: editing.add_block(h, "ABCDEFG"), BadValue, "7 characters"),
    ("dot in a block name", lambda h: editing.add_block(h, "A.1"), BadValue, "has a dot"),
    ("dot in a new block name", lambda h: editing.rename_block(h, "A", "B.1"), BadValue, "has a dot"),
    ("dot in a plug name", lambda h: editing.set_leg(h, "W2", "W3", plug="P.1"), BadValue, "has a dot"),
    ("no such block", lambda h: editing.remove_block(h, "Z"), NotThere, "Z"),
    (
        "block name taken",
        lambda h: editing.rename_block(editing.add_block(h), "B", "A"),
        Conflict,
        "exists already",
    ),
    ("rename no block", lambda h: editing.rename_block(h, "Z", "Y"), NotThere, "Z"),
    ("long new block name", lambda h: editing.rename_block(h, "A", "ABCDEFG"), BadValue, "7 characters"),
    ("block in use", lambda h: editing.remove_block(h, "A"), Conflict, "feeds Headlamp left"),
    ("output into no block", lambda h: editing.add_output(h, "Z"), NotThere, "Z"),
    ("output twice", lambda h: editing.add_output(h, "A", number=3), Conflict, "exists already"),
    ("output 100", lambda h: editing.add_output(h, "A", number=100), BadValue, "1 to 99"),
    ("no such output", lambda h: editing.edit_output(h, 9, function="x"), NotThere, "output 9"),
    ("number taken", lambda h: editing.edit_output(h, 1, number=2), Conflict, "exists already"),
    ("no limit", lambda h: editing.edit_output(h, 1, limit_ma=0), BadValue, "limit ma"),
    (
        "regulated to what",
        lambda h: editing.edit_output(h, 1, delivers=Delivers.REGULATED),
        BadValue,
        "missing",
    ),
    ("output in use", lambda h: editing.remove_output(h, 1), Conflict, "feeds Headlamp left, Fog lamp"),
    ("remove no output", lambda h: editing.remove_output(h, 9), NotThere, "output 9"),
    ("common twice", lambda h: editing.add_common(h, "A", pin="7"), Conflict, "exists already"),
    ("common of no block", lambda h: editing.add_common(h, "Z"), NotThere, "Z"),
    ("no such common", lambda h: editing.edit_common(h, "A", "9", limit_ma=1), NotThere, "A9"),
    (
        "common pin taken",
        lambda h: editing.edit_common(editing.add_common(h, "A"), "A", "7", pin="8"),
        Conflict,
        "A8",
    ),
    ("remove no common", lambda h: editing.remove_common(h, "A", "9"), NotThere, "A9"),
    ("waypoint without name", lambda h: editing.add_waypoint(h, " "), BadValue, "empty"),
    ("no such waypoint", lambda h: editing.edit_waypoint(h, "W9", name="x"), NotThere, "W9"),
    (
        "waypoint with lamps",
        lambda h: editing.remove_waypoint(h, "W2"),
        Conflict,
        "holds Headlamp left, Fog lamp",
    ),
    ("waypoint with a joint", lambda h: editing.remove_waypoint(h, "W3"), Conflict, "holds joint J1"),
    ("the controller's", lambda h: editing.remove_waypoint(h, "W1"), Conflict, "holds the controller"),
    ("remove no waypoint", lambda h: editing.remove_waypoint(h, "W9"), NotThere, "W9"),
    ("leg to nowhere", lambda h: editing.set_leg(h, "W1", "W9", length_mm=1), NotThere, "W9"),
    ("leg from nowhere", lambda h: editing.set_leg(h, "W9", "W1", length_mm=1), NotThere, "W9"),
    ("leg to itself", lambda h: editing.set_leg(h, "W1", "W1", length_mm=1), BadValue, "one waypoint"),
    ("leg below zero", lambda h: editing.set_leg(h, "W1", "W2", length_mm=-1), BadValue, "length mm"),
    ("endless leg", lambda h: editing.set_leg(h, "W1", "W3", length_mm=float("inf")), BadValue, "length mm"),
    ("plug twice", lambda h: editing.set_leg(h, "W3", "W1", plug="P1"), Conflict, "on another leg"),
    ("plug past the leg", lambda h: editing.set_leg(h, "W2", "W3", plug_mm=121), BadValue, "121 mm along"),
    (
        "leg cut short of its plug",
        lambda h: editing.set_leg(h, "W2", "W3", length_mm=30),
        BadValue,
        "40 mm along",
    ),
    ("no such leg", lambda h: editing.remove_leg(h, "W2", "W1"), NotThere, "W2 to W1"),
    ("lamp nowhere", lambda h: editing.add_lamp(h, "x", at="W9"), NotThere, "W9"),
    ("lamp on no output", lambda h: editing.add_lamp(h, "x", output=9), NotThere, "output 9"),
    ("lamp of no colour", lambda h: editing.add_lamp(h, "x", colour="mauve"), BadValue, "mauve"),
    ("ready-wired for what", lambda h: editing.add_lamp(h, "x", build=Build.WIRED), BadValue, "rated volts"),
    ("no such lamp", lambda h: editing.edit_lamp(h, "L9", name="x"), NotThere, "L9"),
    ("lamp to nowhere", lambda h: editing.edit_lamp(h, "L1", at="W9"), NotThere, "W9"),
    ("lamp to no output", lambda h: editing.edit_lamp(h, "L1", output=9), NotThere, "output 9"),
    ("copy no lamp", lambda h: editing.copy_lamp(h, "L9"), NotThere, "L9"),
    ("mirror what has no side", lambda h: editing.mirror_lamp(h, "L2"), Conflict, "no left or right"),
    (
        "mirror twice",
        lambda h: editing.mirror_lamp(editing.mirror_lamp(h, "L1"), "L1"),
        Conflict,
        "Headlamp right: exists already",
    ),
    ("remove no lamp", lambda h: editing.remove_lamp(h, "L9"), NotThere, "L9"),
    ("move no lamp", lambda h: editing.move_lamp(h, "L9", 1), NotThere, "L9"),
    ("accept no lamp", lambda h: editing.accept_run(h, "L9", RunChoice()), NotThere, "L9"),
    ("merge into no joint", lambda h: merged(h, Merge(at="W3", into="J9")), NotThere, "J9"),
    (
        "merge into another net",
        lambda h: merged(with_output_2(h), Merge(at="W3", into="J1")),
        Conflict,
        "another net",
    ),
    ("merge with no lamp", lambda h: merged(h, Merge(at="W3", gather=("L9",))), NotThere, "L9"),
    (
        "merge with an open run",
        lambda h: merged(editing.drop_run(h, "L2"), Merge(at="W3", gather=("L2",))),
        Conflict,
        "Fog lamp: has no run yet",
    ),
    ("drop no run", lambda h: editing.drop_run(h, "L9"), NotThere, "L9"),
    ("skip no lamp", lambda h: editing.skip_lamp(h, "L9"), NotThere, "L9"),
    ("no such joint", lambda h: editing.set_joint(h, "J9", colour="RD"), NotThere, "J9"),
    (
        "joint to another net",
        lambda h: editing.set_joint(h, "J1", output=2),
        BadValue,
        "output can't be changed",
    ),
    ("joint of no colour", lambda h: editing.set_joint(h, "J1", colour="XX"), BadValue, "XX"),
    ("joint of no gauge", lambda h: editing.set_joint(h, "J1", gauge="9 mm2"), BadValue, "9 mm2"),
    (
        "plug called as a block",
        lambda h: editing.set_leg(h, "W2", "W3", plug="A"),
        Conflict,
        "plug A: is called",
    ),
    (
        "block renamed as a plug",
        lambda h: editing.rename_block(editing.set_leg(h, "W2", "W3", plug="P1"), "A", "P1"),
        Conflict,
        "block P1: is called",
    ),
    (
        "block called as a plug",
        lambda h: editing.add_block(editing.set_leg(h, "W2", "W3", plug="P1"), "P1"),
        Conflict,
        "block P1: is called",
    ),
    ("print no tag", lambda h: editing.mark_printed(h, [("222", "L")], DAY), NotThere, "222"),
    ("print no end", lambda h: editing.mark_printed(h, [(a_tag(h), "X")], DAY), BadValue, "L or C"),
    ("step of no tag", lambda h: editing.do_step(h, "222", "cut", DAY), NotThere, "222"),
    ("undo of no tag", lambda h: editing.undo_step(h, "222", "cut", DAY), NotThere, "222"),
    ("length of no tag", lambda h: editing.set_cut(h, "222", 100, DAY), NotThere, "222"),
    ("length below zero", lambda h: editing.set_cut(h, a_tag(h), -1, DAY), BadValue, "cut mm"),
    ("length in words", lambda h: editing.set_cut(h, a_tag(h), float("nan"), DAY), BadValue, "cut mm"),
    (
        "note with an escape",
        lambda h: editing.log_event(h, a_tag(h), "seen", "\x1b[2J", DAY),
        BadValue,
        "note",
    ),
    ("history of no tag", lambda h: editing.log_event(h, "222", "seen", "", DAY), NotThere, "222"),
)


def merged(harness: Harness, merge: Merge) -> Harness:
    return editing.accept_run(harness, "L1", RunChoice(way=WAY, minus=merge))


def with_output_2(harness: Harness) -> Harness:
    """A third lamp keeps the joint alive; the first is on another output."""
    harness = editing.add_lamp(harness, "Third", output=1, at="W2")
    harness = accept(harness, "L3", minus=Merge(at="W3", into="J1"))
    return editing.edit_lamp(harness, "L1", output=2)


@pytest.mark.parametrize(
    ("edit", "error", "words"), [row[1:] for row in REFUSED], ids=[row[0] for row in REFUSED]
)
def test_refused(edit: Edit, error: type[LoomError], words: str):
    harness = walked()
    with pytest.raises(error, match=words) as caught:
        edit(harness)
    assert caught.value.subject
    assert caught.value.found
    assert "\x1b" not in caught.value.message()
    if error is Conflict:
        assert caught.value.remedy, "a conflict says what to do"
