"""Taking a merge plan over: all of it, one net, or a single merge."""

from __future__ import annotations

from collections.abc import Collection, Mapping

import attrs

from model.editing import let_go_of_lone_joints, next_ids, set_progress
from model.harness import Harness, Joint, Lamp, Lead, Run
from model.routing.common_pins import give_common_pins
from model.routing.graph import shortest_way
from model.routing.net_plan import NetPlan, Plan, free_joints
from model.routing.nets import begun, build_net, load_ma, net_polarity, planned_ways, trunk_gauge
from model.routing.wires import derive


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
            joint.id for joint in free_joints(harness, build_net(harness, net.output))
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
