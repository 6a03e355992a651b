"""What is wrong with the harness as it is wired, one function a rule, each finding with the mend."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator

from model.electrics.lamps import (
    all_lamps,
)
from model.electrics.network import usual_case, worst_case
from model.electrics.outputs import solved
from model.errors import NotSolved
from model.findings import Finding
from model.harness import Delivers, Harness, Lamp
from model.routing.wires import Wire, derive
from model.routing.words import wire_words
from model.standards import contacts
from model.standards.wire import Gauge, for_current, gauge


def not_solved(harness: Harness) -> Iterator[Finding]:
    """Why the network has no working point, where it has none."""
    for case in (worst_case, usual_case):
        try:
            case(harness)
        except NotSolved as error:
            yield Finding(
                subject=error.subject,
                rule="not solved",
                found=error.found,
                limit=error.limit,
                remedy=error.remedy,
                place="outputs",
            )
            return


def wire_current(harness: Harness) -> Iterator[Finding]:
    """Wires that carry more than the guidance for bundled wire."""
    wired = solved(harness, worst_case)
    if wired is None:
        return
    for wire in derive(harness).wires:
        current_ma, size = wired.wire_ma[wire.key], gauge(wire.gauge)
        if current_ma <= size.current_ma:
            continue
        thicker = for_current(current_ma, like=size)
        remedy = (
            f"Take {thicker.name} for it."
            if thicker
            else "Split it: merge its lamps in two trunks, each on its own pin."
        )
        yield _wire_finding(harness, wire, current_ma, size, remedy)


def _wire_finding(harness: Harness, wire: Wire, current_ma: float, size: Gauge, remedy: str) -> Finding:
    return Finding(
        subject=f"wire {wire_words(harness, wire)}",
        rule="wire current",
        found=f"{current_ma:.0f} mA through {size.name} with all outputs on",
        limit=f"{size.current_ma:.0f} mA, 700 circular mil per A",
        remedy=remedy,
        place="walk",
        ref=wire.lamps[0] if wire.lamps else "",
    )


def voltage_drop(harness: Harness) -> Iterator[Finding]:
    """Lamps whose wires take too much of the supply."""
    wired = solved(harness, worst_case)
    if wired is None:
        return
    for lamp in harness.lamps:
        lost_v = wired.lost_mv.get(lamp.id, 0.0) / 1000
        found = harness.controller.find_output(lamp.output)
        if found is not None and found[1].delivers is Delivers.CURRENT:
            continue  # there the output itself takes what the lamp does not need
        share_pct = 100 * lost_v / wired.supply_v
        if share_pct > contacts.DROP_WARN_PCT:
            yield Finding(
                subject=lamp.name,
                rule="voltage drop",
                found=f"{lost_v:.2f} V are lost on its wires, {share_pct:.0f} % of the supply",
                limit=f"{contacts.DROP_WARN_PCT:g} %",
                remedy="Take thicker wire for its trunk, or a shorter way.",
                place="walk",
                ref=lamp.id,
            )


def uneven(harness: Harness) -> Iterator[Finding]:
    """Lamps of one kind and function that get visibly different currents, by wire or by resistor."""
    wired = solved(harness, usual_case)
    if wired is None:
        return
    figures = all_lamps(harness)
    difference_pct = harness.settings.visible_difference_pct
    alike: dict[tuple[object, ...], list[Lamp]] = defaultdict(list)
    for lamp in harness.lamps:
        if wired.lamp_ma.get(lamp.id, 0.0) > 0:
            kind = (lamp.function, lamp.colour, lamp.size, lamp.build, lamp.rated_v, lamp.rated_ma)
            alike[*kind, figures[lamp.id].led].append(lamp)
    for lamps in alike.values():
        brightest = max(lamps, key=lambda lamp: wired.lamp_ma[lamp.id])
        dimmest = min(lamps, key=lambda lamp: wired.lamp_ma[lamp.id])
        most_ma, least_ma = wired.lamp_ma[brightest.id], wired.lamp_ma[dimmest.id]
        less_pct = 100 * (1 - least_ma / most_ma)
        if less_pct > difference_pct:
            yield Finding(
                subject=dimmest.name,
                rule="uneven",
                found=f"{least_ma:.1f} mA, {less_pct:.0f} % less than {brightest.name} ({most_ma:.1f} mA)",
                limit=f"{difference_pct:g} % is seen",
                remedy=_even_out(harness, dimmest, brightest),
                place="lamps",
                ref=dimmest.id,
            )


def _even_out(harness: Harness, dimmest: Lamp, brightest: Lamp) -> str:
    figures = all_lamps(harness)
    one, other = figures[dimmest.id].series_ohm, figures[brightest.id].series_ohm
    if one != other:
        return "Give both the same resistor and the same kind of output."
    return f"Take thicker wire to {dimmest.name}, or merge it nearer to the controller."
