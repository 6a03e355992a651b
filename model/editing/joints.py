"""Joints of wires: their trunk, and letting go of those that join nothing."""

from __future__ import annotations

from typing import Any

import attrs

from model.editing.naming import swap
from model.editing.project import set_progress
from model.errors import BadValue
from model.harness import Harness, Joint, Lamp, Polarity, Run


def set_joint(harness: Harness, joint_id: str, **changes: Any) -> Harness:
    """Change a joint's trunk: its colour, gauge or common pin."""
    joint = harness.joint(joint_id)
    allowed = {"colour", "gauge", "pin", "way"}
    if not changes.keys() <= allowed:
        raise BadValue(f"joint {joint_id}", f"{', '.join(changes.keys() - allowed)} can't be changed here")
    return attrs.evolve(harness, joints=swap(harness.joints, joint, attrs.evolve(joint, **changes)))


def let_go_of_lone_joints(harness: Harness) -> Harness:
    """Let go of joints that join fewer than two wires: the wire left goes on to where the trunk went."""
    while True:
        feeders: dict[str, list[tuple[str, Polarity]]] = {joint.id: [] for joint in harness.joints}
        for lamp in harness.lamps:
            for polarity in Polarity:
                end = lamp.run.lead(polarity).joint if lamp.run else None
                if end is not None and end in feeders:
                    feeders[end].append((lamp.id, polarity))
        for joint in harness.joints:
            if joint.onto is not None and joint.onto in feeders:
                feeders[joint.onto].append((joint.id, harness.polarity_of(joint)))
        lone = next((joint for joint in harness.joints if len(feeders[joint.id]) < 2), None)
        if lone is None:
            live = {lamp.id for lamp in harness.lamps} | {joint.id for joint in harness.joints}
            contacts = tuple(contact for contact in harness.contacts if contact.origin[:-1] in live)
            skipped = tuple(lamp_id for lamp_id in harness.progress.skipped if lamp_id in live)
            if len(contacts) != len(harness.contacts):
                harness = attrs.evolve(harness, contacts=contacts)
            return set_progress(harness, skipped=skipped)
        joints = tuple(joint for joint in harness.joints if joint is not lone)
        for origin, polarity in feeders[lone.id]:
            harness = _go_on(harness, origin, polarity, lone)
            joints = tuple(joint for joint in harness.joints if joint.id != lone.id)
        harness = attrs.evolve(harness, joints=joints)


def _go_on(harness: Harness, origin: str, polarity: Polarity, gone: Joint) -> Harness:
    if origin.startswith("J"):
        joint = harness.joint(origin)
        new = attrs.evolve(joint, onto=gone.onto, pin=gone.pin)
        return attrs.evolve(harness, joints=swap(harness.joints, joint, new))
    lamp = harness.lamp(origin)
    run = lamp.run or Run()
    lead = attrs.evolve(run.lead(polarity), joint=gone.onto, pin=gone.pin)
    return swap_lamp(harness, lamp, attrs.evolve(lamp, run=run.with_lead(polarity, lead)))


def swap_lamp(harness: Harness, old: Lamp, new: Lamp) -> Harness:
    """The harness with `new` in the place of lamp `old`."""
    return attrs.evolve(harness, lamps=swap(harness.lamps, old, new))
