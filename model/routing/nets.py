"""One net of a harness as a problem of gathering, and what of it stands already because it was begun at the
bench.

A wire begun at the bench is not moved. A joint in which such a wire ends or begins keeps all its wires, and
so do the joints behind it; it may take more wires as long as it is not closed.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Mapping

import attrs

from model.electrics.lamps import all_lamps
from model.harness import Harness, Joint, Lamp, Polarity
from model.memo import by_identity
from model.routing.gather import PIN, Built, Gathering, Tree, built_code
from model.routing.graph import route_graph, shortest_way
from model.routing.prices import Prices, prices
from model.routing.wires import derive, origin_name
from model.standards.wire import GAUGES, Gauge, gauge

JOINED_STEPS = frozenset({"join", "shrink", "test"})
"""Bench steps after which the joint at the controller end of a wire is closed."""

TRUNK_STEPS = frozenset({"lamp", "shrink", "test"})
"""Bench steps after which the joint that a trunk starts in is closed."""


@attrs.frozen(kw_only=True)
class Layout:
    """How that part of a net that may be moved is joined.

    `ends` has where the wire of each lamp, and the trunk of each joint, ends: the key of a joint, or None
    for the pin. `at` has the waypoints of the joints that are not standing. Keys are ids, or "new 1", "new
    2" ... within the net.
    """

    ends: Mapping[str, str | None]
    at: Mapping[str, str]

    def feeds(self, key: str) -> tuple[str, ...]:
        """What ends in a joint, of what may be moved."""
        return tuple(item for item, end in self.ends.items() if end == key)

    def renamed(self, names: Mapping[str, str]) -> Layout:
        """The same with other keys."""
        ends = {names.get(item, item): names.get(end, end) if end else end for item, end in self.ends.items()}
        return Layout(ends=ends, at={names.get(key, key): at for key, at in self.at.items()})


@attrs.frozen(kw_only=True, eq=False)
class Net:
    """What of a net can be planned, and what stands.

    `all_lamps` are the ids of its lamps; `lamps` may be moved; `standing` are the joints that keep their
    wires, `tops` those of them whose trunk may be moved. `fixed_mm` is the wire of all that is not moved.
    `problem` has the lamps as its first starts, then the tops.
    """

    output: int | None
    polarity: Polarity
    all_lamps: tuple[str, ...]
    lamps: tuple[Lamp, ...]
    standing: tuple[Joint, ...]
    tops: tuple[Joint, ...]
    built: tuple[Joint, ...]
    fixed_mm: float
    problem: Gathering
    sites: tuple[str, ...]

    def layout(self, tree: Tree) -> Layout:
        """An answer to the problem in terms of the harness, its joints as new ones."""

        def key(onto: int) -> str | None:
            if onto == PIN:
                return None
            return f"new {onto + 1}" if onto >= 0 else self.built[built_code(onto)].id

        ends = {item: key(onto) for item, onto in zip(self.items, tree.start_onto, strict=True)}
        joints = [f"new {place + 1}" for place in range(len(tree.site))]
        ends |= {joint: key(onto) for joint, onto in zip(joints, tree.joint_onto, strict=True)}
        return Layout(
            ends=ends, at={joint: self.sites[site] for joint, site in zip(joints, tree.site, strict=True)}
        )

    @property
    def items(self) -> tuple[str, ...]:
        """The ids of what may be moved, in the order of the problem's starts."""
        return (*(lamp.id for lamp in self.lamps), *(top.id for top in self.tops))

    def price(self, layout: Layout, item: str, end: str | None) -> float:
        """Price of the wire from a lamp or joint of a layout to a joint or the pin."""
        problem = self.problem
        if item in self.items:
            start = self.items.index(item)
            row, pin = problem.start_site[start], problem.start_pin[start]
        else:
            place = self.sites.index(layout.at[item])
            row, pin = problem.site_site[place], problem.site_pin[place]
        if end is None:
            return pin
        at = layout.at[end] if end in layout.at else next(joint.at for joint in self.built if joint.id == end)
        return row[self.sites.index(at)]

    def tree(self, layout: Layout) -> Tree | None:
        """The answer that a layout is, or None where it has a joint at a place unknown to the problem."""
        joints = list(layout.at)
        code: dict[str | None, int] = {None: PIN}
        code |= {joint: place for place, joint in enumerate(joints)}
        code |= {joint.id: built_code(place) for place, joint in enumerate(self.built)}
        if any(layout.ends[item] not in code for item in (*self.items, *joints)):
            return None
        if any(at not in self.sites for at in layout.at.values()):
            return None
        return Tree(
            site=tuple(self.sites.index(layout.at[joint]) for joint in joints),
            joint_onto=tuple(code[layout.ends[joint]] for joint in joints),
            start_onto=tuple(code[layout.ends[item]] for item in self.items),
        )


