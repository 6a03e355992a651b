"""Every change a person can make, each a function from a Harness to a new Harness.

References stay whole: what hangs on a thing that goes is let go or the edit is refused with Conflict. What
follows from an edit by rule (ways, common pins, plug contacts, tags) is given afterwards by
model.routing.allot.settle.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

import attrs

from model.errors import BadValue, Conflict, NotThere
from model.harness import (
    Block,
    CommonPin,
    Harness,
    Joint,
    Lamp,
    Lead,
    Leg,
    Output,
    Polarity,
    Printed,
    Progress,
    Run,
    Settings,
    Spool,
    Supply,
    Switched,
    Waypoint,
)
from model.tags import Event, TagRecord


def _next_id(harness: Harness, letter: str) -> str:
    return next_ids(harness, letter, 1)[0]


def next_ids(harness: Harness, letter: str, count: int) -> tuple[str, ...]:
    """The next free ids. Ids of things that are gone are not given again: retired tags still speak of
    them.
    """
    taken = [item.id for group in (harness.lamps, harness.joints, harness.waypoints) for item in group]
    for record in harness.ledger:
        taken += [record.wire, record.lamp_end, record.controller_end]
    # Not every reference is an id: a plug may be called J7, and its contact then "J7.1".
    key = re.compile(rf"{letter}([0-9]{{1,5}})([+-](\.[0-9]+)?)?")
    numbers = [int(found.group(1)) for name in taken if (found := key.fullmatch(name))]
    first = max(numbers, default=0) + 1
    return tuple(f"{letter}{number}" for number in range(first, first + count))


def _swap(items: tuple[Any, ...], old: Any, new: Any) -> tuple[Any, ...]:
    return tuple(new if item is old else item for item in items)


# --- the project --------------------------------------------------------------------------------------------


def new_harness(name: str, code: str) -> Harness:
    """An empty project: a six-cell pack, one block of six outputs with a common pin, the controller's
    waypoint.
    """
    return add_block(Harness(name=name, code=code), "A", outputs=6, commons=1)


def rename(harness: Harness, *, name: str | None = None, code: str | None = None) -> Harness:
    """Change the project's name or its code. The code stands on labels: it is fixed once one is printed."""
    if code is not None and code != harness.code and _code_is_out(harness):
        raise Conflict(
            "project code", f"{harness.code} is on printed labels", remedy="Keep it, or copy the project."
        )
    return attrs.evolve(
        harness, name=harness.name if name is None else name, code=harness.code if code is None else code
    )


def _code_is_out(harness: Harness) -> bool:
    """Whether the project's code stands on something in the world."""
    return bool(harness.printed) or any(record.issued for record in harness.ledger)


def put_back(earlier: Harness, now: Harness, *, made: bool = False) -> Harness:
    """An `earlier` value in the place of `now`, as undo, redo and a backup bring it.

    What happened in the world meanwhile stays: every tag given, what was printed, the project's code once it
    stands on a label, and the scheme of the tags; with `made` the bench steps done, too.
    """
    ledger = earlier.ledger.with_past(now.ledger, made=made)
    back: Harness = attrs.evolve(earlier, ledger=ledger, printed=now.printed)
    if back.code != now.code and _code_is_out(now):
        back = attrs.evolve(back, code=now.code)
    if back.settings.tag_scheme is not now.settings.tag_scheme and now.ledger.records:
        back = attrs.evolve(back, settings=attrs.evolve(back.settings, tag_scheme=now.settings.tag_scheme))
    return back


def set_supply(harness: Harness, supply: Supply) -> Harness:
    """Run the model on another supply."""
    return attrs.evolve(harness, supply=supply)


