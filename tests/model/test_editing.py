"""Every edit a person can make: what it does and what goes with it."""

from __future__ import annotations

import attrs
import pytest

from model import editing
from model.editing import Merge, RunChoice
from model.errors import Conflict
from model.harness import Contact, Hand, Harness, Polarity, Printed, Spool, Supply, Switched
from model.integrity import broken_references
from model.routing.allot import settle
from model.tags import Event, TagScheme
from tests.model.editing_cases import DAY, WAY, a_tag, accept, printed, small, walked


def minus_joint(harness: Harness, lamp_id: str) -> str | None:
    return harness.lamp(lamp_id).run.minus.joint


# --- the project ----------------------------------------------------------------------------------


def test_a_new_project_has_a_controller_to_start_from():
    harness = editing.new_harness("Gritter", "GRT")
    assert [output.number for _, output in harness.controller.outputs()] == [1, 2, 3, 4, 5, 6]
    assert [(block.name, common.pin) for block, common in harness.controller.commons()] == [("A", "7")]
    assert [point.id for point in harness.waypoints] == [harness.controller.at]
    assert broken_references(harness) == ()


def test_rename():
    harness = editing.rename(small(), name="Tug", code="TUG")
    assert (harness.name, harness.code) == ("Tug", "TUG")
    assert editing.rename(harness, name="Boat").code == "TUG"
    assert editing.rename(printed(walked()), name="Tug", code="GRT").name == "Tug", (
        "the same code is no change"
    )
    assert editing.rename(walked(), code="NEW").code == "NEW", "tags without labels do not hold the code"


def test_supply_settings_and_progress():
    supply = Supply(chemistry="lead-acid", cells=6)
    assert editing.set_supply(small(), supply).supply is supply
    harness = editing.set_settings(small(), slack_pct=15, plus_colour="WH")
    assert (harness.settings.slack_pct, harness.settings.plus_colour) == (15, "WH")
    assert editing.set_settings(small(), tag_scheme=TagScheme.NUMBER).settings.tag_scheme is TagScheme.NUMBER
    harness = editing.set_progress(harness, walk="L2", bench="K7L")
    assert (harness.progress.walk, harness.progress.bench) == ("L2", "K7L")
    assert editing.set_progress(harness, walk="L2") is harness, "nothing new is no edit"


def test_wire_on_hand():
    spools = (Spool(name="new", colour="BK", length_mm=10_000), Spool(name="rest", colour="BK", length_mm=8))
    harness = editing.set_spools(small(), spools)
    assert harness.spools == spools
    assert editing.set_spools(harness, list(spools)) is harness, "nothing new is no edit"
    assert editing.set_spools(harness, ()).spools == ()
    with pytest.raises(Conflict, match="stands 2 times"):
        editing.set_spools(harness, (spools[0], spools[0]))


# --- controller -----------------------------------------------------------------------------------


def test_set_controller():
    harness = editing.set_controller(walked(), name="Receiver box")
    assert (harness.controller.name, harness.lamp("L1").run.way) == ("Receiver box", WAY)
    harness = editing.set_controller(harness, at="W3")
    assert (harness.controller.at, harness.lamp("L1").run.way) == ("W3", ())
    assert settle(harness).lamp("L1").run.way == ("W2", "W3")


def test_set_switched_opens_all_runs():
    harness = walked()
    assert editing.set_switched(harness, Switched.NEGATIVE) is harness
    harness = editing.set_switched(harness, Switched.POSITIVE)
    assert [lamp.run for lamp in harness.lamps] == [None, None]
    assert (harness.joints, harness.contacts) == ((), ())
    assert harness.controller.switched_polarity is Polarity.PLUS


def test_blocks_are_named_and_numbered_on():
    harness = editing.add_block(editing.add_block(small()), "X", outputs=2, commons=0)
    assert [block.name for block in harness.controller.blocks] == ["A", "B", "X"]
    assert [output.number for _, output in harness.controller.outputs()] == list(range(1, 15))
    assert [output.pin for output in harness.controller.blocks[1].outputs] == ["1", "2", "3", "4", "5", "6"]
    harness = editing.remove_block(harness, "B")
    assert [block.name for block in editing.add_block(harness).controller.blocks] == ["A", "X", "B"]


