"""The electrics as tables: every lamp, every output, and the sums. Content only; writers lay it out."""

from __future__ import annotations

from model.electrics.findings import output_sums_ma
from model.electrics.lamps import LampElectrics, all_lamps
from model.electrics.network import Wired, usual_case
from model.electrics.resistor import ResistorChoice
from model.electrics.supply import volts
from model.errors import NotSolved
from model.harness import Build, Harness, Lamp
from model.papers.table import Table, as_csv, as_text
from model.standards import fuses

LAMP_COLUMNS = (
    "lamp",
    "function",
    "LED",
    "output",
    "resistor",
    "bands",
    "part",
    "worst mW",
    "full mA",
    "nominal mA",
    "flat mA",
    "wired mA",
    "percent",
    "verdict",
    "remark",
)

OUTPUT_COLUMNS = ("output", "function", "lamps", "full mA", "limit mA", "margin mA")

SUM_COLUMNS = ("what", "value")


def electrics_tables(harness: Harness) -> tuple[Table, Table, Table]:
    """The tables of lamps, outputs and sums."""
    return lamp_table(harness), output_table(harness), sum_table(harness)


def electrics_text(harness: Harness) -> str:
    """The three tables for a terminal."""
    return "\n".join(map(as_text, electrics_tables(harness)))


def electrics_csv(harness: Harness) -> str:
    """The three tables as CSV."""
    return as_csv(electrics_tables(harness))


def lamp_table(harness: Harness) -> Table:
    """Each lamp's resistor and currents; "wired mA" is at nominal volts through its wires, all outputs on."""
    figures = all_lamps(harness)
    wired = _wired(harness)
    return Table(
        title="Lamps",
        columns=LAMP_COLUMNS,
        rows=tuple(_lamp_row(lamp, figures[lamp.id], wired) for lamp in harness.lamps),
    )


def output_table(harness: Harness) -> Table:
    """Each output's sum on a full battery, its limit and what is left of it."""
    sums = output_sums_ma(harness)
    rows = []
    for _, output in harness.controller.outputs():
        total_ma = sums[output.number]
        rows.append(
            (
                str(output.number),
                output.function,
                str(sum(lamp.output == output.number for lamp in harness.lamps)),
                f"{total_ma:.1f}",
                f"{output.limit_ma:g}",
                f"{output.limit_ma - total_ma:.1f}",
            )
        )
    return Table(title="Outputs", columns=OUTPUT_COLUMNS, rows=tuple(rows))


def sum_table(harness: Harness) -> Table:
    """Supply, whole draw, how long a pack lasts, and the fuse."""
    full_ma = sum(output_sums_ma(harness).values())
    wired = _wired(harness)
    rows = [("supply flat / nominal / full", str(volts(harness.supply)))]
    rows.append(("all lamps on, full battery", f"{full_ma:.0f} mA"))
    if wired is not None:
        nominal_ma = wired.total_ma + _unwired_nominal_ma(harness, wired)
        rows.append(("all lamps on, nominal volts", f"{nominal_ma:.0f} mA"))
        capacity_mah = harness.supply.capacity_mah
        if capacity_mah is not None and nominal_ma > 0:
            rows.append((f"a pack of {capacity_mah:g} mAh lasts", f"{capacity_mah / nominal_ma:.1f} h"))
    rating_ma = fuses.fuse_for(full_ma) if full_ma > 0 else None
    if rating_ma is not None:
        rows.append(("fuse in the positive battery lead", f"{rating_ma / 1000:g} A"))
    return Table(title="Sums", columns=SUM_COLUMNS, rows=tuple(rows))


def _wired(harness: Harness) -> Wired | None:
    try:
        return usual_case(harness)
    except NotSolved:
        return None


def _unwired_nominal_ma(harness: Harness, wired: Wired) -> float:
    """What the lamps that are not wired yet will add."""
    figures = all_lamps(harness)
    return sum(
        figures[lamp.id].current.nominal_ma
        for lamp in harness.lamps
        if lamp.id not in wired.lamp_ma and lamp.output is not None
    )


def _lamp_row(lamp: Lamp, one: LampElectrics, wired: Wired | None) -> tuple[str, ...]:
    resistor = bands = part = power = ""
    remark = one.text
    if isinstance(one.choice, ResistorChoice):
        resistor, bands = one.choice.letter_code, " ".join(one.choice.bands)
        part = one.choice.axial.name if one.choice.axial is not None else "none large enough"
        power = f"{one.choice.power_mw:.0f}"
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
        bands,
        part,
        power,
        f"{one.current.full_ma:.1f}",
        f"{one.current.nominal_ma:.1f}",
        f"{one.current.flat_ma:.1f}",
        "" if wired_ma is None else f"{wired_ma:.1f}",
        f"{one.percent:.0f}",
        one.verdict.value,
        remark,
    )
