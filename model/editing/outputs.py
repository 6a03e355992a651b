"""The controller, its blocks, outputs and common pins."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

import attrs

from model.editing.naming import named_alike, no_dot, swap
from model.editing.routes import forget_ways
from model.errors import Conflict, NotThere
from model.harness import Block, CommonPin, Harness, Lead, Output, Switched


def _with_blocks(harness: Harness, blocks: Iterable[Block]) -> Harness:
    return attrs.evolve(harness, controller=attrs.evolve(harness.controller, blocks=tuple(blocks)))


def _block(harness: Harness, name: str) -> Block:
    for block in harness.controller.blocks:
        if block.name == name:
            return block
    raise NotThere(f"block {name}", "does not exist")


def _with_block(harness: Harness, old: Block, new: Block) -> Harness:
    return _with_blocks(harness, swap(harness.controller.blocks, old, new))


def set_controller(harness: Harness, *, name: str | None = None, at: str | None = None) -> Harness:
    """Rename the controller or move it to another waypoint; ways are then found anew."""
    controller = harness.controller
    if at is not None and at != controller.at:
        harness.waypoint(at)
        harness = forget_ways(harness, lambda way: True)
    changed = attrs.evolve(
        controller, name=controller.name if name is None else name, at=controller.at if at is None else at
    )
    return attrs.evolve(harness, controller=changed)


def set_switched(harness: Harness, switched: Switched) -> Harness:
    """Say which side the outputs switch. Every wire changes its net, so all runs are open again."""
    if switched is harness.controller.switched:
        return harness
    lamps = tuple(attrs.evolve(lamp, run=None) for lamp in harness.lamps)
    controller = attrs.evolve(harness.controller, switched=switched)
    return attrs.evolve(harness, controller=controller, lamps=lamps, joints=(), contacts=())


def _free_pin(block: Block) -> str:
    used = {output.pin for output in block.outputs} | {common.pin for common in block.commons}
    return next(str(pin) for pin in range(1, 1000) if str(pin) not in used)


def _block_names() -> Iterator[str]:
    """A to Z, then AA, AB ..."""
    letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    yield from letters
    yield from (one + other for one in letters for other in letters)


def add_block(harness: Harness, name: str = "", *, outputs: int = 6, commons: int = 1) -> Harness:
    """Add a block with so many outputs and common pins, numbered on from what there is."""
    blocks = harness.controller.blocks
    names = {block.name for block in blocks}
    plugs = {leg.plug for leg in harness.legs}
    name = name or next(free for free in _block_names() if free not in names | plugs)
    if name in names:
        raise Conflict(f"block {name}", "exists already", remedy="Choose another name.")
    no_dot(f"block {name}")
    if any(leg.plug == name for leg in harness.legs):
        raise named_alike(f"block {name}", "a plug")
    harness = _with_blocks(harness, (*blocks, Block(name=name)))
    for _ in range(outputs):
        harness = add_output(harness, name)
    for _ in range(commons):
        harness = add_common(harness, name)
    return harness


def rename_block(harness: Harness, name: str, new: str) -> Harness:
    """Give a block another name; what ends on its pins follows."""
    block = _block(harness, name)
    if new != name and any(other.name == new for other in harness.controller.blocks):
        raise Conflict(f"block {new}", "exists already", remedy="Choose another name.")
    if new != name:
        no_dot(f"block {new}")
    if any(leg.plug == new for leg in harness.legs):
        raise named_alike(f"block {new}", "a plug")
    renamed: Block = attrs.evolve(block, name=new)
    for common in block.commons:
        harness = _repin(harness, f"{name}.{common.pin}", f"{new}.{common.pin}")
    return _with_block(harness, block, renamed)


def remove_block(harness: Harness, name: str) -> Harness:
    """Take a block away; refused while a lamp is on one of its outputs."""
    block = _block(harness, name)
    for output in block.outputs:
        harness = remove_output(harness, output.number)
    for common in block.commons:
        harness = remove_common(harness, name, common.pin)
    return _with_blocks(harness, (other for other in harness.controller.blocks if other.name != name))


def add_output(harness: Harness, block_name: str, **fields: Any) -> Harness:
    """Add an output to a block: the next number and the next free pin, unless given."""
    block = _block(harness, block_name)
    taken = {output.number for _, output in harness.controller.outputs()}
    fields.setdefault("number", next((n for n in range(1, 100) if n not in taken), 100))
    fields.setdefault("pin", _free_pin(block))
    if block.outputs:
        fields.setdefault("limit_ma", block.outputs[-1].limit_ma)
    if fields["number"] in taken:
        raise Conflict(f"output {fields['number']}", "exists already", remedy="Choose another number.")
    return _with_block(harness, block, attrs.evolve(block, outputs=(*block.outputs, Output(**fields))))


def edit_output(harness: Harness, number: int, /, **changes: Any) -> Harness:
    """Change an output. A new number is followed by its lamps and joints."""
    block, output = existing_output(harness, number)
    changed: Output = attrs.evolve(output, **changes)
    if changed.number != number:
        if harness.controller.find_output(changed.number):
            raise Conflict(f"output {changed.number}", "exists already", remedy="Choose another number.")
        lamps = tuple(
            attrs.evolve(lamp, output=changed.number) if lamp.output == number else lamp
            for lamp in harness.lamps
        )
        joints = tuple(
            attrs.evolve(joint, output=changed.number) if joint.output == number else joint
            for joint in harness.joints
        )
        harness = attrs.evolve(harness, lamps=lamps, joints=joints)
    return _with_block(harness, block, attrs.evolve(block, outputs=swap(block.outputs, output, changed)))


def remove_output(harness: Harness, number: int) -> Harness:
    """Take an output away; refused while a lamp is on it."""
    block, output = existing_output(harness, number)
    users = [lamp.name for lamp in harness.lamps if lamp.output == number]
    if users:
        raise Conflict(
            f"output {number}",
            f"feeds {', '.join(users[:3])}",
            remedy="Put the lamps on another output first.",
        )
    outputs = tuple(other for other in block.outputs if other is not output)
    return _with_block(harness, block, attrs.evolve(block, outputs=outputs))


def existing_output(harness: Harness, number: int) -> tuple[Block, Output]:
    """The output of that number with its block; raises NotThere."""
    found = harness.controller.find_output(number)
    if found is None:
        raise NotThere(f"output {number}", "does not exist")
    return found


def add_common(harness: Harness, block_name: str, **fields: Any) -> Harness:
    """Add a common pin to a block: the next free pin, unless given."""
    block = _block(harness, block_name)
    fields.setdefault("pin", _free_pin(block))
    if any(common.pin == fields["pin"] for common in block.commons):
        raise Conflict(
            f"common pin {block_name}{fields['pin']}", "exists already", remedy="Choose another pin."
        )
    return _with_block(harness, block, attrs.evolve(block, commons=(*block.commons, CommonPin(**fields))))


def edit_common(harness: Harness, block_name: str, pin: str, /, **changes: Any) -> Harness:
    """Change a common pin; what ends on it follows."""
    block, common = _common(harness, block_name, pin)
    changed: CommonPin = attrs.evolve(common, **changes)
    if changed.pin != pin and any(other.pin == changed.pin for other in block.commons):
        raise Conflict(
            f"common pin {block_name}{changed.pin}", "exists already", remedy="Choose another pin."
        )
    harness = _repin(harness, f"{block_name}.{pin}", f"{block_name}.{changed.pin}")
    return _with_block(harness, block, attrs.evolve(block, commons=swap(block.commons, common, changed)))


def remove_common(harness: Harness, block_name: str, pin: str) -> Harness:
    """Take a common pin away; what ended on it is given another."""
    block, common = _common(harness, block_name, pin)
    harness = _repin(harness, f"{block_name}.{pin}", None)
    commons = tuple(other for other in block.commons if other is not common)
    return _with_block(harness, block, attrs.evolve(block, commons=commons))


def _common(harness: Harness, block_name: str, pin: str) -> tuple[Block, CommonPin]:
    block = _block(harness, block_name)
    for common in block.commons:
        if common.pin == pin:
            return block, common
    raise NotThere(f"common pin {block_name}{pin}", "does not exist")


def _repin(harness: Harness, old: str, new: str | None) -> Harness:
    def lead(one: Lead) -> Lead:
        return attrs.evolve(one, pin=new) if one.pin == old else one

    lamps = tuple(
        attrs.evolve(lamp, run=attrs.evolve(lamp.run, plus=lead(lamp.run.plus), minus=lead(lamp.run.minus)))
        if lamp.run
        else lamp
        for lamp in harness.lamps
    )
    joints = tuple(attrs.evolve(joint, pin=new) if joint.pin == old else joint for joint in harness.joints)
    return attrs.evolve(harness, lamps=lamps, joints=joints)
