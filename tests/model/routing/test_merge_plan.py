"""The merge plan: small ones worked out by hand, what it keeps to, and what holds for any."""

from __future__ import annotations

from random import Random

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model import editing
from model.editing import RunChoice, accept_run
from model.errors import NotThere
from model.harness import Harness, Polarity, Spool, Switched
from model.routing.allot import settle
from model.routing.merge_plan import apply, best_plan, joint_names, own_pairs, plan_net, take_merge
from model.routing.nets import net_polarity, why_left_out
from model.routing.plan_compare import labels_lost
from model.routing.wires import EndKind, derive
from model.standards.wire import gauge
from tests.following import assert_connected, assert_tagged
from tests.large_models import large_model
from tests.strategies import assert_whole, happened, harness_from_seed, harnesses, walk

DAY = "2026-03-03"


def street(*, lamps: int = 3, **settings_changes: object) -> Harness:
    """Controller --300-- fork --200-- tip; lamps on output 1 at the tip, not walked."""
    harness = editing.new_harness("street", "STR")
    for name in ("fork", "tip"):
        harness = editing.add_waypoint(harness, name)
    harness = editing.set_leg(harness, "W1", "W2", length_mm=300)
    harness = editing.set_leg(harness, "W2", "W3", length_mm=200)
    for number in range(lamps):
        harness = editing.add_lamp(harness, f"lamp {number + 1}", output=1, at="W3")
    return editing.set_settings(harness, **settings_changes) if settings_changes else harness


def apart(harness: Harness) -> Harness:
    """Every lamp accepted with its own pair."""
    return settle(apply(harness, own_pairs(harness)))


def spool_mm(harness: Harness) -> float:
    return derive(harness).spool_mm


def net_mm(harness: Harness, output: int | None) -> float:
    """All wire of a net, from the pieces."""
    polarity = net_polarity(harness, output)
    return sum(
        wire.spool_mm for wire in derive(harness).wires if wire.output == output and wire.polarity is polarity
    )


def test_three_lamps_in_one_place_share_a_trunk():
    harness = street()
    plan = best_plan(harness)
    net = plan.net(1)
    # Three leads 20 + 15 + 3 + 8 = 46, cut 50; the trunk 500 + 50 + 60 + 8 + 3 = 621, cut 625.
    assert net.wire_mm == 3 * 50 + 625
    assert net.joint_count == 1
    assert net.cost_mm == net.wire_mm + 40
    assert net.exact
    assert net.gap == 0
    (joint,) = net.joints
    assert (joint.at, joint.onto, joint.feeds) == ("W3", None, ("L1", "L2", "L3"))
    assert joint.lamps == ("L1", "L2", "L3")
    # On its own each is 500 + 50 + 15 + 60 + 3 + 3 = 631, cut 635.
    assert joint.saves_mm == 3 * 635 - net.wire_mm
    assert plan.wire_mm == 2 * net.wire_mm
    assert own_pairs(harness).wire_mm == 6 * 635
    assert own_pairs(harness).joint_count == 0


def test_a_joint_holds_so_many_wires_and_no_more():
    plan = best_plan(street(lamps=5, joint_max_wires=3))
    assert plan.exact
    settled = settle(apply(street(lamps=5, joint_max_wires=3), plan))
    wires = derive(settled)
    assert all(len(wires.at_joint(joint.id)) <= 3 for joint in settled.joints)
    assert_connected(settled)


@pytest.mark.parametrize(
    ("unreachable", "at"), [((), "W3"), (("W3",), "W2"), (("W2", "W3"), "W1"), (("W1", "W2", "W3"), None)]
)
def test_joints_only_where_they_can_be_made(unreachable: tuple[str, ...], at: str | None):
    harness = street(lamps=3)
    for point in unreachable:
        harness = editing.edit_waypoint(harness, point, reachable=False)
    net = best_plan(harness).net(1)
    assert {joint.at for joint in net.joints} == ({at} if at else set())
    # Without any joint three wires would end on a pin that holds two.
    assert net.crowded is (at is None)


