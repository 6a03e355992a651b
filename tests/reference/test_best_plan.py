"""Whole plans of small models against a dynamic programme over all sets of lamps, from the rules alone.

It shares nothing with the program but the model and its settings: the cut length of every wire, the shortest
ways (networkx) and the cheapest tree with all its limits are worked out anew, plainly and slowly.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator
from random import Random

import networkx as nx
import numpy as np
import pytest

from model import editing
from model.electrics.lamps import all_lamps
from model.harness import Harness
from model.routing.merge_plan import plan_net
from model.standards.wire import GAUGES
from tests.large_models import large_model

LAMP, JOINT, PIN, PLUG = "lamp", "joint", "pin", "plug"


class Slow:
    """The prices of one model's wires and the cheapest tree of a net."""

    def __init__(self, harness: Harness) -> None:
        self.harness = harness
        self.settings = harness.settings
        self.graph = nx.Graph()
        for leg in harness.legs:
            self.graph.add_edge(leg.a, leg.b, leg=leg, far=leg.length_mm + (leg.loop_mm or 0.0))
        self.ways = dict(nx.all_pairs_dijkstra_path(self.graph, weight="far"))
        self.sites = list(self.ways[harness.controller.at])

    def wire_mm(self, start: str, end: str, first: str, last: str, spur_mm: float = 0.0) -> float:
        """All pieces of a wire: legs, slack, loops, ends, each rounded up."""
        pieces = [[spur_mm, 0.0]]
        for one, other in itertools.pairwise(self.ways[start][end]):
            leg = self.graph.edges[one, other]["leg"]
            if leg.plug:
                near = leg.plug_mm if one == leg.a else leg.length_mm - leg.plug_mm
                pieces[-1][0] += near
                pieces.append([leg.length_mm - near, leg.loop_mm or 0.0])
            else:
                pieces[-1][0] += leg.length_mm
                pieces[-1][1] += leg.loop_mm or 0.0
        total, rules = 0.0, self.settings
        for place, (run_mm, loops_mm) in enumerate(pieces):
            ends = (first if place == 0 else PLUG, last if place == len(pieces) - 1 else PLUG)
            cut_mm = run_mm + loops_mm + max(run_mm * rules.slack_pct / 100, rules.slack_min_mm)
            cut_mm += rules.lamp_spare_mm * (ends[0] == LAMP) + rules.service_loop_mm * (ends[1] == PIN)
            cut_mm += sum(rules.joint_overlap_mm if end == JOINT else rules.strip_mm for end in ends)
            total += math.ceil(cut_mm / rules.round_mm - 1e-6) * rules.round_mm
        return total

    def cheapest(self, output: int | None) -> tuple[float, bool]:
        """What the cheapest plan of a net costs, and whether its pin has to be overfilled."""
        harness, rules, home = self.harness, self.settings, self.harness.controller.at
        lamps = [lamp for lamp in harness.lamps if output in (None, lamp.output)]
        drawn = all_lamps(harness)
        load = [drawn[lamp.id].current.full_ma for lamp in lamps]
        load_max = max(one.current_ma for name, one in GAUGES.items() if name.endswith("AWG"))
        commons = [pin for _, pin in harness.controller.commons()]
        if output is None:
            load_max = min(load_max, max(pin.limit_ma for pin in commons))
        pin_room = rules.pin_max_wires * (len(commons) if output is None else 1)
        trunk = np.array([[self.wire_mm(v, w, JOINT, JOINT) for w in self.sites] for v in self.sites])
        home_mm = np.array([self.wire_mm(v, home, JOINT, PIN) for v in self.sites])
        may = np.array([harness.waypoint(site).reachable for site in self.sites])
        full = (1 << len(lamps)) - 1
        shape = (full + 1, len(self.sites))
        pin = np.full(full + 1, math.inf)
        # wires[k][lamps, site]: so many lamps come to a site on k wires.
        wires = [np.full(shape, math.inf) for _ in range(rules.joint_max_wires)]
        for lamps_in in range(1, full + 1):
            if lamps_in & (lamps_in - 1) == 0:
                lamp = lamps[lamps_in.bit_length() - 1]
                wires[1][lamps_in] = [self.wire_mm(lamp.at, v, LAMP, JOINT, lamp.spur_mm) for v in self.sites]
                pin[lamps_in] = self.wire_mm(lamp.at, home, LAMP, PIN, lamp.spur_mm)
                continue
            part = np.array(list(parts(lamps_in)))
            joint = np.full(shape[1], math.inf)
            for count in range(2, rules.joint_max_wires):
                wires[count][lamps_in] = (wires[1][part] + wires[count - 1][lamps_in ^ part]).min(0)
                joint = np.minimum(joint, wires[count][lamps_in])
            carried = sum(one for place, one in enumerate(load) if lamps_in >> place & 1)
            if carried <= load_max + 1e-9:
                joint = np.where(may, joint + rules.joint_cost_mm, math.inf)
                wires[1][lamps_in] = (joint[:, None] + trunk).min(0)
                pin[lamps_in] = (joint + home_mm).min()
        for room, crowded in ((min(pin_room, len(lamps)), False), (len(lamps), True)):
            on_pin = pin.copy()
            for _ in range(room - 1):
                more = on_pin.copy()
                for lamps_in in range(1, full + 1):
                    part = np.array(list(parts(lamps_in)) or [lamps_in])
                    more[lamps_in] = min(on_pin[lamps_in], (pin[part] + on_pin[lamps_in ^ part]).min())
                on_pin = more
            if on_pin[full] < math.inf:
                return float(on_pin[full]), crowded
        raise AssertionError("each lamp can have a wire of its own")


