"""The questions of Routes: a place and how far it is, a leg, how much it moves, a plug and where it sits."""

from __future__ import annotations

from harness_tui.screens.room import Room
from harness_tui.screens.routes_form import needed
from harness_tui.widgets.ask import Choose
from harness_tui.widgets.ask_checked import AskChecked, ask_number
from model import editing, lengths
from model.harness import Leg, Waypoint
from model.routing.tree import Branch, free_plug_name, hang_waypoint, place_plug, plug_from_mm, waypoint_tree


def ask_place(room: Room, parent: str) -> None:
    """Ask for the next place behind `parent`, and how far it is."""
    harness = room.session.harness
    on_what = harness.waypoint(parent).name

    def can_be(name: str) -> None:
        if name.strip():
            hang_waypoint(harness, parent, " ".join(name.split()), 0.0)

    def named(name: str | None) -> None:
        if name and name.strip():
            _ask_length(room, parent, " ".join(name.split()))

    room.app.push_screen(
        AskChecked(
            f"Name of the next place behind {on_what}",
            check=can_be,
            more="For example  front bumper",
            choices=[branch.point.name for branch in waypoint_tree(harness) if not branch.connected],
        ),
        named,
    )


def _ask_length(room: Room, parent: str, name: str) -> None:
    harness = room.session.harness

    def can_be(value: float | None) -> None:
        hang_waypoint(harness, parent, name, needed(value, f"leg to {name}"))

    def measured(typed: str | None) -> None:
        if typed is None:
            room.say(f"{name} was not added.")
            return
        length_mm = needed(lengths.read(typed, name), name)
        if room.edit(lambda h: hang_waypoint(h, parent, name, length_mm), f"add {name}"):
            point = next(one for one in room.session.harness.waypoints if one.name.lower() == name.lower())
            room.go_to(point.id)
            room.say(f"Added {name}. a adds the next place behind it, b one beside it.")

    room.app.push_screen(
        ask_number(
            f"How far is {name} from {harness.waypoint(parent).name}, in {lengths.unit()}?",
            subject=f"leg to {name}",
            more="Measured with a ruler along the way the wires take.",
            then=can_be,
        ),
        measured,
    )


def ask_leg(room: Room, start: Waypoint) -> None:
    """Ask for another waypoint and the length of a leg from `start` to it."""
    harness = room.session.harness
    others = [
        one
        for one in waypoint_tree(harness)
        if not one.second and one.point is not start and harness.find_leg(start.id, one.point.id) is None
    ]
    if not others:
        only = len(harness.waypoints) == 1
        room.say(
            "There is no other place yet: a adds one."
            if only
            else f"{start.name} has a leg to every other waypoint already."
        )
        return

    def chosen(place: int | None) -> None:
        if place is not None:
            _ask_length_of_leg(room, start.id, others[place].point.id)

    lines = [
        f"{one.point.name}   "
        + (
            "not connected"
            if one.distance_mm is None
            else f"{lengths.text(one.distance_mm)} from the controller"
        )
        for one in others
    ]
    room.app.push_screen(Choose(f"A leg from {start.name} to", lines), chosen)


def _ask_length_of_leg(room: Room, start: str, end: str) -> None:
    harness = room.session.harness
    names = f"{harness.waypoint(start).name} to {harness.waypoint(end).name}"

    def can_be(value: float | None) -> None:
        editing.set_leg(harness, end, start, length_mm=needed(value, f"leg {names}"))

    def measured(typed: str | None) -> None:
        if typed is None:
            return
        length_mm = needed(lengths.read(typed, names), names)
        if room.edit(lambda h: editing.set_leg(h, end, start, length_mm=length_mm), f"leg {names}"):
            room.go_to(f"{start}-{end}")

    question = f"Length of the leg {names}, in {lengths.unit()}"
    room.app.push_screen(ask_number(question, subject=f"leg {names}", then=can_be), measured)


def ask_moving(room: Room, branch: Branch, leg: Leg) -> None:
    """Ask how much more wire the leg of a branch takes to move."""
    harness = room.session.harness

    def told(typed: str | None) -> None:
        if typed is None:
            return
        loop_mm = lengths.read(typed, f"leg to {branch.point.name}")
        words = f"leg to {branch.point.name}: {'fixed' if loop_mm is None else 'moving'}"
        if room.edit(lambda h: editing.set_leg(h, leg.a, leg.b, loop_mm=loop_mm), words):
            room.say(
                "The leg does not move."
                if loop_mm is None
                else f"{lengths.text(loop_mm)} more wire lie in this leg."
            )

    room.app.push_screen(
        ask_number(
            f"How much more wire does the leg to {branch.point.name} take to move, in {lengths.unit()}?",
            lengths.typed(leg.loop_mm),
            subject=f"leg to {branch.point.name}: loop",
            more="What is missing with the hinge or cab wide open. Empty: it does not move.",
            then=lambda value: editing.set_leg(harness, leg.a, leg.b, loop_mm=value),
        ),
        told,
    )


def ask_plug(room: Room, branch: Branch, leg: Leg, end: str) -> None:
    """Ask for the plug on the leg of a branch and how far it is from the waypoint `end`."""
    harness = room.session.harness

    def can_be(name: str) -> None:
        editing.set_leg(harness, leg.a, leg.b, plug=name.strip())

    def named(typed: str | None) -> None:
        name = (typed or "").strip()
        if name:
            _ask_plug_place(room, branch, leg, end, name)
        elif typed is not None and leg.plug:
            room.edit(lambda h: editing.set_leg(h, leg.a, leg.b, plug="", plug_mm=0.0), f"no plug {leg.plug}")

    room.app.push_screen(
        AskChecked(
            f"Name of the plug on the leg to {branch.point.name}",
            leg.plug or free_plug_name(harness),
            check=can_be,
            more="Each wire over this leg becomes two with a contact between. Empty: no plug.",
        ),
        named,
    )


def _ask_plug_place(room: Room, branch: Branch, leg: Leg, end: str, name: str) -> None:
    harness = room.session.harness
    parent = harness.waypoint(end).name

    def placed(typed: str | None) -> None:
        if typed is None:
            return
        value = lengths.read(typed, f"plug {name}")
        from_mm = leg.length_mm / 2 if value is None else value
        room.edit(lambda h: place_plug(h, leg, end, from_mm, name), f"plug {name}")

    room.app.push_screen(
        ask_number(
            f"How far is plug {name} from {parent}, in {lengths.unit()}? "
            f"The leg is {lengths.text(leg.length_mm)} long.",
            lengths.typed(plug_from_mm(leg, end)) if leg.plug else "",
            subject=f"plug {name}",
            more="Empty: in the middle.",
            then=lambda value: value is None or place_plug(harness, leg, end, value, name),
        ),
        placed,
    )
