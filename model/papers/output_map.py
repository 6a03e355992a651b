"""The output map: what is needed to set the controller up, and what comes back on the common."""

from __future__ import annotations

from model.electrics.outputs import LampShare, output_loads
from model.harness import Delivers, Harness, Output
from model.papers.table import Table

OUTPUT_COLUMNS = (
    "output",
    "block",
    "pin",
    "function",
    "lamps",
    "delivers",
    "full mA",
    "limit mA",
    "margin mA",
)
COMMON_COLUMNS = ("common pin", "block", "lamps", "full mA", "limit mA", "margin mA")


def output_map(harness: Harness) -> tuple[Table, Table]:
    """The tables of outputs and of common pins; currents with every lamp on and the battery full."""
    loads = output_loads(harness)
    switched = f"the {harness.controller.switched} side is switched"
    outputs = tuple(
        (
            str(load.output.number),
            load.block.name,
            load.output.pin,
            load.output.function,
            _names(load.lamps),
            delivers(load.output),
            f"{load.full_ma:.1f}",
            f"{load.output.limit_ma:g}",
            f"{load.margin_ma:.1f}",
        )
        for load in loads.outputs
    )
    commons = tuple(
        (
            load.common.pin,
            load.block.name,
            _names(load.lamps),
            f"{load.full_ma:.1f}",
            f"{load.common.limit_ma:g}",
            f"{load.margin_ma:.1f}",
        )
        for load in loads.commons
    )
    return (
        Table(
            title=f"Outputs of {harness.controller.name}, {switched}", columns=OUTPUT_COLUMNS, rows=outputs
        ),
        Table(title="Common pins", columns=COMMON_COLUMNS, rows=commons),
    )


def delivers(output: Output) -> str:
    """ "supply", "5 V" or "20 mA"."""
    if output.delivers is Delivers.REGULATED:
        return f"{output.delivers_v:g} V"
    if output.delivers is Delivers.CURRENT:
        return f"{output.delivers_ma:g} mA"
    return "supply"


def _names(lamps: tuple[LampShare, ...]) -> str:
    return ", ".join(lamp.name for lamp in lamps)