def test_a_dear_joint_is_not_made():
    assert best_plan(street(lamps=2, joint_cost_mm=5000)).joint_count == 0


def test_a_pin_that_is_too_full_makes_a_joint_all_the_same():
    harness = street(lamps=3, joint_cost_mm=5000)
    plan = best_plan(harness)
    assert plan.net(1).joint_count == 1
    assert not plan.net(1).crowded


def test_a_trunk_that_carries_much_is_in_a_thicker_gauge():
    harness = street(lamps=3)
    for lamp in harness.lamps:
        harness = editing.edit_lamp(harness, lamp.id, current_ma=100.0, max_ma=200.0)
    (joint,) = best_plan(harness).net(1).joints
    assert joint.gauge is not None
    settled = settle(apply(harness, best_plan(harness)))
    for planned in settled.joints:
        assert planned.gauge == joint.gauge
        assert gauge(joint.gauge).current_ma >= 300
    # What is on hand goes before what would have to be bought.
    spool = Spool(name="thick", colour="RD", gauge="21 AWG", length_mm=5000.0)
    assert best_plan(editing.set_spools(harness, [spool])).net(1).joints[0].gauge == "21 AWG"


def test_lamps_that_no_plan_can_hold_are_named_with_the_reason():
    harness = street()
    harness = editing.add_waypoint(harness, "island")
    harness = editing.add_lamp(harness, "adrift", output=2, at="W4")
    harness = editing.add_lamp(harness, "unplugged", at="W3")
    harness = editing.add_lamp(harness, "nowhere", output=2)
    plan = best_plan(harness)
    assert dict(plan.left_out) == {
        "L4": "is at a waypoint not connected to the controller",
        "L5": "has no output",
        "L6": "has no place and no measured length",
    }
    settled = settle(apply(harness, plan))
    assert [lamp.id for lamp in settled.lamps if lamp.run is None] == ["L4", "L5", "L6"]
    assert_connected(settled)


def test_a_measured_run_is_merged_at_the_controller_only():
    harness = editing.new_harness("string", "STG")
    for number in range(3):
        harness = editing.add_lamp(harness, f"lamp {number}", output=1, measured_mm=400.0)
    plan = best_plan(harness)
    assert {joint.at for net in plan.nets for joint in net.joints} == {"W1"}
    settled = settle(apply(harness, plan))
    assert_connected(settled)
    assert all(lamp.run is not None and lamp.run.way == () for lamp in settled.lamps)


def test_a_wire_may_go_back_to_where_a_joint_can_be_made():
    """From a closed place the wires go out to a joint and the trunk comes back past it."""
    harness = street()
    harness = editing.edit_waypoint(harness, "W3", reachable=False)
    harness = editing.edit_waypoint(harness, "W2", reachable=False)
    harness = editing.add_waypoint(harness, "hatch")
    harness = editing.set_leg(harness, "W3", "W4", length_mm=10)
    plan = best_plan(harness)
    assert plan.net(1).joints[0].at == "W4"
    settled = settle(apply(harness, plan))
    assert_whole(settled)
    assert spool_mm(settled) == plan.wire_mm


def test_nothing_to_plan():
    empty = editing.new_harness("empty", "EMP")
    assert best_plan(empty).nets == ()
    assert apply(empty, best_plan(empty)) is empty
    with pytest.raises(NotThere):
        best_plan(empty).net(1)


# --- taking it over -----------------------------------------------------------------------------------------


def test_one_net_alone_leaves_the_others_as_they_are():
    harness = apart(large_model(12, 3, 6, seed=4))
    plan = best_plan(harness)
    changed = settle(apply(harness, plan, nets=[2]))
    assert net_mm(changed, 2) == pytest.approx(plan.net(2).wire_mm)
    for output in (None, 1, 3):
        assert net_mm(changed, output) == net_mm(harness, output)
        assert [joint for joint in changed.joints if joint.output == output] == [
            joint for joint in harness.joints if joint.output == output
        ]
    assert_connected(changed)
    with pytest.raises(NotThere):
        apply(harness, plan, nets=[99])


