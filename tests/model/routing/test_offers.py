"""What the walk offers: every figure worked out again from the whole plan."""

from __future__ import annotations

from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model import editing
from model.editing import Merge, RunChoice, accept_run
from model.harness import Harness, Polarity
from model.routing.allot import settle
from model.routing.offers import Offer, best_offer, merge_offers, way_choices
from model.routing.wires import derive
from tests.following import assert_connected, assert_tagged
from tests.strategies import DAY, assert_whole, harness_from_seed, harnesses


def choice(way: tuple[str, ...], polarity: Polarity, merge: Merge | None) -> RunChoice:
    return RunChoice(way=way, plus=merge) if polarity is Polarity.PLUS else RunChoice(way=way, minus=merge)


def tags_in_use(harness: Harness, polarity: Polarity) -> set[str]:
    return {
        record.tag
        for record in harness.ledger
        if record.live and record.issued and record.wire.partition(".")[0].endswith(polarity)
    }


def check_offer(
    harness: Harness, lamp_id: str, way: tuple[str, ...], polarity: Polarity, offer: Offer
) -> None:
    """Carry the offer out and compare what it said with what came about."""
    alone = accept_run(harness, lamp_id, RunChoice(way=way))
    taken = settle(accept_run(harness, lamp_id, choice(way, polarity, offer.merge)))
    assert_whole(taken)
    assert_connected(taken)
    assert_tagged(taken)
    assert offer.saves_mm == pytest.approx(derive(alone).spool_mm - derive(taken).spool_mm, abs=1e-6)
    assert offer.joints == len(taken.joints) - len(alone.joints)
    still = {record.tag for record in taken.ledger if record.live}
    assert set(offer.retires) == tags_in_use(harness, polarity) - still
    if offer.merge is None:
        assert (offer.at, offer.lamps) == ("", ())
        return
    assert offer.at == offer.merge.at
    assert offer.at in (way or (harness.controller.at,))
    assert harness.waypoint(offer.at).reachable
    assert lamp_id not in offer.lamps
    net = harness.net_of(harness.lamp(lamp_id), polarity)
    assert all(harness.net_of(harness.lamp(other), polarity) == net for other in offer.lamps)
    joint_id = taken.lamp(lamp_id).run.lead(polarity).joint
    assert taken.joint(joint_id).at == offer.at
    plan = derive(taken)
    assert set(plan.trunk[joint_id].lamps) == {lamp_id, *offer.lamps}
    before = {wire.key for wire in plan.at_joint(joint_id)}
    assert len(before) <= harness.settings.joint_max_wires


def check_offers(harness: Harness, rng: Random) -> int:
    """Check all offers of one lamp; returns how many merges there were."""
    lamp_id = rng.choice(harness.lamps).id
    choices = way_choices(harness, lamp_id)
    if not choices:
        return 0
    way = rng.choice(choices)
    merges = 0
    for polarity in Polarity:
        offers = merge_offers(harness, lamp_id, way, polarity)
        assert [offer.merge for offer in offers].index(None) == len(offers) - 1, (
            "on its own comes once, and last"
        )
        assert len({(offer.at, offer.merge) for offer in offers}) == len(offers)
        merges += len(offers) - 1
        for offer in offers:
            check_offer(harness, lamp_id, way, polarity, offer)
        best = offers[best_offer(harness, offers)]
        cost_mm = harness.settings.joint_cost_mm
        assert best.merge is None or not best.retires
        for offer in offers:
            if not offer.retires:
                gain = best.saves_mm - cost_mm * best.joints
                assert gain >= offer.saves_mm - cost_mm * offer.joints - 1e-9
    return merges


@given(harnesses(lamps=(1, 8), walked=0.8), st.randoms(use_true_random=False))
@settings(max_examples=50, deadline=None)
def test_every_figure_of_an_offer_is_what_comes_about(harness: Harness, rng: Random):
    check_offers(harness, rng)


@given(harnesses(lamps=(1, 8), world=True, later_edits=3), st.randoms(use_true_random=False))
@settings(max_examples=50, deadline=None)
def test_also_once_labels_are_printed_and_the_plan_was_edited(harness: Harness, rng: Random):
    if harness.lamps:
        check_offers(harness, rng)


