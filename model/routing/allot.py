"""What follows from an edit by rule: ways, common pins, plug contacts and tags. Called after every edit.

What was given once is kept as long as it can stand, so that a printed label stays true.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping

import attrs

from model.editing import let_go_of_lone_joints
from model.harness import Contact, Harness, Lamp
from model.routing.common_pins import give_common_pins
from model.routing.graph import shortest_way
from model.routing.made import live_records
from model.routing.wires import EndKind, Wire, chain_paths, crossings, derive
from model.routing.words import end_words, net_words, wire_words
from model.tags import TagRecord, TagScheme, new_numbers, new_tags


def settle(harness: Harness) -> Harness:
    """The harness with ways found, common pins and plug contacts given, and the ledger brought up to its
    wires.

    Returns `harness` itself where nothing follows.
    """
    return _tags(_contacts(_common_pins(_find_ways(harness))))


def _find_ways(harness: Harness) -> Harness:
    """Give a way to runs that lost theirs to an edit; a lamp that can't be reached any more is open again."""
    changed = False
    lamps: list[Lamp] = []
    for lamp in harness.lamps:
        if lamp.run is not None and not lamp.run.way and lamp.measured_mm is None:
            way = shortest_way(harness, lamp.at) if lamp.at else None
            lamp = attrs.evolve(lamp, run=attrs.evolve(lamp.run, way=way) if way else None)
            changed = True
        lamps.append(lamp)
    if not changed:
        return harness
    return let_go_of_lone_joints(attrs.evolve(harness, lamps=tuple(lamps)))


def _common_pins(harness: Harness) -> Harness:
    """Give each wire of the common that ends on the controller and has no pin yet one; given ones stay."""
    polarity = harness.controller.common_polarity
    joints = (joint.pin for joint in harness.joints if joint.output is None and joint.onto is None)
    leads = (lamp.run.lead(polarity) for lamp in harness.lamps if lamp.run)
    if None in joints or None in (lead.pin for lead in leads if lead.joint is None):
        return give_common_pins(harness)
    return harness


def _contacts(harness: Harness) -> Harness:
    """Give each wire that crosses a plug a contact: the common's first, then by output; given ones stay."""
    if not any(leg.plug for leg in harness.legs):
        return attrs.evolve(harness, contacts=()) if harness.contacts else harness
    given = {(contact.plug, contact.origin): contact for contact in harness.contacts}
    kept: list[Contact] = []
    wanted: dict[str, list[tuple[int, str]]] = defaultdict(list)
    for origin, output, path in chain_paths(harness):
        for leg in crossings(harness, path):
            contact = given.get((leg.plug, origin))
            if contact is not None:
                kept.append(contact)
            else:
                wanted[leg.plug].append((output or 0, origin))
    contacts = sorted(kept, key=harness.contacts.index)
    for plug, origins in wanted.items():
        # A contact whose wire is gone is free again; its old wire's tag is retired.
        taken = {contact.number for contact in kept if contact.plug == plug}
        free = (number for number in range(1, 1000) if number not in taken)
        contacts += [
            Contact(plug=plug, number=number, origin=origin)
            for (_, origin), number in zip(sorted(origins, key=lambda one: one[0]), free, strict=False)
        ]
    if tuple(contacts) == harness.contacts:
        return harness
    return attrs.evolve(harness, contacts=tuple(contacts))


def _tags(harness: Harness) -> Harness:
    """Bring the ledger up to the wires: keep, retire, take up again, and give new tags.

    A tag follows its wire while nothing in the world carries it, a plain number only as far as its
    output goes. Once a label is printed or the wire begun, an end that changes retires the tag. A wire
    that comes back with the same ends takes up its old tag: the label is true again.
    """
    wires = derive(harness).by_key
    live = harness.ledger.live()
    past = _past(harness, wires)
    changed: list[TagRecord] = []
    retired: list[TagRecord] = []
    nameless: list[Wire] = []
    for wire in wires.values():
        record = live.get(wire.key)
        same = record is not None and _same_ends(record, wire)
        if record is None:
            nameless.append(wire)
        elif not same and record.issued:
            now = _what_changed(harness, record, wire)
            retired.append(attrs.evolve(record, retired=f"its wire no longer runs so: {now}"))
            nameless.append(wire)
        elif not record.issued and not _number_fits(harness, record.tag, wire):
            retired.append(attrs.evolve(record, retired="its number is that of another output"))
            nameless.append(wire)
        elif same:
            words = _cut_words(wire_words(harness, wire))
            if record.meaning != words:
                changed.append(attrs.evolve(record, meaning=words))
        elif (old := past.get(_wire_and_ends(wire))) is not None and old.issued:
            retired.append(attrs.evolve(record, retired="its wire has its old tag again"))
            nameless.append(wire)
        else:
            changed.append(_bound(harness, record, wire))
    retired += [
        attrs.evolve(record, retired="its wire is no longer planned")
        for key, record in live.items()
        if key not in wires
    ]
    if not (changed or retired or nameless):
        return harness
    ledger = harness.ledger.replace(*changed, *retired)
    fresh: list[TagRecord] = []
    brand_new: list[Wire] = []
    for wire in nameless:
        old = past.get(_wire_and_ends(wire))
        if old is None:
            brand_new.append(wire)
        else:
            fresh.append(_bound(harness, attrs.evolve(old, retired="", replaced_by=()), wire))
    for tag, wire in zip(_new(harness, brand_new), brand_new, strict=True):
        record = TagRecord(tag=tag, wire=wire.key, lamp_end="", controller_end="")
        fresh.append(_bound(harness, record, wire))
    taken_up = {record.tag for record in fresh}
    heirs = [
        attrs.evolve(record, replaced_by=_replacing(record, fresh, wires, live))
        for record in retired
        if record.tag not in taken_up
    ]
    return attrs.evolve(harness, ledger=ledger.replace(*heirs, *fresh))