def test_one_merge_alone():
    harness = apart(street(lamps=6, joint_cost_mm=0))
    plan = best_plan(harness)
    inner = next(joint for joint in plan.net(1).joints if joint.onto is not None)
    changed = settle(take_merge(harness, plan, 1, inner.key))
    assert len(changed.joints) == 1
    fed = derive(changed).into_joint[changed.joints[0].id]
    assert tuple(wire.origin[:-1] for wire in fed) == inner.feeds
    assert_connected(changed)
    with pytest.raises(NotThere):
        take_merge(harness, plan, 1, "J99")


def test_joints_get_the_names_that_were_said_before():
    harness = large_model(12, 3, 6, seed=2)
    plan = best_plan(harness)
    names = joint_names(harness, plan)
    changed = apply(harness, plan)
    assert {(joint.output, joint.id) for joint in changed.joints} == {
        (output, name) for (output, _), name in names.items()
    }
    for net in plan.nets:
        for joint in net.joints:
            made = changed.joint(names[net.output, joint.key])
            onto = names.get((net.output, joint.onto), joint.onto) if joint.onto else None
            assert (made.at, made.onto, made.gauge) == (joint.at, onto, joint.gauge)


def test_a_colour_chosen_for_all_wires_of_a_joint_is_its_trunks_too():
    harness = street()
    for lamp in harness.lamps:
        choice = RunChoice(way=("W3", "W2", "W1"), minus_colour="BU")
        harness = settle(accept_run(harness, lamp.id, choice))
    changed = apply(harness, best_plan(harness))
    assert {joint.output: joint.colour for joint in changed.joints} == {None: None, 1: "BU"}


def test_a_skipped_lamp_that_gets_its_run_is_skipped_no_longer():
    harness = editing.skip_lamp(street(), "L2")
    assert apply(harness, best_plan(harness)).progress.skipped == ()


def test_common_pins_are_not_overfilled():
    harness = large_model(40, 12, 12, seed=3, block=6)
    changed = settle(apply(harness, best_plan(harness)))
    plan = derive(changed)
    ends = [wire.controller_end.ref for wire in plan.wires if wire.output is None]
    for block, common in changed.controller.commons():
        pin = f"{block.name}.{common.pin}"
        assert ends.count(pin) <= changed.settings.pin_max_wires
    assert all(ref for ref in ends)


# --- the bench ----------------------------------------------------------------------------------------------


def joined_badly() -> Harness:
    """Four lamps at the tip, each with its own pair, the first pair begun at the bench."""
    harness = apart(street(lamps=4))
    for key in ("L1+", "L1-"):
        harness = editing.do_step(harness, harness.ledger.live()[key].tag, "cut", DAY)
    return harness


def test_a_begun_wire_stays_where_it_ends():
    harness = joined_badly()
    changed = settle(apply(harness, best_plan(harness)))
    before, after = derive(harness).by_key, derive(changed).by_key
    for key in ("L1+", "L1-"):
        assert after[key].controller_end == before[key].controller_end
        assert after[key].cut_mm == before[key].cut_mm
    assert best_plan(harness).net(1).wire_mm == 635 + 3 * 50 + 625
    assert labels_lost(harness, changed) == ()


def test_a_begun_joint_keeps_its_wires_and_takes_more_until_it_is_closed():
    harness = settle(apply(street(lamps=2), best_plan(street(lamps=2))))
    joint = next(joint for joint in harness.joints if joint.output == 1)
    tag = harness.ledger.live()["L1-"].tag
    harness = editing.do_step(harness, tag, "cut", DAY)
    harness = editing.add_lamp(harness, "one more", output=1, at="W3")
    opened = settle(apply(harness, best_plan(harness)))
    assert {wire.origin for wire in derive(opened).into_joint[joint.id]} == {"L1-", "L2-", "L3-"}
    closed = editing.do_step(editing.do_step(harness, tag, "join", DAY), tag, "shrink", DAY)
    beside = settle(apply(closed, best_plan(closed)))
    assert {wire.origin for wire in derive(beside).into_joint[joint.id]} == {"L1-", "L2-"}
    assert_connected(beside)