def test_there_may_be_more_blocks_than_letters():
    harness = walked()
    for _ in range(28):
        harness = editing.add_block(harness, outputs=1, commons=1)
    assert [block.name for block in harness.controller.blocks[-4:]] == ["Z", "AA", "AB", "AC"]


def test_a_renamed_block_is_followed_by_what_ends_on_its_pins():
    harness = editing.rename_block(walked(), "A", "F")
    assert [block.name for block in harness.controller.blocks] == ["F"]
    assert harness.lamp("L1").run.plus.pin == "F.7"
    assert broken_references(harness) == ()
    assert editing.rename_block(harness, "F", "F").controller == harness.controller


def test_add_output_takes_what_is_free_and_the_limit_of_the_one_before():
    harness = editing.edit_output(small(), 6, limit_ma=80)
    harness = editing.add_output(editing.remove_output(harness, 3), "A")
    new = harness.controller.blocks[0].outputs[-1]
    assert (new.number, new.pin, new.limit_ma) == (3, "3", 80)
    harness = editing.add_output(harness, "A", pin="12", function="beacon", limit_ma=50)
    assert harness.controller.find_output(7)[1].function == "beacon"


def test_a_new_output_number_is_followed_by_lamps_and_joints():
    harness = editing.edit_output(walked(), 1, number=42, function="front")
    assert [lamp.output for lamp in harness.lamps] == [42, 42]
    assert harness.joint("J1").output == 42
    assert harness.controller.find_output(1) is None
    assert broken_references(harness) == ()
    assert editing.edit_output(harness, 42, number=42) is not harness


def test_common_pins():
    harness = editing.add_common(walked(), "A")
    assert [common.pin for _, common in harness.controller.commons()] == ["7", "8"]
    assert harness.lamp("L1").run.plus.pin == "A.7"
    harness = editing.edit_common(harness, "A", "7", pin="9", limit_ma=500)
    assert harness.lamp("L1").run.plus.pin == "A.9"
    harness = editing.remove_common(harness, "A", "9")
    assert harness.lamp("L1").run.plus.pin is None
    assert broken_references(settle(harness)) == ()


def test_a_joint_follows_its_common_pin():
    harness = accept(walked(), "L1", plus=Merge(at="W3", gather=("L2",)))
    joint = harness.lamp("L1").run.plus.joint
    assert editing.edit_common(harness, "A", "7", pin="9").joint(joint).pin == "A.9"
    assert editing.remove_common(harness, "A", "7").joint(joint).pin is None


# --- waypoints and legs ---------------------------------------------------------------------------


def test_waypoints():
    harness = editing.add_waypoint(small(), "roof", reachable=False)
    assert (harness.waypoint("W5").name, harness.waypoint("W5").reachable) == ("roof", False)
    assert editing.edit_waypoint(harness, "W5", name="mast").waypoint("W5").name == "mast"
    harness = editing.remove_waypoint(harness, "W5")
    assert harness.find_waypoint("W5") is None


def test_a_waypoint_goes_with_its_legs():
    harness = editing.remove_waypoint(walked(), "W4")
    assert harness.find_leg("W4", "W3") is None
    assert len(harness.legs) == 2


def test_set_leg_adds_changes_and_keeps_what_is_not_said():
    harness = editing.set_leg(small(), "W1", "W2", length_mm=300)
    assert harness.find_leg("W2", "W1").length_mm == 300
    harness = editing.set_leg(harness, "W3", "W2", length_mm=130, hole_mm=4)
    leg = harness.find_leg("W2", "W3")
    assert (leg.length_mm, leg.hole_mm, leg.plug, leg.plug_mm) == (130, 4, "P1", 40)
    assert (leg.a, leg.b) == ("W2", "W3"), "the plug's place is told from the same end as before"


