"""Which piece is cut from which spool or remnant, so that nothing comes out short and least is left over.

Wire of one colour and gauge is a group. Its shortest lengths on hand are used up first, as few of them as
hold all pieces; each but the longest of these is filled as far as can be, so that what is left is on one
length. Where all that is on hand does not suffice it is filled up, and as few new spools as can be are
bought.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

import attrs

from model.harness import Harness, Spool
from model.routing.packing import Filling, fill, pack_equal
from model.routing.wires import derive

SOLD_MM = 10_000.0
"""Length of a spool that is bought; common practice, no source."""

END_MM = 5.0
"""Not counted on at the end of a length: it is frayed, or was measured long; common practice, no source."""


@attrs.frozen(kw_only=True)
class Piece:
    """One wire to cut: its tag ("" before it has one), its key, its length."""

    tag: str
    key: str
    cut_mm: float


@attrs.frozen(kw_only=True)
class Rod:
    """One spool or remnant, what is cut from it (the longest piece first), and what is left. `bought`: it is
    not on hand.
    """

    name: str
    length_mm: float
    bought: bool
    pieces: tuple[Piece, ...]

    @property
    def used_mm(self) -> float:
        """All pieces together."""
        return sum(piece.cut_mm for piece in self.pieces)

    @property
    def left_mm(self) -> float:
        """What is left on it, with its end."""
        return self.length_mm - self.used_mm


@attrs.frozen(kw_only=True)
class GroupCuts:
    """The wires of one colour and gauge.

    `rods` are in the order of the work. `scrap_mm` is what is left on all of them but the longest rest;
    `scrap_bound_mm` is a sum it can't be below with the same lengths in use. `buy` spools of `sold_mm` are
    needed, at least `buy_bound`. `assumed`: nothing of this wire is entered as on hand. `exact`: neither can
    be less.
    """

    colour: str
    gauge: str
    rods: tuple[Rod, ...]
    scrap_mm: float
    scrap_bound_mm: float
    buy: int
    buy_bound: int
    sold_mm: float
    assumed: bool
    exact: bool

    @property
    def total_mm(self) -> float:
        """All pieces together."""
        return sum(rod.used_mm for rod in self.rods)

    @property
    def count(self) -> int:
        """How many pieces there are."""
        return sum(len(rod.pieces) for rod in self.rods)


@attrs.frozen(kw_only=True)
class CuttingPlan:
    """All groups in the order of the work.

    `changes` counts how often another spool is taken up in this order, `changes_by_wire` how often it would
    be if the wires were cut lamp by lamp.
    """

    groups: tuple[GroupCuts, ...]
    changes: int
    changes_by_wire: int


def cutting_plan(harness: Harness, sold_mm: float = SOLD_MM) -> CuttingPlan:
    """The cuts of all wires that are not cut yet. New spools are `sold_mm` long, or so many times that as a
    wire needs.

    Groups come by colour and gauge in the order in which they are first needed, so that the person changes
    spools least.
    """
    waiting = _waiting(harness)
    groups = tuple(
        _group(
            colour,
            gauge,
            pieces,
            [one for one in harness.spools if (one.colour, one.gauge) == (colour, gauge)],
            sold_mm,
        )
        for (colour, gauge), pieces in waiting.items()
    )
    rods = sum(len(group.rods) for group in groups)
    return CuttingPlan(
        groups=groups, changes=max(rods - 1, 0), changes_by_wire=_changes_by_wire(harness, groups)
    )


def _waiting(harness: Harness) -> dict[tuple[str, str], list[Piece]]:
    """The wires to cut by colour and gauge, in the order of the walk."""
    live = harness.ledger.live()
    groups: dict[tuple[str, str], list[Piece]] = {}
    for wire in derive(harness).wires:
        record = live.get(wire.key)
        if wire.own_lead or (record is not None and ("cut" in record.steps or record.cut_mm is not None)):
            continue
        piece = Piece(tag=record.tag if record is not None else "", key=wire.key, cut_mm=wire.cut_mm)
        groups.setdefault((wire.colour, wire.gauge), []).append(piece)
    return groups


def _changes_by_wire(harness: Harness, groups: Sequence[GroupCuts]) -> int:
    rod_of = {
        piece.key: (group.colour, group.gauge, rod.name)
        for group in groups
        for rod in group.rods
        for piece in rod.pieces
    }
    order = [rod_of[wire.key] for wire in derive(harness).wires if wire.key in rod_of]
    return sum(one != other for one, other in itertools.pairwise(order))


def _group(colour: str, gauge: str, pieces: list[Piece], spools: list[Spool], sold_mm: float) -> GroupCuts:
    lengths = [piece.cut_mm for piece in pieces]
    sold_mm *= next(times for times in itertools.count(1) if times * sold_mm - END_MM >= max(lengths) - 1e-6)
    stock = sorted((spool for spool in spools if spool.left_mm > 0), key=lambda spool: spool.left_mm)
    usable = [max(spool.left_mm - END_MM, 0.0) for spool in stock]
    found = _from_stock(lengths, usable)
    bought: tuple[tuple[int, ...], ...] = ()
    buy_bound = 0
    exact = True
    if found is None:
        # All there is gets used, and what can't come from it is bought.
        filling = fill(lengths, usable)
        packing = pack_equal([lengths[place] for place in filling.rest], sold_mm - END_MM)
        bought = tuple(tuple(filling.rest[place] for place in cut) for cut in packing.bins)
        buy_bound = max(math.ceil((sum(lengths) - filling.bound) / (sold_mm - END_MM) - 1e-9), 1)
        exact = filling.exact and len(bought) == buy_bound
        bins, scrap_bound = filling.bins, 0.0
    else:
        bins, scrap_bound, exact = found
    rods = [
        _rod(spool.name, spool.left_mm, False, [pieces[place] for place in cut])
        for spool, cut in zip(stock, bins, strict=False)
        if cut
    ]
    rods += [
        _rod(f"new {number}", sold_mm, True, [pieces[place] for place in cut])
        for number, cut in enumerate(bought, 1)
    ]
    lefts = sorted(rod.left_mm for rod in rods)
    return GroupCuts(
        colour=colour,
        gauge=gauge,
        rods=tuple(rods),
        scrap_mm=sum(lefts[:-1]),
        scrap_bound_mm=min(scrap_bound, sum(lefts[:-1])),
        buy=len(bought),
        buy_bound=buy_bound,
        sold_mm=sold_mm,
        assumed=not spools,
        exact=exact,
    )


def _rod(name: str, length_mm: float, bought: bool, pieces: list[Piece]) -> Rod:
    ordered = sorted(pieces, key=lambda piece: -piece.cut_mm)
    return Rod(name=name, length_mm=length_mm, bought=bought, pieces=tuple(ordered))


def _from_stock(
    lengths: list[float], usable: Sequence[float]
) -> tuple[tuple[tuple[int, ...], ...], float, bool] | None:
    """Pieces by length on hand, the least scrap there can be, and whether it is met; None if it does not
    suffice.

    Tried are the shortest length, the two shortest, and so on. The longest of those in use takes what does
    not go into the others, so that only its sum matters.
    """
    total = sum(lengths)
    for count in range(1, len(usable) + 1):
        caps = usable[:count]
        if sum(caps) < total - 1e-6 or caps[-1] < max(lengths) - 1e-6:
            continue
        filling: Filling = fill(lengths, caps[:-1])
        if sum(lengths[place] for place in filling.rest) <= caps[-1] + 1e-6:
            scrap_bound = (
                sum(cap + END_MM for cap, cut in zip(caps, filling.bins, strict=False) if cut) - filling.bound
            )
            return (*filling.bins, filling.rest), max(scrap_bound, 0.0), filling.exact
    return None
