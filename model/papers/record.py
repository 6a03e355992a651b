"""The test record: what a meter should show, a line to write down what it shows, and what was tested at
the bench.
"""

from __future__ import annotations

from model.bench import StepKind, bench_order, lit_volts, most_ohm
from model.electrics.lamps import all_lamps
from model.electrics.network import usual_case
from model.electrics.outputs import output_loads, solved
from model.electrics.supply import volts
from model.harness import Harness
from model.papers.table import Table
from model.routing.words import colour_words, end_words
from model.tags import TagRecord
from model.tracing.commission import record_table

BY_HAND = ("measured", "day", "by")

WIRE_COLUMNS = ("tag", "from", "to", "under ohm", "tested", *BY_HAND)
LAMP_COLUMNS = ("lamp", "output", "about V", "about mA", *BY_HAND)
OUTPUT_COLUMNS = ("output", "function", "lamps", "full mA", "limit mA", *BY_HAND)
BEFORE_COLUMNS = ("before the battery", "should be", *BY_HAND)


def record_tables(harness: Harness) -> tuple[Table, ...]:
    """What to do before the battery, every wire, lamp and output, and what was entered already."""
    forms = before_table(harness), wire_table(harness), lamp_table(harness), output_table(harness)
    entered = record_table(harness)
    return (*forms, entered) if entered.rows else forms


def before_table(harness: Harness) -> Table:
    """What is looked at before the battery is connected (common practice, no source)."""
    full_v = volts(harness.supply).full_v
    rows = (
        ("resistance between plus and minus of the battery lead, all outputs off", "no short"),
        ("polarity of the battery lead", f"plus on {colour_words(harness.settings.plus_colour)}"),
        ("fuse in the positive lead", "fitted"),
        ("voltage of the supply", f"at most {full_v:.1f} V"),
    )
    blank = ("",) * len(BY_HAND)
    return Table(
        title="Before", columns=BEFORE_COLUMNS, rows=tuple((*row, *blank) for row in rows), by_hand=BY_HAND
    )


def wire_table(harness: Harness) -> Table:
    """Every wire from end to end; "tested" is the day on which the bench step was done."""
    live = harness.ledger.live()
    rows = []
    for wire in bench_order(harness):
        record = live.get(wire.key)
        rows.append(
            (
                record.tag if record else "",
                end_words(harness, wire.lamp_end, wire),
                end_words(harness, wire.controller_end, wire),
                str(most_ohm(wire)),
                day_tested(record),
                *("",) * len(BY_HAND),
            )
        )
    return Table(title="Wires from end to end", columns=WIRE_COLUMNS, rows=tuple(rows), by_hand=BY_HAND)


def day_tested(record: TagRecord | None) -> str:
    """The day on which the bench's test was done, or an empty string."""
    if record is None or StepKind.TEST.value not in record.steps:
        return ""
    days = [event.day for event in record.events if event.what == StepKind.TEST.value]
    return days[-1] if days else "yes"


def lamp_table(harness: Harness) -> Table:
    """Every lamp lit at nominal volts: what is across it, and its current as wired or by its data sheet."""
    figures = all_lamps(harness)
    wired = solved(harness, usual_case)
    held = wired.lamp_ma if wired is not None else {}
    rows = []
    for lamp in harness.lamps:
        one = figures[lamp.id]
        across_v = lit_volts(lamp, one)
        current_ma = held.get(lamp.id, one.current.nominal_ma)
        rows.append(
            (
                lamp.name,
                "" if lamp.output is None else str(lamp.output),
                "not yet" if across_v is None else f"{across_v:.1f}",
                "" if across_v is None else f"{current_ma:.1f}",
                *("",) * len(BY_HAND),
            )
        )
    return Table(title="Lamps, lit one by one", columns=LAMP_COLUMNS, rows=tuple(rows), by_hand=BY_HAND)


def output_table(harness: Harness) -> Table:
    """Every output on, all its lamps lit, the battery full."""
    rows = tuple(
        (
            str(load.output.number),
            load.output.function,
            str(len(load.lamps)),
            f"{load.full_ma:.1f}",
            f"{load.output.limit_ma:g}",
            *("",) * len(BY_HAND),
        )
        for load in output_loads(harness).outputs
        if load.lamps
    )
    return Table(title="Outputs, full battery", columns=OUTPUT_COLUMNS, rows=rows, by_hand=BY_HAND)