def test_contacts_follow_a_renamed_plug_and_go_with_it():
    harness = walked()
    origins = [contact.origin for contact in harness.contacts]
    assert origins
    renamed = editing.set_leg(harness, "W2", "W3", plug="P7")
    assert [contact.plug for contact in renamed.contacts] == ["P7"] * len(origins)
    assert editing.set_leg(harness, "W2", "W3", plug="", plug_mm=0).contacts == ()
    assert editing.set_leg(harness, "W2", "W3", length_mm=125).contacts == harness.contacts


def test_remove_leg_opens_only_the_ways_over_it():
    harness = editing.add_lamp(walked(), "Roof lamp", at="W4", output=2)
    harness = accept(harness, "L3", way=("W4", "W3", "W1"))
    harness = editing.remove_leg(harness, "W3", "W2")
    assert [lamp.run.way for lamp in harness.lamps] == [(), (), ("W4", "W3", "W1")]
    assert harness.contacts == (), "the plug was on that leg"


# --- lamps ----------------------------------------------------------------------------------------


def test_ids_go_on_and_are_not_given_again_while_a_tag_speaks_of_them():
    harness = editing.remove_lamp(walked(), "L2")
    assert editing.add_lamp(harness, "New").lamps[-1].id == "L3"
    assert editing.remove_lamp(small(), "L2").lamps[-1].id == "L1"


@pytest.mark.parametrize(("letter", "ids"), [("L", ("L3", "L4")), ("J", ("J2", "J3")), ("W", ("W5", "W6"))])
def test_next_ids(letter: str, ids: tuple[str, ...]):
    assert editing.next_ids(walked(), letter, 2) == ids
    assert editing.next_ids(walked(), letter, 0) == ()


def test_a_plug_with_the_name_of_a_joint_takes_no_id():
    harness = settle(editing.set_leg(walked(), "W2", "W3", plug="J99999"))
    assert harness.contacts[0].plug == "J99999"
    assert editing.next_ids(harness, "J", 1) == ("J2",)


def test_joint_ids_are_not_given_again_either():
    harness = editing.drop_run(walked(), "L2")
    assert harness.joints == ()
    harness = accept(harness, "L2", minus=Merge(at="W3", gather=("L1",)))
    assert harness.joints[0].id == "J2"


def test_edit_lamp():
    harness = editing.edit_lamp(small(), "L1", name="Lamp", spur_mm=12, colour="warm white")
    lamp = harness.lamp("L1")
    assert (lamp.name, lamp.spur_mm, lamp.colour, lamp.output) == ("Lamp", 12, "warm white", 1)


def test_on_another_output_a_lamp_leaves_its_joint():
    harness = editing.edit_lamp(walked(), "L2", output=2)
    assert minus_joint(harness, "L2") is None
    assert harness.joints == (), "a joint of one wire is let go"
    assert minus_joint(harness, "L1") is None


def test_at_another_place_a_lamp_keeps_its_joint_and_looks_for_a_way():
    harness = editing.edit_lamp(walked(), "L2", at="W4")
    assert harness.lamp("L2").run.way == ()
    assert minus_joint(harness, "L2") == "J1"
    assert settle(harness).lamp("L2").run.way == ("W4", "W3", "W1")


def test_copy_lamp():
    harness = editing.copy_lamp(walked(), "L1")
    assert [lamp.name for lamp in harness.lamps] == ["Headlamp left", "Headlamp left 2", "Fog lamp"]
    copy = harness.lamps[1]
    assert (copy.id, copy.run, copy.output, copy.hand) == ("L3", None, 1, Hand.LEFT)
    assert editing.copy_lamp(harness, "L3").lamps[2].name == "Headlamp left 3"
    assert editing.copy_lamp(harness, "L1", name="Other", output=2).lamps[1].output == 2


def test_a_copied_name_stays_short_enough():
    harness = editing.edit_lamp(small(), "L1", name="x" * 60)
    assert len(editing.copy_lamp(harness, "L1").lamps[1].name) <= 60


