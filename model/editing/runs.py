"""A lamp's run as decided: its way, its merges, its colours."""

from __future__ import annotations

import attrs

from model.editing.joints import let_go_of_lone_joints, swap_lamp
from model.editing.naming import next_id, swap
from model.editing.project import set_progress
from model.errors import Conflict
from model.harness import Harness, Joint, Lead, Polarity, Run


@attrs.frozen(kw_only=True)
class Merge:
    """Join a lamp's wire at waypoint `at`: into joint `into`, or in a new joint with the wires of `gather`.

    `gather` holds the lamps and joints ("L3", "J2") whose wires of the same net are cut there and joined.
    """

    at: str
    into: str | None = None
    gather: tuple[str, ...] = ()


@attrs.frozen(kw_only=True)
class RunChoice:
    """What a person chose for one lamp: its way, and for each polarity a merge (None: on its own) and a
    colour.

    The polarities in `keep` stay as they stand, whatever their merge.
    """

    way: tuple[str, ...] = ()
    keep: tuple[Polarity, ...] = ()
    plus: Merge | None = None
    minus: Merge | None = None
    plus_colour: str | None = None
    minus_colour: str | None = None

    def merge(self, polarity: Polarity) -> Merge | None:
        """The merge chosen for that polarity."""
        return self.plus if polarity is Polarity.PLUS else self.minus

    def colour(self, polarity: Polarity) -> str | None:
        """The colour chosen for that polarity; None is the scheme's."""
        return self.plus_colour if polarity is Polarity.PLUS else self.minus_colour


def accept_run(harness: Harness, lamp_id: str, choice: RunChoice) -> Harness:
    """Store a lamp's run as chosen, making the joints it needs. An earlier run of the lamp is replaced."""
    lamp = harness.lamp(lamp_id)
    old = lamp.run or Run()
    run = Run(way=choice.way)
    for polarity in Polarity:
        # A common pin once given stays, so that a printed label stays true.
        pin = old.lead(polarity).pin if choice.merge(polarity) is None or polarity in choice.keep else None
        joint = old.lead(polarity).joint if polarity in choice.keep else None
        run = run.with_lead(polarity, Lead(colour=choice.colour(polarity), pin=pin, joint=joint))
    if run == lamp.run and set(choice.keep) == set(Polarity):
        return harness
    harness = swap_lamp(harness, lamp, attrs.evolve(lamp, run=run))
    for polarity in Polarity:
        merge = choice.merge(polarity)
        if merge is not None and polarity not in choice.keep:
            harness = _merge(harness, lamp_id, polarity, merge)
    skipped = tuple(other for other in harness.progress.skipped if other != lamp_id)
    return let_go_of_lone_joints(set_progress(harness, skipped=skipped))


def _merge(harness: Harness, lamp_id: str, polarity: Polarity, merge: Merge) -> Harness:
    net = harness.net_of(harness.lamp(lamp_id), polarity)
    into = merge.into
    if into is None:
        target, pin, way = _target(harness, merge.gather, polarity, merge.at)
        joint = Joint(id=next_id(harness, "J"), at=merge.at, output=net, onto=target, pin=pin, way=way)
        into = joint.id
        harness = attrs.evolve(harness, joints=(*harness.joints, joint))
        for origin in merge.gather:
            harness = _redirect(harness, origin, polarity, into)
    elif harness.joint(into).output != net:
        raise Conflict(f"joint {into}", "is of another net", remedy="Choose another merge.")
    return _redirect(harness, lamp_id, polarity, into)


def _target(
    harness: Harness, gather: tuple[str, ...], polarity: Polarity, at: str
) -> tuple[str | None, str | None, tuple[str, ...]]:
    """Where a new joint's trunk goes: on to where the first of its wires went, a joint before a pin.

    A joint that leads on to one of the gathered is passed over: the trunk would come back to itself.
    """
    onto: str | None = None
    pin: str | None = None
    way: tuple[str, ...] = ()
    for origin in gather:
        if origin.startswith("J"):
            joint = harness.joint(origin)
            here, there, route = joint.onto, joint.pin, joint.way
        else:
            run = harness.lamp(origin).run
            if run is None:
                raise Conflict(f"lamp {harness.lamp(origin).name}", "has no run yet", remedy="Walk it first.")
            here, there, route = run.lead(polarity).joint, run.lead(polarity).pin, run.way
        if here is not None and _leads_to(harness, here, gather):
            continue
        onto = onto or here
        pin = pin or there
        if not way and at in route:
            way = route[route.index(at) :]
    return onto, None if onto else pin, way


def _leads_to(harness: Harness, joint_id: str | None, gathered: tuple[str, ...]) -> bool:
    """Whether a joint or one behind it on the way to the controller is among those gathered."""
    while joint_id is not None:
        if joint_id in gathered:
            return True
        joint_id = harness.joint(joint_id).onto
    return False


def _redirect(harness: Harness, origin: str, polarity: Polarity, joint_id: str) -> Harness:
    if origin.startswith("J"):
        joint = harness.joint(origin)
        new = attrs.evolve(joint, onto=joint_id, pin=None)
        return attrs.evolve(harness, joints=swap(harness.joints, joint, new))
    lamp = harness.lamp(origin)
    if lamp.run is None:
        raise Conflict(f"lamp {lamp.name}", "has no run yet", remedy="Walk it first.")
    lead = attrs.evolve(lamp.run.lead(polarity), joint=joint_id, pin=None)
    return swap_lamp(harness, lamp, attrs.evolve(lamp, run=lamp.run.with_lead(polarity, lead)))


def drop_run(harness: Harness, lamp_id: str) -> Harness:
    """Open a lamp's run again: its wires are no longer planned."""
    lamp = harness.lamp(lamp_id)
    return let_go_of_lone_joints(swap_lamp(harness, lamp, attrs.evolve(lamp, run=None)))


def skip_lamp(harness: Harness, lamp_id: str) -> Harness:
    """Leave a lamp for later in the walk."""
    harness.lamp(lamp_id)
    return set_progress(harness, skipped=tuple(dict.fromkeys((*harness.progress.skipped, lamp_id))))
