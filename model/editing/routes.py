"""Waypoints and the legs between them."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from typing import Any

import attrs

from model.editing.naming import named_alike, next_id, no_dot, swap
from model.errors import Conflict, NotThere
from model.harness import Harness, Leg, Waypoint


def add_waypoint(harness: Harness, name: str, **fields: Any) -> Harness:
    """Add a waypoint; its id is the next free one."""
    point = Waypoint(id=next_id(harness, "W"), name=name, **fields)
    return attrs.evolve(harness, waypoints=(*harness.waypoints, point))


def edit_waypoint(harness: Harness, waypoint_id: str, **changes: Any) -> Harness:
    """Change a waypoint's name or reach."""
    point = harness.waypoint(waypoint_id)
    return attrs.evolve(harness, waypoints=swap(harness.waypoints, point, attrs.evolve(point, **changes)))


def remove_waypoint(harness: Harness, waypoint_id: str) -> Harness:
    """Take a waypoint and its legs away; refused while a lamp, a joint or the controller is there."""
    point = harness.waypoint(waypoint_id)
    here = [lamp.name for lamp in harness.lamps if lamp.at == waypoint_id]
    here += [f"joint {joint.id}" for joint in harness.joints if joint.at == waypoint_id]
    if harness.controller.at == waypoint_id:
        here.append("the controller")
    if here:
        raise Conflict(
            f"waypoint {point.name}",
            f"holds {', '.join(here[:3])}",
            remedy="Move them to another waypoint first.",
        )
    for leg in harness.legs:
        if waypoint_id in leg.ends:
            harness = remove_leg(harness, leg.a, leg.b)
    points = tuple(other for other in harness.waypoints if other.id != waypoint_id)
    return attrs.evolve(harness, waypoints=points)


def set_leg(harness: Harness, a: str, b: str, **fields: Any) -> Harness:
    """Add the leg between two waypoints, or change it.

    A leg that is there may be named from either end; it keeps its own `a` and `b`, and `plug_mm` is always
    counted from its `a`.
    """
    harness.waypoint(a), harness.waypoint(b)
    old = harness.find_leg(a, b)
    plug = fields.get("plug", "")
    if plug and any(block.name == plug for block in harness.controller.blocks):
        raise named_alike(f"plug {plug}", "a block")
    if old is None or plug != old.plug:
        no_dot(f"plug {plug}")
    if plug and any(leg.plug == plug and leg is not old for leg in harness.legs):
        raise Conflict(f"plug {plug}", "is on another leg", remedy="Choose another name.")
    if old is None:
        return attrs.evolve(harness, legs=(*harness.legs, Leg(a=a, b=b, **fields)))
    new: Leg = attrs.evolve(old, **fields)
    if old.plug != new.plug:
        contacts = tuple(
            attrs.evolve(contact, plug=new.plug) if contact.plug == old.plug else contact
            for contact in harness.contacts
            if new.plug or contact.plug != old.plug
        )
        harness = attrs.evolve(harness, contacts=contacts)
    return attrs.evolve(harness, legs=swap(harness.legs, old, new))


def remove_leg(harness: Harness, a: str, b: str) -> Harness:
    """Take a leg away; ways over it are found anew."""
    old = harness.find_leg(a, b)
    if old is None:
        raise NotThere(f"leg {a} to {b}", "does not exist")
    harness = forget_ways(
        harness, lambda way: any({one, two} == old.ends for one, two in itertools.pairwise(way))
    )
    contacts = tuple(contact for contact in harness.contacts if not old.plug or contact.plug != old.plug)
    return attrs.evolve(harness, legs=tuple(leg for leg in harness.legs if leg is not old), contacts=contacts)


def forget_ways(harness: Harness, gone: Callable[[tuple[str, ...]], bool]) -> Harness:
    """Take from runs and joints the ways that are `gone`; they are found anew."""
    lamps = tuple(
        attrs.evolve(lamp, run=attrs.evolve(lamp.run, way=()))
        if lamp.run and lamp.run.way and gone(lamp.run.way)
        else lamp
        for lamp in harness.lamps
    )
    joints = tuple(
        attrs.evolve(joint, way=()) if joint.way and gone(joint.way) else joint for joint in harness.joints
    )
    return attrs.evolve(harness, lamps=lamps, joints=joints)
