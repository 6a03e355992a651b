"""What a wire between any two places costs, in mm from a spool, as it would really be cut.

The same sum as the cut lengths of model.routing.wires, without its words: a plan weighs thousands of wires
that are never made.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import attrs

from model.harness import Build, Harness, Lamp, Settings
from model.memo import by_identity
from model.routing.graph import route_graph, shortest_way, ways_to
from model.routing.wires import EndKind

INF = math.inf


def spool_mm(
    settings: Settings,
    run_mm: float,
    loops_mm: float,
    lamp_end: EndKind,
    controller_end: EndKind,
    lead_mm: float = 0.0,
) -> float:
    """Length of one piece of wire, in mm: its legs with slack, the loops of moving joints, the ends, rounded
    up.

    `lead_mm` is the lamp's own lead: 0 comes back where that reaches.
    """
    total = run_mm + loops_mm + max(run_mm * settings.slack_pct / 100, settings.slack_min_mm)
    own_lead = lamp_end is EndKind.LAMP and lead_mm > 0
    if lamp_end is EndKind.LAMP and not own_lead:
        total += settings.lamp_spare_mm
    if controller_end is EndKind.PIN:
        total += settings.service_loop_mm
    for end in (lamp_end, controller_end):
        if end is EndKind.JOINT:
            total += settings.joint_overlap_mm
        elif end is not EndKind.LAMP or not own_lead:
            total += settings.strip_mm
    if own_lead:
        if total <= lead_mm:
            return 0.0
        total += settings.joint_overlap_mm - lead_mm
    return math.ceil(total / settings.round_mm - 1e-6) * settings.round_mm


@attrs.frozen(kw_only=True)
class Course:
    """A way as its pieces between plugs: length of legs and loops of each, in mm."""

    pieces: tuple[tuple[float, float], ...]

    def spool_mm(
        self,
        settings: Settings,
        lamp_end: EndKind,
        controller_end: EndKind,
        spur_mm: float = 0.0,
        lead_mm: float = 0.0,
    ) -> float:
        """All pieces of a wire along it."""
        last = len(self.pieces) - 1
        total = 0.0
        for place, (run_mm, loops_mm) in enumerate(self.pieces):
            total += spool_mm(
                settings,
                run_mm + (spur_mm if place == 0 else 0.0),
                loops_mm,
                lamp_end if place == 0 else EndKind.PLUG,
                controller_end if place == last else EndKind.PLUG,
                lead_mm if place == 0 else 0.0,
            )
        return total


def course(harness: Harness, way: Sequence[str]) -> Course:
    """The pieces of a way. A leg's loop is on the piece behind its plug, as in the cut lengths."""
    legs = route_graph(harness).legs
    pieces: list[tuple[float, float]] = []
    run_mm = loops_mm = 0.0
    for one, other in itertools.pairwise(way):
        leg = legs[one][other]
        rest_mm = leg.length_mm
        if leg.plug:
            to_plug_mm = leg.plug_mm if one == leg.a else leg.length_mm - leg.plug_mm
            pieces.append((run_mm + to_plug_mm, loops_mm))
            run_mm, loops_mm, rest_mm = 0.0, 0.0, leg.length_mm - to_plug_mm
        run_mm += rest_mm
        loops_mm += leg.loop_mm or 0.0
    return Course(pieces=(*pieces, (run_mm, loops_mm)))


