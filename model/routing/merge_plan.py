"""The merge plan: for the common and each output's net the joints that need least wire, and taking it over.

What is weighed is wire as it would really be cut, and a price for each joint (a setting, in mm of wire).
Joints are only made at waypoints that can be reached, hold no more wires than the settings say, and no more
wires end on a pin. A trunk that carries too much for the project's gauge is planned in a thicker one. Wires
begun at the bench stay. Trunks take the shortest way, lamps the shortest or the measured one; a lamp keeps
a way that needs no more wire, and the one of a wire that stays.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping

import attrs

from model.editing import let_go_of_lone_joints, next_ids, set_progress
from model.errors import NotThere
from model.harness import Harness, Joint, Lamp, Lead, Run
from model.routing.common_pins import give_common_pins
from model.routing.gather import Gathered, gather, tree_cost, tree_faults
from model.routing.graph import shortest_way
from model.routing.nets import (
    Layout,
    Net,
    begun,
    build_net,
    load_ma,
    net_polarity,
    nets,
    planned_ways,
    trunk_gauge,
    why_left_out,
)
from model.routing.wires import chain, derive

Report = Callable[[float], object]
"""Called with the share of the work that is done, 0 to 1; what it raises ends the work."""


@attrs.frozen(kw_only=True)
class PlannedJoint:
    """One joint of a plan.

    `key` is the id of the joint that it was, or "new 1", "new 2" ... within its net; `onto` the key of the
    joint its trunk ends in (None: the pin). `feeds` are the lamps and joints whose wires end in it, `lamps`
    all behind it. `gauge` is the trunk's where it has to be thicker than the project's. `saves_mm` is the
    wire that this one joint saves against its wires going on by themselves.
    """

    key: str
    at: str
    onto: str | None
    feeds: tuple[str, ...]
    lamps: tuple[str, ...]
    gauge: str | None
    saves_mm: float


@attrs.frozen(kw_only=True, eq=False)
class NetPlan:
    """The plan of one net, with its figures in mm.

    `lamps` are the ids of all its lamps. `wire_mm` is all wire of the net, `joint_count` all its joints,
    those that stand among them. `cost_mm` is wire and joints at their price, `bound_mm` a sum no plan can be
    below. `crowded`: more wires end on the pin than there is room for, as nothing else can be.
    `as_it_stands`: nothing would change but the ways of lamps that need less wire by another.
    """

    output: int | None
    lamps: tuple[str, ...]
    layout: Layout
    joints: tuple[PlannedJoint, ...]
    wire_mm: float
    joint_count: int
    cost_mm: float
    bound_mm: float
    exact: bool
    crowded: bool
    as_it_stands: bool

    @property
    def gap(self) -> float:
        """How much less a plan could cost at most, as a share of this one's cost; 0 where it is proved the
        least.
        """
        return (
            0.0 if self.exact or self.cost_mm <= 0 else max(self.cost_mm - self.bound_mm, 0.0) / self.cost_mm
        )

    def joint(self, key: str) -> PlannedJoint:
        """The planned joint of that key; raises NotThere."""
        for joint in self.joints:
            if joint.key == key:
                return joint
        raise NotThere(f"merge {key}", "is not in the plan", remedy="Work the plan out again.")


@attrs.frozen(kw_only=True, eq=False)
class Plan:
    """The plans of all nets, the common's first, and the lamps that none can hold, with the reason."""

    nets: tuple[NetPlan, ...]
    left_out: tuple[tuple[str, str], ...]

    def net(self, output: int | None) -> NetPlan:
        """The plan of one net; raises NotThere."""
        for net in self.nets:
            if net.output == output:
                return net
        raise NotThere("common" if output is None else f"output {output}", "has no lamps to plan")

    @property
    def wire_mm(self) -> float:
        """All wire of the plan."""
        return sum(net.wire_mm for net in self.nets)

    @property
    def joint_count(self) -> int:
        """All joints of the plan."""
        return sum(net.joint_count for net in self.nets)

    @property
    def exact(self) -> bool:
        """Whether every net is proved to be at its least."""
        return all(net.exact for net in self.nets)


def best_plan(harness: Harness, progress: Report | None = None) -> Plan:
    """The cheapest plan found for every net. Lamps that were not walked yet are in it, on their shortest
    way.

    Exact for nets of up to twelve lamps. Where the harness is already as cheap its joints are left as they
    are.
    """
    report = progress or (lambda share: None)
    wanted = nets(harness)
    sizes = [1.0 if output is not None else float(len(wanted)) for output in wanted]
    done = 0.0
    plans = []
    for output, size in zip(wanted, sizes, strict=True):
        # Within a net the end is not known beforehand; the bar creeps towards it.
        steps = _Steps(report, done / sum(sizes), size / sum(sizes))
        plans.append(plan_net(harness, output, steps.step))
        done += size
        report(done / sum(sizes))
    return Plan(nets=tuple(plans), left_out=_left_out(harness))


