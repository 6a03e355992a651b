"""What is wrong with a lamp's own electrics, one function a rule, each finding with the mend.

Limits marked as common practice have no source and stand in the modules they come from.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import attrs

from model.electrics.lamps import (
    DIM_BELOW_PCT,
    LEAST_BUILT_IN_V,
    OVER_ABOVE_PCT,
    LampElectrics,
    Verdict,
    all_lamps,
    fitting,
)
from model.electrics.parts import fitted
from model.electrics.resistor import Refused, ResistorChoice, resistor_words
from model.findings import Finding, Severity
from model.harness import Build, Delivers, Harness, Lamp
from model.standards import leds, preferred
from model.standards.resistor_power import USED_SHARE, WORST_SHARE, derating

USUAL_RATING_MW = 250.0
USUAL_PARTS = {"axial": "1/4 W", "chip": "1206"}
"""The resistors in everybody's drawer, a quarter of a watt each; common practice, no source."""

CHAIN_SHARE = 1.7
"""A forward voltage this many times the table's is taken for a chain; common practice, no source."""


def _lamp_finding(
    lamp: Lamp, rule: str, found: str, *, limit: str = "", remedy: str, severity: Severity = Severity.WARNING
) -> Finding:
    return Finding(
        subject=lamp.name,
        rule=rule,
        found=found,
        limit=limit,
        remedy=remedy,
        severity=severity,
        place="lamps",
        ref=lamp.id,
    )


def _lamps(harness: Harness, *verdicts: Verdict) -> Iterator[tuple[Lamp, LampElectrics]]:
    figures = all_lamps(harness)
    for lamp in harness.lamps:
        if figures[lamp.id].verdict in verdicts:
            yield lamp, figures[lamp.id]


def no_resistor_holds(harness: Harness) -> Iterator[Finding]:
    """Lamps with too little headroom for a resistor."""
    for lamp, one in _lamps(harness, Verdict.REFUSED):
        remedy = one.choice.remedy if isinstance(one.choice, Refused) else "Take more cells."
        yield _lamp_finding(lamp, "headroom", one.text, remedy=remedy)


def over_current(harness: Harness) -> Iterator[Finding]:
    """Lamps that get more than they stand, on a full battery at the worst case."""
    for lamp, one in _lamps(harness, Verdict.OVER):
        yield _lamp_finding(
            lamp,
            "over-current",
            one.text,
            limit=_most(lamp, one),
            remedy=_less_current(harness, lamp, one),
            severity=Severity.DANGER,
        )


def _most(lamp: Lamp, one: LampElectrics) -> str:
    built_in = lamp.build is Build.WIRED and one.choice is None
    if built_in and not (lamp.max_ma is not None and one.current.full_ma > lamp.max_ma):
        return f"{OVER_ABOVE_PCT:.0f} %"
    return f"{one.led.max_ma:g} mA"


def much_wanted(harness: Harness) -> Iterator[Finding]:
    """Bare LEDs that shall get more than a usual part is made for, with no limit of a data sheet typed."""
    for lamp in harness.lamps:
        most_ma = leds.WARN_ABOVE_MA * leds.led(lamp.colour, lamp.size).size.dies
        wanted_ma = lamp.current_ma or 0.0
        if lamp.build is Build.BARE and lamp.max_ma is None and wanted_ma > most_ma:
            yield _lamp_finding(
                lamp,
                "wanted current",
                f"is to get {wanted_ma:g} mA",
                limit=f"{most_ma:g} mA of a usual part",
                remedy="Type its limit from the data sheet, or want less: half of it lasts far longer.",
            )