@attrs.frozen(kw_only=True, eq=False)
class Prices:
    """Prices between the sites of a harness: the waypoints that are connected to the controller, in their
    order.

    `site_site[from][to]` is a wire from joint to joint, `site_pin[from]` one from a joint to a pin.
    """

    sites: tuple[str, ...]
    site_site: tuple[tuple[float, ...], ...]
    site_pin: tuple[float, ...]
    known: dict[object, tuple[tuple[float, ...], float]]
    """Rows that were asked for before."""

    # The harness is handed in each time: kept here, it would keep itself alive.
    def lamp(self, harness: Harness, lamp: Lamp, way: tuple[str, ...]) -> tuple[tuple[float, ...], float]:
        """What a lamp's wire costs to a joint at each site, and to a pin. An empty way is a measured run."""
        lead_mm = lamp.lead_mm if lamp.build is Build.WIRED else 0.0
        key = (way, lamp.at, lamp.spur_mm, lead_mm, None if way else lamp.measured_mm)
        if key not in self.known:
            self.known[key] = self._lamp(harness, lamp, way, lead_mm)
        return self.known[key]

    def _lamp(
        self, harness: Harness, lamp: Lamp, way: tuple[str, ...], lead_mm: float
    ) -> tuple[tuple[float, ...], float]:
        settings = harness.settings
        here = harness.controller.at
        if not way:
            only = Course(pieces=((lamp.measured_mm or 0.0, 0.0),))
            there = only.spool_mm(settings, EndKind.LAMP, EndKind.JOINT, lead_mm=lead_mm)
            row = tuple(there if site == here else INF for site in self.sites)
            return row, only.spool_mm(settings, EndKind.LAMP, EndKind.PIN, lead_mm=lead_mm)
        row = tuple(
            course(harness, _section(harness, way, site)).spool_mm(
                settings, EndKind.LAMP, EndKind.JOINT, lamp.spur_mm, lead_mm
            )
            for site in self.sites
        )
        pin = course(harness, way).spool_mm(settings, EndKind.LAMP, EndKind.PIN, lamp.spur_mm, lead_mm)
        return row, pin


def _section(harness: Harness, way: tuple[str, ...], site: str) -> tuple[str, ...]:
    """From the beginning of `way` to `site`: along it if it leads there, else the shortest way."""
    if site in way:
        return way[: way.index(site) + 1]
    found = shortest_way(harness, way[0], site)
    assert found is not None, "sites are connected"
    return found


@by_identity
def prices(harness: Harness) -> Prices:
    """The prices of a harness; joints reach each other and the controller by the shortest way."""
    settings = harness.settings
    near = route_graph(harness).distance_mm
    sites = tuple(point.id for point in harness.waypoints if point.id in near)
    columns = []
    for end in sites:
        courses = _courses_to(harness, end)
        columns.append([courses[site].spool_mm(settings, EndKind.JOINT, EndKind.JOINT) for site in sites])
    to_controller = _courses_to(harness, harness.controller.at)
    return Prices(
        sites=sites,
        site_site=tuple(zip(*columns, strict=True)),
        site_pin=tuple(to_controller[site].spool_mm(settings, EndKind.JOINT, EndKind.PIN) for site in sites),
        known={},
    )


def _courses_to(harness: Harness, end: str) -> dict[str, Course]:
    """The course of the shortest way from each waypoint to `end`, each from that of the next waypoint."""
    legs = route_graph(harness).legs
    following = ways_to(harness, end)
    known: dict[str, tuple[tuple[float, float], ...]] = {end: ((0.0, 0.0),)}
    for first in following:
        way = [first]
        while way[-1] not in known:
            way.append(following[way[-1]])
        for one, other in zip(reversed(way[:-1]), reversed(way[1:]), strict=True):
            leg = legs[one][other]
            (run_mm, loops_mm), *rest = known[other]
            if leg.plug:
                to_plug_mm = leg.plug_mm if one == leg.a else leg.length_mm - leg.plug_mm
                behind = (leg.length_mm - to_plug_mm + run_mm, (leg.loop_mm or 0.0) + loops_mm)
                known[one] = ((to_plug_mm, 0.0), behind, *rest)
            else:
                known[one] = ((leg.length_mm + run_mm, (leg.loop_mm or 0.0) + loops_mm), *rest)
    return {point: Course(pieces=pieces) for point, pieces in known.items()}