class _Steps:
    def __init__(self, report: Report, begin: float, share: float) -> None:
        self.report, self.begin, self.share, self.left = report, begin, share, 1.0

    def step(self) -> None:
        self.left *= 0.9
        self.report(self.begin + self.share * (1 - self.left))


def _left_out(harness: Harness) -> tuple[tuple[str, str], ...]:
    return tuple((lamp.id, why) for lamp in harness.lamps if (why := why_left_out(harness, lamp)))


def plan_net(harness: Harness, output: int | None, step: Callable[[], object] = lambda: None) -> NetPlan:
    """The cheapest plan found for the net of an output, or of the common (None). `step` is called now and
    then.
    """
    net = build_net(harness, output)
    gathered = gather(net.problem, step)
    standing = standing_layout(harness, net)
    if standing is not None:
        tree = net.tree(standing)
        if tree is not None and (gathered.crowded or not tree_faults(net.problem, tree)):
            shortest = tree_cost(net.problem, tree)
            # A joint's trunk may take another way than the shortest; as it stands that is what it costs.
            cost = shortest + sum(
                _trunk_mm(harness, net, key) - net.price(standing, key, standing.ends[key])
                for key in (*standing.at, *(top.id for top in net.tops))
            )
            for as_it_stands, price in ((True, cost), (False, shortest)):
                if price <= gathered.cost + 1e-6:
                    found = attrs.evolve(gathered, cost=price, bound=min(gathered.bound, price))
                    return _net_plan(harness, net, standing, found, as_it_stands)
    layout = net.layout(gathered.tree)
    return _net_plan(harness, net, layout.renamed(_old_names(harness, net, layout)), gathered, False)


def _trunk_mm(harness: Harness, net: Net, joint_id: str) -> float:
    return sum(wire.spool_mm for wire in chain(harness, joint_id, net.polarity))


def own_pairs(harness: Harness) -> Plan:
    """The plan in which each lamp has its own pair of wires; what stands at the bench stays."""
    plans = []
    for output in nets(harness):
        net = build_net(harness, output)
        layout = Layout(ends=dict.fromkeys(net.items), at={})
        tree = net.tree(layout)
        assert tree is not None
        cost = tree_cost(net.problem, tree)
        crowded = len(layout.ends) > net.problem.pin_room
        gathered = Gathered(tree=tree, cost=cost, bound=0.0, exact=False, crowded=crowded)
        plans.append(_net_plan(harness, net, layout, gathered, False))
    return Plan(nets=tuple(plans), left_out=_left_out(harness))


def standing_layout(harness: Harness, net: Net) -> Layout | None:
    """How a net is joined as it stands, or None where one of its lamps was not walked yet."""
    if any(lamp.run is None for lamp in net.lamps):
        return None
    ends = {lamp.id: lamp.run.lead(net.polarity).joint for lamp in net.lamps if lamp.run}
    ends |= {top.id: top.onto for top in net.tops}
    free = _free_joints(harness, net)
    ends |= {joint.id: joint.onto for joint in free}
    return Layout(ends=ends, at={joint.id: joint.at for joint in free})


def _free_joints(harness: Harness, net: Net) -> tuple[Joint, ...]:
    standing = {joint.id for joint in net.standing}
    return tuple(joint for joint in harness.joints if joint.output == net.output and joint.id not in standing)


def _old_names(harness: Harness, net: Net, layout: Layout) -> dict[str, str]:
    """Which new joints take the id of an old one: at the same waypoint, those with most wires in common
    first.
    """
    behind = _behind(harness, net, layout)
    plan = derive(harness)
    pairs = []
    for old in _free_joints(harness, net):
        fed = {wire.origin[:-1] for wire in plan.into_joint.get(old.id, ())}
        held = set(plan.trunk[old.id].lamps) if old.id in plan.trunk else set()
        for key, at in layout.at.items():
            if at == old.at:
                pairs.append((-len(fed & set(layout.feeds(key))), -len(held & set(behind[key])), key, old.id))
    names: dict[str, str] = {}
    for _, _, key, old_id in sorted(pairs):
        if key not in names and old_id not in names.values():
            names[key] = old_id
    return names


