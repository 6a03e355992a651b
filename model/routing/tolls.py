"""A net's problem with a price on every wire that passes certain legs, so that fewer do.

Bundles have to go through the holes of the model. A toll on a leg makes it cheaper to merge before it.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence

import attrs

from model.harness import Harness, Lamp
from model.routing.gather import Gathering
from model.routing.graph import shortest_way, ways_to
from model.routing.nets import Net, planned_ways

Tolls = Mapping[frozenset[str], float]
"""What a wire through a leg costs beside its length, in mm of wire, by the leg's two waypoints."""


def tolled(harness: Harness, net: Net, tolls: Tolls) -> Gathering:
    """The problem of a net with these tolls added to the prices of its wires."""
    problem = net.problem
    # Kept a multiple of what all prices are multiples of.
    grain = problem.grain
    tolls = {ends: math.ceil(toll / grain) * grain if grain else toll for ends, toll in tolls.items()}
    to_site = [_tolls_to(harness, site, tolls) for site in net.sites]
    to_pin = _tolls_to(harness, harness.controller.at, tolls)
    ways = planned_ways(harness)

    def lamp_row(lamp: Lamp) -> tuple[list[float], float]:
        way = ways[lamp.id] or ()
        if not way:
            return [0.0] * len(net.sites), 0.0
        passed = dict(zip(way, itertools.accumulate(_steps(way, tolls), initial=0.0), strict=True))
        row = [
            passed[site] if site in passed else to_site[place].get(way[0], 0.0)
            for place, site in enumerate(net.sites)
        ]
        return row, passed[way[-1]]

    rows = [lamp_row(lamp) for lamp in net.lamps]
    rows += [([column.get(top.at, 0.0) for column in to_site], to_pin.get(top.at, 0.0)) for top in net.tops]
    return attrs.evolve(
        problem,
        start_site=tuple(_sum(row, more) for row, (more, _) in zip(problem.start_site, rows, strict=True)),
        start_pin=_sum(problem.start_pin, [pin for _, pin in rows]),
        site_site=tuple(
            _sum(row, [column.get(site, 0.0) for column in to_site])
            for row, site in zip(problem.site_site, net.sites, strict=True)
        ),
        site_pin=_sum(problem.site_pin, [to_pin.get(site, 0.0) for site in net.sites]),
    )


def _sum(row: Sequence[float], more: Sequence[float]) -> tuple[float, ...]:
    return tuple(map(sum, zip(row, more, strict=True)))


def _steps(way: Sequence[str], tolls: Tolls) -> list[float]:
    return [tolls.get(frozenset(pair), 0.0) for pair in itertools.pairwise(way)]


def _tolls_to(harness: Harness, end: str, tolls: Tolls) -> dict[str, float]:
    """The tolls on the shortest way from each waypoint to `end`."""
    known = {end: 0.0}
    for start in ways_to(harness, end):
        if start not in known:
            way = shortest_way(harness, start, end) or (start,)
            due = 0.0
            for point, toll in zip(reversed(way[:-1]), reversed(_steps(way, tolls)), strict=True):
                due += toll
                known[point] = due
    return known
