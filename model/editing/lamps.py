"""The list of lamps."""

from __future__ import annotations

import re
from typing import Any

import attrs

from model.editing.joints import let_go_of_lone_joints
from model.editing.naming import next_id, swap
from model.editing.outputs import existing_output
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


def mirror_lamp(harness: Harness, lamp_id: str) -> Harness:
    """Add the lamp of the other side: names turned over, same lamp. Where they get too long they are cut.

    The waypoint is the one with the turned-over name where there is one. An indicator gets no output, as
    left and right may not share one; other lamps keep theirs. Raises Conflict where the lamp has no side
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
    at = lamp.at
    if at is not None:
        turned_over = mirrored(harness.waypoint(at).name).lower()
        at = next((point.id for point in harness.waypoints if point.name.lower() == turned_over), at)
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
