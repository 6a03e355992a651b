"""The electrics as tables: lamps, LEDs, resistors, outputs, commons, wires and sums. Content only."""

from __future__ import annotations

from collections.abc import Collection

from model.electrics.lamps import LampElectrics, all_lamps
from model.electrics.network import Wired, as_wired, usual_case, worst_case
from model.electrics.outputs import nominal_draw_ma, output_loads, pack_lasts_h, solved
from model.electrics.parts import resistors_needed
from model.electrics.resistor import ResistorChoice
from model.electrics.supply import full_words, source_word, volts
from model.errors import NotThere
from model.harness import Build, Harness, Lamp
from model.papers.table import Table, as_csv, as_text
from model.routing.wires import derive
from model.routing.words import wire_words
from model.standards.leds import led
from model.standards.wire import gauge

LAMP_COLUMNS = (
    "lamp",
    "function",
    "LED",
    "output",
    "resistor",
    "marks",
    "part",
    "worst mW",
    "worst mA",
    "limit mA",
    "full mA",
    "nominal mA",
    "flat mA",
    "wired mA",
    "percent",
    "verdict",
    "remark",
)

WIRED_NOTE = (
    "wired mA is what a meter shows at nominal volts with all outputs on: by the LED's curve and the wires. "
    "full, nominal and flat mA are by the LED's usual volts, by which its resistor is chosen: often less."
)
"""Why two currents stand beside each other that are not the same."""

LED_COLUMNS = ("LED", "lowest V", "usual V", "highest V", "good mA", "rated mA", "limit mA", "source")

RESISTOR_COLUMNS = ("resistor", "marks", "codes", "tolerance %", "part", "body", "pieces", "lamps")

OUTPUT_COLUMNS = ("output", "function", "lamps", "full mA", "worst mA", "limit mA", "margin mA")

COMMON_COLUMNS = ("common pin", "lamps", "full mA", "worst mA", "limit mA", "margin mA")

WIRE_COLUMNS = ("wire", "tag", "gauge", "cut mm", "full mA", "guidance mA", "drop mV")

SUM_COLUMNS = ("what", "value")


def electrics_tables(harness: Harness) -> tuple[Table, ...]:
    """Lamps, LEDs, resistors, outputs, common pins, wires, sums."""
    return (
        lamp_table(harness),
        led_table(harness),
        resistor_table(harness),
        output_table(harness),
        common_table(harness),
        wire_table(harness),
        sum_table(harness),
    )


def electrics_text(harness: Harness) -> str:
    """All tables for a terminal."""
    return "\n".join(map(as_text, electrics_tables(harness)))


def electrics_csv(harness: Harness) -> str:
    """All tables as CSV."""
    return as_csv(electrics_tables(harness))


def lamp_table(harness: Harness) -> Table:
    """Each lamp's resistor and currents.

    "worst mA" is with the lowest forward voltage and the resistor at the low end of its tolerance on a full
    battery; "wired mA" is at nominal volts through its wires, all outputs on.
    """
    figures = all_lamps(harness)
    wired = solved(harness, usual_case)
    return Table(
        title="Lamps",
        note=WIRED_NOTE,
        columns=LAMP_COLUMNS,
        rows=tuple(_lamp_row(lamp, figures[lamp.id], wired) for lamp in harness.lamps),
    )


def led_table(harness: Harness) -> Table:
    """The figures of every kind of LED in the project, with their sources; what is typed goes before them."""
    kinds = dict.fromkeys((lamp.colour, lamp.size) for lamp in harness.lamps)
    rows = []
    for kind in (led(*pair) for pair in kinds):
        colour, size = kind.colour, kind.size
        rows.append(
            (
                kind.name,
                f"{colour.vf_low_v:g}",
                f"{colour.vf_v:g}",
                f"{colour.vf_high_v:g}",
                f"{size.good_ma * size.dies:g}",
                f"{size.test_ma * size.dies:g}",
                f"{size.max_ma * size.dies:g}",
                kind.source,
            )
        )
    return Table(title="LEDs", columns=LED_COLUMNS, rows=tuple(rows))


def resistor_table(harness: Harness) -> Table:
    """What to buy or to take out of the drawer."""
    rows = [
        (
            need.letter_code,
            need.marks,
            need.codes,
            f"{need.tolerance_pct:g}",
            need.part.name if need.part is not None else "none large enough",
            need.part.body if need.part is not None else "",
            str(need.pieces),
            ", ".join(need.lamps),
        )
        for need in resistors_needed(harness)
    ]
    return Table(title="Resistors", columns=RESISTOR_COLUMNS, rows=tuple(rows))


def output_table(harness: Harness) -> Table:
    """Each output's sum on a full battery, that of parts at their worst, its limit and what is left of it."""
    rows = [
        (
            str(load.output.number),
            load.output.function,
            str(len(load.lamps)),
            f"{load.full_ma:.1f}",
            f"{load.worst_ma:.1f}",
            f"{load.output.limit_ma:g}",
            f"{load.margin_ma:.1f}",
        )
        for load in output_loads(harness).outputs
    ]
    return Table(title="Outputs", columns=OUTPUT_COLUMNS, rows=tuple(rows))


def common_table(harness: Harness) -> Table:
    """What comes back through each common pin on a full battery, all outputs on."""
    loads = output_loads(harness)
    rows = [
        (
            f"{load.block.name}{load.common.pin}",
            str(len(load.lamps)),
            f"{load.full_ma:.1f}",
            f"{load.worst_ma:.1f}",
            f"{load.common.limit_ma:g}",
            f"{load.margin_ma:.1f}",
        )
        for load in loads.commons
    ]
    if loads.unplanned:
        rows.append(("not walked yet", str(len(loads.unplanned)), f"{loads.unplanned_ma:.1f}", "", "", ""))
    return Table(title="Common pins", columns=COMMON_COLUMNS, rows=tuple(rows))


