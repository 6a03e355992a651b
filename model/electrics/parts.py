"""The resistors a project needs, by value and size: what to buy, or to take out of the drawer."""

from __future__ import annotations

import attrs

from model.electrics.lamps import LampElectrics, all_lamps
from model.electrics.resistor import ResistorChoice, evaluate
from model.harness import Build, Harness, Lamp
from model.standards.resistor_power import Rating, rating_for


@attrs.frozen(kw_only=True)
class ResistorNeed:
    """Resistors of one value, tolerance and size, with the lamps they are for.

    `part` is the smallest size that stands the power, None where none does.
    """

    ohm: float
    tolerance_pct: float
    letter_code: str
    marks: str
    part: Rating | None
    lamps: tuple[str, ...]

    @property
    def pieces(self) -> int:
        """How many are needed."""
        return len(self.lamps)


def resistors_needed(harness: Harness) -> tuple[ResistorNeed, ...]:
    """Every resistor of the project, smallest value first; `lamps` are names, in the order of the list."""
    groups: dict[tuple[float, Rating | None], tuple[ResistorChoice, list[str]]] = {}
    figures = all_lamps(harness)
    for lamp in harness.lamps:
        found = _resistor(harness, lamp, figures[lamp.id])
        if found is not None:
            choice, part = found
            groups.setdefault((choice.ohm, part), (choice, []))[1].append(lamp.name)
    needs = [
        ResistorNeed(
            ohm=choice.ohm,
            tolerance_pct=choice.tolerance_pct,
            letter_code=choice.letter_code,
            marks=choice.marks,
            part=part,
            lamps=tuple(names),
        )
        for (_, part), (choice, names) in groups.items()
    ]
    return tuple(sorted(needs, key=lambda need: (need.ohm, need.part.power_mw if need.part else 0.0)))


def _resistor(
    harness: Harness, lamp: Lamp, one: LampElectrics
) -> tuple[ResistorChoice, Rating | None] | None:
    if isinstance(one.choice, ResistorChoice):
        return one.choice, one.choice.part
    if lamp.build is not Build.WIRED or not lamp.resistor_ohm:
        return None
    # In front of a ready-wired lamp: the current is that of the whole lamp, the volts only its own.
    settings = harness.settings
    choice = evaluate(
        lamp.resistor_ohm,
        supply=one.supply,
        led=one.led,
        tolerance_pct=settings.resistor_tolerance_pct,
        ambient_c=settings.inside_c,
        kind=settings.resistor_body,
    )
    part = rating_for(
        one.current.nominal_ma**2 * lamp.resistor_ohm / 1000,
        one.current.full_ma**2 * lamp.resistor_ohm / 1000,
        kind=settings.resistor_body,
        ambient_c=settings.inside_c,
    )
    return choice, part
