"""The form of Routes: the fields of a waypoint and the leg it hangs on, and the edit a typed one means."""

from __future__ import annotations

from harness_tui.session import Edit
from harness_tui.widgets.form import Field
from model import editing, lengths
from model.errors import BadValue, Conflict
from model.routing.tree import Branch, place_plug, plug_from_mm, set_length

_ALSO = "240, 24 cm or 9 1/2 in"
"""Ways to type a length."""


def needed(value: float | None, subject: str) -> float:
    """A length that was typed. BadValue where there is none."""
    if value is None:
        raise BadValue(subject, "has no length", remedy=f"Type it in {lengths.unit()}.")
    return value


def place_fields(branch: Branch) -> list[Field]:
    """What can be changed on a line of the tree, as it stands."""
    fields = [] if branch.second else [
        Field(key="name", label="name", text=branch.point.name, help="what you call the place"),
        Field(
            key="reachable",
            label="reachable",
            text="yes" if branch.point.reachable else "no",
            choices=("yes", "no"),
            help="a joint can be made and mended there",
        ),
    ]  # fmt: skip
    leg, parent = branch.leg, branch.parent
    if leg is None or parent is None:
        return fields
    from_mm = lengths.typed(plug_from_mm(leg, parent.id)) if leg.plug else ""
    return [
        *fields,
        Field(
            key="length_mm",
            label=f"leg {lengths.unit()}",
            text=lengths.typed(leg.length_mm),
            help=f"from {parent.name}, with a ruler; {_ALSO}",
        ),
        Field(
            key="loop_mm",
            label=f"loop {lengths.unit()}",
            text=lengths.typed(leg.loop_mm),
            help=f"extra wire where it moves; empty: fixed; {_ALSO}",
        ),
        Field(key="plug", label="plug", text=leg.plug, help="name of the plug on the leg; empty: none"),
        Field(
            key="plug_mm",
            label=f"plug at {lengths.unit()}",
            text=from_mm,
            help=f"how far the plug is from {parent.name}; {_ALSO}",
        ),
        Field(
            key="hole_mm",
            label="hole mm",
            text="" if leg.hole_mm is None else f"{leg.hole_mm:g}",
            help="clear diameter of the narrowest hole; 9.5, 3/8 in",
        ),
    ]


def place_edit(branch: Branch, key: str, text: str) -> Edit:
    """The edit that a typed field means. BadValue or Conflict where it can mean none."""
    point = branch.point
    if key == "name":
        return lambda h: editing.edit_waypoint(h, point.id, name=" ".join(text.split()))
    if key == "reachable":
        if text not in ("yes", "no"):
            raise BadValue(f"waypoint {point.name}: reachable", text, limit="yes or no")
        return lambda h: editing.edit_waypoint(h, point.id, reachable=text == "yes")
    leg, parent = branch.leg, branch.parent
    if leg is None or parent is None:
        raise Conflict(f"waypoint {point.name}", "has no leg here", remedy="Lead one with l.")
    a, b, end = leg.a, leg.b, parent.id
    if key == "plug":
        plug = text.strip()
        if plug and not leg.plug:
            return lambda h: place_plug(h, leg, end, leg.length_mm / 2, plug)
        return lambda h: editing.set_leg(h, a, b, plug=plug)
    labels = {"length_mm": "length", "loop_mm": "loop", "plug_mm": "plug", "hole_mm": "hole"}
    subject = f"leg to {point.name}: {labels[key]}"
    value = lengths.read(text, subject, "mm" if key == "hole_mm" else None)
    if key == "length_mm":
        length_mm = needed(value, f"leg to {point.name}")
        return lambda h: set_length(h, leg, end, length_mm)
    if key == "plug_mm":
        from_mm = needed(value, f"plug {leg.plug}")
        return lambda h: place_plug(h, leg, end, from_mm)
    return lambda h: editing.set_leg(h, a, b, **{key: value})