def wire_table(harness: Harness) -> Table:
    """Current and drop of every wire on a full battery, all outputs on; empty where that has no solution."""
    wired = solved(harness, worst_case)
    live = harness.ledger.live()
    rows = []
    for wire in derive(harness).wires if wired is not None else ():
        assert wired is not None
        record = live.get(wire.key)
        cut_mm = wire.cut_mm if record is None or record.cut_mm is None else record.cut_mm
        rows.append(
            (
                wire_words(harness, wire),
                record.tag if record is not None else "",
                wire.gauge,
                f"{cut_mm:g}",
                f"{wired.wire_ma[wire.key]:.1f}",
                f"{gauge(wire.gauge).current_ma:.0f}",
                f"{wired.wire_drop_mv[wire.key]:.1f}",
            )
        )
    return Table(title="Wires", columns=WIRE_COLUMNS, rows=tuple(rows))


def sum_table(harness: Harness) -> Table:
    """Supply, whole draw, how long a pack lasts, and the fuse."""
    loads = output_loads(harness)
    rows = [("supply flat / nominal / full", str(volts(harness.supply)))]
    rows.append((f"all lamps on, {full_words(harness.supply)}", f"{loads.total_ma:.0f} mA"))
    rows.append(("the same with parts at their worst", f"{loads.worst_ma:.0f} mA"))
    rows.append(("all lamps on, nominal volts", f"{nominal_draw_ma(harness):.0f} mA"))
    hours = pack_lasts_h(harness)
    if hours is not None:
        rows.append((f"a pack of {harness.supply.capacity_mah:g} mAh lasts", f"{hours:.1f} h"))
    if loads.fuse_ma is not None:
        lead = f"positive {source_word(harness.supply)} lead"
        rows.append((f"fuse in the {lead}", f"{loads.fuse_ma / 1000:g} A"))
    return Table(title="Sums", columns=SUM_COLUMNS, rows=tuple(rows))


def switched_on_tables(harness: Harness, on: Collection[int]) -> tuple[Table, Table]:
    """Lamps and sums as wired with only the outputs `on` switched on.

    NotThere for an output the controller lacks; NotSolved with its cause where there is no working point.
    """
    for number in on:
        if harness.controller.find_output(number) is None:
            raise NotThere(f"output {number}", "does not exist")
    cases = [as_wired(harness, supply_v=supply_v, on=on) for supply_v in volts(harness.supply)]
    flat, nominal, full = cases
    lamps = [
        (
            lamp.name,
            str(lamp.output),
            *(f"{case.lamp_ma[lamp.id]:.1f}" for case in (full, nominal, flat)),
            f"{nominal.lost_mv[lamp.id]:.0f}",
        )
        for lamp in harness.lamps
        if lamp.output in on and lamp.id in nominal.lamp_ma
    ]
    sums = [("full mA", full.total_ma), ("nominal mA", nominal.total_ma), ("flat mA", flat.total_ma)]
    rows = [(what, f"{value:.1f}") for what, value in sums]
    capacity_mah = harness.supply.capacity_mah
    hours = nominal.runtime_h(capacity_mah) if capacity_mah is not None else None
    if hours is not None:
        rows.append((f"a pack of {capacity_mah:g} mAh lasts", f"{hours:.1f} h"))
    left_out = [lamp.name for lamp in harness.lamps if lamp.output in on and lamp.id not in nominal.lamp_ma]
    if left_out:
        rows.append(("not wired yet and left out", ", ".join(left_out)))
    names = ", ".join(map(str, sorted(on))) or "none"
    return (
        Table(
            title=f"Lamps as wired, outputs on: {names}",
            columns=("lamp", "output", "full mA", "nominal mA", "flat mA", "lost mV"),
            rows=tuple(lamps),
        ),
        Table(title="Sums", columns=SUM_COLUMNS, rows=tuple(rows)),
    )


def _lamp_row(lamp: Lamp, one: LampElectrics, wired: Wired | None) -> tuple[str, ...]:
    resistor = marks = part = power = worst = ""
    remark = one.text
    if isinstance(one.choice, ResistorChoice):
        resistor, marks = one.choice.letter_code, one.choice.marks
        part = one.choice.part.name if one.choice.part is not None else "none large enough"
        power, worst = f"{one.choice.power_mw:.0f}", f"{one.choice.worst_ma:.1f}"
        if one.fine and not one.choice.raised:
            remark = ""  # the columns say it all
    elif lamp.build is Build.WIRED and one.series_ohm is not None:
        resistor = f"inside, {one.series_ohm:.0f} ohm"
    wired_ma = wired.lamp_ma.get(lamp.id) if wired is not None else None
    return (
        lamp.name,
        lamp.function,
        f"{lamp.colour} {lamp.size}",
        "" if lamp.output is None else str(lamp.output),
        resistor,
        marks,
        part,
        power,
        worst,
        f"{one.led.max_ma:g}",
        f"{one.current.full_ma:.1f}",
        f"{one.current.nominal_ma:.1f}",
        f"{one.current.flat_ma:.1f}",
        "" if wired_ma is None else f"{wired_ma:.1f}",
        f"{one.percent:.0f}",
        one.verdict.value,
        remark,
    )
