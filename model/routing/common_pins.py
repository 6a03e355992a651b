"""Common pins for planned wires: no pin with more wires than it holds or more current than it takes, if that
can be.
"""

from __future__ import annotations

from collections import Counter

import attrs

from model.harness import Harness, Joint, Lamp
from model.routing.nets import load_ma
from model.routing.wires import EndKind, Wire, derive


def give_common_pins(harness: Harness) -> Harness:
    """Give each wire of the common that has no pin yet one: the heaviest first, of its lamps' block where
    one is free.

    A pin with room for the wire and its current goes before one with room only, and that before a full one.
    """
    limits = {f"{block.name}.{common.pin}": common.limit_ma for block, common in harness.controller.commons()}
    ends = [
        wire
        for wire in derive(harness).wires
        if wire.output is None
        and wire.polarity is harness.controller.common_polarity
        and wire.controller_end.kind is EndKind.PIN
    ]
    waiting = [wire for wire in ends if not wire.controller_end.ref]
    if not limits or not waiting:
        return harness
    loads = {wire.key: load_ma(harness, wire.lamps) for wire in ends}
    used: Counter[str] = Counter()
    carried = dict.fromkeys(limits, 0.0)
    for wire in ends:
        if wire.controller_end.ref:
            used[wire.controller_end.ref] += 1
            carried[wire.controller_end.ref] += loads[wire.key]
    given: dict[str, str] = {}
    most = harness.settings.pin_max_wires
    order = list(limits)
    for wire in sorted(waiting, key=lambda wire: -loads[wire.key]):
        block = _block_of(harness, wire)

        def worth(pin: str, wire: Wire = wire, block: str = block) -> tuple[bool, bool, bool, int, int]:
            over = carried[pin] + loads[wire.key] > limits[pin]
            return used[pin] >= most, over, pin.rpartition(".")[0] != block, used[pin], order.index(pin)

        pin = min(order, key=worth)
        given[wire.origin[:-1]] = pin
        used[pin] += 1
        carried[pin] += loads[wire.key]
    return attrs.evolve(
        harness,
        lamps=tuple(_lamp(harness, lamp, given) for lamp in harness.lamps),
        joints=tuple(_joint(joint, given) for joint in harness.joints),
    )


def _block_of(harness: Harness, wire: Wire) -> str:
    """The block that most of a wire's lamps are on, or an empty string."""
    blocks: Counter[str] = Counter()
    for lamp_id in wire.lamps:
        found = harness.controller.find_output(harness.lamp(lamp_id).output)
        if found is not None:
            blocks[found[0].name] += 1
    return blocks.most_common(1)[0][0] if blocks else ""


def _lamp(harness: Harness, lamp: Lamp, given: dict[str, str]) -> Lamp:
    if lamp.id not in given or lamp.run is None:
        return lamp
    polarity = harness.controller.common_polarity
    lead = attrs.evolve(lamp.run.lead(polarity), pin=given[lamp.id])
    return attrs.evolve(lamp, run=lamp.run.with_lead(polarity, lead))


def _joint(joint: Joint, given: dict[str, str]) -> Joint:
    return attrs.evolve(joint, pin=given[joint.id]) if joint.id in given else joint