@pytest.mark.parametrize(
    ("words", "other"),
    [
        ("Headlamp left", "Headlamp right"),
        ("RIGHT side", "LEFT side"),
        ("Port bow", "Starboard bow"),
        ("nearside, Offside", "offside, Nearside"),
        ("leftover", "leftover"),
        ("lamp 3", "lamp 3"),
        ("", ""),
    ],
)
def test_mirrored(words: str, other: str):
    assert editing.mirrored(words) == other
    assert editing.mirrored(other) == words


def test_mirror_lamp_finds_the_other_waypoint():
    harness = editing.mirror_lamp(small(), "L1")
    mirror = harness.lamps[1]
    assert (mirror.name, mirror.hand, mirror.at, mirror.output) == ("Headlamp right", Hand.RIGHT, "W4", 1)


def test_mirror_lamp_by_its_side_alone_and_an_indicator_without_an_output():
    harness = editing.edit_lamp(small(), "L2", hand=Hand.RIGHT, function="indicator")
    mirror = editing.mirror_lamp(harness, "L2").lamps[2]
    assert (mirror.name, mirror.hand, mirror.output) == ("Fog lamp 2", Hand.LEFT, None)
    assert mirror.at == "W4", "its waypoint has a side of its own"


def test_mirror_lamp_without_another_waypoint_stays():
    harness = editing.edit_lamp(small(), "L1", at="W3", place="left corner")
    mirror = editing.mirror_lamp(harness, "L1").lamps[1]
    assert (mirror.at, mirror.place) == ("W3", "right corner")


def test_remove_lamp():
    harness = editing.skip_lamp(walked(), "L2")
    harness = editing.remove_lamp(harness, "L2")
    assert [lamp.id for lamp in harness.lamps] == ["L1"]
    assert harness.joints == ()
    assert harness.progress.skipped == ()
    assert {contact.origin for contact in harness.contacts} == {"L1+", "L1-"}
    assert broken_references(settle(harness)) == ()


@pytest.mark.parametrize(
    ("step", "order"),
    [(1, "L2 L1 L3"), (2, "L2 L3 L1"), (99, "L2 L3 L1"), (0, "L1 L2 L3"), (-1, "L1 L2 L3")],
)
def test_move_lamp(step: int, order: str):
    harness = editing.add_lamp(small(), "Third")
    assert [lamp.id for lamp in editing.move_lamp(harness, "L1", step).lamps] == order.split()


def test_move_lamp_up():
    harness = editing.add_lamp(small(), "Third")
    assert [lamp.id for lamp in editing.move_lamp(harness, "L3", -1).lamps] == ["L1", "L3", "L2"]
    assert [lamp.id for lamp in editing.move_lamp(harness, "L3", -9).lamps] == ["L3", "L1", "L2"]


# --- runs and merges ------------------------------------------------------------------------------


def test_accept_run_stores_what_was_chosen():
    harness = editing.accept_run(small(), "L1", RunChoice(way=WAY, plus_colour="WH"))
    run = harness.lamp("L1").run
    assert (run.way, run.plus.colour, run.minus.colour) == (WAY, "WH", None)
    assert (run.plus.joint, run.minus.joint, harness.joints) == (None, None, ())


def test_accept_run_takes_the_lamp_off_the_skipped():
    harness = editing.skip_lamp(editing.skip_lamp(small(), "L1"), "L1")
    assert harness.progress.skipped == ("L1",)
    assert editing.accept_run(harness, "L1", RunChoice(way=WAY)).progress.skipped == ()


def test_a_new_joint_gathers_its_wires():
    harness = walked()
    joint = harness.joint("J1")
    assert (joint.at, joint.output, joint.onto, joint.pin) == ("W3", 1, None, None)
    assert joint.way == ("W3", "W1")
    assert (minus_joint(harness, "L1"), minus_joint(harness, "L2")) == ("J1", "J1")


