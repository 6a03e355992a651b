"""Prices of wires that are only weighed are those of the wires that are made."""

from __future__ import annotations

import pytest

from model import editing
from model.harness import Polarity
from model.routing.graph import shortest_way
from model.routing.prices import Course, course, prices, spool_mm
from model.routing.wires import EndKind, derive
from tests.strategies import harness_from_seed

PLAIN = editing.new_harness("plain", "PLN").settings


@pytest.mark.parametrize(
    ("run", "loops", "lamp_end", "controller_end", "lead", "expected"),
    [
        (500, 0, EndKind.LAMP, EndKind.PIN, 0, 635),  # 500 + 50 + 15 + 60 + 3 + 3 = 631
        (120, 0, EndKind.LAMP, EndKind.JOINT, 0, 170),  # 120 + 20 + 15 + 3 + 8 = 166
        (120, 0, EndKind.JOINT, EndKind.JOINT, 0, 160),  # 120 + 20 + 8 + 8 = 156
        (0, 0, EndKind.JOINT, EndKind.JOINT, 0, 40),  # 20 + 8 + 8 = 36
        (120, 30, EndKind.LAMP, EndKind.PLUG, 0, 195),  # 120 + 30 + 20 + 15 + 3 + 3 = 191
        (120, 0, EndKind.LAMP, EndKind.JOINT, 148, 0),  # 120 + 20 + 8 = 148: its own lead reaches
        (120, 0, EndKind.LAMP, EndKind.JOINT, 147, 10),  # 148 + 8 - 147 = 9
    ],
)
def test_one_piece(
    run: float, loops: float, lamp_end: EndKind, controller_end: EndKind, lead: float, expected: float
):
    assert spool_mm(PLAIN, run, loops, lamp_end, controller_end, lead) == expected


def test_a_plug_makes_two_pieces_whichever_way_it_is_passed():
    harness = editing.add_waypoint(editing.new_harness("plug", "PLG"), "far")
    harness = editing.set_leg(harness, "W2", "W1", length_mm=100, plug="P1", plug_mm=30, loop_mm=12)
    assert course(harness, ("W2", "W1")) == Course(pieces=((30, 0.0), (70, 12.0)))
    assert course(harness, ("W1", "W2")) == Course(pieces=((70, 0.0), (30, 12.0)))
    assert course(harness, ("W1",)) == Course(pieces=((0.0, 0.0),))


def test_prices_are_those_of_the_wires():
    compared = 0
    for seed in range(80):
        harness = harness_from_seed(seed, points=(1, 9), lamps=(2, 12))
        price = prices(harness)
        place = {site: number for number, site in enumerate(price.sites)}
        real: dict[str, float] = {}
        for wire in derive(harness).wires:
            real[wire.origin] = real.get(wire.origin, 0.0) + wire.spool_mm
        for lamp in harness.lamps:
            if lamp.run is None:
                continue
            row, pin = price.lamp(harness, lamp, lamp.run.way)
            for polarity in Polarity:
                joint = lamp.run.lead(polarity).joint
                asked = pin if joint is None else row[place[harness.joint(joint).at]]
                assert asked == pytest.approx(real[f"{lamp.id}{polarity}"]), (seed, lamp.id)
                compared += 1
        for joint in harness.joints:
            if joint.way and joint.way != shortest_way(harness, joint.at):
                continue
            here = place[joint.at]
            asked = price.site_pin[here]
            if joint.onto is not None:
                asked = price.site_site[here][place[harness.joint(joint.onto).at]]
            assert asked == pytest.approx(real[f"{joint.id}{harness.polarity_of(joint)}"]), (seed, joint.id)
            compared += 1
    assert compared > 500
