"""What the walk offers for one lamp: its ways, and where its wires may merge, with what each saves and
costs.
"""

from __future__ import annotations

from collections.abc import Sequence

import attrs

from model.editing import Merge, RunChoice, accept_run
from model.harness import Harness, Joint, Lamp, Polarity
from model.routing.graph import ways
from model.routing.wires import EndKind, Wire, chain, derive, origin_name


@attrs.frozen(kw_only=True)
class Offer:
    """One possible merge of one polarity of a lamp; `merge` is None for a wire of its own.

    `saves_mm` is wire saved against a wire of its own, `joints` how many joints it adds (0 into one that is
    there), `lamps` the other lamps it meets there, `retires` the tags in use that it would retire.
    """

    merge: Merge | None
    at: str = ""
    saves_mm: float = 0.0
    joints: int = 0
    lamps: tuple[str, ...] = ()
    retires: tuple[str, ...] = ()


def way_choices(harness: Harness, lamp_id: str) -> tuple[tuple[str, ...], ...]:
    """The ways a lamp can take, the shortest first; an empty way stands for its measured length.

    Empty tuple: the lamp can't reach the controller, or has no place.
    """
    lamp = harness.lamp(lamp_id)
    found = ways(harness, lamp.at) if lamp.at is not None else ()
    return ((), *found) if lamp.measured_mm is not None else found


def merge_offers(
    harness: Harness, lamp_id: str, way: tuple[str, ...], polarity: Polarity
) -> tuple[Offer, ...]:
    """Every merge of one polarity along `way`, from the lamp to the controller; the last is the wire on its
    own.

    Offered are joints of the net with room on the way, and new joints with wires of the net that pass.
    Wires begun at the bench are not cut. Savings are exact: the difference of all cut lengths with and
    without the merge.
    """
    alone = accept_run(harness, lamp_id, RunChoice(way=way))
    lamp = alone.lamp(lamp_id)
    net = alone.net_of(lamp, polarity)
    if net is None and polarity is harness.controller.switched_polarity:
        return (Offer(merge=None, retires=_retired(harness, alone, polarity)),)
    points = way or (harness.controller.at,)
    offers = []
    for point in points:
        waypoint = harness.find_waypoint(point)
        if waypoint is None or not waypoint.reachable:
            continue
        for merge, lamps in _merges_at(alone, lamp_id, net, polarity, point):
            offers.append(_priced(harness, alone, lamp_id, way, polarity, merge, lamps))
    return (*offers, Offer(merge=None, retires=_retired(harness, alone, polarity)))


def standing_offer(harness: Harness, lamp_id: str, way: tuple[str, ...], polarity: Polarity) -> Offer | None:
    """The merge that an accepted run has now, with what it truly saves; None where it has none, or where
    `way` does not pass it.
    """
    run = harness.lamp(lamp_id).run
    joint = harness.find_joint(run.lead(polarity).joint) if run is not None else None
    if run is None or joint is None:
        return None
    # Another way may not pass the joint; a run measured as one length is known at the controller only.
    if way != run.way and joint.at not in (way or (harness.controller.at,)):
        return None
    alone = accept_run(harness, lamp_id, RunChoice(way=way))
    kept = accept_run(harness, lamp_id, RunChoice(way=way, keep=(polarity,)))
    trunk = derive(harness).trunk.get(joint.id)
    return Offer(
        merge=None,
        at=joint.at,
        saves_mm=_changed_mm(alone, kept, polarity) - _changed_mm(kept, alone, polarity),
        lamps=tuple(lamp for lamp in (trunk.lamps if trunk else ()) if lamp != lamp_id),
        retires=_retired(harness, kept, polarity),
    )


def may_merge(harness: Harness, lamp_id: str, polarity: Polarity) -> bool:
    """Whether the own wire of an accepted run has a merge on its way: a joint of its net with room, or
    another wire of the net that passes where a joint can be made. Nothing is worked out anew for it.
    """
    lamp = harness.lamp(lamp_id)
    if lamp.run is None:
        return False
    net = harness.net_of(lamp, polarity)
    for name in lamp.run.way or (harness.controller.at,):
        point = harness.find_waypoint(name)
        if point is not None and point.reachable and _merges_at(harness, lamp_id, net, polarity, name):
            return True
    return False