def test_labels_that_no_longer_hold_are_told():
    harness = apart(street())
    tag = harness.ledger.live()["L2-"].tag
    harness = editing.mark_printed(harness, [(tag, "L")], DAY)
    assert labels_lost(harness, settle(apply(harness, best_plan(harness)))) == (tag,)


def test_a_joint_whose_trunk_is_soldered_on_is_closed():
    harness = settle(apply(street(lamps=2), best_plan(street(lamps=2))))
    joint = next(joint for joint in harness.joints if joint.output == 1)
    harness = editing.add_lamp(harness, "one more", output=1, at="W3")
    tag = harness.ledger.live()[f"{joint.id}-"].tag
    begun = editing.do_step(harness, tag, "cut", DAY)
    assert ("L3", joint.id) in best_plan(begun).net(1).layout.ends.items()
    soldered = editing.do_step(begun, tag, "lamp", DAY)
    assert ("L3", None) in best_plan(soldered).net(1).layout.ends.items()


def test_a_way_that_needs_no_more_wire_is_kept():
    """The shortest way is 5 mm shorter but leads through a plug, where each wire ends twice."""
    harness = street(lamps=1)
    harness = editing.add_waypoint(harness, "by the plug")
    harness = editing.set_leg(harness, "W3", "W4", length_mm=245, plug="P1", plug_mm=100)
    harness = editing.set_leg(harness, "W4", "W1", length_mm=250)
    own = settle(accept_run(harness, "L1", RunChoice(way=("W3", "W2", "W1"))))
    assert apply(own, best_plan(own)) is own
    # A longer one that costs more is not.
    longer = editing.set_leg(own, "W1", "W2", length_mm=600)
    changed = settle(apply(longer, best_plan(longer)))
    assert changed.lamp("L1").run == attrs.evolve(longer.lamp("L1").run, way=("W3", "W4", "W1"))


# --- what holds for any -------------------------------------------------------------------------------------


def check_any(harness: Harness) -> None:
    """Everything that a plan promises."""
    plan = best_plan(harness)
    changed = apply(harness, plan)
    assert_whole(changed)
    settled = settle(changed)
    assert_whole(settled)
    assert_connected(settled)
    assert_tagged(settled)
    for lamp in settled.lamps:
        assert (lamp.run is None) == bool(why_left_out(harness, harness.lamp(lamp.id)))
    check_figures(harness, settled)
    wires = derive(settled)
    before = derive(harness).by_key
    for key, record in harness.ledger.live().items():
        if record.steps:
            assert wires.by_key[key].controller_end == before[key].controller_end
            assert wires.by_key[key].lamp_end == before[key].lamp_end
            assert wires.by_key[key].cut_mm == pytest.approx(before[key].cut_mm)
    known = {joint.id for joint in harness.joints}
    for joint in settled.joints:
        new = joint.id not in known
        assert settled.waypoint(joint.at).reachable or not new
        assert len(wires.at_joint(joint.id)) <= settled.settings.joint_max_wires or not new
    again = best_plan(settled)
    assert all(net.as_it_stands for net in again.nets)
    assert apply(settled, again) is settled


def check_figures(harness: Harness, settled: Harness) -> None:
    """The sums told are those of the pieces, and no net costs more than as it stood or apart."""
    plan, pairs = best_plan(harness), own_pairs(harness)
    walked = all(lamp.run is not None for lamp in harness.lamps)
    cost = harness.settings.joint_cost_mm
    for net in plan.nets:
        assert net.wire_mm == pytest.approx(net_mm(settled, net.output))
        assert net.joint_count == sum(joint.output == net.output for joint in settled.joints)
        assert net.cost_mm == pytest.approx(net.wire_mm + cost * net.joint_count)
        assert net.bound_mm <= net.cost_mm + 1e-6
        assert net.exact or len(net.lamps) > 12
        if not pairs.net(net.output).crowded:
            assert net.cost_mm <= pairs.net(net.output).cost_mm + 1e-6
        if walked and keeps_to_the_limits(harness, net.output):
            joints = sum(joint.output == net.output for joint in harness.joints)
            assert net.cost_mm <= net_mm(harness, net.output) + cost * joints + 1e-6
    # The switched wire of a lamp without output is of no net.
    nets = sum(net_mm(settled, net.output) for net in plan.nets)
    loose = sum(
        wire.spool_mm
        for wire in derive(settled).wires
        if wire.output is None and wire.polarity is harness.controller.switched_polarity
    )
    assert spool_mm(settled) == pytest.approx(nets + loose)


