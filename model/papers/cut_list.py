"""The cut list: which wires to cut from which spool or remnant, spool by spool, and what to buy."""

from __future__ import annotations

from model import lengths
from model.harness import Harness
from model.papers.table import Table, as_csv, as_text
from model.routing.cutting import CuttingPlan, GroupCuts, cutting_plan
from model.routing.spools import spool_uses
from model.routing.wires import derive
from model.routing.words import colour_words, wire_words

CUT_COLUMNS = ("colour", "gauge", "from", "cut mm", "tag", "wire")

GROUP_COLUMNS = (
    "colour",
    "name",
    "gauge",
    "pieces",
    "total mm",
    "lengths",
    "scrap mm",
    "left mm",
    "buy",
    "sure",
)
"""Scrap is what is left on all lengths in use but the longest rest, which is "left"."""


SPOOL_COLUMNS = ("spool", "colour", "gauge", "length mm", "pieces", "left mm")


def cut_tables(harness: Harness, plan: CuttingPlan | None = None) -> tuple[Table, ...]:
    """The pieces in the order of the work, the sums by colour and gauge, and what is on hand if any is."""
    plan = plan or cutting_plan(harness)
    tables = piece_table(harness, plan), group_table(plan)
    return (*tables, spool_table(harness, plan)) if harness.spools else tables


def cut_text(harness: Harness, plan: CuttingPlan | None = None, width: int | None = None) -> str:
    """The tables for a terminal of `width` columns, and how much taking up of spools the order saves."""
    plan = plan or cutting_plan(harness)
    tables = [as_text(table, width) for table in cut_tables(harness, plan)]
    return "\n".join([*tables, *notes(plan), ""])


def cut_csv(harness: Harness, plan: CuttingPlan | None = None) -> str:
    """The tables as CSV."""
    return as_csv(cut_tables(harness, plan))


def notes(plan: CuttingPlan) -> list[str]:
    """What a person should know beside the figures, a line each."""
    if not plan.groups:
        return ["No wire is left to cut."]
    by_wire = _times(plan.changes_by_wire)
    lines = [f"In this order the spool changes {_times(plan.changes)}, lamp by lamp it would {by_wire}."]
    for group in plan.groups:
        wire = f"{colour_words(group.colour)} {group.gauge}"
        if group.assumed:
            lines.append(
                f"No {wire} is entered as on hand: spools of {group.sold_mm / 1000:g} m are assumed."
            )
        elif group.buy:
            lines.append(
                f"The {wire} on hand does not suffice: buy {group.buy} of {group.sold_mm / 1000:g} m."
            )
    return lines


def _times(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


def piece_table(harness: Harness, plan: CuttingPlan) -> Table:
    """One row a piece, spool by spool, the longest piece of each first."""
    wires = derive(harness).by_key
    rows = [
        (
            group.colour,
            group.gauge,
            rod.name,
            f"{piece.cut_mm:g}",
            piece.tag,
            wire_words(harness, wires[piece.key]),
        )
        for group in plan.groups
        for rod in group.rods
        for piece in rod.pieces
    ]
    return Table(title="Cut list, lengths in mm", columns=CUT_COLUMNS, rows=tuple(rows))


def group_table(plan: CuttingPlan) -> Table:
    """The sums of each colour and gauge, what to buy, and whether it is proved that it can't be less."""
    rows = []
    for group in plan.groups:
        left_mm = max((rod.left_mm for rod in group.rods), default=0.0)
        rows.append(
            (
                group.colour,
                colour_words(group.colour),
                group.gauge,
                str(group.count),
                f"{group.total_mm:g}",
                str(len(group.rods)),
                f"{group.scrap_mm:g}",
                f"{left_mm:g}",
                f"{group.buy} x {group.sold_mm / 1000:g} m" if group.buy else "",
                sure(group),
            )
        )
    return Table(title="By colour", columns=GROUP_COLUMNS, rows=tuple(rows))


def spool_table(harness: Harness, plan: CuttingPlan) -> Table:
    """Every spool and remnant on hand, those of no use too, and what is left of it."""
    rows = tuple(
        (
            use.spool.name,
            use.spool.colour,
            use.spool.gauge,
            f"{use.spool.left_mm:g}",
            str(use.pieces) if use.pieces else "",
            f"{use.left_mm:g}",
        )
        for use in spool_uses(harness, plan)
    )
    return Table(title="On hand", columns=SPOOL_COLUMNS, rows=rows)


def sure(group: GroupCuts) -> str:
    """Whether it is proved that no less is left over or bought, and else by how much it might be less."""
    if group.exact:
        return "the least"
    if group.buy > group.buy_bound:
        return f"at least {group.buy_bound} to buy"
    return f"scrap at least {lengths.long(group.scrap_bound_mm)}"