def parts(whole: int) -> Iterator[int]:
    """Every part of a set that has its lowest member, but not the whole."""
    low = whole & -whole
    rest = part = whole ^ low
    while part:
        part = (part - 1) & rest
        yield part | low


def model(seed: int, lamps: int) -> Harness:
    """A model of one output with settings and currents that bind now and then."""
    dice = Random(seed)
    harness = large_model(lamps, 1, dice.randint(3, 7), seed, plugs=seed % 3)
    harness = editing.set_settings(
        harness,
        joint_max_wires=dice.choice((3, 4, 4, 5)),
        joint_cost_mm=dice.choice((0.0, 5.0, 17.5, 40.0, 100.0)),
        pin_max_wires=dice.choice((1, 2, 2, 3)),
    )
    strong = dice.choice((0.0, 60.0, 200.0))
    for lamp in harness.lamps if strong else ():
        drawn_ma = strong * dice.choice((0.5, 1, 1.5))
        harness = editing.edit_lamp(harness, lamp.id, current_ma=drawn_ma, max_ma=1000.0)
    return harness


@pytest.mark.parametrize("first", range(0, 60, 20))
def test_small_nets_cost_the_least_there_is(first: int):
    for seed in range(first, first + 20):
        harness = model(seed, Random(seed).randint(1, 7))
        slow = Slow(harness)
        for output in (None, 1):
            plan = plan_net(harness, output)
            assert plan.exact, seed
            least_mm, crowded = slow.cheapest(output)
            assert plan.cost_mm == pytest.approx(least_mm), seed
            assert plan.crowded == crowded, seed


def test_twelve_lamps_are_exact_and_the_bound_of_thirteen_is_honest():
    twelve = model(1012, 12)
    plan = plan_net(twelve, 1)
    assert plan.exact
    assert plan.cost_mm == pytest.approx(Slow(twelve).cheapest(1)[0])
    thirteen = model(1026, 13)
    plan = plan_net(thirteen, 1)
    assert plan.bound_mm - 1e-6 <= Slow(thirteen).cheapest(1)[0] <= plan.cost_mm + 1e-6
