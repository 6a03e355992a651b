"""What refers to what: the references every harness keeps whole, however it came about.

An edit never leaves one of these broken; a file that does is refused with all of them at once.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterable, Iterator

from model.errors import BadValue
from model.harness import Harness, Joint, Lamp, Polarity


def broken_references(harness: Harness) -> tuple[BadValue, ...]:
    """Every broken reference, doubled id and impossible chain, as errors that name the thing; empty if
    whole.
    """
    return tuple(
        BadValue(subject, found, remedy=remedy) for rule in _RULES for subject, found, remedy in rule(harness)
    )


_Faults = Iterator[tuple[str, str, str]]


def _doubles(kind: str, keys: Iterable[object]) -> _Faults:
    for key, count in Counter(keys).items():
        if count > 1:
            yield f"{kind} {key}", f"stands {count} times", "Give each an id of its own."


def _ids(harness: Harness) -> _Faults:
    yield from _doubles("lamp", (lamp.id for lamp in harness.lamps))
    yield from _doubles("waypoint", (point.id for point in harness.waypoints))
    yield from _doubles("joint", (joint.id for joint in harness.joints))
    yield from _doubles("block", (block.name for block in harness.controller.blocks))
    yield from _doubles("output", (output.number for _, output in harness.controller.outputs()))
    yield from _doubles("leg", (" to ".join(sorted(leg.ends)) for leg in harness.legs))
    yield from _doubles("plug", (leg.plug for leg in harness.legs if leg.plug))
    plugs = {leg.plug for leg in harness.legs if leg.plug}
    for block in harness.controller.blocks:
        if block.name in plugs:
            yield f"plug {block.name}", "is called as a block is", "Give the plug another name."
    yield from _doubles("tag", (record.tag for record in harness.ledger))
    yield from _doubles("wire", (record.wire for record in harness.ledger if record.live))
    yield from _doubles("check", (one.id for one in harness.checked))
    yield from _doubles("contact", (f"{one.plug}.{one.number}" for one in harness.contacts))


def _places(harness: Harness) -> _Faults:
    points = {point.id for point in harness.waypoints}
    if harness.controller.at not in points:
        yield (
            "controller",
            f"sits at waypoint {harness.controller.at}, which does not exist",
            "Add the waypoint.",
        )
    for leg in harness.legs:
        for end in sorted(leg.ends - points):
            yield (
                f"leg {leg.a} to {leg.b}",
                f"waypoint {end} does not exist",
                "Add the waypoint or drop the leg.",
            )
    for lamp in harness.lamps:
        if lamp.at is not None and lamp.at not in points:
            yield f"lamp {lamp.name}", f"is at waypoint {lamp.at}, which does not exist", "Add the waypoint."
    for joint in harness.joints:
        if joint.at not in points:
            yield f"joint {joint.id}", f"is at waypoint {joint.at}, which does not exist", "Add the waypoint."


def _outputs(harness: Harness) -> _Faults:
    numbers = {output.number for _, output in harness.controller.outputs()}
    for lamp in harness.lamps:
        if lamp.output is not None and lamp.output not in numbers:
            yield f"lamp {lamp.name}", f"is on output {lamp.output}, which does not exist", "Add the output."
    for joint in harness.joints:
        if joint.output is not None and joint.output not in numbers:
            yield f"joint {joint.id}", f"is of output {joint.output}, which does not exist", "Add the output."


def _ways(harness: Harness) -> _Faults:
    legs = {leg.ends for leg in harness.legs}

    def gaps(subject: str, way: tuple[str, ...], start: str | None) -> _Faults:
        if not way:
            return
        if way[0] != start or way[-1] != harness.controller.at:
            yield subject, "has a way that does not lead from it to the controller", "Walk it again."
        if len(set(way)) != len(way):
            yield subject, "has a way that passes a waypoint twice", "Walk it again."
        for one, other in itertools.pairwise(way):
            if frozenset((one, other)) not in legs:
                yield subject, f"has a way over {one} to {other}, where there is no leg", "Add the leg."

    for lamp in harness.lamps:
        if lamp.run is not None:
            yield from gaps(f"lamp {lamp.name}", lamp.run.way, lamp.at)
            if not lamp.run.way and lamp.measured_mm is None and lamp.at != harness.controller.at:
                yield f"lamp {lamp.name}", "has a run without way or length", "Walk it again."
    for joint in harness.joints:
        yield from gaps(f"joint {joint.id}", joint.way, joint.at)


def _joins(harness: Harness) -> _Faults:
    joints = {joint.id: joint for joint in harness.joints}
    fed: Counter[str] = Counter()

    def into(subject: str, joint_id: str, net: int | None) -> _Faults:
        joint = joints.get(joint_id)
        fed[joint_id] += 1
        if joint is None:
            yield subject, f"ends in joint {joint_id}, which does not exist", "Walk the lamp again."
        elif joint.output != net:
            yield subject, f"ends in joint {joint_id}, which is of another net", "Walk the lamp again."

    for lamp in harness.lamps:
        for polarity in Polarity:
            lead = lamp.run.lead(polarity) if lamp.run else None
            if lead is not None and lead.joint is not None:
                yield from into(f"lamp {lamp.name} {polarity}", lead.joint, harness.net_of(lamp, polarity))
    for joint in harness.joints:
        if joint.onto is not None:
            yield from into(f"joint {joint.id}", joint.onto, joint.output)
    for joint in harness.joints:
        if not fed[joint.id]:
            yield f"joint {joint.id}", "joins no wire", "Drop the joint."
        if _in_circle(joint, joints):
            yield f"joint {joint.id}", "leads back to itself", "Walk its lamps again."


def _in_circle(joint: Joint, joints: dict[str, Joint]) -> bool:
    seen = {joint.id}
    onto = joint.onto
    while onto is not None and onto in joints:
        if onto in seen:
            return True
        seen.add(onto)
        onto = joints[onto].onto
    return False


def _pins(harness: Harness) -> _Faults:
    commons = {f"{block.name}.{common.pin}" for block, common in harness.controller.commons()}
    for lamp in harness.lamps:
        for pin in _lead_pins(lamp):
            if pin not in commons:
                yield f"lamp {lamp.name}", f"ends on common pin {pin}, which does not exist", "Add the pin."
    for joint in harness.joints:
        if joint.pin is not None and joint.pin not in commons:
            yield f"joint {joint.id}", f"ends on common pin {joint.pin}, which does not exist", "Add the pin."


def _lead_pins(lamp: Lamp) -> Iterator[str]:
    for polarity in Polarity:
        lead = lamp.run.lead(polarity) if lamp.run else None
        if lead is not None and lead.pin is not None:
            yield lead.pin


def _ledger(harness: Harness) -> _Faults:
    tags = {record.tag for record in harness.ledger}
    for record in harness.ledger:
        for newer in record.replaced_by:
            if newer not in tags:
                yield (
                    f"tag {record.tag}",
                    f"is replaced by {newer}, which is not in the ledger",
                    "Restore a backup.",
                )


_RULES = (_ids, _places, _outputs, _ways, _joins, _pins, _ledger)