def test_the_same_on_fixed_models_with_many_merges():
    merges = sum(
        check_offers(harness_from_seed(seed, lamps=(4, 10), walked=0.85, world=seed % 2 == 0), Random(seed))
        for seed in range(60)
    )
    assert merges > 100, "the models must have something to offer"


# --- worked by hand -------------------------------------------------------------------------------


def model(**bumper: object) -> Harness:
    """W2 bumper --120-- W3 cab floor --210-- W1 controller, three lamps at the bumper on output 1."""
    harness = editing.new_harness("Example", "EXM")
    harness = editing.add_waypoint(harness, "bumper", **bumper)
    harness = editing.add_waypoint(harness, "cab floor")
    harness = editing.set_leg(harness, "W2", "W3", length_mm=120)
    harness = editing.set_leg(harness, "W3", "W1", length_mm=210)
    for number in (1, 2, 3):
        harness = editing.add_lamp(harness, f"lamp {number}", at="W2", output=1)
    return harness


WAY = ("W2", "W3", "W1")


def on_its_own(harness: Harness, lamp_id: str) -> Harness:
    return settle(accept_run(harness, lamp_id, RunChoice(way=WAY)))


def offers_for(harness: Harness, lamp_id: str, polarity: Polarity = Polarity.MINUS) -> dict[str, Offer]:
    return {offer.at or "own": offer for offer in merge_offers(harness, lamp_id, WAY, polarity)}


def test_the_first_lamp_has_nothing_to_merge_with():
    assert list(offers_for(model(), "L1")) == ["own"]


def test_savings_worked_by_hand():
    # Own wire: 330 + 33 slack + 60 loop + 15 lamp + 6 strips = 444, up to 445. Two of them: 890.
    # Bumper: twice 0 + 20 + 15 + 3 + 8 = 46, to 50; trunk 330 + 33 + 60 + 8 + 3 = 434, to 435: 535.
    # Cab floor: twice 120 + 20 + 15 + 3 + 8 = 166, to 170; trunk 210 + 21 + 60 + 8 + 3 = 302, to 305: 645.
    # Controller: twice 330 + 33 + 15 + 3 + 8 = 389, to 390; trunk 20 + 60 + 8 + 3 = 91, to 95: 875.
    offers = offers_for(on_its_own(model(), "L1"), "L2")
    assert {at: offer.saves_mm for at, offer in offers.items()} == {"W2": 355, "W3": 245, "W1": 15, "own": 0}
    assert {at: offer.joints for at, offer in offers.items()} == {"W2": 1, "W3": 1, "W1": 1, "own": 0}
    assert offers["W2"].merge == Merge(at="W2", gather=("L1",))
    assert offers["W2"].lamps == ("L1",)


@pytest.mark.parametrize(("cost_mm", "at"), [(0, "W2"), (40, "W2"), (354, "W2"), (356, "own")])
def test_the_best_offer_pays_for_its_joint(cost_mm: float, at: str):
    harness = editing.set_settings(on_its_own(model(), "L1"), joint_cost_mm=cost_mm)
    offers = merge_offers(harness, "L2", WAY, Polarity.MINUS)
    assert (offers[best_offer(harness, offers)].at or "own") == at


def test_a_joint_that_stands_is_joined_without_a_new_one():
    harness = on_its_own(model(), "L1")
    harness = settle(accept_run(harness, "L2", RunChoice(way=WAY, minus=Merge(at="W3", gather=("L1",)))))
    offers = offers_for(harness, "L3")
    assert offers["W3"].merge == Merge(at="W3", into="J1")
    assert (offers["W3"].joints, offers["W3"].lamps) == (0, ("L1", "L2"))
    # Own wire 445 saved, 170 to the joint spent.
    assert offers["W3"].saves_mm == 275


def test_a_full_joint_is_not_offered():
    harness = editing.set_settings(on_its_own(model(), "L1"), joint_max_wires=3)
    harness = settle(accept_run(harness, "L2", RunChoice(way=WAY, minus=Merge(at="W3", gather=("L1",)))))
    assert "W3" not in offers_for(harness, "L3")


def test_no_joint_where_none_can_be_reached():
    assert list(offers_for(on_its_own(model(reachable=False), "L1"), "L2")) == ["W3", "W1", "own"]