def _behind(harness: Harness, net: Net, layout: Layout) -> dict[str, tuple[str, ...]]:
    """The lamps behind each joint that is not standing, in the order of the list."""
    trunk = derive(harness).trunk
    own: dict[str, tuple[str, ...]] = {lamp.id: (lamp.id,) for lamp in net.lamps}
    own |= {top.id: trunk[top.id].lamps for top in net.tops if top.id in trunk}
    top_of = _tops(net)
    behind: dict[str, list[str]] = {key: [] for key in layout.at}
    for item, lamps in own.items():
        end = layout.ends[item]
        while end is not None:
            if end in behind:
                behind[end] += lamps
                end = layout.ends[end]
            else:
                end = layout.ends.get(top_of.get(end, ""))
    order = {lamp.id: place for place, lamp in enumerate(harness.lamps)}
    return {key: tuple(sorted(lamps, key=order.__getitem__)) for key, lamps in behind.items()}


def _tops(net: Net) -> dict[str, str]:
    """The standing joint at the controller end of each standing joint, where its trunk may be moved."""
    tops = {top.id for top in net.tops}
    onto = {joint.id: joint.onto for joint in net.standing}
    found = {}
    for joint in net.standing:
        end: str | None = joint.id
        while end is not None and end not in tops:
            end = onto.get(end)
        if end is not None:
            found[joint.id] = end
    return found


def _net_plan(harness: Harness, net: Net, layout: Layout, gathered: Gathered, as_it_stands: bool) -> NetPlan:
    joint_cost = harness.settings.joint_cost_mm
    behind = _behind(harness, net, layout)
    standing_mm = net.fixed_mm + joint_cost * len(net.standing)
    count = len(layout.at) + len(net.standing)
    joints = tuple(
        PlannedJoint(
            key=key,
            at=at,
            onto=layout.ends[key],
            feeds=layout.feeds(key),
            lamps=behind[key],
            gauge=trunk_gauge(harness, load_ma(harness, behind[key])),
            saves_mm=_saves(net, layout, key),
        )
        for key, at in layout.at.items()
    )
    return NetPlan(
        output=net.output,
        lamps=net.all_lamps,
        layout=layout,
        joints=joints,
        wire_mm=gathered.cost + standing_mm - joint_cost * count,
        joint_count=count,
        cost_mm=gathered.cost + standing_mm,
        bound_mm=gathered.bound + standing_mm,
        exact=gathered.exact,
        crowded=gathered.crowded,
        as_it_stands=as_it_stands,
    )


def _saves(net: Net, layout: Layout, key: str) -> float:
    """Wire saved by one joint: what its wires would need to go on by themselves, less what they and the
    trunk need.
    """

    def price(item: str, end: str | None) -> float:
        return net.price(layout, item, end)

    onto = layout.ends[key]
    return sum(price(item, onto) - price(item, key) for item in layout.feeds(key)) - price(key, onto)


# --- taking a plan over -------------------------------------------------------------------------------------


def apply(harness: Harness, plan: Plan, nets: Collection[int | None] | None = None) -> Harness:
    """The harness joined as planned, all of it or only some nets (outputs by number, None for the common).

    Lamps that were not walked are accepted on the way the plan gives them. The plan must be of this harness.
    Call settle afterwards, as after every edit; undoing it is keeping the old value. Returns `harness`
    itself where it is so already. Raises NotThere for a net that is not in the plan.
    """
    chosen = plan.nets if nets is None else tuple(plan.net(output) for output in dict.fromkeys(nets))
    changed, ways = harness, planned_ways(harness)
    for net in chosen:
        gone = {
            joint.id for joint in _free_joints(harness, build_net(harness, net.output))
        } - net.layout.at.keys()
        changed = _joined(changed, net, net.layout.ends, net.layout.at, gone, ways)
    return _finished(harness, changed, {net.output for net in chosen})


def joint_names(harness: Harness, plan: Plan) -> dict[tuple[int | None, str], str]:
    """The ids that all of a plan's joints have once it is taken over whole, by net and key."""
    keys = [(net.output, joint.key) for net in plan.nets for joint in net.joints]
    fresh = [key for key in keys if harness.find_joint(key[1]) is None]
    return {key: key[1] for key in keys} | dict(zip(fresh, next_ids(harness, "J", len(fresh)), strict=True))


def take_merge(harness: Harness, plan: Plan, output: int | None, key: str) -> Harness:
    """The harness with one merge of a plan, and the merges behind it, without which it can't be.

    Its trunk ends in the joint that it is planned to where that is there already, else on the pin. Wires
    that end in it now and are not planned to go on without it. Call settle afterwards.
    """
    net = plan.net(output)
    net.joint(key)
    keys = [key]
    for one in keys:
        keys += [item for item in net.layout.feeds(one) if item in net.layout.at]
    ends: dict[str, str | None] = {item: end for item, end in net.layout.ends.items() if end in keys}
    there = {joint.id for joint in harness.joints}
    onto = net.layout.ends[key]
    ends[key] = onto if onto in there and onto is not None and _room(harness, onto, key) else None
    for one in keys:
        old = harness.find_joint(one)
        for wire in derive(harness).into_joint.get(one, ()) if old is not None else ():
            if wire.origin[:-1] not in ends:
                ends[wire.origin[:-1]] = None
    at = {one: net.layout.at[one] for one in keys}
    changed = _joined(harness, net, ends, at, (), planned_ways(harness))
    return _finished(harness, changed, {output})


