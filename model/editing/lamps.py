"""The list of lamps."""

from __future__ import annotations

import re
from typing import Any

import attrs

from model.editing.joints import let_go_of_lone_joints
from model.editing.naming import next_id, swap
from model.editing.outputs import existing_output
from model.editing.routes import add_waypoint, set_leg
from model.errors import Conflict
from model.harness import Harness, Lamp
from model.values import NAME_MAX


def add_lamp(harness: Harness, name: str, **fields: Any) -> Harness:
    """Add a lamp at the end of the list; its id is the next free one."""
    return _checked(
        attrs.evolve(harness, lamps=(*harness.lamps, Lamp(id=next_id(harness, "L"), name=name, **fields)))
    )


def _checked(harness: Harness) -> Harness:
    lamp = harness.lamps[-1]
    _lamp_refers(harness, lamp)
    return harness


def _lamp_refers(harness: Harness, lamp: Lamp) -> None:
    if lamp.at is not None:
        harness.waypoint(lamp.at)
    if lamp.output is not None:
        existing_output(harness, lamp.output)


def edit_lamp(harness: Harness, lamp_id: str, **changes: Any) -> Harness:
    """Change a lamp. On another output its switched wire leaves its joint; at another place its way is found
    anew.
    """
    lamp = harness.lamp(lamp_id)
    new: Lamp = attrs.evolve(lamp, **changes)
    _lamp_refers(harness, new)
    if new.run is not None:
        run = new.run
        if new.output != lamp.output:
            switched = harness.controller.switched_polarity
            run = run.with_lead(switched, attrs.evolve(run.lead(switched), joint=None))
        if new.at != lamp.at:
            run = attrs.evolve(run, way=())
        new = attrs.evolve(new, run=run)
    return let_go_of_lone_joints(attrs.evolve(harness, lamps=swap(harness.lamps, lamp, new)))


def copy_lamp(harness: Harness, lamp_id: str, **changes: Any) -> Harness:
    """Add a copy of a lamp behind it, without its run, under a name not in use."""
    lamp = harness.lamp(lamp_id)
    fields = {"name": _free_name(harness, lamp.name), **changes}
    copy: Lamp = attrs.evolve(lamp, id=next_id(harness, "L"), run=None, **fields)
    place = harness.lamps.index(lamp) + 1
    return attrs.evolve(harness, lamps=(*harness.lamps[:place], copy, *harness.lamps[place:]))


def _free_name(harness: Harness, name: str) -> str:
    names = {lamp.name for lamp in harness.lamps}
    stem = re.sub(r" \d+$", "", name)[:55]
    return next(free for count in range(2, 100_000) if (free := f"{stem} {count}") not in names)


_SIDES = {
    "left": "right",
    "right": "left",
    "port": "starboard",
    "starboard": "port",
    "nearside": "offside",
    "offside": "nearside",
}


_SIDE = re.compile(rf"\b({'|'.join(_SIDES)})\b", re.IGNORECASE)


def mirrored(words: str) -> str:
    """`words` with left and right (port and starboard, nearside and offside) changed over, capitals kept."""

    def swap(found: re.Match[str]) -> str:
        word = found.group(0)
        other = _SIDES[word.lower()]
        return other.upper() if word.isupper() else other.capitalize() if word[0].isupper() else other

    return _SIDE.sub(swap, words)


def _cut(words: str) -> str:
    return words if len(words) <= NAME_MAX else f"{words[: NAME_MAX - 1].rstrip()}\u2026"


def missing_mirror(harness: Harness, lamp_id: str) -> str:
    """The name of the waypoint of the other side at which a mirrored lamp would sit, where there is none yet.

    An empty string where there is one, or where the lamp's waypoint has no side.
    """
    at = harness.lamp(lamp_id).at
    if at is None or at == harness.controller.at:
        return ""
    name = harness.waypoint(at).name
    turned_over = _cut(mirrored(name))
    return "" if turned_over == name or _mirror_of(harness, at) != at else turned_over


