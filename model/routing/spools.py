"""Wire on hand: spools and remnants as a person enters them, and what the cuts take from each.

A wire that is cut is taken from the spool that the cutting plan names; its history says which, and the spool
counts what was cut from it since its length was entered. Entering the length anew starts at nothing.
"""

from __future__ import annotations

from typing import Any

import attrs

from model import editing
from model.editing import set_spools
from model.errors import BadValue, NotThere
from model.harness import Harness, Spool
from model.memo import by_identity
from model.routing.cutting import CuttingPlan, GroupCuts, cutting_plan
from model.routing.wires import derive
from model.tags import TagRecord
from model.values import parse_number

FROM_SPOOL = "from spool"
"""The event, behind that of the cut, whose note names the spool."""

LENGTH_UNITS_MM = {"mm": 1.0, "cm": 10.0, "m": 1000.0}


@attrs.frozen(kw_only=True)
class SpoolUse:
    """One spool or remnant: how many pieces are to be cut from it, how long they are together, what is left.

    `wanted`: the plan has wires of its colour and gauge that are not cut yet.
    """

    spool: Spool
    pieces: int
    used_mm: float
    wanted: bool

    @property
    def left_mm(self) -> float:
        """What is left of it once they are cut."""
        return self.spool.left_mm - self.used_mm


@by_identity
def cuts(harness: Harness) -> CuttingPlan:
    """The cutting plan of the wires that are not cut yet, with new spools of the usual length."""
    return cutting_plan(harness)


def spool_uses(harness: Harness, plan: CuttingPlan | None = None) -> tuple[SpoolUse, ...]:
    """Every spool and remnant on hand with what is to be cut from it, in the order they were entered."""
    groups = {(group.colour, group.gauge): group for group in (plan or cuts(harness)).groups}
    uses = []
    for spool in harness.spools:
        group = groups.get((spool.colour, spool.gauge))
        rods = () if group is None else group.rods
        pieces = next((rod.pieces for rod in rods if not rod.bought and rod.name == spool.name), ())
        uses.append(
            SpoolUse(
                spool=spool,
                pieces=len(pieces),
                used_mm=sum(piece.cut_mm for piece in pieces),
                wanted=group is not None,
            )
        )
    return tuple(uses)


def to_buy(harness: Harness) -> tuple[GroupCuts, ...]:
    """The colours and gauges for which what is on hand does not suffice."""
    return tuple(group for group in cuts(harness).groups if group.buy)


def parse_length_mm(typed: str, subject: str) -> float | None:
    """A length as a person types it: "850", "850 mm", "85 cm", "2,5 m"; None for nothing. Raises BadValue."""
    plain = typed.strip().lower()
    unit = next((unit for unit in LENGTH_UNITS_MM if plain.endswith(unit)), "mm")
    value = parse_number(plain.removesuffix(unit), subject)
    if value is None and plain.removesuffix(unit) != plain:
        raise BadValue(subject, "is a unit without a number", limit="such as 850, 85 cm or 10 m")
    return None if value is None else value * LENGTH_UNITS_MM[unit]


def add_spool(harness: Harness, colour: str, length_mm: float, gauge: str | None = None) -> Harness:
    """One more spool or remnant under a name of its own; of the project's gauge unless another is given."""
    gauge = gauge or harness.settings.gauge
    spool = Spool(name=free_spool_name(harness, colour), colour=colour, gauge=gauge, length_mm=length_mm)
    return set_spools(harness, (*harness.spools, spool))


def edit_spool(harness: Harness, name: str, /, **changes: Any) -> Harness:
    """Change name, colour, gauge or length; from a length that is entered anew nothing is cut yet.

    NotThere, BadValue, and Conflict for a name that another has.
    """
    spool = find_spool(harness, name)
    if "length_mm" in changes:
        changes = {"cut_mm": 0.0, **changes}
    changed: Spool = attrs.evolve(spool, **changes)
    if changed == spool:
        return harness
    return set_spools(harness, (changed if one is spool else one for one in harness.spools))


def remove_spool(harness: Harness, name: str) -> Harness:
    """Take a spool or remnant off the list. NotThere."""
    spool = find_spool(harness, name)
    return set_spools(harness, (one for one in harness.spools if one is not spool))


def find_spool(harness: Harness, name: str) -> Spool:
    """The spool or remnant of that name. NotThere."""
    for spool in harness.spools:
        if spool.name == name:
            return spool
    raise NotThere(f"spool {name}", "is not on hand")


def free_spool_name(harness: Harness, colour: str) -> str:
    """The next name that no spool has: RD 1, RD 2 ..."""
    taken = {spool.name for spool in harness.spools}
    return next(name for number in range(1, len(taken) + 2) if (name := f"{colour} {number}") not in taken)


# --- what is cut ---


def spool_for(harness: Harness, key: str) -> str:
    """The spool on hand from which a wire is to be cut; "" where it is bought, cut already, or unknown."""
    wire = derive(harness).by_key.get(key) if harness.spools else None
    if wire is None:
        return ""
    for group in cuts(harness).groups:
        if (group.colour, group.gauge) == (wire.colour, wire.gauge):
            rods = (rod for rod in group.rods if not rod.bought)
            return next((rod.name for rod in rods if any(piece.key == key for piece in rod.pieces)), "")
    return ""


def cut_from(record: TagRecord) -> str:
    """The spool from which a wire was cut, by its history; "" where none is named or the cut taken back."""
    for event in reversed(record.events):
        if event.what == FROM_SPOOL:
            return event.note
        if event.what in ("cut", "not cut"):
            return ""
    return ""


def take_from_spool(harness: Harness, tag: str, name: str, cut_mm: float, day: str) -> Harness:
    """Say of a wire that was cut just now from which spool it was, and count that there."""
    return count_cut(editing.log_event(harness, tag, FROM_SPOOL, name, day), name, cut_mm)


def count_cut(harness: Harness, name: str, more_mm: float) -> Harness:
    """So much more was cut from a spool, less if negative; nothing changes for one that is off the list."""
    return set_spools(
        harness,
        (
            attrs.evolve(one, cut_mm=max(one.cut_mm + more_mm, 0.0)) if one.name == name else one
            for one in harness.spools
        ),
    )