def test_into_a_joint_that_stands():
    harness = editing.add_lamp(walked(), "Third", output=1, at="W2")
    harness = accept(harness, "L3", minus=Merge(at="W3", into="J1"))
    assert len(harness.joints) == 1
    assert minus_joint(harness, "L3") == "J1"


def test_a_joint_gathered_leads_into_the_new_one():
    harness = editing.add_lamp(walked(), "Third", output=1, at="W3")
    harness = accept(harness, "L3", way=("W3", "W1"), minus=Merge(at="W1", gather=("J1",)))
    assert harness.joint("J1").onto == "J2"
    assert harness.joint("J2").onto is None


def test_a_new_joint_before_a_joint_leads_on_to_it():
    harness = editing.add_lamp(walked(), "Third", output=1, at="W2")
    harness = accept(harness, "L3", minus=Merge(at="W2", gather=("L1",)))
    assert harness.joint("J2").onto == "J1"
    assert minus_joint(harness, "L1") == "J2"
    assert minus_joint(harness, "L2") == "J1"


def test_a_joint_gathered_with_its_own_wire_makes_no_circle():
    # L1 ends in J1, and both are gathered: the new joint can't lead on to J1.
    harness = editing.add_lamp(walked(), "Third", output=1, at="W2")
    harness = accept(harness, "L3", minus=Merge(at="W3", gather=("L1", "J1")))
    assert broken_references(harness) == ()


def test_walking_again_replaces_the_run_and_frees_the_joint():
    harness = accept(walked(), "L2")
    assert harness.joints == ()
    assert minus_joint(harness, "L1") is None


@pytest.mark.parametrize("kept", [Polarity.PLUS, Polarity.MINUS])
def test_a_polarity_that_is_kept_stays_as_it_stands(kept: Polarity):
    # L2 stands in J1 by its minus and in another joint by its plus; one of the two is walked anew.
    harness = accept(walked(), "L1", minus=Merge(at="W3", into="J1"), plus=Merge(at="W3", gather=("L2",)))
    before = {polarity: harness.lamp("L2").run.lead(polarity) for polarity in Polarity}
    assert all(lead.joint for lead in before.values())
    after = accept(harness, "L2", keep=(kept,))
    assert after.lamp("L2").run.lead(kept) == before[kept]
    assert after.lamp("L2").run.lead(kept.other).joint is None
    assert broken_references(after) == ()


def test_a_run_kept_whole_is_no_edit():
    harness = walked()
    assert editing.accept_run(harness, "L2", RunChoice(way=WAY, keep=tuple(Polarity))) is harness
    merge = Merge(at="W3", gather=("L9",))
    kept = editing.accept_run(harness, "L2", RunChoice(way=WAY, keep=tuple(Polarity), plus=merge))
    assert kept is harness, "a merge of a polarity that is kept is not carried out"


def test_drop_run():
    harness = editing.drop_run(walked(), "L2")
    assert harness.lamp("L2").run is None
    assert harness.joints == ()
    assert harness.lamp("L1").run is not None


def test_a_chain_of_lone_joints_is_let_go_of_and_the_last_wire_goes_on():
    harness = editing.add_lamp(walked(), "Third", output=1, at="W3")
    harness = accept(harness, "L3", way=("W3", "W1"), minus=Merge(at="W1", gather=("J1",)))
    harness = editing.remove_lamp(editing.remove_lamp(harness, "L2"), "L3")
    assert harness.joints == ()
    assert minus_joint(harness, "L1") is None


def test_a_common_pin_passes_from_a_joint_let_go_to_the_wire_left():
    harness = editing.add_common(accept(small(), "L1"), "A")
    harness = accept(harness, "L2", plus=Merge(at="W3", gather=("L1",)))
    harness = settle(editing.set_joint(harness, "J1", pin="A.8"))
    harness = editing.drop_run(harness, "L2")
    assert harness.lamp("L1").run.plus.pin == "A.8"