def _room(harness: Harness, joint_id: str, coming: str) -> bool:
    """Whether a joint takes the trunk of `coming`, which may end in it already."""
    feeds = {wire.origin[:-1] for wire in derive(harness).into_joint.get(joint_id, ())} | {coming}
    return len(feeds) < harness.settings.joint_max_wires


def _joined(
    harness: Harness,
    net: NetPlan,
    ends: Mapping[str, str | None],
    at: Mapping[str, str],
    gone: Collection[str],
    ways: Mapping[str, tuple[str, ...] | None],
) -> Harness:
    fresh = [key for key in at if harness.find_joint(key) is None]
    names: dict[str | None, str | None] = dict(zip(fresh, next_ids(harness, "J", len(fresh)), strict=True))

    def target(item: str) -> str | None:
        end = ends[item]
        return names.get(end, end)

    lamps = tuple(
        _lamp_joined(harness, lamp, net.output, target(lamp.id), ways[lamp.id] or ())
        if lamp.id in ends
        else lamp
        for lamp in harness.lamps
    )
    joints = [
        _joint_joined(harness, joint, target(joint.id))
        if joint.id in ends and not net.as_it_stands
        else joint
        for joint in harness.joints
        if joint.id not in gone
    ]
    for key in fresh:
        name = names[key]
        assert name is not None
        feeders = [item for item, end in ends.items() if end == key]
        joints.append(
            Joint(
                id=name,
                at=at[key],
                output=net.output,
                onto=target(key),
                colour=_one_colour(harness, net, feeders),
            )
        )
    return attrs.evolve(harness, lamps=lamps, joints=tuple(joints))


def _lamp_joined(
    harness: Harness, lamp: Lamp, output: int | None, end: str | None, way: tuple[str, ...]
) -> Lamp:
    polarity = net_polarity(harness, output)
    run = attrs.evolve(lamp.run or Run(), way=way)
    old = run.lead(polarity)
    lead: Lead = attrs.evolve(old, joint=end, pin=old.pin if end is None and old.joint is None else None)
    return attrs.evolve(lamp, run=run.with_lead(polarity, lead))


def _joint_joined(harness: Harness, joint: Joint, end: str | None) -> Joint:
    way = joint.way if joint.way == shortest_way(harness, joint.at) else ()
    pin = joint.pin if end is None and joint.onto is None else None
    return attrs.evolve(joint, onto=end, pin=pin, way=way)


def _one_colour(harness: Harness, net: NetPlan, feeders: Collection[str]) -> str | None:
    """The colour a person chose for all wires that meet, for the trunk; None where they follow the scheme or
    differ.
    """
    polarity = net_polarity(harness, net.output)
    colours = set()
    for item in feeders:
        lamp, joint = harness.find_lamp(item), harness.find_joint(item)
        if lamp is not None:
            colours.add(lamp.run.lead(polarity).colour if lamp.run else None)
        else:
            colours.add(joint.colour if joint is not None else None)
    return colours.pop() if len(colours) == 1 else None


def _finished(before: Harness, harness: Harness, outputs: Collection[int | None]) -> Harness:
    """Trunks thick enough, common pins given, nothing left over; `before` where nothing differs from it."""
    harness = let_go_of_lone_joints(_thick_enough(harness, outputs))
    if None in outputs:
        harness = give_common_pins(harness)
    walked = {lamp.id for lamp in harness.lamps if lamp.run is not None}
    skipped = tuple(lamp for lamp in harness.progress.skipped if lamp not in walked)
    harness = set_progress(harness, skipped=skipped)
    same = (harness.lamps, harness.joints, harness.progress) == (before.lamps, before.joints, before.progress)
    return before if same else harness


def _thick_enough(harness: Harness, outputs: Collection[int | None]) -> Harness:
    """Trunks of these nets in a gauge that carries their lamps; those begun at the bench, and thick ones,
    stay.
    """
    trunks = derive(harness).trunk
    started = begun(harness)
    joints = []
    for joint in harness.joints:
        trunk = trunks.get(joint.id)
        if trunk is not None and joint.output in outputs:
            needed = trunk_gauge(harness, load_ma(harness, trunk.lamps), joint.gauge)
            if trunk.origin not in started and needed != joint.gauge:
                joint = attrs.evolve(joint, gauge=needed)
        joints.append(joint)
    return attrs.evolve(harness, joints=tuple(joints))