def _mirror_of(harness: Harness, waypoint_id: str) -> str:
    """The waypoint with the turned-over name, or the same one."""
    turned_over = _cut(mirrored(harness.waypoint(waypoint_id).name)).lower()
    return next((point.id for point in harness.waypoints if point.name.lower() == turned_over), waypoint_id)


def _with_mirror(harness: Harness, waypoint_id: str, name: str) -> Harness:
    """Add the waypoint of the other side with its legs towards the controller.

    They are as long, with the same holes and moving joints, and lead to the neighbour of the other side where
    there is one. A plug has a name of its own, so none is copied.
    """
    point = harness.waypoint(waypoint_id)
    new = add_waypoint(harness, name, reachable=point.reachable)
    added = new.waypoints[-1].id
    for leg in harness.legs:
        neighbour = leg.b if leg.a == waypoint_id else leg.a
        if waypoint_id in leg.ends and _leads_home(harness, neighbour, waypoint_id):
            same = {"length_mm": leg.length_mm, "loop_mm": leg.loop_mm, "hole_mm": leg.hole_mm}
            new = set_leg(new, added, _mirror_of(harness, neighbour), **same)
    return new


def _leads_home(harness: Harness, waypoint_id: str, without: str) -> bool:
    """Whether legs lead from a waypoint to the controller that do not pass another one."""
    reached, waiting = {without, waypoint_id}, [waypoint_id]
    while waiting:
        here = waiting.pop()
        if here == harness.controller.at:
            return True
        onward = {end for leg in harness.legs if here in leg.ends for end in leg.ends} - reached
        reached |= onward
        waiting += onward
    return False


def mirror_lamp(harness: Harness, lamp_id: str, *, make_waypoint: bool = False) -> Harness:
    """Add the lamp of the other side: names turned over, same lamp. Where they get too long they are cut.

    The waypoint is the one with the turned-over name where there is one; else with `make_waypoint` it is made
    (`missing_mirror` names it), and without it the lamp stays at the same one. An indicator gets no output,
    as left and right may not share one; other lamps keep theirs. Raises Conflict where the lamp has no side
    or its other side exists.
    """
    lamp = harness.lamp(lamp_id)
    name = _cut(mirrored(lamp.name))
    hand = {"left": "right", "right": "left"}.get(lamp.hand, "")
    if name == lamp.name and not hand:
        raise Conflict(
            f"lamp {lamp.name}", "has no left or right", remedy="Say its side in the name or the side field."
        )
    if name == lamp.name:
        name = _free_name(harness, lamp.name)
    if any(other.name == name for other in harness.lamps):
        raise Conflict(f"lamp {name}", "exists already", remedy="Copy the lamp instead.")
    missing = missing_mirror(harness, lamp_id) if make_waypoint else ""
    if missing and lamp.at is not None:
        harness = _with_mirror(harness, lamp.at, missing)
    at = _mirror_of(harness, lamp.at) if lamp.at is not None else None
    output = None if lamp.function == "indicator" else lamp.output
    place = _cut(mirrored(lamp.place))
    return copy_lamp(
        harness, lamp_id, name=name, place=place, hand=type(lamp.hand)(hand), at=at, output=output
    )


def remove_lamp(harness: Harness, lamp_id: str) -> Harness:
    """Take a lamp and its wires away; joints it leaves alone go with it."""
    lamp = harness.lamp(lamp_id)
    return let_go_of_lone_joints(
        attrs.evolve(harness, lamps=tuple(other for other in harness.lamps if other is not lamp))
    )


def move_lamp(harness: Harness, lamp_id: str, step: int) -> Harness:
    """Move a lamp `step` places down the list (up if negative); the walk goes in this order."""
    lamp = harness.lamp(lamp_id)
    rest = [other for other in harness.lamps if other is not lamp]
    place = min(max(harness.lamps.index(lamp) + step, 0), len(rest))
    return attrs.evolve(harness, lamps=(*rest[:place], lamp, *rest[place:]))