def _merges_at(
    harness: Harness, lamp_id: str, net: int | None, polarity: Polarity, point: str
) -> list[tuple[Merge, tuple[str, ...]]]:
    plan = derive(harness)
    most = harness.settings.joint_max_wires
    found: list[tuple[Merge, tuple[str, ...]]] = []
    for joint in harness.joints:
        if joint.at == point and joint.output == net and len(plan.at_joint(joint.id)) < most:
            trunk = plan.trunk.get(joint.id)
            found.append((Merge(at=point, into=joint.id), trunk.lamps if trunk else ()))
    passing = _passing(harness, lamp_id, net, polarity, point)
    # Room for this lamp's wire and the trunk; what passes first is gathered first.
    gathered = passing[: most - 2]
    if gathered:
        lamps = tuple(dict.fromkeys(lamp for wire in gathered for lamp in wire.lamps))
        found.append((Merge(at=point, gather=tuple(wire.origin[:-1] for wire in gathered)), lamps))
    return found


def _passing(harness: Harness, lamp_id: str, net: int | None, polarity: Polarity, point: str) -> list[Wire]:
    """One wire for each chain of the net that passes or starts at a waypoint and doesn't end in a joint
    there.
    """
    passing: dict[str, Wire] = {}
    begun = {record.wire.partition(".")[0] for record in harness.ledger if record.live and record.steps}
    for wire in derive(harness).wires:
        if (
            wire.output != net
            or wire.polarity is not polarity
            or wire.origin == origin_name(lamp_id, polarity)
        ):
            continue
        if point not in wire.path or wire.origin in passing or wire.origin in begun:
            continue
        # At a joint that stands here already the joint itself is offered, or is full.
        if any(end.kind is EndKind.JOINT and end.at == point for end in (wire.lamp_end, wire.controller_end)):
            continue
        passing[wire.origin] = wire
    return list(passing.values())


def _priced(
    harness: Harness,
    alone: Harness,
    lamp_id: str,
    way: tuple[str, ...],
    polarity: Polarity,
    merge: Merge,
    lamps: Sequence[str],
) -> Offer:
    choice = RunChoice(way=way, plus=merge) if polarity is Polarity.PLUS else RunChoice(way=way, minus=merge)
    # From the plan as it stands, as the walk takes it: which joint a new one leads on to depends on that.
    merged = accept_run(harness, lamp_id, choice)
    return Offer(
        merge=merge,
        at=merge.at,
        saves_mm=_changed_mm(alone, merged, polarity) - _changed_mm(merged, alone, polarity),
        joints=len(merged.joints) - len(alone.joints),
        lamps=tuple(lamps),
        retires=_retired(harness, merged, polarity),
    )


def _retired(harness: Harness, after: Harness, polarity: Polarity) -> tuple[str, ...]:
    """The tags of `harness` that something carries and whose wires have other ends, or are gone, in
    `after`.
    """
    issued = [record for record in harness.ledger if record.live and record.issued]
    if not issued:
        return ()
    same = {id(item) for item in (*harness.lamps, *harness.joints)}
    items: tuple[Lamp | Joint, ...] = (*after.lamps, *after.joints)
    moved = [item.id for item in items if id(item) not in same]
    gone = {joint.id for joint in harness.joints} - {joint.id for joint in after.joints}
    origins = {origin_name(item, polarity) for item in (*moved, *gone)}
    wires = {wire.key: wire for item in moved for wire in chain(after, item, polarity)}
    retired = []
    for record in issued:
        wire = wires.get(record.wire)
        ends = (wire.lamp_end.ref, wire.controller_end.ref) if wire else None
        if record.wire.partition(".")[0] in origins and ends != (record.lamp_end, record.controller_end):
            retired.append(record.tag)
    return tuple(retired)


def _changed_mm(harness: Harness, other: Harness, polarity: Polarity) -> float:
    """Wire in `harness` of the lamps and joints that are not the same in `other`, in mm."""
    same = {id(item) for item in (*other.lamps, *other.joints)}
    items: tuple[Lamp | Joint, ...] = (*harness.lamps, *harness.joints)
    changed = [item.id for item in items if id(item) not in same]
    return sum(wire.spool_mm for item in changed for wire in chain(harness, item, polarity))


def best_offer(harness: Harness, offers: Sequence[Offer]) -> int:
    """The place of the offer that saves most once each new joint is paid for; the wire on its own if none
    does.

    A joint costs what the settings say, in mm of wire. An offer that retires tags in use is never filled
    in by itself.
    """
    cost = harness.settings.joint_cost_mm

    def worth(place: int) -> float:
        offer = offers[place]
        if offer.merge is None:
            return 0.0
        return float("-inf") if offer.retires else offer.saves_mm - cost * offer.joints

    return max(range(len(offers)), key=lambda place: (worth(place), place))
