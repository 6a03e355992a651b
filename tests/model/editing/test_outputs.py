"""The controller, its blocks, outputs and common pins."""

from __future__ import annotations

from model import editing
from model.editing import Merge
from model.harness import Polarity, Switched
from model.integrity import broken_references
from model.routing.allot import settle
from tests.model.editing.cases import WAY, accept, small, walked


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
