"""The plan of one net: its joints, what they cost and save, and how sure it is that nothing is cheaper."""

from __future__ import annotations

from collections.abc import Callable

import attrs

from model.errors import NotThere
from model.harness import Harness, Joint
from model.routing.gather import Gathered, gather, tree_cost, tree_faults
from model.routing.nets import Layout, Net, build_net, load_ma, trunk_gauge
from model.routing.tolls import Tolls, tolled
from model.routing.wires import chain, derive


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
    `for_room_mm` is what it costs more than the net's cheapest, so that a bundle goes through its hole.
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
    for_room_mm: float = 0.0

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


def plan_net(
    harness: Harness,
    output: int | None,
    step: Callable[[], object] = lambda: None,
    *,
    effort: float = 1.0,
    tolls: Tolls | None = None,
) -> NetPlan:
    """The cheapest plan found for the net of an output, or of the common (None). `step` is called now and
    then.

    `effort` is the share of the usual search where there are too many lamps for a proof. With `tolls` the
    plan is the cheapest with them; its figures are without.
    """
    net = build_net(harness, output)
    problem = tolled(harness, net, tolls) if tolls else net.problem
    gathered = gather(problem, step, effort=effort)

    def priced(cost: float) -> Gathered:
        if tolls:
            return attrs.evolve(gathered, cost=cost, bound=0.0, exact=False)
        return attrs.evolve(gathered, cost=cost, bound=min(gathered.bound, cost))

    standing = standing_layout(harness, net)
    tree = net.tree(standing) if standing is not None else None
    if standing is not None and tree is not None and (gathered.crowded or not tree_faults(problem, tree)):
        # A joint's trunk may take another way than the shortest; as it stands that is what it costs.
        longer = sum(
            _trunk_mm(harness, net, key) - net.price(standing, key, standing.ends[key])
            for key in (*standing.at, *(top.id for top in net.tops))
        )
        for as_it_stands, more in ((True, longer), (False, 0.0)):
            if tree_cost(problem, tree) + more <= gathered.cost + 1e-6:
                found = priced(tree_cost(net.problem, tree) + more)
                return net_plan_of(harness, net, standing, found, as_it_stands)
    layout = net.layout(gathered.tree)
    layout = layout.renamed(_old_names(harness, net, layout))
    return net_plan_of(harness, net, layout, priced(tree_cost(net.problem, gathered.tree)), False)


def _trunk_mm(harness: Harness, net: Net, joint_id: str) -> float:
    return sum(wire.spool_mm for wire in chain(harness, joint_id, net.polarity))


def standing_layout(harness: Harness, net: Net) -> Layout | None:
    """How a net is joined as it stands, or None where one of its lamps was not walked yet."""
    if any(lamp.run is None for lamp in net.lamps):
        return None
    ends = {lamp.id: lamp.run.lead(net.polarity).joint for lamp in net.lamps if lamp.run}
    ends |= {top.id: top.onto for top in net.tops}
    free = free_joints(harness, net)
    ends |= {joint.id: joint.onto for joint in free}
    return Layout(ends=ends, at={joint.id: joint.at for joint in free})


def free_joints(harness: Harness, net: Net) -> tuple[Joint, ...]:
    """The joints of a net that a plan may move or let go."""
    standing = {joint.id for joint in net.standing}
    return tuple(joint for joint in harness.joints if joint.output == net.output and joint.id not in standing)


def _old_names(harness: Harness, net: Net, layout: Layout) -> dict[str, str]:
    """Which new joints take the id of an old one: at the same waypoint, those with most wires in common
    first.
    """
    behind = _behind(harness, net, layout)
    plan = derive(harness)
    pairs = []
    for old in free_joints(harness, net):
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


def net_plan_of(
    harness: Harness, net: Net, layout: Layout, gathered: Gathered, as_it_stands: bool
) -> NetPlan:
    """The plan that a layout of a net is, with its figures; each joint before those that end in it."""
    layout = attrs.evolve(layout, at=_from_the_pin(layout))
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


def _from_the_pin(layout: Layout) -> dict[str, str]:
    """Where the joints are, each followed by those whose trunks end in it."""
    waiting = [key for key in layout.at if layout.ends[key] not in layout.at][::-1]
    ordered: dict[str, str] = {}
    while waiting:
        key = waiting.pop()
        ordered[key] = layout.at[key]
        waiting += [item for item in layout.feeds(key) if item in layout.at][::-1]
    return ordered


def _saves(net: Net, layout: Layout, key: str) -> float:
    """Wire saved by one joint: what its wires would need to go on by themselves, less what they and the
    trunk need.
    """

    def price(item: str, end: str | None) -> float:
        return net.price(layout, item, end)

    onto = layout.ends[key]
    return sum(price(item, onto) - price(item, key) for item in layout.feeds(key)) - price(key, onto)
