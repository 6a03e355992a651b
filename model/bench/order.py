"""In which order the wires are made, and how far they are."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from enum import StrEnum

from model.harness import Harness
from model.memo import WIRING, of_parts
from model.routing.made import live_records
from model.routing.wires import EndKind, Wire, derive
from model.tags import LAMP_STEP


class StepKind(StrEnum):
    """The steps, in the order they are done. The value is the step's id in the ledger.

    LAMP is the end towards the lamp and JOIN the end towards the controller, whatever the wire ends in.
    """

    CUT = "cut"
    SLEEVE = "sleeve"
    STRIP = "strip"
    LAMP = LAMP_STEP
    JOIN = "join"
    SHRINK = "shrink"
    TEST = "test"


@of_parts(*WIRING)
def bench_order(harness: Harness) -> tuple[Wire, ...]:
    """All wires lamp by lamp as walked, each lamp's with the trunks that its wires open.

    Within a lamp the wires are put together by gauge and colour, first those of the spool in hand.
    """
    ordered: list[Wire] = []
    for group in _by_lamp(harness):
        spool = (ordered[-1].gauge, ordered[-1].colour) if ordered else None
        kinds = list(dict.fromkeys((wire.gauge, wire.colour) for wire in group))
        kinds.sort(key=lambda kind: kind != spool)
        ordered += sorted(group, key=lambda wire: kinds.index((wire.gauge, wire.colour)))
    return tuple(ordered)


def _by_lamp(harness: Harness) -> Iterator[list[Wire]]:
    group: list[Wire] = []
    lamp_id = ""
    for wire in derive(harness).wires:
        if wire.lamp_end.kind is EndKind.LAMP and wire.lamp_end.ref != lamp_id:
            lamp_id = wire.lamp_end.ref
            if group:
                yield group
            group = []
        group.append(wire)
    if group:
        yield group


def step_kinds(wire: Wire) -> tuple[StepKind, ...]:
    """The steps a wire has: all of them, but no lamp end to solder where the lamp's own lead reaches."""
    return tuple(kind for kind in StepKind if not (kind is StepKind.LAMP and wire.own_lead))


def all_done(harness: Harness, wire: Wire, but: StepKind | None = None) -> bool:
    """Whether a wire is made, not counting the step `but`."""
    record = live_records(harness).get(wire.key)
    return record is not None and all(kind in record.steps for kind in step_kinds(wire) if kind is not but)


def is_there(harness: Harness, wire: Wire, joint_id: str) -> bool:
    """Whether a wire's end lies at the joint already."""
    record = live_records(harness).get(wire.key)
    starts_there = wire.lamp_end.kind is EndKind.JOINT and wire.lamp_end.ref == joint_id
    return record is not None and (StepKind.LAMP if starts_there else StepKind.JOIN) in record.steps


def next_wire(harness: Harness, after: Wire | None = None) -> Wire | None:
    """The first wire in order that is not made, from behind `after` on, then from the start; else None."""
    order = bench_order(harness)
    place = next((n + 1 for n, wire in enumerate(order) if after is not None and wire.key == after.key), 0)
    return next((wire for wire in order[place:] + order[:place] if not all_done(harness, wire)), None)


def progress(harness: Harness) -> tuple[int, int]:
    """How many wires are made, and how many there are."""
    order = bench_order(harness)
    return sum(all_done(harness, wire) for wire in order), len(order)


def steps_done(harness: Harness) -> tuple[int, int]:
    """How many steps of all wires are done, and how many there are."""
    done = total = 0
    for wire in bench_order(harness):
        kinds = step_kinds(wire)
        record = live_records(harness).get(wire.key)
        total += len(kinds)
        done += sum(kind in record.steps for kind in kinds) if record else 0
    return done, total


def tag_of(harness: Harness, wire: Wire) -> str:
    """The tag of a wire, or its key while it has none."""
    record = live_records(harness).get(wire.key)
    return record.tag if record else wire.key


def tags_of(harness: Harness, wires: Sequence[Wire]) -> str:
    """The tags of several wires: "K7L, M2C and P4A"."""
    return joined_words([tag_of(harness, wire) for wire in wires])


def joined_words(words: Sequence[str]) -> str:
    """ "a", "a and b", "a, b and c"."""
    return " and ".join([", ".join(words[:-1]), words[-1]] if len(words) > 2 else words)
