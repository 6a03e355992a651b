"""The merge plan as tables: the three plans side by side, how sure each net is, every merge, and every
bundle.
"""

from __future__ import annotations

from model.harness import Harness
from model.papers.table import Table, as_csv, as_text, without
from model.routing.bundles import bundles
from model.routing.merge_plan import NetPlan, Plan, joint_names
from model.routing.picture import picture
from model.routing.plan_compare import Comparison, compare
from model.routing.words import net_words, place_name

PLAN_COLUMNS = (
    "plan",
    "wire m",
    "joints",
    "longest run mm",
    "wires in the tightest leg",
    "lamps",
    "not walked",
    "bundles too thick",
)

NET_COLUMNS = ("net", "lamps", "wire mm", "joints", "cost mm", "least mm", "sure")
"""Cost is wire and joints at their price; "least" is what no plan can be below."""

MERGE_COLUMNS = ("net", "joint", "at", "wires in", "lamps", "goes on to", "trunk gauge", "saves mm")

BUNDLE_COLUMNS = (
    "from",
    "to",
    "length mm",
    "wires",
    "bundle mm",
    "sleeve",
    "bend radius mm",
    "bend",
    "hole mm",
    "passes",
)

BUNDLES_WIDE = 100
"""Columns of a terminal from which it is told by which rule a bundle bends."""


def plan_tables(harness: Harness, compared: Comparison | None = None) -> tuple[Table, Table, Table, Table]:
    """The three plans, the nets and merges of the best one, and the bundles as it would make them."""
    compared = compared or compare(harness)
    best = compared.best.harness
    return (
        comparison_table(harness, compared),
        net_table(harness, compared.plan),
        merge_table(harness, compared.plan),
        bundle_table(best),
    )


def plan_text(harness: Harness, compared: Comparison | None = None, width: int | None = None) -> str:
    """The tables for a terminal, what was left out and why, and the best plan as a picture.

    Both keep to `width` columns where it is given.
    """
    compared = compared or compare(harness)
    *tables, bundled = plan_tables(harness, compared)
    if width is not None and width < BUNDLES_WIDE:
        bundled = without(bundled, "bend")
    texts = [as_text(table, width) for table in (*tables, bundled)]
    drawn = picture(compared.best.harness, width or 80)
    return "\n".join([*texts, *_left_out(harness, compared.plan), "The best plan", *drawn, ""])


def plan_csv(harness: Harness, compared: Comparison | None = None) -> str:
    """The tables as CSV."""
    return as_csv(plan_tables(harness, compared))


def _left_out(harness: Harness, plan: Plan) -> list[str]:
    return [
        f"{harness.lamp(lamp_id).name}: {why}, so no plan can hold it.\n" for lamp_id, why in plan.left_out
    ]


def comparison_table(harness: Harness, compared: Comparison) -> Table:
    """Each lamp its own pair, the best plan, and as it stands."""
    tightest = compared.tightest
    title = "Plans"
    if tightest is not None:
        ends = f"{place_name(harness, tightest.a)} to {place_name(harness, tightest.b)}"
        title += f"; the tightest leg is {ends}"
    rows = [
        (
            figures.name,
            f"{figures.wire_mm / 1000:.2f}",
            str(figures.joint_count),
            f"{figures.longest_mm:.0f}",
            str(figures.tight_wires),
            str(figures.lamps),
            str(figures.open_lamps),
            str(figures.stuck),
        )
        for figures in compared.columns
    ]
    return Table(title=title, columns=PLAN_COLUMNS, rows=tuple(rows))


def net_table(harness: Harness, plan: Plan) -> Table:
    """Each net of the plan and how sure it is that nothing is cheaper."""
    rows = [
        (
            net_words(harness, net.output),
            str(len(net.lamps)),
            f"{net.wire_mm:g}",
            str(net.joint_count),
            f"{net.cost_mm:g}",
            f"{net.bound_mm:.0f}",
            sure(net),
        )
        for net in plan.nets
    ]
    return Table(title="Best plan by net, lengths in mm", columns=NET_COLUMNS, rows=tuple(rows))


def sure(net: NetPlan) -> str:
    """How sure it is that no plan of a net is cheaper: "the least", or "within 3.4 %".

    Where a bundle has to go through a hole it may cost more than its least, which is counted in there.
    """
    words = "the least" if net.exact else f"within {100 * net.gap:.1f} %"
    if net.for_room_mm:
        words += ", for a hole"
    if net.as_it_stands:
        words += ", as it stands"
    return f"{words}, pin too full" if net.crowded else words


def merge_table(harness: Harness, plan: Plan) -> Table:
    """Every merge of the plan, its joints under the names they have once the whole of it is taken.

    What it saves is wire, against its wires going on by themselves. Below 0 it is there only because a joint
    or pin holds so few wires.
    """
    names = joint_names(harness, plan)
    rows = []
    for net in plan.nets:
        for joint in net.joints:
            rows.append(
                (
                    net_words(harness, net.output),
                    names[net.output, joint.key],
                    place_name(harness, joint.at),
                    str(len(joint.feeds)),
                    str(len(joint.lamps)),
                    names.get((net.output, joint.onto), joint.onto) if joint.onto else "pin",
                    joint.gauge or "",
                    f"{joint.saves_mm:g}",
                )
            )
    return Table(title="Merges of the best plan", columns=MERGE_COLUMNS, rows=tuple(rows))


def bundle_table(harness: Harness) -> Table:
    """Every leg that has wires in it: how thick they are together, what takes them, how far they bend."""
    rows = []
    for bundle in bundles(harness):
        if not bundle.wires:
            continue
        leg = bundle.leg
        passes = (
            "" if bundle.passes is None else "no" if not bundle.passes else "just" if bundle.tight else "yes"
        )
        rows.append(
            (
                place_name(harness, leg.a),
                place_name(harness, leg.b),
                f"{leg.length_mm:g}",
                str(len(bundle.wires)),
                f"{bundle.diameter_mm:.1f}",
                bundle.sleeve.name if bundle.sleeve else "none fits",
                f"{bundle.bend_mm:.0f}",
                bundle.held,
                f"{leg.hole_mm:g}" if leg.hole_mm is not None else "",
                passes,
            )
        )
    return Table(title="Bundles of the best plan", columns=BUNDLE_COLUMNS, rows=tuple(rows))