def common_in_two_steps() -> Harness:
    """The first two lamps' plus wires joined in J1, its trunk and the third's plus wire in J2 on pin A.8."""
    harness = editing.add_lamp(editing.add_common(accept(small(), "L1"), "A"), "Third", output=2, at="W3")
    harness = accept(harness, "L2", plus=Merge(at="W3", gather=("L1",)))
    harness = accept(harness, "L3", way=("W3", "W1"), plus=Merge(at="W1", gather=("J1",)))
    return settle(editing.set_joint(harness, "J2", pin="A.8"))


def test_a_common_pin_passes_from_a_joint_let_go_to_the_joint_left():
    harness = common_in_two_steps()
    assert (harness.joint("J1").onto, harness.joint("J1").pin) == ("J2", None)
    harness = editing.drop_run(harness, "L3")
    assert (harness.joint("J1").onto, harness.joint("J1").pin) == (None, "A.8")


def test_a_new_joint_that_leads_on_to_a_joint_ends_on_no_pin():
    harness = editing.add_lamp(editing.add_lamp(common_in_two_steps(), "Fourth", at="W2"), "Fifth", at="W2")
    harness = accept(harness, "L4")
    assert harness.lamp("L4").run.plus.pin is not None
    harness = accept(harness, "L5", plus=Merge(at="W2", gather=("L4", "L1")))
    new = harness.joint(harness.lamp("L5").run.plus.joint)
    assert (new.onto, new.pin) == ("J1", None), "a joint goes before a pin"


def test_set_joint():
    harness = editing.set_joint(walked(), "J1", colour="BU", gauge="0.25 mm2", way=("W3", "W1"))
    joint = harness.joint("J1")
    assert (joint.colour, joint.gauge) == ("BU", "0.25 mm2")
    assert editing.set_joint(harness, "J1", colour=None).joint("J1").colour is None


def test_contacts_of_what_is_gone_are_let_go():
    harness = attrs.evolve(
        walked(), contacts=(*walked().contacts, Contact(plug="P1", number=99, origin="L99-"))
    )
    assert "L99-" not in {contact.origin for contact in editing.let_go_of_lone_joints(harness).contacts}


# --- what happens in the world --------------------------------------------------------------------


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


# --- every edit -----------------------------------------------------------------------------------


def test_what_is_put_back_keeps_the_world():
    earlier = walked()
    now = editing.rename(printed(earlier), name="Renamed")
    back = editing.put_back(earlier, now)
    assert back.name == earlier.name
    assert back.ledger == now.ledger
    assert editing.put_back(attrs.evolve(earlier, code="OLD"), now).code == now.code
    assert editing.put_back(attrs.evolve(earlier, code="OLD"), earlier).code == "OLD"


def test_no_edit_touches_the_harness_it_was_given():
    harness = walked()
    before = {field.name: getattr(harness, field.name) for field in attrs.fields(Harness)}
    editing.remove_lamp(harness, "L1")
    editing.edit_output(harness, 1, number=9)
    editing.remove_leg(harness, "W2", "W3")
    printed(harness)
    assert all(getattr(harness, name) is value for name, value in before.items())


def test_prints_of_joints_and_plugs_are_remembered_once_each():
    harness = walked()
    first = Printed(kind="joint", name="J1", day="2026-01-24", said="abc")
    again = attrs.evolve(first, day="2026-02-01")
    marked = editing.mark_other_printed(harness, [first])
    assert marked.printed == (first,)
    assert editing.mark_other_printed(marked, [again]).printed == (again,)
    assert editing.mark_other_printed(marked, [first]) is marked
    assert editing.mark_other_printed(marked, [first], forget=True).printed == ()


def test_every_public_edit_is_used_in_this_file():
    """A new edit wants a line in the tables above."""
    edits = {
        name
        for name, value in vars(editing).items()
        if callable(value)
        and not name.startswith("_")
        and getattr(value, "__module__", "") == editing.__name__
    }
    with open(__file__, encoding="utf-8") as file:
        text = file.read()
    assert {name for name in edits if f"editing.{name}(" not in text} - {"Merge", "RunChoice"} == set()
