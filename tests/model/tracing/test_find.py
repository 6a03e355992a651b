"""Questions and their answers: tags as they stand, misread, retired, of other projects; words."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model import editing
from model.harness import Harness
from model.routing.allot import settle
from model.routing.wires import derive
from model.tags import TagScheme, issuable
from model.tracing.answer import find_text
from model.tracing.find import FoundKind, find, live_heirs, shared_words
from model.tracing.reading import slips
from tests.model.tracing.loom import gritter, moved
from tests.strategies import harnesses


def keys(harness: Harness, asked: str) -> list[str]:
    """The keys of the wires that a question in words leads to."""
    found = find(harness, asked)
    assert found.kind is FoundKind.LISTS, found.heading
    return [answer.wire.key for answer in found.answers if answer.wire]


@pytest.mark.parametrize(
    ("asked", "end"),
    [
        ("K7L", ""),
        ("k7l", ""),
        (" K 7 L \n", ""),
        ("K-7-L", ""),
        ("GRT-K7L-C", "C"),
        ("GRT-K7L-L", "L"),
        ("grt k7l l", "L"),
        ("GRT-K7L", ""),
        ("GRTK7L", ""),
        ("K7L-C", "C"),
        ("k7l l", "L"),
        ("K7L\u2013C", "C"),
    ],
)
def test_a_tag_however_it_is_written(asked: str, end: str):
    found = find(gritter(), asked)
    assert (found.kind, found.tag, found.end) == (FoundKind.WIRE, "K7L", end)
    assert found.answer is not None
    assert found.answer.wire is not None
    assert found.answer.wire.key == "L1-"
    assert found.answer.words == "Indicator front left minus to joint J1 at cab floor"
    assert found.answer.net == "output 5 (indicators left)"
    assert found.reason == ""
    assert found.end_words == {"": "", "L": "lamp end", "C": "controller end"}[end]


@pytest.mark.parametrize(
    ("asked", "tag", "end"),
    [("TUG-K7L-C", "K7L", "C"), ("T2-K?L", "K?L", ""), ("LTH 9C9 L", "9C9", "L"), ("TUG-501-L", "501", "L")],
)
def test_a_label_of_another_project(asked: str, tag: str, end: str):
    found = find(gritter(), asked)
    assert (found.kind, found.tag, found.end) == (FoundKind.OTHER_PROJECT, tag, end)
    assert found.project == asked.replace(" ", "-").partition("-")[0]
    assert found.project in found.heading
    assert found.answers == ()


@pytest.mark.parametrize(
    ("asked", "reason"),
    [
        ("K7?", "the third character is L"),
        ("k ? l", "the second character is 7"),
        ("GRT-?7L-C", "the first character is K"),
        ("K71", "1 may be an L"),
        ("B2A", "B may be an 8"),
    ],
)
def test_a_tag_worked_out(asked: str, reason: str):
    found = find(gritter(), asked)
    assert found.kind is FoundKind.WIRE
    assert found.reason == f"read as {found.tag}: {reason}"


def test_a_wrong_character_gives_candidates_with_reasons():
    found = find(gritter(), "K7E")
    assert found.kind is FoundKind.CANDIDATES
    assert [(one.answer.tag, one.reason, one.cost) for one in found.candidates] == [
        ("K7L", "E may be an L", 0.5)
    ]
    assert found.answers == ()


@pytest.mark.parametrize(
    ("near", "order"),
    [
        ([], ["H4E", "J5E"]),
        # H4E meets K7L in joint J1; J5E ends on the common pin as F8N does.
        (["K7L"], ["H4E", "J5E"]),
        (["F8N"], ["J5E", "H4E"]),
        (["XXX"], ["H4E", "J5E"]),
    ],
)
def test_of_what_is_as_likely_that_nearest_to_hand_goes_first(near: list[str], order: list[str]):
    candidates = find(gritter(), "J4E", near=near).candidates
    assert [one.answer.tag for one in candidates] == order
    assert candidates[0].cost == candidates[1].cost


def test_a_retired_tag_says_what_it_was_and_what_came_after():
    harness = moved()
    found = find(harness, "GRT-N6H-C")
    assert found.kind is FoundKind.RETIRED
    assert found.answer is not None
    assert found.answer.wire is None
    assert found.answer.words == "plug P1 contact 2 to output 2, pin A2"
    assert "it now ends at output 3, pin A3" in found.heading
    (heir,) = found.heirs
    assert heir.wire is not None
    assert heir.wire.key == "L3-.2"
    assert f"look at {heir.tag}" in found.heading


def test_heirs_are_followed_to_those_that_live():
    harness = moved()
    (first,) = live_heirs(harness, harness.ledger.get("N6H"))
    harness = editing.mark_printed(harness, [(first.tag, "C")], "2026-03-04")
    harness = settle(editing.edit_lamp(harness, "L3", output=4))
    (second,) = live_heirs(harness, harness.ledger.get("N6H"))
    assert second.live
    assert second.tag != first.tag
    assert second.wire == "L3-.2"
    gone = settle(editing.remove_lamp(harness, "L3"))
    assert live_heirs(gone, gone.ledger.get("N6H")) == ()
    assert "nothing took its place" in find(gone, "N6H").heading


@pytest.mark.parametrize(
    ("asked", "expected"),
    [
        ("output 5", ["L1-", "L2-", "J1-"]),
        ("Out 5", ["L1-", "L2-", "J1-"]),
        ("5", ["L1-", "L2-", "J1-"]),
        ("indicators left", ["L1-", "L2-", "J1-"]),
        ("A5", ["J1-"]),
        ("a.5", ["J1-"]),
        ("pin A5", ["J1-"]),
        ("pin 5", ["J1-"]),
        ("common pin A7", ["L1+", "L2+", "L3+.2"]),
        ("common", ["L1+", "L2+", "L3+", "L3+.2"]),
        ("J1", ["L1-", "L2-", "J1-"]),
        ("joint j1", ["L1-", "L2-", "J1-"]),
        ("GRT-J1", ["L1-", "L2-", "J1-"]),
        ("P1", ["L3+", "L3+.2", "L3-", "L3-.2"]),
        ("plug P1 contact 2", ["L3-", "L3-.2"]),
        ("P1.1", ["L3+", "L3+.2"]),
        ("Beacon", ["L3+", "L3+.2", "L3-", "L3-.2"]),
        ("front left", ["L1+", "L1-", "J1-"]),
        ("cab roof", ["L3+", "L3+.2", "L3-", "L3-.2"]),
        ("indicator", ["L1+", "L1-", "J1-", "L2+", "L2-"]),
        ("amber", ["L1+", "L1-", "J1-", "L2+", "L2-"]),
        ("front bumper", ["L1+", "L1-"]),
        ("bumper", ["L1+", "L1-"]),
        ("BK", ["L1-", "J1-", "L2-", "L3-", "L3-.2"]),
        ("black wires", ["L1-", "J1-", "L2-", "L3-", "L3-.2"]),
        ("minus", ["L1-", "J1-", "L2-", "L3-", "L3-.2"]),
        ("black output 5", ["L1-", "J1-", "L2-"]),
        ("beacon red", ["L3+", "L3+.2"]),
        ("amber black front", ["L1-", "J1-"]),
        ("left indicator front", ["L1+", "L1-", "J1-"]),
    ],
)
def test_words(asked: str, expected: list[str]):
    assert sorted(keys(gritter(), asked)) == sorted(expected)


@pytest.mark.parametrize(
    "asked", ["", "   ", "x" * 201, "purple rain", "output 77", "J9", "P1.77", "[/]", "\x1b[2J", "??", "zz"]
)
def test_what_leads_nowhere_says_how_to_ask(asked: str):
    found = find(gritter(), asked)
    assert found.kind is FoundKind.NOTHING
    assert "pin A5" in found.heading
    assert found.answers == ()
    assert "\x1b" not in found.heading


def test_a_tag_that_is_right_and_of_no_wire_here():
    harness = gritter()
    strange = next(tag for tag in issuable(3) if not slips(harness, tag))
    found = find(harness, strange)
    assert found.kind is FoundKind.NOTHING
    assert "as a code it is right, so it may be of another project" in found.heading


def test_a_lamp_that_is_not_walked_is_found_all_the_same():
    harness = editing.add_lamp(gritter(), "Work lamp", output=1, at="W4")
    found = find(harness, "work lamp")
    assert found.kind is FoundKind.LISTS
    assert [(one.words, one.wires, one.refs) for one in found.lists] == [
        ("Work lamp (output 1): not walked yet, so that there is no wire", (), ("L4",))
    ]
    assert found.heading == found.lists[0].words


def test_whole_label_texts_in_a_row_are_several_tags():
    found = find(gritter(), "GRT-K7L-L GRT-H4E-C")
    assert found.kind is FoundKind.SEVERAL
    assert [one.tag for one in found.several] == ["K7L", "H4E"]


def test_several_illegible_tags_give_what_each_may_be():
    found = find(gritter(), "?7? ??E")
    assert found.kind is FoundKind.CANDIDATES
    assert {"K7L", "H4E"} <= {one.answer.tag for one in found.candidates}
    assert found.heading.startswith("?7? may be K7L; ??E may be ")
    assert all(one.reason.startswith(("?7?: ", "??E: ")) for one in found.candidates)
    assert "XX? is like no tag of GRT" in find(gritter(), "?7? XX?").heading
    assert find(gritter(), "XX? ZZ?").kind is FoundKind.NOTHING


def test_words_that_mean_several_things_make_several_lists():
    harness = settle(editing.edit_lamp(gritter(), "L3", colour="red"))
    found = find(harness, "red")
    assert [one.words for one in found.lists] == ["red wire (RD)", "of Beacon"]


def test_a_tag_goes_before_a_thing_of_its_name_and_the_thing_is_told():
    harness = settle(editing.set_leg(gritter(), "W2", "W4", plug="K7L"))
    found = find(harness, "K7L")
    assert found.kind is FoundKind.WIRE
    assert [one.words for one in found.also] == ["in plug K7L"]
    assert find(harness, "plug K7L").kind is FoundKind.LISTS


def test_a_lamp_whose_name_looks_like_a_tag():
    harness = settle(editing.edit_lamp(gritter(), "L3", name="LED7"))
    assert keys(harness, "led7") == ["L3+", "L3+.2", "L3-", "L3-.2"]


@pytest.mark.parametrize(
    ("asked", "tags", "shared"),
    [
        (
            "K7L H4E 9C9",
            ["K7L", "H4E", "9C9"],
            ("all of output 5 (indicators left)", "all BK", "all end in J1", "all pass cab floor"),
        ),
        ("K7L,82A", ["K7L", "82A"], ("all minus", "all BK")),
        ("82A + N?H", ["82A", "N6H"], ("all of output 2", "all BK", "all end in P1.2", "all feed Beacon")),
        (
            "K7L-H4E",
            ["K7L", "H4E"],
            ("all of output 5 (indicators left)", "all BK", "all end in J1", "all pass cab floor"),
        ),
    ],
)
def test_a_bundle_in_the_hand(asked: str, tags: list[str], shared: tuple[str, ...]):
    found = find(gritter(), asked)
    assert found.kind is FoundKind.SEVERAL
    assert [answer.tag for answer in found.answers] == tags
    assert found.shared == shared


def test_one_wire_shares_nothing():
    harness = gritter()
    assert shared_words(harness, derive(harness).wires[:1]) == ()


def test_a_wire_of_a_lamp_without_output():
    harness = settle(editing.edit_lamp(gritter(), "L3", output=None))
    tag = harness.ledger.live()["L3-.2"].tag
    answer = find(harness, tag).answer
    assert answer is not None
    assert answer.net == "no output yet"
    assert "L3-.2" not in keys(harness, "common")


def test_plain_numbers():
    harness = editing.set_settings(editing.new_harness("Lorry", "GRT"), tag_scheme=TagScheme.NUMBER)
    for name, output in (("One", 5), ("Two", 5), ("Three", 1)):
        harness = editing.add_lamp(harness, name, output=output, measured_mm=100.0)
    for lamp in harness.lamps:
        harness = settle(editing.accept_run(harness, lamp.id, editing.RunChoice()))
    assert find(harness, "501").tag == "501"
    assert find(harness, "GRT-502-L").end == "L"
    assert find(harness, "S01").tag == "501"
    assert find(harness, "OO2").tag == "002"
    assert keys(harness, "5") == ["L1-", "L2-"]
    assert {one.answer.tag for one in find(harness, "503").candidates} >= {"501", "502", "003"}


def test_plain_numbers_of_the_common_go_on_past_99():
    harness = editing.set_settings(editing.new_harness("Lorry", "GRT"), tag_scheme=TagScheme.NUMBER)
    for number in range(100):
        harness = editing.add_lamp(harness, f"Lamp {number}", output=1 + number % 6, measured_mm=100.0)
        harness = editing.accept_run(harness, f"L{number + 1}", editing.RunChoice())
    harness = settle(harness)
    assert [record.tag for record in harness.ledger if record.wire == "L100+"] == ["0100"]
    assert find(harness, "GRT-0100-C").tag == "0100"
    assert find(harness, "O1OO").tag == "0100"


@pytest.mark.parametrize(
    ("asked", "lines"),
    [
        (
            "K7L",
            [
                "K7L: Indicator front left minus to joint J1 at cab floor",
                "output 5 (indicators left), minus, black (BK) 28 AWG, 170 mm",
                "pin      output 5, pin A5",
                "lamps    Indicator front left",
                "joints   J1 at cab floor",
                "beside   H4E",
                "made     not begun",
                "",
            ],
        ),
        (
            "K7E",
            [
                "K7E is no tag of GRT. It may be: K7L",
                "K7L   BK    Indicator front left minus to joint J1 at cab floor  E may be an L",
            ],
        ),
        (
            "joint J1",
            [
                "3 wires: in joint J1 at cab floor",
                "K7L   BK    Indicator front left minus to joint J1 at cab floor",
                "H4E   BK    Indicator side left minus to joint J1 at cab floor",
                "9C9   BK    joint J1 at cab floor to output 5, pin A5",
            ],
        ),
    ],
)
def test_the_answer_as_plain_lines(asked: str, lines: list[str]):
    assert find_text(find(gritter(), asked))[: len(lines)] == lines


def test_plain_lines_of_what_was_made():
    harness = editing.do_step(gritter(), "K7L", "cut", "2026-03-03")
    assert "made     cut (last 2026-03-03)" in find_text(find(harness, "K7L"))


@settings(max_examples=40, deadline=None)
@given(harnesses(world=True, later_edits=4), st.data())
def test_every_tag_ever_given_answers(harness: Harness, data: st.DataObject):
    for record in harness.ledger:
        found = find(harness, record.tag)
        assert found.tag == record.tag
        assert found.kind is (FoundKind.WIRE if record.live else FoundKind.RETIRED)
        assert all(heir.record.live for heir in found.heirs)
        assert found.asked in (record.tag,)
    names = st.sampled_from(["", *(lamp.name for lamp in harness.lamps)])
    asked = data.draw(st.text(max_size=12) | names)
    assert find_text(find(harness, asked))


def test_a_pin_that_an_output_and_the_common_have_answers_for_each():
    harness = gritter()
    block, common = next(iter(harness.controller.commons()))
    number = harness.lamps[0].output
    shared = settle(editing.edit_output(harness, number, pin=common.pin))
    lists = find(shared, f"pin {block.name}{common.pin}").lists
    nets = {one.words: {wire.output for wire in one.wires} for one in lists}
    assert nets == {f"on output {number}, pin A7": {number}, "on common pin A7": {None}}
