"""The gritter from the demo to marked wires by the pure core alone: walk, tag, label, read back, look up."""

from __future__ import annotations

from collections import Counter

import attrs
import pytest
import zxingcpp

from harness_tui.examples import text
from model import editing
from model.bench import bench_order, next_step, progress
from model.checks import check, problems
from model.editing import RunChoice, accept_run
from model.harness import Harness, Polarity
from model.labels.batch import marks, wire_batch
from model.labels.drawing import draw
from model.labels.stock import packaged_stocks
from model.routing.allot import settle, tag_of
from model.routing.offers import best_offer, merge_offers, way_choices
from model.routing.wires import EndKind, derive
from model.store import dumps, loads
from model.tags import Ledger, is_issuable, recover
from model.tracing.find import find
from tests.following import assert_connected, assert_tagged, follow
from tests.strategies import assert_whole


def demo() -> Harness:
    return loads(text("gritter"), "gritter.toml")


def from_the_start() -> Harness:
    """The gritter as it was before the first run was accepted."""
    harness = demo()
    lamps = tuple(attrs.evolve(lamp, run=None) for lamp in harness.lamps)
    return attrs.evolve(harness, lamps=lamps, joints=(), contacts=(), ledger=Ledger())


def mended(harness: Harness) -> Harness:
    """The demo's two findings put right: a place for the hopper lamp, an output of their own for markers."""
    floor = next(point.id for point in harness.waypoints if point.name == "hopper floor")
    hopper = next(lamp.id for lamp in harness.lamps if lamp.name == "Hopper work lamp")
    harness = settle(editing.edit_lamp(harness, hopper, at=floor, spur_mm=25))
    harness = editing.edit_output(harness, 11, function="marker lamps")
    for lamp in harness.lamps:
        if lamp.function == "marker lamp":
            harness = settle(editing.edit_lamp(harness, lamp.id, output=11))
            # On their new output they are four single wires in one pin: walked again, they merge.
            harness = settle(editing.drop_run(harness, lamp.id))
    return harness


def walked(harness: Harness, *, merging: bool = True) -> Harness:
    """Every open run accepted in the order of the lamps, with what is filled in, as pressing Enter does."""
    for lamp in harness.lamps:
        if lamp.run is not None:
            continue
        way = way_choices(harness, lamp.id)[0]
        taken = {}
        for polarity in Polarity:
            offers = merge_offers(harness, lamp.id, way, polarity)
            taken[polarity] = offers[best_offer(harness, offers)].merge if merging else None
        choice = RunChoice(way=way, plus=taken[Polarity.PLUS], minus=taken[Polarity.MINUS])
        harness = settle(accept_run(harness, lamp.id, choice))
        assert_whole(harness)
        assert_tagged(harness)
    return harness


def read_codes(image) -> list[str]:
    """What an independent decoder reads in a label."""
    return [code.text for code in zxingcpp.read_barcodes(image.convert("L"), zxingcpp.BarcodeFormat.QRCode)]


@pytest.fixture(scope="module")
def done() -> Harness:
    """The whole walk from the first lamp."""
    return walked(mended(from_the_start()))


@pytest.fixture(scope="module")
def gone_on() -> Harness:
    """The walk taken up where the demo stands, with its printed labels and begun wires."""
    return walked(mended(demo()))


@pytest.fixture(params=["done", "gone_on"])
def harness(request: pytest.FixtureRequest) -> Harness:
    return request.getfixturevalue(request.param)


def test_every_lamp_is_walked_and_nothing_is_left_to_mend(harness: Harness):
    assert all(lamp.run is not None for lamp in harness.lamps)
    assert len(harness.lamps) == 31
    assert problems(check(harness)) == ()


def test_every_lamp_is_connected_once_to_its_output_and_to_the_common(harness: Harness):
    assert_connected(harness)
    for lamp in harness.lamps:
        block, output = harness.controller.find_output(lamp.output)
        assert follow(harness, lamp.id, Polarity.MINUS)[-1].controller_end.ref == f"{block.name}.{output.pin}"
        assert follow(harness, lamp.id, Polarity.PLUS)[-1].controller_end.ref in {"A.7", "B.7"}


def test_every_wire_has_two_labelled_ends_and_no_tag_stands_twice(harness: Harness):
    wires = derive(harness).wires
    tags = [tag_of(harness, wire) for wire in wires]
    assert all(is_issuable(tag) for tag in tags)
    assert len(set(tags)) == len(wires) > 60
    every = [record.tag for record in harness.ledger]
    assert len(set(every)) == len(every)
    labels = wire_batch(harness, packaged_stocks(), "flag-18", "flag")
    ends = Counter(label.text.tag for label in labels)
    assert ends == dict.fromkeys(tags, 2)
    assert {label.text.end for label in labels} == {"L", "C"}