@by_identity
def planned_ways(harness: Harness) -> Mapping[str, tuple[str, ...] | None]:
    """The way a plan gives each lamp, by its id; an empty way is a measured run, None that it has none.

    A lamp with a wire that is not moved keeps its way, a measured run stays one. Any other takes the
    shortest way, or keeps its own where a wire to the pin needs no more by that: the shortest may lead
    through one more plug.
    """
    return {lamp.id: _planned_way(harness, lamp) for lamp in harness.lamps}


def _planned_way(harness: Harness, lamp: Lamp) -> tuple[str, ...] | None:
    own = lamp.run.way if lamp.run is not None else ()
    if own and lamp.id in kept_lamps(harness):
        return own
    if lamp.measured_mm is not None and not own:
        return ()
    shortest = shortest_way(harness, lamp.at) if lamp.at is not None else None
    if shortest is None or not own or own == shortest or not _leads(harness, own):
        return shortest
    price = prices(harness)
    return own if price.lamp(harness, lamp, own)[1] <= price.lamp(harness, lamp, shortest)[1] else shortest


def _leads(harness: Harness, way: tuple[str, ...]) -> bool:
    """Whether there is a leg for every step of a way."""
    legs = route_graph(harness).legs
    return all(other in legs.get(one, {}) for one, other in itertools.pairwise(way))


def why_left_out(harness: Harness, lamp: Lamp) -> str:
    """Why no plan can hold a lamp that was not walked, or an empty string."""
    if lamp.run is not None:
        return ""
    if lamp.output is None:
        return "has no output"
    if lamp.at is None and lamp.measured_mm is None:
        return "has no place and no measured length"
    return (
        ""
        if planned_ways(harness)[lamp.id] is not None
        else "is at a waypoint not connected to the controller"
    )


def nets(harness: Harness) -> tuple[int | None, ...]:
    """The nets that have lamps to plan: the common first (None), then outputs by number."""
    numbers = {
        lamp.output for lamp in harness.lamps if lamp.output is not None and not why_left_out(harness, lamp)
    }
    some = any(lamp.run is not None or not why_left_out(harness, lamp) for lamp in harness.lamps)
    return (*((None,) if some else ()), *sorted(numbers))


@by_identity
def begun(harness: Harness) -> frozenset[str]:
    """The chains ("L3-", "J1+") of which a wire was begun at the bench."""
    return frozenset(
        record.wire.partition(".")[0] for record in harness.ledger if record.live and record.steps
    )


@by_identity
def kept_lamps(harness: Harness) -> frozenset[str]:
    """The lamps of which a wire is not moved; their way stays too."""
    kept: set[str] = set()
    for polarity in Polarity:
        for output in {harness.net_of(lamp, polarity) for lamp in harness.lamps}:
            kept |= _kept(harness, output, polarity)[0]
    return frozenset(kept)