def keeps_to_the_limits(harness: Harness, output: int | None) -> bool:
    """Whether a net as it stands is one that a plan may make."""
    plan = derive(harness)
    polarity = net_polarity(harness, output)
    ends = [
        wire.controller_end
        for wire in plan.wires
        if wire.output == output and wire.polarity is polarity and wire.controller_end.kind is EndKind.PIN
    ]
    pins = 1 if output is not None else max(len(list(harness.controller.commons())), 1)
    return len(ends) <= pins * harness.settings.pin_max_wires and all(
        harness.waypoint(joint.at).reachable
        and len(plan.at_joint(joint.id)) <= harness.settings.joint_max_wires
        for joint in harness.joints
        if joint.output == output
    )


@pytest.mark.parametrize("first", range(0, 40, 10))
def test_any_plan(first: int):
    for seed in range(first, first + 10):
        check_any(harness_from_seed(seed, points=(1, 9), lamps=(2, 12), world=seed % 2 == 0))


@given(harnesses(lamps=(1, 6), points=(1, 5), world=True, later_edits=4))
@settings(max_examples=30, deadline=None)
def test_any_plan_after_any_edits(harness: Harness):
    check_any(harness)


@given(st.integers(0, 10_000))
@settings(max_examples=15, deadline=None)
def test_any_merge_by_itself(seed: int):
    harness = harness_from_seed(seed, points=(1, 6), lamps=(2, 8), world=seed % 2 == 0)
    plan = best_plan(harness)
    for net in plan.nets:
        for joint in net.joints:
            settled = settle(take_merge(harness, plan, net.output, joint.key))
            assert_whole(settled)
            assert_connected(settled)
            assert_tagged(settled)


def test_undoing_is_keeping_the_old_value():
    harness = happened(walk(large_model(15, 4, 8, seed=5), Random(3), merges=0.5), Random(4))
    before = attrs.asdict(harness)
    settle(apply(harness, best_plan(harness)))
    assert attrs.asdict(harness) == before


def test_the_bar_runs_from_the_first_net_to_the_last():
    shares: list[float] = []
    best_plan(large_model(20, 5, 12, seed=1), shares.append)
    assert shares == sorted(shares)
    assert shares[-1] == 1.0
    assert len(shares) > 6


def test_it_can_be_stopped_with_nothing_done():
    class Stop(Exception):
        pass

    def stop(share: float) -> None:
        raise Stop

    harness = large_model(20, 5, 12, seed=1)
    with pytest.raises(Stop):
        best_plan(harness, stop)


def test_large_nets_have_a_bound_near_the_plan():
    harness = large_model(40, 8, 20, seed=6)
    net = plan_net(harness, None)
    assert 0 <= net.gap < 0.12
    assert {len(plan_net(harness, output).lamps) for output in range(1, 9)} <= set(range(1, 13))
    changed = settle(apply(harness, best_plan(harness)))
    assert_connected(changed)
    assert net_mm(changed, None) == pytest.approx(net.wire_mm)


def test_switching_the_other_side_changes_nothing_but_signs():
    harness = large_model(10, 3, 6, seed=7)
    other = editing.set_switched(harness, Switched.POSITIVE)
    assert best_plan(harness).wire_mm == best_plan(other).wire_mm
    assert {
        wire.polarity for wire in derive(apply(other, best_plan(other))).wires if wire.output is None
    } == {Polarity.MINUS}