def _past(harness: Harness, wires: Mapping[str, Wire]) -> dict[tuple[str, str, str], TagRecord]:
    """The retired tags that a wire may take up again, by wire and ends; of two the one that something
    carries.
    """
    own = (old for old in harness.ledger if old.retired and old.wire in wires)
    fit = [old for old in own if _number_fits(harness, old.tag, wires[old.wire])]
    return {
        (old.wire, old.lamp_end, old.controller_end): old for old in sorted(fit, key=lambda old: old.issued)
    }


def _wire_and_ends(wire: Wire) -> tuple[str, str, str]:
    return wire.key, wire.lamp_end.ref, wire.controller_end.ref


def _number_fits(harness: Harness, tag: str, wire: Wire) -> bool:
    """Whether a plain number says the wire's output, 0 for the common. A code tag says none and always
    fits.
    """
    if harness.settings.tag_scheme is TagScheme.CODE or not tag.isdecimal():
        return True
    return tag.startswith("0") if wire.output is None else tag[:-2] == str(wire.output)


def _same_ends(record: TagRecord, wire: Wire) -> bool:
    return record.lamp_end == wire.lamp_end.ref and record.controller_end == wire.controller_end.ref


def _what_changed(harness: Harness, record: TagRecord, wire: Wire) -> str:
    """Where the wire goes now; what it was stands in the record's meaning."""
    end = wire.controller_end
    if record.controller_end == end.ref:
        return f"it now starts at {end_words(harness, wire.lamp_end, wire)}"
    if not end.ref:
        return "it has no pin yet"
    words = end_words(harness, end, wire)
    if end.kind is EndKind.PIN and wire.output is not None:
        words = words.replace(f"output {wire.output}", net_words(harness, wire.output), 1)
    return f"it now ends at {words}"


def _bound(harness: Harness, record: TagRecord, wire: Wire) -> TagRecord:
    return attrs.evolve(
        record,
        lamp_end=wire.lamp_end.ref,
        controller_end=wire.controller_end.ref,
        meaning=_cut_words(wire_words(harness, wire)),
    )


def _cut_words(words: str) -> str:
    return words if len(words) <= 250 else words[:249] + "\u2026"


def _replacing(
    old: TagRecord, fresh: Iterable[TagRecord], wires: Mapping[str, Wire], live: Mapping[str, TagRecord]
) -> tuple[str, ...]:
    """The new tags whose wires took the place of an old one's.

    They are of the same wire, or share an end and a lamp with it. `live` are the tags before the change.
    """
    chain = old.wire.partition(".")[0]
    lamps = _fed(chain, live)
    ends = {old.lamp_end, old.controller_end} - {""}

    def inherits(new: TagRecord) -> bool:
        if new.wire.partition(".")[0] == chain:
            return True
        wire = wires[new.wire]
        meets = bool(ends & {new.lamp_end, new.controller_end}) and not lamps.isdisjoint(wire.lamps)
        return meets and wire.polarity == chain[-1]

    return tuple(new.tag for new in fresh if inherits(new))


def _fed(chain: str, live: Mapping[str, TagRecord]) -> set[str]:
    """The lamps that the wires from a lamp or joint on fed, by what the ledger says."""
    waiting, seen = [chain], {chain}
    while waiting:
        joint = waiting.pop()[:-1]
        into = {
            record.wire.partition(".")[0] for record in live.values() if record.controller_end == joint
        } - seen
        seen |= into
        waiting += into
    return {name[:-1] for name in seen if name.startswith("L")}


def _new(harness: Harness, wires: list[Wire]) -> tuple[str, ...]:
    taken = [record.tag for record in harness.ledger]
    if harness.settings.tag_scheme is TagScheme.CODE:
        return new_tags(taken, len(wires))
    tags: list[str] = []
    for wire in wires:
        tags += new_numbers([*taken, *tags], wire.output, 1)
    return tuple(tags)


def tag_of(harness: Harness, wire: Wire) -> str:
    """The tag of a wire, or an empty string before the harness is settled."""
    record = live_records(harness).get(wire.key)
    return record.tag if record else ""
