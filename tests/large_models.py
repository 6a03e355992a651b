"""Models of any size from a seed: waypoints scattered over a flat body, lamps all over it."""

from __future__ import annotations

import math
from random import Random

from model import editing
from model.harness import Harness


def large_model(
    lamps: int,
    outputs: int,
    points: int,
    seed: int = 0,
    *,
    reachable: float = 0.8,
    loops: float = 0.2,
    block: int = 8,
    plugs: int = 2,
    moving: int = 2,
) -> Harness:
    """A harness without runs: a body of 600 x 150 mm, the controller in its middle, `points` waypoints.

    `reachable` is the share of waypoints where a joint can be made, `loops` the share with a second leg.
    Every output has a lamp where there are enough of them.
    """
    dice = Random(seed)
    harness = editing.remove_block(editing.new_harness("large", "LRG"), "A")
    for first in range(0, outputs, block):
        harness = editing.add_block(harness, outputs=min(block, outputs - first), commons=1)
    place = {harness.controller.at: (300.0, 75.0)}
    for number in range(points):
        harness = editing.add_waypoint(harness, f"point {number}", reachable=dice.random() < reachable)
        new = harness.waypoints[-1].id
        here = (dice.uniform(0, 600), dice.uniform(0, 150))
        near = sorted((math.dist(here, there), point) for point, there in place.items())
        place[new] = here
        harness = editing.set_leg(harness, near[0][1], new, length_mm=round(near[0][0], 1))
        if dice.random() < loops and len(near) > 1:
            harness = editing.set_leg(harness, near[1][1], new, length_mm=round(near[1][0] * 1.1, 1))
    for number, leg in enumerate(dice.sample(harness.legs, min(plugs, len(harness.legs)))):
        harness = editing.set_leg(harness, leg.a, leg.b, plug=f"P{number + 1}", plug_mm=leg.length_mm / 2)
    for leg in dice.sample(harness.legs, min(moving, len(harness.legs))):
        harness = editing.set_leg(harness, leg.a, leg.b, loop_mm=30.0)
    for number in range(lamps):
        harness = editing.add_lamp(
            harness,
            f"lamp {number + 1}",
            output=number % outputs + 1 if number < outputs else dice.randint(1, outputs),
            at=dice.choice(harness.waypoints).id,
            spur_mm=dice.choice((0.0, 10.0, 25.0, 40.0)),
        )
    return harness
