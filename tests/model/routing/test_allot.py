"""What follows by rule: ways, common pins, plug contacts, tags; and that a printed label stays true."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from random import Random

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model import editing
from model.editing import Merge, RunChoice
from model.errors import LoomError
from model.harness import Harness, Lamp, Polarity, Switched
from model.routing.allot import settle, tag_of
from model.routing.nets import load_ma
from model.routing.wires import EndKind, derive
from model.tags import TagScheme, is_issuable
from tests.following import assert_connected, assert_tagged
from tests.strategies import DAY, EDITS, assert_whole, harness_from_seed, harnesses


def model(lamps: int = 3, *, plug: str = "", blocks: int = 1, commons: int = 1) -> Harness:
    """W2 bumper and W3 cab floor in a line to W1; lamps at the bumper on outputs 1, 2, 3 ..."""
    harness = editing.new_harness("Example", "EXM")
    for _ in range(blocks - 1):
        harness = editing.add_block(harness, outputs=6, commons=1)
    for _ in range(commons - 1):
        harness = editing.add_common(harness, "A")
    harness = editing.add_waypoint(harness, "bumper")
    harness = editing.add_waypoint(harness, "cab floor")
    harness = editing.set_leg(harness, "W2", "W3", length_mm=120, plug=plug, plug_mm=50 if plug else 0)
    harness = editing.set_leg(harness, "W3", "W1", length_mm=210)
    for number in range(1, lamps + 1):
        harness = editing.add_lamp(harness, f"lamp {number}", at="W2", output=number)
    return harness


WAY = ("W2", "W3", "W1")


def accept(harness: Harness, *lamp_ids: str, **choice: object) -> Harness:
    for lamp_id in lamp_ids:
        harness = settle(editing.accept_run(harness, lamp_id, RunChoice(way=WAY, **choice)))
    return harness


def tag(harness: Harness, key: str) -> str:
    return harness.ledger.live()[key].tag


def tags(harness: Harness) -> dict[str, str]:
    return {key: record.tag for key, record in harness.ledger.live().items()}


def printed(harness: Harness, *keys: str) -> Harness:
    return editing.mark_printed(harness, [(tag(harness, key), "C") for key in keys], DAY)


# --- ways -----------------------------------------------------------------------------------------


def test_a_run_whose_leg_is_gone_takes_the_shortest_way_left():
    harness = accept(model(1), "L1")
    harness = editing.set_leg(harness, "W2", "W1", length_mm=500)
    harness = settle(editing.remove_leg(harness, "W3", "W1"))
    assert harness.lamp("L1").run.way == ("W2", "W1")
    assert_whole(harness)


def test_a_lamp_that_cannot_be_reached_is_open_again():
    harness = accept(model(2), "L1", "L2")
    harness = settle(editing.remove_leg(harness, "W3", "W1"))
    assert [lamp.run for lamp in harness.lamps] == [None, None]
    assert derive(harness).wires == ()
    assert all(not record.live for record in harness.ledger)


def test_a_measured_lamp_keeps_its_run_when_the_way_goes():
    harness = accept(editing.edit_lamp(model(1), "L1", measured_mm=350), "L1")
    harness = settle(editing.remove_leg(harness, "W3", "W1"))
    assert harness.lamp("L1").run is not None
    assert derive(harness).by_key["L1-"].parts[0].mm == 350


def test_a_lamp_moved_to_another_waypoint_finds_its_way():
    harness = settle(editing.edit_lamp(accept(model(1), "L1"), "L1", at="W3"))
    assert harness.lamp("L1").run.way == ("W3", "W1")


def test_the_controller_moved_all_ways_are_found_anew():
    harness = settle(editing.set_controller(accept(model(2), "L1", "L2"), at="W3"))
    assert [lamp.run.way for lamp in harness.lamps] == [("W2", "W3"), ("W2", "W3")]
    assert_connected(harness)


# --- common pins ----------------------------------------------------------------------------------


def pins(harness: Harness) -> list[str | None]:
    return [lamp.run.plus.pin for lamp in harness.lamps if lamp.run]


def test_common_pins_are_used_evenly():
    harness = accept(model(4, commons=2), "L1", "L2", "L3", "L4")
    assert pins(harness) == ["A.7", "A.8", "A.7", "A.8"]


def test_a_lamp_takes_a_common_pin_of_its_own_block():
    harness = model(2, blocks=2)
    harness = editing.edit_lamp(harness, "L2", output=7)
    harness = accept(harness, "L2", "L1")
    assert pins(harness) == ["A.7", "B.7"]


def test_a_joint_takes_a_pin_of_the_block_most_of_its_lamps_are_on():
    harness = model(3, blocks=2)
    for lamp_id, output in (("L1", 1), ("L2", 7), ("L3", 8)):
        harness = editing.edit_lamp(harness, lamp_id, output=output)
    for lamp_id, gather in (("L1", ()), ("L2", ()), ("L3", ("L1", "L2"))):
        plus = Merge(at="W3", gather=gather) if gather else None
        harness = editing.accept_run(harness, lamp_id, RunChoice(way=WAY, plus=plus))
    # Settled once at the end, as nobody had a pin before.
    assert settle(harness).joint("J1").pin == "B.7"


def test_a_joint_keeps_the_pin_of_the_wire_it_gathers():
    harness = accept(model(3, commons=2), "L1", "L2")
    assert pins(harness) == ["A.7", "A.8"]
    harness = accept(harness, "L3", plus=Merge(at="W3", gather=("L2",)))
    assert harness.joint("J1").pin == "A.8"


@pytest.mark.parametrize(
    ("blocks", "commons", "given"),
    [
        (1, 2, ["A.7", "A.8", "A.7", "A.8"]),
        # No room in the block: the pin of another one that has room.
        (2, 1, ["A.7", "A.7", "B.7", "B.7"]),
        # None has room any more: as evenly as can be, and the checks say that the pin is too full.
        (1, 1, ["A.7", "A.7", "A.7", "A.7"]),
    ],
)
def test_a_full_common_pin_takes_no_wire_while_another_has_room(blocks: int, commons: int, given: list[str]):
    harness = accept(model(4, blocks=blocks, commons=commons), "L1", "L2", "L3", "L4")
    assert pins(harness) == given


def test_a_common_pin_is_not_given_past_its_current():
    harness = editing.edit_common(model(3, commons=2), "A", "7", limit_ma=15)
    assert all(5 < load_ma(harness, (lamp.id,)) < 15 for lamp in harness.lamps)
    assert pins(accept(harness, "L1", "L2", "L3")) == ["A.7", "A.8", "A.8"]


@settings(max_examples=40, deadline=None)
@given(harnesses())
def test_no_common_pin_is_overfilled_while_another_has_room(harness: Harness):
    harness = settle(pins_forgotten(harness))
    used = Counter(
        wire.controller_end.ref
        for wire in derive(harness).wires
        if wire.output is None and wire.controller_end.kind is EndKind.PIN
    )
    counts = [used[f"{block.name}.{common.pin}"] for block, common in harness.controller.commons()]
    most = harness.settings.pin_max_wires
    assert not counts or max(counts) <= most or min(counts) >= most


def pins_forgotten(harness: Harness) -> Harness:
    """The harness with no common pin given to any wire."""
    polarity = harness.controller.common_polarity

    def bare(lamp: Lamp) -> Lamp:
        if lamp.run is None:
            return lamp
        lead = attrs.evolve(lamp.run.lead(polarity), pin=None)
        return attrs.evolve(lamp, run=lamp.run.with_lead(polarity, lead))

    return attrs.evolve(
        harness,
        lamps=tuple(map(bare, harness.lamps)),
        joints=tuple(attrs.evolve(joint, pin=None) for joint in harness.joints),
    )


def test_common_pins_once_given_stay():
    harness = accept(model(4, commons=2), "L1", "L2", "L3")
    before = pins(harness)
    harness = settle(editing.remove_lamp(harness, "L1"))
    assert pins(harness) == before[1:]
    harness = accept(harness, "L4")
    # The freed pin is the least used one now.
    assert pins(harness) == [*before[1:], "A.7"]
    harness = settle(editing.move_lamp(harness, "L4", -5))
    assert pins(harness) == ["A.7", *before[1:]]


def test_walking_a_lamp_again_keeps_its_pin():
    harness = accept(model(3, commons=2), "L1", "L2", "L3")
    before, given = pins(harness), tags(harness)
    harness = accept(harness, "L1")
    assert (pins(harness), tags(harness)) == (before, given)


def test_a_removed_common_pin_is_made_good_elsewhere():
    harness = accept(model(2, commons=2), "L1", "L2")
    harness = settle(editing.remove_common(harness, "A", "8"))
    assert pins(harness) == ["A.7", "A.7"]


def test_without_any_common_pin_the_wire_ends_on_none_and_says_so():
    harness = settle(editing.remove_common(accept(model(1), "L1"), "A", "7"))
    assert harness.ledger.live()["L1+"].controller_end == ""
    assert harness.ledger.live()["L1+"].meaning == "lamp 1 plus to no pin yet"
    harness = settle(editing.add_common(harness, "A", pin="9"))
    assert harness.ledger.live()["L1+"].controller_end == "A.9"


# --- plug contacts --------------------------------------------------------------------------------


def contacts(harness: Harness) -> dict[str, int]:
    return {contact.origin: contact.number for contact in harness.contacts}


def test_the_common_has_the_first_contacts_then_the_outputs_in_order():
    harness = model(3, plug="P1")
    for lamp_id in ("L3", "L1", "L2"):
        harness = editing.accept_run(harness, lamp_id, RunChoice(way=WAY))
    assert contacts(settle(harness)) == {"L1+": 1, "L2+": 2, "L3+": 3, "L1-": 4, "L2-": 5, "L3-": 6}


def test_contacts_once_given_stay_and_new_wires_take_what_is_free():
    harness = accept(model(3, plug="P1"), "L1", "L2")
    before = contacts(harness)
    assert before == {"L1+": 1, "L1-": 2, "L2+": 3, "L2-": 4}
    harness = settle(editing.remove_lamp(harness, "L1"))
    assert contacts(harness) == {"L2+": 3, "L2-": 4}
    harness = accept(harness, "L3")
    assert contacts(harness) == {"L2+": 3, "L2-": 4, "L3+": 1, "L3-": 2}


def test_a_wire_that_crosses_two_plugs_has_a_contact_in_each():
    harness = editing.set_leg(model(1, plug="P1"), "W3", "W1", plug="P2", plug_mm=100)
    harness = accept(harness, "L1")
    assert sorted((one.plug, one.number, one.origin) for one in harness.contacts) == [
        ("P1", 1, "L1+"),
        ("P1", 2, "L1-"),
        ("P2", 1, "L1+"),
        ("P2", 2, "L1-"),
    ]
    ends = [
        (record.lamp_end, record.controller_end) for record in harness.ledger if record.wire.startswith("L1-")
    ]
    assert ends == [("L1", "P1.2"), ("P1.2", "P2.2"), ("P2.2", "A.1")]


def test_a_plug_taken_off_leaves_no_contacts():
    harness = accept(model(2, plug="P1"), "L1", "L2")
    harness = settle(editing.set_leg(harness, "W2", "W3", plug=""))
    assert harness.contacts == ()
    assert set(tags(harness)) == {"L1+", "L1-", "L2+", "L2-"}


def test_a_plug_renamed_keeps_its_contacts():
    harness = accept(model(2, plug="P1"), "L1", "L2")
    before = contacts(harness)
    harness = settle(editing.set_leg(harness, "W2", "W3", plug="P9"))
    assert contacts(harness) == before
    assert {contact.plug for contact in harness.contacts} == {"P9"}


def test_two_plugs_may_be_put_on_and_taken_off_one_after_the_other():
    harness = accept(model(1), "L1")
    harness = settle(editing.set_leg(harness, "W2", "W3", plug="P1", plug_mm=20))
    harness = settle(editing.set_leg(harness, "W3", "W1", plug="P2", plug_mm=20))
    assert len(derive(harness).wires) == 6
    harness = settle(editing.remove_leg(editing.set_leg(harness, "W2", "W1", length_mm=9), "W2", "W3"))
    assert (harness.contacts, len(derive(harness).wires)) == ((), 2)


# --- tags -----------------------------------------------------------------------------------------


def test_tags_are_given_when_a_run_is_accepted_and_stay_while_the_plan_grows():
    harness = accept(model(4), "L1")
    first = tags(harness)
    assert set(first) == {"L1+", "L1-"}
    assert all(is_issuable(one) for one in first.values())
    harness = accept(harness, "L2", "L3", "L4")
    assert {key: tags(harness)[key] for key in first} == first
    assert tag_of(harness, derive(harness).by_key["L1-"]) == first["L1-"]


def test_before_it_is_settled_a_wire_has_no_tag():
    harness = editing.accept_run(model(1), "L1", RunChoice(way=WAY))
    assert tag_of(harness, derive(harness).by_key["L1-"]) == ""


def test_a_tag_nothing_carries_follows_its_wire():
    harness = accept(model(2), "L1")
    before = tags(harness)
    harness = settle(editing.edit_lamp(harness, "L1", output=2))
    assert tags(harness) == before
    assert harness.ledger.live()["L1-"].meaning == "lamp 1 minus to output 2, pin A2"


# Each edit changes where the minus wire of L1 (or its second piece) ends.
CHANGES = {
    "another output": lambda harness: editing.edit_lamp(harness, "L1", output=3),
    "another pin": lambda harness: editing.edit_output(harness, 1, pin="9"),
    "a merge": lambda harness: editing.accept_run(
        editing.edit_lamp(harness, "L2", output=1),
        "L2",
        RunChoice(way=WAY, minus=Merge(at="W3", gather=("L1",))),
    ),
    "a plug put in": lambda harness: editing.set_leg(harness, "W2", "W3", plug="P1", plug_mm=60),
    "no output": lambda harness: editing.edit_lamp(harness, "L1", output=None),
    "the lamp removed": lambda harness: editing.remove_lamp(harness, "L1"),
    "the run dropped": lambda harness: editing.drop_run(harness, "L1"),
    "the other side switched": lambda harness: editing.set_switched(harness, Switched.POSITIVE),
    "no way left": lambda harness: editing.remove_leg(harness, "W3", "W1"),
}


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES.keys())
@pytest.mark.parametrize("printed_first", [True, False], ids=["printed", "begun"])
def test_a_changed_end_retires_a_tag_that_something_carries(printed_first: bool, change):
    harness = accept(model(2), "L1")
    old = tag(harness, "L1-")
    harness = printed(harness, "L1-") if printed_first else editing.do_step(harness, old, "cut", DAY)
    said = harness.ledger.get(old)
    harness = settle(change(harness))
    record = harness.ledger.get(old)
    assert record.retired
    assert (record.lamp_end, record.controller_end) == (said.lamp_end, said.controller_end) == ("L1", "A.1")
    assert record.meaning == said.meaning
    live = tags(harness)
    assert old not in live.values()
    for newer in record.replaced_by:
        assert harness.ledger.get(newer).live
    if "L1-" in live:
        assert live["L1-"] in record.replaced_by


def test_a_retired_tag_says_in_words_where_its_wire_goes_now():
    def reason(harness: Harness, key: str, edit: Callable[[Harness], Harness]) -> str:
        old = tag(harness, key)
        after = settle(edit(printed(harness, key)))
        return after.ledger.get(old).retired.removeprefix("its wire no longer runs so: ")

    harness = accept(model(), "L1", "L2", "L3")
    named = editing.edit_output(harness, 4, function="hazard lights")
    assert reason(named, "L1-", lambda now: editing.edit_lamp(now, "L1", output=4)) == (
        "it now ends at output 4 (hazard lights), pin A4"
    )
    off = reason(harness, "L1-", lambda now: editing.edit_lamp(now, "L1", output=None))
    assert off == "it has no pin yet"
    assert reason(harness, "L1+", lambda now: editing.edit_common(now, "A", "7", pin="12")) == (
        "it now ends at common pin A12"
    )
    joined = Merge(at="W3", gather=("L1",))
    assert reason(harness, "L1+", lambda now: accept(now, "L2", plus=joined)) == (
        "it now ends at joint J1 at cab floor"
    )
    plugged = accept(model(plug="P1"), "L1", "L2")
    assert reason(plugged, "L1+.2", lambda now: editing.set_leg(now, "W2", "W3", plug="J7")) == (
        "it now starts at plug J7 contact 1"
    )


@pytest.mark.parametrize("change", CHANGES.values(), ids=CHANGES.keys())
def test_while_nothing_carries_the_tag_it_goes_only_with_its_wire(change):
    harness = accept(model(2), "L1")
    old = tag(harness, "L1-")
    harness = settle(change(harness))
    assert harness.ledger.get(old).live == ("L1-" in tags(harness))


# None of these moves an end of a wire.
HARMLESS = {
    "another length": lambda harness: editing.set_leg(harness, "W2", "W3", length_mm=999),
    "another colour": lambda harness: editing.set_settings(harness, minus_colour="BU"),
    "another lamp": lambda harness: accept(harness, "L2"),
    "the order of the lamps": lambda harness: editing.move_lamp(harness, "L1", 5),
    "another waypoint name": lambda harness: editing.edit_waypoint(harness, "W2", name="nose"),
    "more outputs": lambda harness: editing.add_block(harness),
    "more common pins": lambda harness: editing.add_common(harness, "A"),
    "another way": lambda harness: editing.accept_run(
        editing.set_leg(harness, "W2", "W1", length_mm=50), "L1", RunChoice(way=("W2", "W1"))
    ),
    "another spur": lambda harness: editing.edit_lamp(harness, "L1", spur_mm=70),
    "another supply": lambda harness: editing.set_supply(harness, attrs.evolve(harness.supply, cells=4)),
}


@pytest.mark.parametrize("change", HARMLESS.values(), ids=HARMLESS.keys())
def test_what_moves_no_end_retires_nothing(change):
    harness = printed(accept(model(2), "L1"), "L1+", "L1-")
    before = tags(harness)
    harness = settle(change(harness))
    assert {key: tags(harness)[key] for key in before} == before


def test_a_new_name_is_told_without_a_new_tag():
    harness = printed(accept(model(1), "L1"), "L1-")
    harness = settle(editing.edit_lamp(harness, "L1", name="Fog lamp"))
    assert harness.ledger.get(tag(harness, "L1-")).meaning == "Fog lamp minus to output 1, pin A1"


def test_what_replaced_a_merged_wire_is_the_wire_and_its_trunk():
    harness = accept(editing.edit_lamp(model(2), "L2", output=1), "L1")
    harness = printed(harness, "L1-")
    old = tag(harness, "L1-")
    harness = accept(harness, "L2", minus=Merge(at="W3", gather=("L1",)))
    assert set(harness.ledger.get(old).replaced_by) == {tag(harness, "L1-"), tag(harness, "J1-")}


def test_a_wire_cut_by_a_plug_is_replaced_by_its_pieces():
    harness = printed(accept(model(1), "L1"), "L1-")
    old = tag(harness, "L1-")
    harness = settle(editing.set_leg(harness, "W2", "W3", plug="P1", plug_mm=50))
    assert set(harness.ledger.get(old).replaced_by) == {tag(harness, "L1-"), tag(harness, "L1-.2")}


def test_a_wire_that_comes_back_with_the_same_ends_takes_up_its_old_tag():
    harness = printed(accept(model(3), "L1"), "L1-")
    old = tag(harness, "L1-")
    harness = settle(editing.edit_lamp(harness, "L1", output=2))
    other = tag(harness, "L1-")
    assert other != old
    harness = printed(harness, "L1-")
    harness = settle(editing.edit_lamp(harness, "L1", output=1))
    assert tag(harness, "L1-") == old
    assert (harness.ledger.get(old).retired, harness.ledger.get(old).replaced_by) == ("", ())
    assert harness.ledger.get(other).replaced_by == (old,)
    assert harness.ledger.get(old).printed_controller == DAY


def test_after_a_detour_nobody_labelled_the_printed_tag_is_taken_up_again():
    harness = printed(accept(model(3), "L1"), "L1-")
    old = tag(harness, "L1-")
    harness = settle(editing.edit_lamp(harness, "L1", output=2))
    other = tag(harness, "L1-")
    harness = settle(editing.edit_lamp(harness, "L1", output=1))
    assert tag(harness, "L1-") == old
    assert harness.ledger.get(other).replaced_by == (old,)
    assert_tagged(harness)


def test_another_lamps_wire_on_the_same_pin_is_no_heir():
    harness = printed(accept(model(2), "L1", "L2"), "L1+", "L2+")
    assert {harness.ledger.live()[key].controller_end for key in ("L1+", "L2+")} == {"A.7"}
    old = {key: tag(harness, key) for key in ("L1+", "L2+")}
    harness = settle(editing.set_leg(harness, "W2", "W3", plug="P1", plug_mm=50))
    for key, name in old.items():
        assert set(harness.ledger.get(name).replaced_by) == {tag(harness, key), tag(harness, f"{key}.2")}


def test_a_dropped_run_walked_again_takes_up_its_tags():
    harness = accept(model(2), "L1", "L2")
    before = tags(harness)
    harness = settle(editing.drop_run(harness, "L1"))
    assert set(tags(harness)) == {"L2+", "L2-"}
    harness = accept(harness, "L1")
    assert tags(harness) == before


def test_plain_numbers():
    harness = editing.set_settings(model(2), tag_scheme=TagScheme.NUMBER)
    harness = editing.edit_lamp(harness, "L2", output=1)
    harness = accept(harness, "L1", "L2")
    assert tags(harness) == {"L1+": "001", "L1-": "101", "L2+": "002", "L2-": "102"}


def test_a_plain_number_nothing_carries_does_not_go_to_another_output():
    harness = accept(editing.set_settings(model(1), tag_scheme=TagScheme.NUMBER), "L1")
    harness = settle(editing.edit_lamp(harness, "L1", output=4))
    assert tags(harness) == {"L1+": "001", "L1-": "401"}
    assert harness.ledger.get("101").replaced_by == ("401",)
    harness = settle(editing.edit_output(harness, 4, number=9))
    assert tags(harness)["L1-"] == "901"
    harness = settle(editing.edit_lamp(harness, "L1", output=1))
    assert tags(harness)["L1-"] == "101"
    harness = settle(editing.edit_output(printed(harness, "L1-"), 1, number=8))
    assert tags(harness)["L1-"] == "101", "what is printed stays on its pin"


def test_undoing_what_was_printed_does_not_change_what_the_label_says():
    # Accept on output 1, move to output 2, print the label (it says output 2), then undo all but the first.
    first = accept(model(3), "L1")
    moved = settle(editing.edit_lamp(first, "L1", output=2))
    old = tag(moved, "L1-")
    assert tag(first, "L1-") == old
    after = printed(moved, "L1-")
    undone = settle(attrs.evolve(first, ledger=first.ledger.with_past(after.ledger)))
    assert undone.lamp("L1").output == 1
    record = undone.ledger.get(old)
    assert record.meaning == "lamp 1 minus to output 2, pin A2"
    assert record.retired
    assert record.replaced_by == (tag(undone, "L1-"),)
    assert_tagged(undone)
    # And doing it all again makes the label true again.
    again = settle(attrs.evolve(moved, ledger=moved.ledger.with_past(undone.ledger)))
    assert tag(again, "L1-") == old
    assert_tagged(again)


def test_settling_a_settled_harness_returns_it():
    harness = accept(model(3, plug="P1"), "L1", "L2", "L3")
    assert settle(harness) is harness


# --- what holds for every harness and every edit --------------------------------------------------


def check_step(before: Harness, after: Harness) -> None:
    """What one settled edit may do to the ledger, and what must hold after it."""
    assert_whole(after)
    assert_connected(after)
    assert_tagged(after)
    assert settle(after) is after
    old = {record.tag: record for record in before.ledger}
    assert [record.tag for record in after.ledger][: len(old)] == list(old), "the ledger only grows"
    for record in after.ledger:
        known = old.get(record.tag)
        assert record.live or record.retired
        assert not (record.live and record.replaced_by)
        assert all(after.ledger.get(newer) for newer in record.replaced_by)
        if known is None:
            continue
        assert record.wire == known.wire, "a tag is never given to another wire"
        if known.issued:
            assert (record.lamp_end, record.controller_end) == (known.lamp_end, known.controller_end)
            assert (record.printed_lamp, record.printed_controller) >= (
                known.printed_lamp,
                known.printed_controller,
            )


@given(
    harnesses(lamps=(1, 6), world=True),
    st.randoms(use_true_random=False),
    st.lists(st.sampled_from(EDITS), max_size=8),
)
@settings(max_examples=80, deadline=None)
def test_no_edit_changes_what_a_printed_label_means(harness: Harness, rng: Random, edits):
    for edit in edits:
        before = harness
        try:
            harness = settle(edit(harness, rng))
        except LoomError:
            continue
        check_step(before, harness)


@pytest.mark.parametrize("seed", range(40))
def test_the_same_over_long_histories_with_undo(seed: int):
    rng = Random(seed)
    harness = harness_from_seed(seed, lamps=(2, 6), world=True)
    past: list[Harness] = []
    for _ in range(15):
        before = harness
        if past and rng.random() < 0.25:
            old = past.pop()
            harness = settle(attrs.evolve(old, ledger=old.ledger.with_past(harness.ledger)))
            printed_before = {record.tag: record for record in before.ledger if record.printed}
            for name, known in printed_before.items():
                record = harness.ledger.get(name)
                assert (record.lamp_end, record.controller_end) == (known.lamp_end, known.controller_end)
            assert {record.tag for record in before.ledger} == {record.tag for record in harness.ledger}
            assert_whole(harness)
            assert_tagged(harness)
            continue
        try:
            harness = settle(rng.choice(EDITS)(harness, rng))
        except LoomError:
            continue
        past.append(before)
        check_step(before, harness)


def test_polarity_of_a_wire_is_the_last_sign_of_its_origin():
    for wire in derive(accept(model(3, plug="P1"), "L1", "L2")).wires:
        assert Polarity(wire.origin[-1]) is wire.polarity