def test_another_output_is_another_net():
    harness = editing.edit_lamp(on_its_own(model(), "L1"), "L2", output=2)
    assert list(offers_for(harness, "L2")) == ["own"]
    assert list(offers_for(harness, "L2", Polarity.PLUS)) == ["W2", "W3", "W1", "own"], "the common is shared"


def test_a_lamp_without_output_is_offered_merges_of_the_common_only():
    harness = editing.edit_lamp(on_its_own(model(), "L1"), "L2", output=None)
    assert list(offers_for(harness, "L2")) == ["own"]
    assert len(offers_for(harness, "L2", Polarity.PLUS)) == 4


def test_a_wire_begun_at_the_bench_is_not_cut():
    harness = on_its_own(model(), "L1")
    tag = harness.ledger.live()["L1-"].tag
    assert list(offers_for(editing.do_step(harness, tag, "cut", DAY), "L2")) == ["own"]


def test_a_printed_label_is_named_and_never_retired_by_itself():
    harness = on_its_own(model(), "L1")
    tag = harness.ledger.live()["L1-"].tag
    harness = editing.mark_printed(harness, [(tag, "C")], DAY)
    offers = merge_offers(harness, "L2", WAY, Polarity.MINUS)
    assert [offer.retires for offer in offers] == [(tag,), (tag,), (tag,), ()]
    assert offers[best_offer(harness, offers)].merge is None


def test_walking_a_lamp_again_names_its_own_tags():
    harness = on_its_own(model(), "L1")
    harness = settle(accept_run(harness, "L2", RunChoice(way=WAY, minus=Merge(at="W3", gather=("L1",)))))
    live = harness.ledger.live()
    for key in ("L1-", "L2-", "J1-"):
        harness = editing.mark_printed(harness, [(live[key].tag, "L")], DAY)
    offers = offers_for(harness, "L2")
    # Without the second lamp the joint goes, and with it what its three labels say.
    assert set(offers["own"].retires) == {live[key].tag for key in ("L1-", "L2-", "J1-")}


@pytest.mark.parametrize(
    ("fields", "choices"),
    [
        ({"at": "W2"}, (("W2", "W3", "W1"),)),
        ({"at": None, "measured_mm": 300.0}, ((),)),
        ({"at": "W2", "measured_mm": 300.0}, ((), ("W2", "W3", "W1"))),
        ({"at": None}, ()),
        ({"at": "W1"}, (("W1",),)),
    ],
)
def test_way_choices(fields: dict[str, object], choices: tuple[tuple[str, ...], ...]):
    assert way_choices(editing.edit_lamp(model(), "L1", **fields), "L1") == choices


def test_a_lamp_that_cannot_be_reached_has_no_way():
    harness = editing.remove_leg(model(), "W3", "W1")
    assert way_choices(harness, "L1") == ()


def test_a_measured_lamp_can_merge_at_the_controller():
    harness = on_its_own(model(), "L1")
    harness = editing.edit_lamp(harness, "L2", at=None, measured_mm=300)
    offers = merge_offers(harness, "L2", (), Polarity.MINUS)
    assert [offer.at for offer in offers] == ["W1", ""]


def test_a_way_that_doubles_back_makes_no_circle():
    # Lamp 1 passes W3 on its way to its joint at W4, whose trunk comes back past W3: both are gathered.
    harness = editing.add_waypoint(model(), "roof")
    harness = editing.set_leg(harness, "W3", "W4", length_mm=50)
    harness = editing.set_leg(harness, "W4", "W1", length_mm=50)
    round_way = ("W2", "W3", "W4", "W1")
    harness = settle(accept_run(harness, "L1", RunChoice(way=round_way)))
    harness = settle(
        accept_run(harness, "L2", RunChoice(way=round_way, minus=Merge(at="W4", gather=("L1",))))
    )
    harness = settle(editing.set_joint(harness, "J1", way=("W4", "W3", "W1")))
    merge = Merge(at="W3", gather=("L1", "J1"))
    harness = settle(accept_run(harness, "L3", RunChoice(way=WAY, minus=merge)))
    assert_whole(harness)
    assert_connected(harness)