def test_every_label_reads_back_as_its_tag_and_end(done: Harness):
    labels = wire_batch(done, packaged_stocks(), "flag-18", "flag")
    assert len(labels) == 2 * len(derive(done).wires)
    read: Counter[str] = Counter()
    for label in labels:
        assert label.problems == ()
        expected = f"GRT-{label.text.tag}-{label.text.end}"
        found = read_codes(draw(label.layout))
        assert found, f"{expected} can't be read"
        assert set(found) == {expected}
        read[expected] += 1
    assert set(read.values()) == {1}


def test_what_is_read_leads_to_the_wire(done: Harness):
    for wire in derive(done).wires:
        tag = tag_of(done, wire)
        for end in "LC":
            found = find(done, f"GRT-{tag}-{end}")
            assert [answer.record.tag for answer in found.answers] == [tag]
        assert recover("?" + tag[1:]) == (tag,)


def test_the_hopper_comes_off_with_every_wire_cut_in_two(done: Harness):
    plan = derive(done)
    hopper = {
        lamp.id
        for lamp in done.lamps
        if lamp.name in ("Hopper work lamp", "Beacon rear left", "Beacon rear right")
    }
    crossing = plan.at_plug("P1")
    assert set().union(*(set(one.lamps) for one, _ in crossing)) == hopper
    for lamp_side, other in crossing:
        assert lamp_side.controller_end.ref == other.lamp_end.ref
        assert tag_of(done, lamp_side) != tag_of(done, other)
    # The common first, then by output.
    nets = [one.output for one, _ in crossing]
    assert nets[0] is None


def test_the_cab_tilts(done: Harness):
    cab = next(point.id for point in done.waypoints if point.name == "cab floor")
    front = next(point.id for point in done.waypoints if point.name == "chassis front")
    over = [wire for wire in derive(done).wires if {cab, front} <= set(wire.path)]
    assert over
    assert all(
        any(part.words.startswith("moving joint") and part.mm == 45 for part in wire.parts) for wire in over
    )


def test_merging_pays(done: Harness):
    apart = walked(mended(from_the_start()), merging=False)
    assert apart.joints == ()
    saved_mm = derive(apart).spool_mm - derive(done).spool_mm
    assert saved_mm > done.settings.joint_cost_mm * len(done.joints) > 0
    assert_connected(apart)


def test_the_demo_taken_up_keeps_every_printed_label_true(gone_on: Harness):
    before = demo()
    kept = 0
    for record in before.ledger:
        after = gone_on.ledger.get(record.tag)
        assert after.wire == record.wire
        if record.issued:
            assert (after.lamp_end, after.controller_end) == (record.lamp_end, record.controller_end)
            assert after.steps == record.steps
            kept += after.live
    assert kept == sum(record.live and record.issued for record in before.ledger) > 0


def test_left_and_right_indicators_never_meet(done: Harness):
    plan = derive(done)
    hand = {lamp.id: lamp.hand for lamp in done.lamps if lamp.function == "indicator"}
    for wire in plan.wires:
        if wire.output is not None:
            assert len({hand[lamp] for lamp in wire.lamps if lamp in hand}) <= 1


def test_wire_after_wire_is_made_and_remembered(done: Harness):
    harness = done
    labels = wire_batch(harness, packaged_stocks(), "flag-18", "flag")
    harness = editing.mark_printed(
        harness, [(one.text.tag, one.text.end) for one in labels], "2026-03-01", said=marks(labels)
    )
    order = bench_order(harness)
    assert {wire.key for wire in order} == set(derive(harness).by_key)
    for wire in order:
        tag = tag_of(harness, wire)
        done_steps = []
        while (step := next_step(harness, wire)) is not None:
            harness = editing.do_step(harness, tag, step.id, "2026-03-03")
            done_steps.append(step.id)
        assert done_steps.index("sleeve") < done_steps.index("join"), "the sleeve goes on before the joint"
    assert progress(harness) == (len(order), len(order))
    assert settle(harness).ledger == harness.ledger, "nothing made is tagged anew"
    assert problems(check(harness)) == ()


def test_the_file_holds_it_all(done: Harness):
    again = settle(loads(dumps(done), "gritter.toml"))
    assert dumps(again) == dumps(done)
    assert [attrs.astuple(wire) for wire in derive(again).wires] == [
        attrs.astuple(wire) for wire in derive(done).wires
    ]
    assert again.ledger == done.ledger


def test_every_end_is_of_a_known_kind(done: Harness):
    kinds = Counter(wire.lamp_end.kind for wire in derive(done).wires)
    assert kinds[EndKind.LAMP] == 2 * len(done.lamps)
    assert kinds[EndKind.PIN] == 0, "no wire starts at the controller"
    assert kinds[EndKind.JOINT] == len(done.joints)