def _kept(harness: Harness, output: int | None, polarity: Polarity) -> tuple[set[str], set[str]]:
    """The lamps of a net whose wires stay where they end, and the joints that keep their wires."""
    started = begun(harness)
    if not started:
        return set(), set()
    own = [
        joint for joint in harness.joints if joint.output == output and harness.polarity_of(joint) is polarity
    ]
    feeders: dict[str, list[str]] = {joint.id: [] for joint in own}
    ends: dict[str, str | None] = {joint.id: joint.onto for joint in own}
    for lamp in harness.lamps:
        if lamp.run is not None and harness.net_of(lamp, polarity) == output:
            ends[lamp.id] = lamp.run.lead(polarity).joint
    for item, end in ends.items():
        if end in feeders:
            feeders[end].append(item)
    kept = {item for item in ends if origin_name(item, polarity) in started}
    joints = {item for item in kept if item in feeders} | {
        end for item in kept if (end := ends[item]) in feeders
    }
    waiting = list(joints)
    while waiting:
        for item in feeders[waiting.pop()]:
            kept.add(item)
            if item in feeders and item not in joints:
                joints.add(item)
                waiting.append(item)
    return {item for item in kept if item not in feeders}, {joint for joint in joints if joint is not None}


def net_polarity(harness: Harness, output: int | None) -> Polarity:
    """The polarity of the wires of a net."""
    controller = harness.controller
    return controller.common_polarity if output is None else controller.switched_polarity


def build_net(harness: Harness, output: int | None) -> Net:
    """The net of an output, or of the common (None), with the lamps that a plan can hold."""
    polarity = net_polarity(harness, output)
    own = [
        lamp
        for lamp in harness.lamps
        if harness.net_of(lamp, polarity) == output and not why_left_out(harness, lamp)
    ]
    kept, standing_ids = _kept(harness, output, polarity)
    lamps = tuple(lamp for lamp in own if lamp.id not in kept)
    standing = tuple(joint for joint in harness.joints if joint.id in standing_ids)
    price = prices(harness)
    near = route_graph(harness).distance_mm
    tops = tuple(
        joint
        for joint in standing
        if origin_name(joint.id, polarity) not in begun(harness)
        and joint.onto not in standing_ids
        and joint.at in near
    )
    plan = derive(harness)
    moved = {
        origin_name(item, polarity) for item in (*(lamp.id for lamp in lamps), *(top.id for top in tops))
    }
    fixed = {origin_name(item_id, polarity) for item_id in (*kept, *standing_ids)} - moved
    groups, built = _built(harness, len(lamps), standing, tops, price)
    problem = _problem(harness, output, lamps, tops, groups, price)
    return Net(
        output=output,
        polarity=polarity,
        all_lamps=tuple(lamp.id for lamp in own),
        lamps=lamps,
        standing=standing,
        tops=tops,
        built=built,
        fixed_mm=sum(wire.spool_mm for wire in plan.wires if wire.origin in fixed),
        problem=problem,
        sites=price.sites,
    )


def load_ma(harness: Harness, lamps: Iterable[str]) -> float:
    """What these lamps draw together on a full battery, in mA."""
    drawn = all_lamps(harness)
    return sum(drawn[lamp].current.full_ma for lamp in lamps)


def trunk_gauge(harness: Harness, carried_ma: float, own: str | None = None) -> str | None:
    """The gauge of a trunk that carries so much: `own` if that will do, else None if the project's will.

    Otherwise the thinnest that will of those on hand, else of the project's kind of sizes, even numbers
    only, as odd ones are seldom sold (common practice, no source); or the thickest of them.
    """
    standard = harness.settings.gauge
    for name in (own, None):
        if gauge(name or standard).current_ma >= carried_ma:
            return name
    able = [one for one in _trunk_gauges(harness) if one.current_ma >= carried_ma]
    on_hand = {spool.gauge for spool in harness.spools}
    return next(
        (one.name for one in able if one.name in on_hand), (able or _trunk_gauges(harness)[-1:])[0].name
    )


def _trunk_gauges(harness: Harness) -> list[Gauge]:
    """What trunks are made of where the project's gauge is too thin, thinnest first."""
    unit = harness.settings.gauge.split()[-1]
    on_hand = {spool.gauge for spool in harness.spools}
    return [
        one
        for one in GAUGES.values()
        if one.name in on_hand
        or (one.name.endswith(unit) and (unit != "AWG" or int(one.name.split()[0]) % 2 == 0))
    ]


def _load_max(harness: Harness, output: int | None) -> float:
    """The most a trunk may carry, in mA: what the thickest gauge does, and on the common what a pin takes."""
    limits = [max(one.current_ma for one in _trunk_gauges(harness))]
    pins = [common.limit_ma for _, common in harness.controller.commons()]
    if output is None and pins:
        limits.append(max(pins))
    return min(limits)