def under_current(harness: Harness) -> Iterator[Finding]:
    """Lamps that stay dim at nominal volts."""
    for lamp, one in _lamps(harness, Verdict.DIM):
        if lamp.build is Build.WIRED and one.choice is None:
            remedy = _more_current(harness, lamp, one)
        elif isinstance(one.choice, ResistorChoice) and lamp.resistor_ohm is not None:
            remedy = _own_resistor(harness, one)
        elif isinstance(one.choice, ResistorChoice) and harness.settings.drawer_ohm:
            remedy = f"The drawer holds nothing nearer. {_bought(harness, one)}"
        elif one.choice is None:
            remedy = "Give it an output of its own, or more current."
        elif one.led.wanted_ma > one.led.max_ma:
            remedy = f"Want no more than its limit of {one.led.max_ma:g} mA."
        else:
            remedy = "Take a steadier supply, or a colour with less forward voltage."
        limit = f"at least {DIM_BELOW_PCT:.0f} %"
        yield _lamp_finding(lamp, "under-current", one.text, limit=limit, remedy=remedy)


def wrong_output(harness: Harness) -> Iterator[Finding]:
    """Lamps with a resistor on an output that limits the current itself."""
    for lamp, one in _lamps(harness, Verdict.WRONG_OUTPUT):
        remedy = "Put it on an output that gives the supply's voltage, or take a bare LED."
        yield _lamp_finding(lamp, "output kind", one.text, remedy=remedy)


def shared_resistor(harness: Harness) -> Iterator[Finding]:
    """Bare LEDs without a resistor of their own."""
    for lamp, one in _lamps(harness, Verdict.BARE_END):
        beside = [
            other
            for other in harness.lamps
            if other.id != lamp.id
            and other.output == lamp.output
            and lamp.output is not None
            and other.resistor_ohm != 0
        ]
        found = "has no resistor of its own"
        if beside:
            found += (
                f"; sharing that of {beside[0].name} gives the lowest forward voltage nearly all the current"
            )
        yield _lamp_finding(
            lamp,
            "shared resistor",
            found,
            limit="one resistor a lamp",
            remedy=_own_resistor(harness, one),
            severity=Severity.DANGER,
        )


def series_chain(harness: Harness) -> Iterator[Finding]:
    """Lamps whose forward voltage is that of several LEDs in series."""
    for lamp in harness.lamps:
        usual_v = leds.LED_COLOURS[lamp.colour].vf_v
        if lamp.build is Build.BARE and lamp.vf_v is not None and lamp.vf_v > CHAIN_SHARE * usual_v:
            yield _lamp_finding(
                lamp,
                "series chain",
                f"{lamp.vf_v:g} V are {lamp.vf_v / usual_v:.0f} LEDs in series; one that fails darkens all",
                limit=f"one {lamp.colour} LED has about {usual_v:g} V",
                remedy="Wire them side by side, each with its own resistor.",
            )


def resistor_power(harness: Harness) -> Iterator[Finding]:
    """Resistors that want more than a usual quarter-watt part, by the sums at nominal volts and at worst."""
    usable_mw = USUAL_RATING_MW * derating(harness.settings.inside_c)
    usual = USUAL_PARTS[harness.settings.resistor_body]
    figures = all_lamps(harness)
    for lamp in harness.lamps:
        choice = fitted(harness, lamp, figures[lamp.id])
        if choice is None:
            continue
        part = choice.part
        if part is not None and part.power_mw <= USUAL_RATING_MW:
            continue
        if part is None:
            remedy = "Put several in series that share the power, or take a lamp made for this voltage."
            severity = Severity.DANGER
        else:
            remedy = f"Take a {part.name} part ({part.body})."
            severity = Severity.WARNING if choice.power_mw > usable_mw else Severity.NOTE
        yield _lamp_finding(
            lamp,
            "resistor power",
            f"{choice.letter_code} takes {choice.nominal_mw:.0f} mW, {choice.power_mw:.0f} mW at worst",
            limit=(
                f"{usable_mw * USED_SHARE:.0f} mW, {usable_mw * WORST_SHARE:.0f} mW at worst, "
                f"for a usual {usual} part"
            ),
            remedy=remedy,
            severity=severity,
        )


