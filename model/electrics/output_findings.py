"""What is wrong with outputs, common pins and the battery lead, one function a rule, with the mend."""

from __future__ import annotations

from collections.abc import Iterator

from model.electrics.lamps import (
    all_lamps,
)
from model.electrics.outputs import output_loads
from model.electrics.supply import on_full, source_word, volts
from model.findings import Finding, Severity
from model.harness import Delivers, Harness
from model.standards import fuses
from model.standards.wire import copper_for, for_current, gauge
from model.values import counted


def output_limit(harness: Harness) -> Iterator[Finding]:
    """Outputs that carry more than they may, or that may with parts of the lowest volts and ohms."""
    for load in output_loads(harness).outputs:
        output, lamps = load.output, len(load.lamps)
        if load.worst_ma <= output.limit_ma:
            continue
        yield Finding(
            subject=f"output {output.number}",
            rule="output limit",
            found=f"{load.full_ma:.0f} mA with its {counted(lamps, 'lamp')} {on_full(harness.supply)}"
            + _at_worst(load.full_ma, load.worst_ma, output.limit_ma),
            limit=f"{output.limit_ma:g} mA",
            remedy="Move lamps to another output, or give them less current.",
            severity=_limit_severity(load.full_ma, output.limit_ma),
            place="outputs",
            ref=str(output.number),
        )


def common_limit(harness: Harness) -> Iterator[Finding]:
    """Common pins that carry more than they may, or may at the worst: each for itself and all together."""
    loads = output_loads(harness)
    over = [load for load in loads.commons if load.worst_ma > load.common.limit_ma]
    for load in over:
        subject = f"common pin {load.block.name}{load.common.pin}"
        yield _common_finding(harness, subject, load.full_ma, load.worst_ma, load.common.limit_ma, load.ref)
    limit_ma = sum(load.common.limit_ma for load in loads.commons)
    if loads.commons and not over and loads.worst_ma > limit_ma:
        ref = loads.commons[0].ref
        yield _common_finding(harness, "common pins together", loads.total_ma, loads.worst_ma, limit_ma, ref)


def _common_finding(
    harness: Harness, subject: str, full_ma: float, worst_ma: float, limit_ma: float, ref: str
) -> Finding:
    return Finding(
        subject=subject,
        rule="common limit",
        found=f"{full_ma:.0f} mA come back with all outputs on, {on_full(harness.supply)}"
        + _at_worst(full_ma, worst_ma, limit_ma),
        limit=f"{limit_ma:g} mA",
        remedy="Spread the common wires over more pins, or give the lamps less current.",
        severity=_limit_severity(full_ma, limit_ma),
        place="outputs",
        ref=ref,
    )


def _at_worst(full_ma: float, worst_ma: float, limit_ma: float) -> str:
    """What is added where only the spread of the parts breaks the limit."""
    if full_ma > limit_ma:
        return ""
    return f", but {worst_ma:.0f} mA with LEDs and resistors at the low end of what they may be"


def _limit_severity(full_ma: float, limit_ma: float) -> Severity:
    return Severity.DANGER if full_ma > limit_ma else Severity.WARNING


def step_up(harness: Harness) -> Iterator[Finding]:
    """Regulated outputs with lamps that are to give more than the battery has when it is flat."""
    given = volts(harness.supply)
    nominal_v, flat_v = given.nominal_v, given.flat_v
    used = {lamp.output for lamp in harness.lamps}
    for _, output in harness.controller.outputs():
        held_v = output.delivers_v or 0.0
        if output.delivers is not Delivers.REGULATED or output.number not in used or held_v <= flat_v:
            continue
        yield Finding(
            subject=f"output {output.number}",
            rule="step-up",
            found=f"is to give {held_v:g} V; the supply gives {nominal_v:.1f} V, flat {flat_v:.1f} V",
            limit=f"{flat_v:.1f} V without a step-up",
            remedy="It needs a step-up regulator: without one its lamps get no more than the supply has.",
            severity=Severity.WARNING if held_v > nominal_v else Severity.NOTE,
            place="outputs",
            ref=str(output.number),
        )


def shared_current(harness: Harness) -> Iterator[Finding]:
    """LEDs side by side on one limited current: when one opens, the others take its share."""
    figures = all_lamps(harness)
    for _, output in harness.controller.outputs():
        if output.delivers is not Delivers.CURRENT:
            continue
        lit = [
            lamp
            for lamp in harness.lamps
            if lamp.output == output.number and figures[lamp.id].current.full_ma > 0
        ]
        if len(lit) < 2:
            continue
        all_ma = output.delivers_ma or 0.0
        weakest = min(lit, key=lambda lamp: figures[lamp.id].led.max_ma)
        most_ma = figures[weakest.id].led.max_ma
        others = "the other gets" if len(lit) == 2 else f"the other {len(lit) - 1} get"
        each = "" if len(lit) == 2 else " each, and the last one left gets all"
        yield Finding(
            subject=f"output {output.number}",
            rule="shared current",
            found=f"{len(lit)} lamps share its {all_ma:g} mA; when one opens, {others} "
            f"{all_ma / (len(lit) - 1):.1f} mA{each}",
            limit=f"{most_ma:g} mA for {weakest.name}",
            remedy=f"Give each an output of its own, or set the output to {most_ma:g} mA or less."
            if all_ma > most_ma
            else "None is over its limit then; an output of its own keeps each as bright as it is.",
            severity=Severity.WARNING if all_ma > most_ma else Severity.NOTE,
            place="outputs",
            ref=str(output.number),
        )


def fuse(harness: Harness) -> Iterator[Finding]:
    """The fuse to put in the battery lead."""
    loads = output_loads(harness)
    if loads.total_ma <= 0:
        return
    rating_ma, source = loads.fuse_ma, source_word(harness.supply)
    if rating_ma is None:
        remedy = "Feed the model over several fused leads."
    else:
        remedy = f"Put a {rating_ma / 1000:g} A fuse in the positive {source} lead, close to the {source}"
        lead_ma = max(rating_ma, fuses.LEAST_LEAD_MA)
        lead = for_current(lead_ma, like=gauge(harness.settings.gauge))
        if lead is not None:
            remedy += f"; the lead wants {lead.name} or thicker."
        else:
            remedy += f"; the lead wants {copper_for(lead_ma):g} mm2 or more."
    yield Finding(
        subject=f"{source} lead",
        rule="fuse",
        found=f"up to {loads.total_ma:.0f} mA with all outputs on, {on_full(harness.supply)}; "
        f"{loads.worst_ma:.0f} mA at worst",
        remedy=remedy,
        severity=Severity.NOTE,
        place="outputs",
    )