def _problem(
    harness: Harness,
    output: int | None,
    lamps: tuple[Lamp, ...],
    tops: tuple[Joint, ...],
    built: tuple[Built, ...],
    price: Prices,
) -> Gathering:
    settings = harness.settings
    ways = planned_ways(harness)
    rows = [price.lamp(harness, lamp, ways[lamp.id] or ()) for lamp in lamps]
    place = {site: number for number, site in enumerate(price.sites)}
    rows += [(price.site_site[place[top.at]], price.site_pin[place[top.at]]) for top in tops]
    trunk = derive(harness).trunk
    loads = [load_ma(harness, (lamp.id,)) for lamp in lamps]
    loads += [load_ma(harness, trunk[top.id].lamps) if top.id in trunk else 0.0 for top in tops]
    round_mm = settings.round_mm
    whole = abs(settings.joint_cost_mm / round_mm - round(settings.joint_cost_mm / round_mm)) < 1e-9
    reach = {point.id: point.reachable for point in harness.waypoints}
    return Gathering(
        start_site=tuple(row for row, _ in rows),
        start_pin=tuple(pin for _, pin in rows),
        site_site=price.site_site,
        site_pin=price.site_pin,
        may_join=tuple(reach[site] for site in price.sites),
        joint_cost=settings.joint_cost_mm,
        joint_room=settings.joint_max_wires - 1,
        pin_room=_pin_room(harness, output, {top.id for top in tops}),
        load=tuple(loads),
        load_max=_load_max(harness, output),
        built=built,
        grain=round_mm if whole else 0.0,
    )


def _pin_room(harness: Harness, output: int | None, tops: set[str]) -> int:
    """How many more wires of the net may end on its pins, beside those that are not moved."""
    polarity = net_polarity(harness, output)
    pins = len(list(harness.controller.commons())) if output is None else 1
    kept, standing = _kept(harness, output, polarity)
    used = sum(
        1
        for lamp in harness.lamps
        if lamp.id in kept and lamp.run is not None and lamp.run.lead(polarity).joint is None
    )
    used += sum(1 for joint in harness.joints if joint.id in standing - tops and joint.onto is None)
    return max(harness.settings.pin_max_wires * max(pins, 1) - used, 0)


def _built(
    harness: Harness, lamps: int, standing: tuple[Joint, ...], tops: tuple[Joint, ...], price: Prices
) -> tuple[tuple[Built, ...], tuple[Joint, ...]]:
    """The standing joints that take more wires, as the problem wants them, and as they are."""
    closed = {one.controller_end for one in harness.ledger if one.live and JOINED_STEPS & set(one.steps)}
    closed |= {one.lamp_end for one in harness.ledger if one.live and TRUNK_STEPS & set(one.steps)}
    plan = derive(harness)
    starts = {top.id: lamps + place for place, top in enumerate(tops)}
    by_id = {joint.id: joint for joint in standing}
    built: list[Built] = []
    joints: list[Joint] = []
    for joint in standing:
        room = harness.settings.joint_max_wires - 1 - len(plan.into_joint.get(joint.id, ()))
        if joint.id in closed or room < 1 or joint.at not in price.sites:
            continue
        load_room = _load_max(harness, joint.output)
        last: Joint | None = joint
        while last is not None:
            trunk = plan.trunk[last.id]
            most = _load_max(harness, joint.output) if last.id in starts else gauge(trunk.gauge).current_ma
            load_room = min(load_room, most - load_ma(harness, trunk.lamps))
            if last.id in starts or last.onto is None:
                break
            last = by_id.get(last.onto)
        if last is None or (
            last.id not in starts and origin_name(last.id, harness.polarity_of(last)) not in begun(harness)
        ):
            continue  # it leads nowhere
        built.append(
            Built(
                site=price.sites.index(joint.at),
                room=room,
                start=starts.get(last.id),
                load_room=max(load_room, 0.0),
            )
        )
        joints.append(joint)
    return tuple(built), tuple(joints)
