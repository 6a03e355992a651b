"""Following the wires of a plan with a finger, from a lamp to its pin, whatever planned them."""

from __future__ import annotations

from collections import Counter, defaultdict

from model.harness import Harness, Polarity
from model.routing.wires import EndKind, Wire, derive


def follow(harness: Harness, lamp_id: str, polarity: Polarity) -> list[Wire]:
    """The wires from one side of a lamp to the pin, hop by hop; fails where there is not one way on."""
    wires = derive(harness).wires
    begin = [
        wire
        for wire in wires
        if wire.lamp_end.kind is EndKind.LAMP and wire.lamp_end.ref == lamp_id and wire.polarity is polarity
    ]
    assert len(begin) == 1, f"{lamp_id}{polarity} has {len(begin)} wires"
    followed = begin
    while followed[-1].controller_end.kind is not EndKind.PIN:
        end = followed[-1].controller_end
        onward = [wire for wire in wires if (wire.lamp_end.kind, wire.lamp_end.ref) == (end.kind, end.ref)]
        assert len(onward) == 1, f"{len(onward)} wires go on from {end.ref}"
        assert len(followed) <= len(wires), f"{lamp_id}{polarity} goes round in a circle"
        followed = [*followed, onward[0]]
    return followed


def expected_pins(harness: Harness, lamp_id: str, polarity: Polarity) -> set[str]:
    """Where a lamp's side must end: its output's one pin, or any pin of the common."""
    lamp = harness.lamp(lamp_id)
    if polarity is harness.controller.common_polarity:
        return {f"{block.name}.{common.pin}" for block, common in harness.controller.commons()} or {""}
    found = harness.controller.find_output(lamp.output)
    return {f"{found[0].name}.{found[1].pin}" if found else ""}


def assert_connected(harness: Harness) -> None:
    """Every walked lamp is connected to its output and to the common, once each, and no two nets touch."""
    plan = derive(harness)
    walked = {lamp.id for lamp in harness.lamps if lamp.run is not None}
    feeds: dict[str, set[str]] = defaultdict(set)
    for lamp_id in walked:
        for polarity in Polarity:
            wires = follow(harness, lamp_id, polarity)
            assert wires[-1].controller_end.ref in expected_pins(harness, lamp_id, polarity), lamp_id
            for wire in wires:
                assert wire.output == harness.net_of(harness.lamp(lamp_id), polarity)
                assert wire.polarity is polarity
                feeds[wire.key].add(lamp_id)
    assert set(feeds) == {wire.key for wire in plan.wires}, "every wire leads to a walked lamp"
    for wire in plan.wires:
        assert set(wire.lamps) == feeds[wire.key]
        assert len(wire.lamps) == len(feeds[wire.key])
    nets: dict[str, set[tuple[int | None, Polarity]]] = defaultdict(set)
    for wire in plan.wires:
        for end in (wire.lamp_end, wire.controller_end):
            if end.kind in (EndKind.JOINT, EndKind.PLUG):
                nets[end.ref].add((wire.output, wire.polarity))
    assert all(len(net) == 1 for net in nets.values()), "two nets meet in a joint or contact"
    sides = Counter(
        (end.ref, side)
        for wire in plan.wires
        for side, end in enumerate((wire.lamp_end, wire.controller_end))
    )
    for (ref, _), count in sides.items():
        assert count == 1 or not ref.startswith("P"), f"contact {ref} holds {count} wires"


def assert_tagged(harness: Harness) -> None:
    """Every wire has one live tag that says its two ends, and no tag stands twice."""
    plan = derive(harness)
    tags = [record.tag for record in harness.ledger]
    assert len(set(tags)) == len(tags)
    live = [record for record in harness.ledger if record.live]
    assert sorted(record.wire for record in live) == sorted(wire.key for wire in plan.wires)
    for record in live:
        wire = plan.by_key[record.wire]
        assert (record.lamp_end, record.controller_end) == (wire.lamp_end.ref, wire.controller_end.ref)
