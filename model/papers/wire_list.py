"""The wire list, every wire with its ends, length and state; and the list of every tag ever given."""

from __future__ import annotations

from model.bench import bench_order, step_kinds
from model.harness import Harness
from model.papers.table import Table
from model.routing.wires import EndKind, Wire
from model.routing.words import end_words, net_words
from model.tags import TagRecord

WIRE_COLUMNS = (
    "tag",
    "from",
    "to",
    "net",
    "polarity",
    "colour",
    "gauge",
    "cut mm",
    "joints",
    "made",
    "labels",
    "lamps",
)
"""Colours are IEC 60757 codes, lengths in mm. "from" is the end towards the lamp."""

TAG_COLUMNS = ("tag", "state", "meaning", "why", "now", "labels", "last event")


def wire_table(harness: Harness) -> Table:
    """One row a wire, in the order of the work; "cut mm" is what it was cut to, else the plan's."""
    live = harness.ledger.live()
    names = {lamp.id: lamp.name for lamp in harness.lamps}
    rows = []
    for wire in bench_order(harness):
        record = live.get(wire.key)
        cut = wire.cut_mm if record is None or record.cut_mm is None else record.cut_mm
        rows.append(
            (
                record.tag if record else "",
                end_words(harness, wire.lamp_end, wire),
                end_words(harness, wire.controller_end, wire),
                net_words(harness, wire.output),
                wire.polarity.word,
                wire.colour,
                wire.gauge,
                f"{cut:g}",
                " ".join(_joints(wire)),
                made(record, wire),
                printed(record),
                ", ".join(names[lamp_id] for lamp_id in wire.lamps if lamp_id in names),
            )
        )
    return Table(title="Wires, lengths in mm", columns=WIRE_COLUMNS, rows=tuple(rows))


def tag_table(harness: Harness) -> Table:
    """Every tag ever given, by the alphabet; retired ones with the reason and what took their place."""
    rows = [
        (
            record.tag,
            "in use" if record.live else "retired",
            record.meaning,
            record.retired,
            " ".join(record.replaced_by),
            printed(record),
            f"{record.events[-1].day} {record.events[-1].what}" if record.events else "",
        )
        for record in sorted(harness.ledger, key=lambda record: record.tag)
    ]
    return Table(title="Tags", columns=TAG_COLUMNS, rows=tuple(rows))


def _joints(wire: Wire) -> list[str]:
    return [end.ref for end in (wire.lamp_end, wire.controller_end) if end.kind is EndKind.JOINT]


def made(record: TagRecord | None, wire: Wire) -> str:
    """ "made", "3 of 7" steps, or nothing."""
    kinds = step_kinds(wire)
    done = sum(kind in record.steps for kind in kinds) if record else 0
    return "made" if done == len(kinds) else f"{done} of {len(kinds)}" if done else ""


def printed(record: TagRecord | None) -> str:
    """Which labels were printed: "both", "lamp end", "controller end" or nothing."""
    if record is None or not record.printed:
        return ""
    if record.printed_lamp and record.printed_controller:
        return "both"
    return "lamp end" if record.printed_lamp else "controller end"