def set_settings(harness: Harness, **changes: Any) -> Harness:
    """Change settings. The tag scheme is fixed with the first tag."""
    settings: Settings = attrs.evolve(harness.settings, **changes)
    if settings.tag_scheme is not harness.settings.tag_scheme and harness.ledger.records:
        raise Conflict(
            "tag scheme", "tags have been given already", remedy="Choose it before the first run is accepted."
        )
    if settings.plus_colour == settings.minus_colour:
        raise BadValue(
            "wire colours", f"{settings.plus_colour} for both polarities", remedy="Choose two colours."
        )
    return attrs.evolve(harness, settings=settings)


def set_spools(harness: Harness, spools: Iterable[Spool]) -> Harness:
    """Say which wire is on hand. Each spool or remnant has a name of its own, which the cut list calls it
    by.
    """
    spools = tuple(spools)
    names = [spool.name for spool in spools]
    for name in dict.fromkeys(names):
        if names.count(name) > 1:
            raise Conflict(
                f"spool {name}", f"stands {names.count(name)} times", remedy="Give each a name of its own."
            )
    return harness if spools == harness.spools else attrs.evolve(harness, spools=spools)


def set_progress(harness: Harness, **changes: Any) -> Harness:
    """Remember where the person is in the walk or at the bench."""
    progress: Progress = attrs.evolve(harness.progress, **changes)
    return harness if progress == harness.progress else attrs.evolve(harness, progress=progress)


# --- controller ---------------------------------------------------------------------------------------------


def _with_blocks(harness: Harness, blocks: Iterable[Block]) -> Harness:
    return attrs.evolve(harness, controller=attrs.evolve(harness.controller, blocks=tuple(blocks)))


def _named_alike(subject: str, other: str) -> Conflict:
    # "A.2" on a label and in the ledger is contact 2 of a plug or pin 2 of a block, never either.
    return Conflict(subject, f"is called as {other} is", remedy="Choose another name.")


def _block(harness: Harness, name: str) -> Block:
    for block in harness.controller.blocks:
        if block.name == name:
            return block
    raise NotThere(f"block {name}", "does not exist")


def _with_block(harness: Harness, old: Block, new: Block) -> Harness:
    return _with_blocks(harness, _swap(harness.controller.blocks, old, new))


def set_controller(harness: Harness, *, name: str | None = None, at: str | None = None) -> Harness:
    """Rename the controller or move it to another waypoint; ways are then found anew."""
    controller = harness.controller
    if at is not None and at != controller.at:
        harness.waypoint(at)
        harness = _forget_ways(harness, lambda way: True)
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
    if any(leg.plug == name for leg in harness.legs):
        raise _named_alike(f"block {name}", "a plug")
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
    if any(leg.plug == new for leg in harness.legs):
        raise _named_alike(f"block {new}", "a plug")
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
    block, output = _output(harness, number)
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
    return _with_block(harness, block, attrs.evolve(block, outputs=_swap(block.outputs, output, changed)))


def remove_output(harness: Harness, number: int) -> Harness:
    """Take an output away; refused while a lamp is on it."""
    block, output = _output(harness, number)
    users = [lamp.name for lamp in harness.lamps if lamp.output == number]
    if users:
        raise Conflict(
            f"output {number}",
            f"feeds {', '.join(users[:3])}",
            remedy="Put the lamps on another output first.",
        )
    outputs = tuple(other for other in block.outputs if other is not output)
    return _with_block(harness, block, attrs.evolve(block, outputs=outputs))


def _output(harness: Harness, number: int) -> tuple[Block, Output]:
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
            f"common pin {block_name}.{fields['pin']}", "exists already", remedy="Choose another pin."
        )
    return _with_block(harness, block, attrs.evolve(block, commons=(*block.commons, CommonPin(**fields))))


def edit_common(harness: Harness, block_name: str, pin: str, /, **changes: Any) -> Harness:
    """Change a common pin; what ends on it follows."""
    block, common = _common(harness, block_name, pin)
    changed: CommonPin = attrs.evolve(common, **changes)
    if changed.pin != pin and any(other.pin == changed.pin for other in block.commons):
        raise Conflict(
            f"common pin {block_name}.{changed.pin}", "exists already", remedy="Choose another pin."
        )
    harness = _repin(harness, f"{block_name}.{pin}", f"{block_name}.{changed.pin}")
    return _with_block(harness, block, attrs.evolve(block, commons=_swap(block.commons, common, changed)))


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
    raise NotThere(f"common pin {block_name}.{pin}", "does not exist")


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


