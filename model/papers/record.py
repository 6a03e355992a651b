"""The test record: what a meter should show, a line to write down what it shows, and what was tested at
the bench.
"""

from __future__ import annotations

from model.bench import StepKind, bench_order, lit_volts, most_ohm
from model.electrics.lamps import all_lamps
from model.electrics.network import usual_case
from model.electrics.outputs import output_loads, solved
from model.electrics.supply import full_words, source_word, volts
from model.errors import NotSolved
from model.harness import Build, Harness
from model.papers.table import Table
from model.routing.words import colour_words, end_words
from model.tags import TagRecord
from model.tracing.commission import (
    isolation,
    isolation_verdict,
    last_readings,
    last_sights,
    ohm_words,
    record_table,
)

BY_HAND = ("measured", "day", "by")

WIRE_COLUMNS = ("tag", "from", "to", "under ohm", "tested", *BY_HAND)
OHM_COLUMNS = ("pin", "output", "should be", *BY_HAND)
LAMP_COLUMNS = ("lamp", "output", "about V", "about mA", *BY_HAND)
OUTPUT_COLUMNS = ("output", "function", "lamps", "full mA", "limit mA", *BY_HAND)
READ_NOTE = "Beside a current that was entered stands what was right at the volts at which it was measured."
BEFORE_COLUMNS = ("before the power is on", "should be", *BY_HAND)


def record_tables(harness: Harness) -> tuple[Table, ...]:
    """What to do before the battery, every wire, lamp and output, and what was entered already."""
    forms = (
        before_table(harness),
        wire_table(harness),
        ohm_table(harness),
        lamp_table(harness),
        output_table(harness),
    )
    entered = record_table(harness)
    return (*forms, entered) if entered.rows else forms


def before_table(harness: Harness) -> Table:
    """What is looked at before the battery is connected (common practice, no source)."""
    full_v = volts(harness.supply).full_v
    source = source_word(harness.supply)
    days = {one.id: one.day for one in harness.checked}
    rows = (
        (f"resistance between plus and minus of the {source} lead, all outputs off", "no short", ""),
        (
            f"polarity of the {source} lead",
            f"plus on {colour_words(harness.settings.plus_colour)}",
            "polarity",
        ),
        ("fuse in the positive lead", "fitted", "fuse"),
        ("voltage of the supply", f"at most {full_v:.1f} V", ""),
    )
    return Table(
        title="Before",
        columns=BEFORE_COLUMNS,
        rows=tuple((*row, *_entered("ticked off", days.get(check, ""))) for *row, check in rows),
        by_hand=BY_HAND,
    )


def _entered(measured: str, day: str) -> tuple[str, str, str]:
    """What was entered in the program, where else a pencil writes; who did it is not kept."""
    return (measured, day, "") if day else ("", "", "")


def ohm_table(harness: Harness) -> Table:
    """Between the common and the pin of each output with lamps, the supply off, the controller unplugged."""
    read = last_readings(harness)
    rows = []
    try:
        expected = isolation(harness)
    except NotSolved:
        expected = ()  # a finding says why
    for one in expected:
        ohm = read.ohms.get(one.ref)
        wrong = ohm is not None and isolation_verdict(one, ohm)
        rows.append(
            (
                one.ref.replace(".", ""),
                str(one.output),
                f"over {ohm_words(one.limit_ohm)}",
                *_entered(f"{ohm_words(ohm)}{', wrong' if wrong else ''}", read.ohm_days.get(one.ref, "")),
            )
        )
    return Table(
        title=f"Between the common and each pin, {source_word(harness.supply)} off, controller unplugged",
        columns=OHM_COLUMNS,
        rows=tuple(rows),
        by_hand=BY_HAND,
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
    """Every lamp lit at nominal volts: what is across it and its current, both as wired or both by its data
    sheet; and what it did when it was tested last.
    """
    figures = all_lamps(harness)
    wired = solved(harness, usual_case)
    seen = last_sights(harness)
    rows = []
    for lamp in harness.lamps:
        one = figures[lamp.id]
        across_v = lit_volts(lamp, one)
        current_ma = one.current.nominal_ma
        if across_v is not None and wired is not None and lamp.id in wired.lamp_ma:
            current_ma, across_v = wired.lamp_ma[lamp.id], wired.lamp_v[lamp.id]
            if one.series_ohm is not None and (lamp.build is Build.BARE or one.choice):
                across_v -= current_ma / 1000 * one.series_ohm  # a meter on the LED's legs
        day, sight = seen.get(lamp.id, ("", None))
        rows.append(
            (
                lamp.name,
                "" if lamp.output is None else str(lamp.output),
                "not yet" if across_v is None else f"{across_v:.1f}",
                "" if across_v is None else f"{current_ma:.1f}",
                *_entered(sight.value if sight else "", day),
            )
        )
    return Table(title="Lamps, lit one by one", columns=LAMP_COLUMNS, rows=tuple(rows), by_hand=BY_HAND)


def output_table(harness: Harness) -> Table:
    """Every output on, all its lamps lit, at the highest volts.

    A current that was entered stands with what was right at the volts it was measured at.
    """
    read = last_readings(harness)
    rows = tuple(
        (
            str(load.output.number),
            load.output.function,
            str(len(load.lamps)),
            f"{load.full_ma:.1f}",
            f"{load.output.limit_ma:g}",
            *_entered(
                read.current_words.get(load.output.number, ""), read.current_days.get(load.output.number, "")
            ),
        )
        for load in output_loads(harness).outputs
        if load.lamps
    )
    return Table(
        title=f"Outputs, {full_words(harness.supply)}",
        columns=OUTPUT_COLUMNS,
        rows=rows,
        by_hand=BY_HAND,
        note=READ_NOTE if read.currents_ma else "",
    )
