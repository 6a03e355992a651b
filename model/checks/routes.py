"""Rules on waypoints, legs, plugs and joints."""

from __future__ import annotations

from collections.abc import Iterator

from model.checks.naming import same, some, twice
from model.findings import Finding, Severity
from model.harness import Harness, Leg
from model.routing.graph import route_graph
from model.routing.sleeves import joint_sleeve
from model.routing.wires import derive
from model.values import counted


def leg_ref(leg: Leg) -> str:
    """The id of a leg for the cursor: its waypoints, "W1-W2"."""
    return f"{leg.a}-{leg.b}"


def _leg_name(harness: Harness, leg: Leg) -> str:
    return f"{harness.waypoint(leg.a).name} to {harness.waypoint(leg.b).name}"


def double_waypoints(harness: Harness) -> Iterator[Finding]:
    """Waypoints of one name."""
    doubled = twice(point.name for point in harness.waypoints)
    seen: set[str] = set()
    for point in harness.waypoints:
        name = same(point.name)
        if name in doubled and name in seen:
            yield Finding(
                subject=point.name,
                rule="name used twice",
                found=f"is the name of {counted(doubled[name], 'waypoint')}",
                limit="1 waypoint a name",
                remedy="Give this one another name.",
                place="routes",
                ref=point.id,
            )
        seen.add(name)


def cut_off(harness: Harness) -> Iterator[Finding]:
    """Waypoints without a leg, and those whose legs do not lead to the controller."""
    graph = route_graph(harness)
    controller = harness.waypoint(harness.controller.at).name
    for point in harness.waypoints:
        if point.id in graph.distance_mm and (graph.legs[point.id] or len(harness.waypoints) == 1):
            continue
        lone = not graph.legs[point.id]
        if lone and point.id == harness.controller.at and harness.legs:
            found = "is where the controller sits, and no leg leads there"
        elif lone:
            found = "has no leg"
        else:
            found = f"has no way to {controller}"
        yield Finding(
            subject=point.name,
            rule="waypoint cut off",
            found=found,
            remedy="Measure the leg to its neighbour and enter it on Routes, or remove the waypoint.",
            severity=Severity.WARNING
            if any(lamp.at == point.id for lamp in harness.lamps)
            else Severity.NOTE,
            place="routes",
            ref=point.id,
        )


def leg_without_length(harness: Harness) -> Iterator[Finding]:
    """A leg of zero length."""
    for leg in harness.legs:
        if leg.length_mm == 0:
            yield Finding(
                subject=_leg_name(harness, leg),
                rule="leg without length",
                found="0 mm",
                limit="above 0 mm",
                remedy="Measure the leg with a ruler and enter it on Routes.",
                place="routes",
                ref=leg_ref(leg),
            )


def joint_without_loop(harness: Harness) -> Iterator[Finding]:
    """A moving joint for which no extra length is entered."""
    for leg in harness.legs:
        if leg.loop_mm == 0:
            yield Finding(
                subject=_leg_name(harness, leg),
                rule="moving joint without loop",
                found="0 mm extra where it moves",
                limit="above 0 mm",
                remedy="Open it fully, measure how much further the wire has to go, and enter that.",
                place="routes",
                ref=leg_ref(leg),
            )


def contact_twice(harness: Harness) -> Iterator[Finding]:
    """Two wires on one contact of a plug."""
    users: dict[tuple[str, int], list[str]] = {}
    for contact in harness.contacts:
        users.setdefault((contact.plug, contact.number), []).append(contact.origin)
    legs = {leg.plug: leg for leg in harness.legs if leg.plug}
    for (plug, number), origins in users.items():
        if len(origins) > 1:
            yield Finding(
                subject=f"plug {plug}",
                rule="contact used twice",
                found=f"contact {number} carries {some(origins)}",
                limit="1 wire a contact",
                remedy="Remove the plug from its leg and put it back: the contacts are then given anew.",
                place="routes",
                ref=leg_ref(legs[plug]) if plug in legs else "",
            )


def dotted_plug(harness: Harness) -> Iterator[Finding]:
    """A plug with a dot in its name, as older files may hold: its contacts are not told from pins."""
    for leg in harness.legs:
        if "." in leg.plug:
            yield Finding(
                subject=f"plug {leg.plug}",
                rule="dot in a name",
                found=f"contact {leg.plug}.1 could be a pin of a block as well",
                limit="no dot: it stands before the contact",
                remedy="Give the plug another name on Routes; its wires follow.",
                place="routes",
                ref=leg_ref(leg),
            )


def joint_out_of_reach(harness: Harness) -> Iterator[Finding]:
    """A joint at a waypoint where none can be made or mended."""
    for joint in harness.joints:
        point = harness.waypoint(joint.at)
        if not point.reachable:
            yield Finding(
                subject=f"joint {joint.id}",
                rule="joint out of reach",
                found=f"is at {point.name}, which can't be reached",
                limit="joints only where they can be made and mended",
                remedy="Walk its lamps again and merge them elsewhere, or mark the waypoint as reachable.",
                place="walk",
                ref=_first_lamp(harness, joint.id),
            )


def joint_crowded(harness: Harness) -> Iterator[Finding]:
    """More wires in a joint than the settings allow."""
    most = harness.settings.joint_max_wires
    for joint in harness.joints:
        wires = derive(harness).at_joint(joint.id)
        if len(wires) > most:
            yield Finding(
                subject=f"joint {joint.id}",
                rule="joint too full",
                found=f"{len(wires)} wires meet at {harness.waypoint(joint.at).name}",
                limit=f"{most} wires (common practice; a setting)",
                remedy="Walk one of its lamps again and merge it elsewhere.",
                place="walk",
                ref=_first_lamp(harness, joint.id),
            )


def joint_without_sleeve(harness: Harness) -> Iterator[Finding]:
    """A joint for which no sleeve of the tables both slides on and grips."""
    for joint in harness.joints:
        if derive(harness).into_joint.get(joint.id) and joint_sleeve(harness, joint.id) is None:
            yield Finding(
                subject=f"joint {joint.id}",
                rule="no sleeve fits",
                found=f"no sleeve slides over its wires and grips them, at {harness.waypoint(joint.at).name}",
                limit="2:1 sleeves to 25.4 mm, 3:1 to 24 mm",
                remedy="Use thicker wire there, or insulate the joint another way.",
                severity=Severity.NOTE,
                place="walk",
                ref=_first_lamp(harness, joint.id),
            )


def _first_lamp(harness: Harness, joint_id: str) -> str:
    wires = derive(harness).at_joint(joint_id)
    return next((lamp_id for wire in wires for lamp_id in wire.lamps), "")


RULES = (
    double_waypoints,
    cut_off,
    leg_without_length,
    joint_without_loop,
    contact_twice,
    dotted_plug,
    joint_out_of_reach,
    joint_crowded,
    joint_without_sleeve,
)