# --- waypoints and legs -------------------------------------------------------------------------------------


def add_waypoint(harness: Harness, name: str, **fields: Any) -> Harness:
    """Add a waypoint; its id is the next free one."""
    point = Waypoint(id=_next_id(harness, "W"), name=name, **fields)
    return attrs.evolve(harness, waypoints=(*harness.waypoints, point))


def edit_waypoint(harness: Harness, waypoint_id: str, **changes: Any) -> Harness:
    """Change a waypoint's name or reach."""
    point = harness.waypoint(waypoint_id)
    return attrs.evolve(harness, waypoints=_swap(harness.waypoints, point, attrs.evolve(point, **changes)))


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
    """Add the leg between two waypoints, or change it."""
    harness.waypoint(a), harness.waypoint(b)
    old = harness.find_leg(a, b)
    plug = fields.get("plug", "")
    if plug and any(block.name == plug for block in harness.controller.blocks):
        raise _named_alike(f"plug {plug}", "a block")
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
    return attrs.evolve(harness, legs=_swap(harness.legs, old, new))


def remove_leg(harness: Harness, a: str, b: str) -> Harness:
    """Take a leg away; ways over it are found anew."""
    old = harness.find_leg(a, b)
    if old is None:
        raise NotThere(f"leg {a} to {b}", "does not exist")
    harness = _forget_ways(
        harness, lambda way: any({one, two} == old.ends for one, two in itertools.pairwise(way))
    )
    contacts = tuple(contact for contact in harness.contacts if not old.plug or contact.plug != old.plug)
    return attrs.evolve(harness, legs=tuple(leg for leg in harness.legs if leg is not old), contacts=contacts)


def _forget_ways(harness: Harness, gone: Callable[[tuple[str, ...]], bool]) -> Harness:
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


# --- lamps --------------------------------------------------------------------------------------------------


def add_lamp(harness: Harness, name: str, **fields: Any) -> Harness:
    """Add a lamp at the end of the list; its id is the next free one."""
    return _checked(
        attrs.evolve(harness, lamps=(*harness.lamps, Lamp(id=_next_id(harness, "L"), name=name, **fields)))
    )


def _checked(harness: Harness) -> Harness:
    lamp = harness.lamps[-1]
    _lamp_refers(harness, lamp)
    return harness


def _lamp_refers(harness: Harness, lamp: Lamp) -> None:
    if lamp.at is not None:
        harness.waypoint(lamp.at)
    if lamp.output is not None:
        _output(harness, lamp.output)


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
    return let_go_of_lone_joints(attrs.evolve(harness, lamps=_swap(harness.lamps, lamp, new)))


def copy_lamp(harness: Harness, lamp_id: str, **changes: Any) -> Harness:
    """Add a copy of a lamp behind it, without its run, under a name not in use."""
    lamp = harness.lamp(lamp_id)
    fields = {"name": _free_name(harness, lamp.name), **changes}
    copy: Lamp = attrs.evolve(lamp, id=_next_id(harness, "L"), run=None, **fields)
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


def mirror_lamp(harness: Harness, lamp_id: str) -> Harness:
    """Add the lamp of the other side: names turned over, same lamp.

    The waypoint is the one with the turned-over name where there is one. An indicator gets no output, as
    left and right may not share one; other lamps keep theirs. Raises Conflict where the lamp has no side
    or its other side exists.
    """
    lamp = harness.lamp(lamp_id)
    name = mirrored(lamp.name)
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
    place = mirrored(lamp.place)
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


# --- runs and merges ----------------------------------------------------------------------------------------