def _own_resistor(harness: Harness, one: LampElectrics) -> str:
    choice = fitting(one.supply, one.led, harness.settings)
    return choice.remedy if isinstance(choice, Refused) else f"Fit {choice.words}."


def _bought(harness: Harness, one: LampElectrics) -> str:
    """The resistor to buy where the drawer does not serve."""
    choice = fitting(one.supply, one.led, attrs.evolve(harness.settings, drawer_ohm=()))
    return choice.remedy if isinstance(choice, Refused) else f"Buy {choice.words}."


def _less_current(harness: Harness, lamp: Lamp, one: LampElectrics) -> str:
    """The mend for too much current, by how the lamp is built."""
    found = harness.controller.find_output(lamp.output)
    if found is not None and found[1].delivers is Delivers.CURRENT:
        return "Set the output to less current, or put more lamps on it."
    if one.choice is not None:
        return _own_resistor(harness, one)
    mends = []
    if (value := _in_front_ohm(harness, lamp, one)) is not None:
        mends.append(f"put {resistor_words(value)} in series")
    if made_for := _made_for(lamp, one):
        mends.append(f"take a lamp made for {made_for}")
    words = ", or ".join(mends) or "take a bare LED with a resistor of its own"
    return f"{words[0].upper()}{words[1:]}."


def _more_current(harness: Harness, lamp: Lamp, one: LampElectrics) -> str:
    """The mend for a ready-wired lamp that stays dim: less in front of it, or a lamp for these volts."""
    if lamp.resistor_ohm:
        value = _in_front_ohm(harness, lamp, one)
        if value is None:
            return "Leave out the resistor in front of it."
        if value < lamp.resistor_ohm:
            return f"Put {resistor_words(value)} in front of it instead."
    if made_for := _made_for(lamp, one):
        return f"Take a lamp made for {made_for}."
    return "Give it more or steadier volts, or take a colour with less forward voltage."


def _made_for(lamp: Lamp, one: LampElectrics) -> str:
    """For which volts such a lamp is neither over-driven nor dim here: "8.7 to 9.8 V", empty for none."""
    vf_v, supply = one.led.vf_v, one.supply
    most = OVER_ABOVE_PCT / 100
    if lamp.max_ma is not None:
        most = min(most, one.led.max_ma / one.wanted_ma)
    least_v = max(vf_v + (supply.full_v - vf_v) / most, vf_v + LEAST_BUILT_IN_V)
    most_v = vf_v + (supply.nominal_v - vf_v) / (DIM_BELOW_PCT / 100)
    low_v, high_v = math.ceil(10 * least_v - 1e-9) / 10, math.floor(10 * most_v + 1e-9) / 10
    if low_v > high_v:
        return ""
    return f"{low_v:g} to {high_v:g} V" if low_v < high_v else f"{low_v:g} V"


def _most_rated_ma(lamp: Lamp, one: LampElectrics) -> float:
    """What a ready-wired lamp may get: its rated current, or its typed limit where that is less."""
    return one.wanted_ma if lamp.max_ma is None else min(one.wanted_ma, one.led.max_ma)


def _in_front_ohm(harness: Harness, lamp: Lamp, one: LampElectrics) -> float | None:
    """What in front gives a ready-wired lamp its current on a full battery; None where nothing is needed."""
    inside_ohm = (one.series_ohm or 0.0) - (lamp.resistor_ohm or 0.0)
    missing_ohm = (one.supply.full_v - one.led.vf_v) / (_most_rated_ma(lamp, one) / 1000) - inside_ohm
    if missing_ohm <= 0:
        return None
    drawer_ohm = harness.settings.drawer_ohm
    value = preferred.round_up_among(missing_ohm, drawer_ohm) if drawer_ohm else None
    return preferred.round_up(max(missing_ohm, 1.0), harness.settings.series) if value is None else value
