"""The resistors a project needs, by value and size: what to buy, or to take out of the drawer."""

from __future__ import annotations

import attrs

from model.electrics.diode import lowest_volts
from model.electrics.lamps import LEAST_OHM, LampElectrics, Verdict, all_lamps
from model.electrics.resistor import ResistorChoice, evaluate
from model.harness import Build, Harness, Lamp
from model.standards.resistor_power import Rating, rating_for


@attrs.frozen(kw_only=True)
class ResistorNeed:
    """Resistors of one value, tolerance and size, with the lamps they are for.

    `marks` are its bands in words, or the print on a chip, `codes` the bands as IEC 60757 codes.
    `part` is the smallest size that stands the power, None where none does.
    """

    ohm: float
    tolerance_pct: float
    letter_code: str
    marks: str
    codes: str
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
        choice = fitted(harness, lamp, figures[lamp.id])
        if choice is not None:
            groups.setdefault((choice.ohm, choice.part), (choice, []))[1].append(lamp.name)
    needs = [
        ResistorNeed(
            ohm=choice.ohm,
            tolerance_pct=choice.tolerance_pct,
            letter_code=choice.letter_code,
            marks=choice.marks,
            codes=choice.codes,
            part=choice.part,
            lamps=tuple(names),
        )
        for choice, names in groups.values()
    ]
    return tuple(sorted(needs, key=lambda need: (need.ohm, need.part.power_mw if need.part else 0.0)))


def worst_case_ma(harness: Harness, lamp: Lamp, one: LampElectrics) -> float:
    """The most a lamp may draw, in mA: full battery, lowest forward voltage, resistor at its lowest.

    The resistor inside a ready-wired lamp is taken to be of the project's tolerance as well.
    """
    choice = fitted(harness, lamp, one)
    if choice is not None:
        return choice.worst_ma
    if lamp.build is not Build.WIRED or not one.series_ohm or one.verdict is Verdict.WRONG_OUTPUT:
        return one.current.full_ma
    low_ohm = one.series_ohm * (1 - harness.settings.resistor_tolerance_pct / 100)
    drop_v = one.supply.full_v - lowest_volts(one.led, one.led.max_ma)
    return max(1000 * drop_v / low_ohm, one.current.full_ma)


def fitted(harness: Harness, lamp: Lamp, one: LampElectrics) -> ResistorChoice | None:
    """The resistor of a lamp with its power and size: its own, or the one in front of a ready-wired lamp.

    None where it has none.
    """
    if isinstance(one.choice, ResistorChoice):
        return one.choice
    if lamp.build is not Build.WIRED or (lamp.resistor_ohm or 0.0) < LEAST_OHM:
        return None
    # In front of a ready-wired lamp: the current is that of the whole lamp, the volts only its own.
    assert lamp.resistor_ohm is not None
    settings, ohm = harness.settings, lamp.resistor_ohm
    inside_ohm = max((one.series_ohm or 0.0) - ohm, 0.0)
    drop_v = max(one.supply.full_v - one.led.vf_low_v, 0.0)
    off = settings.resistor_tolerance_pct / 100
    ends_ohm = (ohm * (1 - off), ohm * (1 + off))
    power_mw = max(1000 * (drop_v / (inside_ohm + end)) ** 2 * end for end in ends_ohm)
    nominal_mw = one.current.nominal_ma**2 * ohm / 1000
    choice = evaluate(
        ohm,
        supply=one.supply,
        led=one.led,
        tolerance_pct=settings.resistor_tolerance_pct,
        ambient_c=settings.inside_c,
        kind=settings.resistor_body,
    )
    return attrs.evolve(
        choice,
        current=one.current,
        worst_ma=1000 * drop_v / (inside_ohm + ends_ohm[0]),
        power_mw=power_mw,
        axial=rating_for(nominal_mw, power_mw, kind="axial", ambient_c=settings.inside_c),
        chip=rating_for(nominal_mw, power_mw, kind="chip", ambient_c=settings.inside_c),
    )