@attrs.frozen(kw_only=True)
class Merge:
    """Join a lamp's wire at waypoint `at`: into joint `into`, or in a new joint with the wires of `gather`.

    `gather` holds the lamps and joints ("L3", "J2") whose wires of the same net are cut there and joined.
    """

    at: str
    into: str | None = None
    gather: tuple[str, ...] = ()


@attrs.frozen(kw_only=True)
class RunChoice:
    """What a person chose for one lamp: its way, and for each polarity a merge (None: on its own) and a
    colour.

    The polarities in `keep` stay as they stand, whatever their merge.
    """

    way: tuple[str, ...] = ()
    keep: tuple[Polarity, ...] = ()
    plus: Merge | None = None
    minus: Merge | None = None
    plus_colour: str | None = None
    minus_colour: str | None = None

    def merge(self, polarity: Polarity) -> Merge | None:
        """The merge chosen for that polarity."""
        return self.plus if polarity is Polarity.PLUS else self.minus

    def colour(self, polarity: Polarity) -> str | None:
        """The colour chosen for that polarity; None is the scheme's."""
        return self.plus_colour if polarity is Polarity.PLUS else self.minus_colour


def accept_run(harness: Harness, lamp_id: str, choice: RunChoice) -> Harness:
    """Store a lamp's run as chosen, making the joints it needs. An earlier run of the lamp is replaced."""
    lamp = harness.lamp(lamp_id)
    old = lamp.run or Run()
    run = Run(way=choice.way)
    for polarity in Polarity:
        # A common pin once given stays, so that a printed label stays true.
        pin = old.lead(polarity).pin if choice.merge(polarity) is None or polarity in choice.keep else None
        joint = old.lead(polarity).joint if polarity in choice.keep else None
        run = run.with_lead(polarity, Lead(colour=choice.colour(polarity), pin=pin, joint=joint))
    if run == lamp.run and set(choice.keep) == set(Polarity):
        return harness
    harness = _swap_lamp(harness, lamp, attrs.evolve(lamp, run=run))
    for polarity in Polarity:
        merge = choice.merge(polarity)
        if merge is not None and polarity not in choice.keep:
            harness = _merge(harness, lamp_id, polarity, merge)
    skipped = tuple(other for other in harness.progress.skipped if other != lamp_id)
    return let_go_of_lone_joints(set_progress(harness, skipped=skipped))


def _swap_lamp(harness: Harness, old: Lamp, new: Lamp) -> Harness:
    return attrs.evolve(harness, lamps=_swap(harness.lamps, old, new))


def _merge(harness: Harness, lamp_id: str, polarity: Polarity, merge: Merge) -> Harness:
    net = harness.net_of(harness.lamp(lamp_id), polarity)
    into = merge.into
    if into is None:
        target, pin, way = _target(harness, merge.gather, polarity, merge.at)
        joint = Joint(id=_next_id(harness, "J"), at=merge.at, output=net, onto=target, pin=pin, way=way)
        into = joint.id
        harness = attrs.evolve(harness, joints=(*harness.joints, joint))
        for origin in merge.gather:
            harness = _redirect(harness, origin, polarity, into)
    elif harness.joint(into).output != net:
        raise Conflict(f"joint {into}", "is of another net", remedy="Choose another merge.")
    return _redirect(harness, lamp_id, polarity, into)


def _target(
    harness: Harness, gather: tuple[str, ...], polarity: Polarity, at: str
) -> tuple[str | None, str | None, tuple[str, ...]]:
    """Where a new joint's trunk goes: on to where the first of its wires went, a joint before a pin.

    A joint that leads on to one of the gathered is passed over: the trunk would come back to itself.
    """
    onto: str | None = None
    pin: str | None = None
    way: tuple[str, ...] = ()
    for origin in gather:
        if origin.startswith("J"):
            joint = harness.joint(origin)
            here, there, route = joint.onto, joint.pin, joint.way
        else:
            run = harness.lamp(origin).run
            if run is None:
                raise Conflict(f"lamp {harness.lamp(origin).name}", "has no run yet", remedy="Walk it first.")
            here, there, route = run.lead(polarity).joint, run.lead(polarity).pin, run.way
        if here is not None and _leads_to(harness, here, gather):
            continue
        onto = onto or here
        pin = pin or there
        if not way and at in route:
            way = route[route.index(at) :]
    return onto, None if onto else pin, way


def _leads_to(harness: Harness, joint_id: str | None, gathered: tuple[str, ...]) -> bool:
    """Whether a joint or one behind it on the way to the controller is among those gathered."""
    while joint_id is not None:
        if joint_id in gathered:
            return True
        joint_id = harness.joint(joint_id).onto
    return False


def _redirect(harness: Harness, origin: str, polarity: Polarity, joint_id: str) -> Harness:
    if origin.startswith("J"):
        joint = harness.joint(origin)
        new = attrs.evolve(joint, onto=joint_id, pin=None)
        return attrs.evolve(harness, joints=_swap(harness.joints, joint, new))
    lamp = harness.lamp(origin)
    if lamp.run is None:
        raise Conflict(f"lamp {lamp.name}", "has no run yet", remedy="Walk it first.")
    lead = attrs.evolve(lamp.run.lead(polarity), joint=joint_id, pin=None)
    return _swap_lamp(harness, lamp, attrs.evolve(lamp, run=lamp.run.with_lead(polarity, lead)))


def drop_run(harness: Harness, lamp_id: str) -> Harness:
    """Open a lamp's run again: its wires are no longer planned."""
    lamp = harness.lamp(lamp_id)
    return let_go_of_lone_joints(_swap_lamp(harness, lamp, attrs.evolve(lamp, run=None)))


def skip_lamp(harness: Harness, lamp_id: str) -> Harness:
    """Leave a lamp for later in the walk."""
    harness.lamp(lamp_id)
    return set_progress(harness, skipped=tuple(dict.fromkeys((*harness.progress.skipped, lamp_id))))


def set_joint(harness: Harness, joint_id: str, **changes: Any) -> Harness:
    """Change a joint's trunk: its colour, gauge or common pin."""
    joint = harness.joint(joint_id)
    allowed = {"colour", "gauge", "pin", "way"}
    if not changes.keys() <= allowed:
        raise BadValue(f"joint {joint_id}", f"{', '.join(changes.keys() - allowed)} can't be changed here")
    return attrs.evolve(harness, joints=_swap(harness.joints, joint, attrs.evolve(joint, **changes)))


def let_go_of_lone_joints(harness: Harness) -> Harness:
    """Let go of joints that join fewer than two wires: the wire left goes on to where the trunk went."""
    while True:
        feeders: dict[str, list[tuple[str, Polarity]]] = {joint.id: [] for joint in harness.joints}
        for lamp in harness.lamps:
            for polarity in Polarity:
                end = lamp.run.lead(polarity).joint if lamp.run else None
                if end is not None and end in feeders:
                    feeders[end].append((lamp.id, polarity))
        for joint in harness.joints:
            if joint.onto is not None and joint.onto in feeders:
                feeders[joint.onto].append((joint.id, harness.polarity_of(joint)))
        lone = next((joint for joint in harness.joints if len(feeders[joint.id]) < 2), None)
        if lone is None:
            live = {lamp.id for lamp in harness.lamps} | {joint.id for joint in harness.joints}
            contacts = tuple(contact for contact in harness.contacts if contact.origin[:-1] in live)
            skipped = tuple(lamp_id for lamp_id in harness.progress.skipped if lamp_id in live)
            if len(contacts) != len(harness.contacts):
                harness = attrs.evolve(harness, contacts=contacts)
            return set_progress(harness, skipped=skipped)
        joints = tuple(joint for joint in harness.joints if joint is not lone)
        for origin, polarity in feeders[lone.id]:
            harness = _go_on(harness, origin, polarity, lone)
            joints = tuple(joint for joint in harness.joints if joint.id != lone.id)
        harness = attrs.evolve(harness, joints=joints)


def _go_on(harness: Harness, origin: str, polarity: Polarity, gone: Joint) -> Harness:
    if origin.startswith("J"):
        joint = harness.joint(origin)
        new = attrs.evolve(joint, onto=gone.onto, pin=gone.pin)
        return attrs.evolve(harness, joints=_swap(harness.joints, joint, new))
    lamp = harness.lamp(origin)
    run = lamp.run or Run()
    lead = attrs.evolve(run.lead(polarity), joint=gone.onto, pin=gone.pin)
    return _swap_lamp(harness, lamp, attrs.evolve(lamp, run=run.with_lead(polarity, lead)))


# --- what happens in the world ------------------------------------------------------------------------------


def mark_printed(
    harness: Harness,
    labels: Iterable[tuple[str, str]],
    day: str,
    *,
    said: Mapping[tuple[str, str], str] | None = None,
) -> Harness:
    """Remember that labels were printed: pairs of tag and end ("L" lamp side, "C" controller side).

    `said` holds for each pair a mark of what the label says (model.labels.content.said), which tells later
    whether it is still true.
    """
    records = {record.tag: record for record in harness.ledger}
    changed: dict[str, TagRecord] = {}
    for tag, end in labels:
        record = changed.get(tag) or records.get(tag) or harness.ledger.get(tag)
        side = {"L": "lamp", "C": "controller"}.get(end)
        if side is None:
            raise BadValue(f"label {tag}", f"end {end!r}", limit="L or C")
        news: dict[str, Any] = {f"printed_{side}": day, f"said_{side}": (said or {}).get((tag, end), "")}
        changed[tag] = attrs.evolve(record, **news)
    return attrs.evolve(harness, ledger=harness.ledger.replace(*changed.values()))


def mark_other_printed(harness: Harness, prints: Iterable[Printed], *, forget: bool = False) -> Harness:
    """Remember that labels of joints, plugs or spools were printed, each in the place of its older print.

    With `forget`, take it that they were not.
    """
    prints = tuple(prints)
    known = {(one.kind, one.name): one for one in harness.printed}
    for one in prints:
        known.pop((one.kind, one.name), None)
        if not forget:
            known[one.kind, one.name] = one
    after = tuple(known[key] for key in sorted(known))
    return harness if after == harness.printed else attrs.evolve(harness, printed=after)


def do_step(harness: Harness, tag: str, step: str, day: str) -> Harness:
    """Mark a bench step of a wire as done."""
    record = harness.ledger.get(tag)
    if step in record.steps:
        return harness
    new = attrs.evolve(
        record, steps=(*record.steps, step), events=(*record.events, Event(day=day, what=step))
    )
    return attrs.evolve(harness, ledger=harness.ledger.replace(new))


def undo_step(harness: Harness, tag: str, step: str, day: str) -> Harness:
    """Take back a bench step of a wire."""
    record = harness.ledger.get(tag)
    steps = tuple(done for done in record.steps if done != step)
    new = attrs.evolve(record, steps=steps, events=(*record.events, Event(day=day, what=f"not {step}")))
    return attrs.evolve(harness, ledger=harness.ledger.replace(new))


def set_cut(harness: Harness, tag: str, cut_mm: float | None, day: str) -> Harness:
    """Enter the length a wire was really cut to; None forgets it."""
    record = harness.ledger.get(tag)
    note = "" if cut_mm is None else f"{cut_mm:g} mm"
    new = attrs.evolve(
        record, cut_mm=cut_mm, events=(*record.events, Event(day=day, what="length", note=note))
    )
    return attrs.evolve(harness, ledger=harness.ledger.replace(new))


def log_event(harness: Harness, tag: str, what: str, note: str, day: str) -> Harness:
    """Write a line into a wire's history."""
    record = harness.ledger.get(tag)
    new = attrs.evolve(record, events=(*record.events, Event(day=day, what=what, note=note)))
    return attrs.evolve(harness, ledger=harness.ledger.replace(new))
