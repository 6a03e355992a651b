"""What current each lamp draws on this supply, and whether that is right.

By the sums of a data sheet, with a constant forward voltage, so that a person can check them with
a pocket calculator; model/electrics/network.py works the same lamps out as they are wired.
"""

from __future__ import annotations

from collections.abc import Mapping
from enum import StrEnum
from functools import lru_cache
from types import MappingProxyType

import attrs

from model.electrics.led import LEAST_MA, LedFigures, led_figures
from model.electrics.resistor import (
    LEAST_HEADROOM_V,
    Currents,
    Refused,
    ResistorChoice,
    choose,
    currents,
    evaluate,
)
from model.electrics.supply import Volts, output_volts
from model.harness import Build, Delivers, Harness, Lamp, Output, Settings
from model.memo import ELECTRICS, of_parts

DIM_BELOW_PCT = 60.0
"""A lamp that gets less than this share of its current looks too dim; common practice, no source."""

OVER_ABOVE_PCT = 130.0
"""More than this share of its rated current, on a full battery, is too much; common practice, no source."""

LEAST_BUILT_IN_V = 0.3
"""A lamp rated closer to its forward voltage than this has no resistor inside; common practice, no source."""


LEAST_OHM = 0.001
"""A typed resistor below this is none: it is less than its own solder."""

# A lamp made for 30.6 V may come out at 59.99999999999999 % in doubles.
_HAIR = 1e-9

HOG_V = 0.15
"""LEDs side by side on one limited current: what needs so much more than the lowest stays all but dark.

Some four times the current at a quarter of a volt a decade; common practice, no source.
"""


class Verdict(StrEnum):
    """The judgement on one lamp."""

    RIGHT = "right"
    DIM = "too dim"
    OVER = "over-driven"
    REFUSED = "no resistor holds it"
    BARE_END = "no resistor fitted"
    WRONG_OUTPUT = "wrong kind of output"


@attrs.frozen(kw_only=True)
class LampElectrics:
    """One lamp on its output.

    `current` is at typical forward voltage; `wanted_ma` the current of 100 %: the wanted one of a
    bare LED, the rated one of a ready-wired lamp. `choice` is the resistor to fit, or why none
    will do, or None where none belongs. `series_ohm` is what is in series with the LED, fitted or
    built in; None where nothing works. The percentages are of `wanted_ma`.
    """

    lamp_id: str
    supply: Volts
    led: LedFigures
    current: Currents
    wanted_ma: float
    choice: ResistorChoice | Refused | None
    series_ohm: float | None
    verdict: Verdict
    text: str

    @property
    def percent(self) -> float:
        """Current at nominal volts."""
        return self.current.percent_of(self.wanted_ma)

    @property
    def percent_full(self) -> float:
        """Current on a full battery."""
        return 100 * self.current.full_ma / self.wanted_ma

    @property
    def percent_flat(self) -> float:
        """Current on a flat battery."""
        return 100 * self.current.flat_ma / self.wanted_ma

    @property
    def fine(self) -> bool:
        """Whether there is nothing to mend."""
        return self.verdict is Verdict.RIGHT


def lamp_current(harness: Harness, lamp: Lamp) -> LampElectrics:
    """The lamp's current on its output, the resistor it needs, and the verdict.

    A lamp without an output is reckoned on the supply itself. `lamp` may be one that is just being
    edited and not in the harness. BadValue for a colour, size or series that is in no table.
    """
    found = harness.controller.find_output(lamp.output)
    output = found[1] if found else None
    supply = output_volts(harness.supply, output)
    led = led_figures(lamp)
    if output is not None and output.delivers is Delivers.CURRENT:
        return _on_current_output(harness, lamp, output, supply, led)
    if lamp.build is Build.WIRED:
        return _ready_wired(harness, lamp, supply, led)
    if lamp.resistor_ohm is not None:
        return _fitted(harness, lamp, supply, led, lamp.resistor_ohm)
    return _bare(harness, lamp, supply, led)


@of_parts(*ELECTRICS)
def all_lamps(harness: Harness) -> Mapping[str, LampElectrics]:
    """`lamp_current` of every lamp, by lamp id."""
    return MappingProxyType({lamp.id: lamp_current(harness, lamp) for lamp in harness.lamps})


def _bare(harness: Harness, lamp: Lamp, supply: Volts, led: LedFigures, lead_in: str = "") -> LampElectrics:
    choice = fitting(supply, led, harness.settings)
    if isinstance(choice, Refused):
        return LampElectrics(
            lamp_id=lamp.id,
            supply=supply,
            led=led,
            current=_NO_CURRENT,
            wanted_ma=led.wanted_ma,
            choice=choice,
            series_ohm=None,
            verdict=Verdict.REFUSED,
            text=f"{lead_in}{choice.reason}",
        )
    return _with_resistor(lamp, supply, led, choice, lead_in)


@lru_cache(maxsize=512)
def fitting(supply: Volts, led: LedFigures, settings: Settings) -> ResistorChoice | Refused:
    """`choose` by the settings of the project, remembered: a model has few kinds of lamp."""
    return choose(
        supply=supply,
        led=led,
        series=settings.series,
        tolerance_pct=settings.resistor_tolerance_pct,
        drawer_ohm=settings.drawer_ohm,
        ambient_c=settings.inside_c,
        kind=settings.resistor_body,
    )


def _fitted(harness: Harness, lamp: Lamp, supply: Volts, led: LedFigures, ohm: float) -> LampElectrics:
    if ohm >= LEAST_OHM:
        choice = evaluate(
            ohm,
            supply=supply,
            led=led,
            tolerance_pct=harness.settings.resistor_tolerance_pct,
            ambient_c=harness.settings.inside_c,
            kind=harness.settings.resistor_body,
        )
        return _with_resistor(lamp, supply, led, choice)
    # Nothing but the LED's own resistance is in the way.
    drawn = currents(led.series_ohm, supply=supply, vf_v=led.vf_v)
    return LampElectrics(
        lamp_id=lamp.id,
        supply=supply,
        led=led,
        current=drawn,
        wanted_ma=led.wanted_ma,
        choice=None,
        series_ohm=0.0,
        verdict=Verdict.BARE_END,
        text="no resistor of its own: the LED takes whatever the battery gives",
    )


def _with_resistor(
    lamp: Lamp, supply: Volts, led: LedFigures, choice: ResistorChoice, lead_in: str = ""
) -> LampElectrics:
    percent = choice.current.percent_of(led.wanted_ma)
    text = f"{lead_in}{choice.words}, {choice.current.nominal_ma:.1f} mA"
    if not choice.safe:
        verdict = Verdict.OVER
        text += f", up to {choice.worst_ma:.0f} mA where {choice.max_ma:g} mA is the most"
    elif percent < DIM_BELOW_PCT:
        verdict = Verdict.DIM
        text += f", {percent:.0f} % of the wanted {led.wanted_ma:g} mA"
        if choice.raised:
            text += f" so as to be safe {supply.on_full}"
    else:
        verdict = Verdict.RIGHT
        if choice.raised:
            text += f", one size up so as to be safe {supply.on_full}"
    return LampElectrics(
        lamp_id=lamp.id,
        supply=supply,
        led=led,
        current=choice.current,
        wanted_ma=led.wanted_ma,
        choice=choice,
        series_ohm=choice.ohm,
        verdict=verdict,
        text=text,
    )


def _ready_wired(harness: Harness, lamp: Lamp, supply: Volts, led: LedFigures) -> LampElectrics:
    assert lamp.rated_v is not None  # the value itself refuses anything else
    headroom_v = lamp.rated_v - led.vf_v
    if headroom_v < LEAST_BUILT_IN_V and lamp.resistor_ohm is not None:
        return _fitted(harness, lamp, supply, led, lamp.resistor_ohm)
    if headroom_v < LEAST_BUILT_IN_V:
        lead_in = f"made for {lamp.rated_v:g} V, so it has no resistor inside and needs one: "
        return _bare(harness, lamp, supply, led, lead_in)
    rated_ma = _rated_ma(lamp, led)
    built_in_ohm = headroom_v / (rated_ma / 1000)
    # A resistor the person put in front adds to the one inside.
    series_ohm = built_in_ohm + (lamp.resistor_ohm or 0.0)
    drawn = currents(series_ohm, supply=supply, vf_v=led.vf_v)
    verdict, text = _judge(lamp, supply, drawn, rated_ma)
    return LampElectrics(
        lamp_id=lamp.id,
        supply=supply,
        led=led,
        current=drawn,
        wanted_ma=rated_ma,
        choice=None,
        series_ohm=series_ohm,
        verdict=verdict,
        text=text,
    )


def _rated_ma(lamp: Lamp, led: LedFigures) -> float:
    """The current at rated volts: typed or measured, else that at which such LEDs are tested."""
    return led.test_ma if lamp.rated_ma is None else max(lamp.rated_ma, LEAST_MA)


def _judge(lamp: Lamp, supply: Volts, drawn: Currents, rated_ma: float) -> tuple[Verdict, str]:
    """A lamp rated a little above the supply is fine; one rated below it is not."""
    percent = drawn.percent_of(rated_ma)
    percent_full = 100 * drawn.full_ma / rated_ma
    made_for = f"made for {lamp.rated_v:g} V"
    over_typed_limit = lamp.max_ma is not None and drawn.full_ma > lamp.max_ma * (1 + _HAIR)
    if over_typed_limit:
        reached = f"{drawn.full_ma:.1f} mA {supply.on_full}"
        return Verdict.OVER, f"{made_for}: {reached} where {lamp.max_ma:g} mA is the most"
    if percent_full > OVER_ABOVE_PCT * (1 + _HAIR):
        return Verdict.OVER, f"{made_for}: {percent_full:.0f} % of its current {supply.on_full}"
    if percent < DIM_BELOW_PCT * (1 - _HAIR):
        return Verdict.DIM, f"{made_for}: {percent:.0f} % of its current at {supply.nominal_v:.1f} V"
    return Verdict.RIGHT, f"{made_for}: {percent:.0f} % of its current, {drawn.nominal_ma:.1f} mA"


def _on_current_output(
    harness: Harness, lamp: Lamp, output: Output, supply: Volts, led: LedFigures
) -> LampElectrics:
    """The output itself holds the current; those on it of the lowest forward voltage share it."""
    assert output.delivers_ma is not None
    beside = [
        (other, led_figures(other).vf_v)
        for other in harness.lamps
        if other.output == output.number and other.id != lamp.id
    ]
    lowest, lowest_v = min(beside, key=lambda pair: pair[1], default=(lamp, led.vf_v))
    lowest_v = min(lowest_v, led.vf_v)
    sharing = sum(vf_v <= lowest_v + HOG_V for _, vf_v in beside) + 1
    hogged = led.vf_v > lowest_v + HOG_V
    share_ma = 0.0 if hogged else output.delivers_ma / sharing
    flat, nominal, full = (share_ma if volts > led.vf_v else 0.0 for volts in supply)
    own_resistor = lamp.build is Build.WIRED or bool(lamp.resistor_ohm)
    if own_resistor:
        verdict = Verdict.WRONG_OUTPUT
        text = f"output {output.number} limits the current itself; no lamp with a resistor belongs on it"
    elif share_ma > led.max_ma:
        verdict = Verdict.OVER
        text = f"output {output.number} gives it {share_ma:.1f} mA where {led.max_ma:g} mA is the most"
    elif supply.nominal_v - led.vf_v < LEAST_HEADROOM_V:
        verdict = Verdict.REFUSED
        text = f"{supply.nominal_v:.1f} V leave the output too little to hold a current"
    elif hogged:
        verdict = Verdict.DIM
        text = f"dark: {lowest.name} needs fewer volts and takes all the current of output {output.number}"
    elif 100 * share_ma / led.wanted_ma < DIM_BELOW_PCT:
        verdict = Verdict.DIM
        text = f"output {output.number} gives it {share_ma:.1f} mA of the wanted {led.wanted_ma:g} mA"
    else:
        verdict = Verdict.RIGHT
        text = f"no resistor: output {output.number} gives it {share_ma:.1f} mA"
    built_in = 0.0
    if own_resistor:
        built_in = lamp.resistor_ohm or 0.0
        if lamp.rated_v is not None and lamp.build is Build.WIRED:
            built_in += max(lamp.rated_v - led.vf_v, 0.0) / (_rated_ma(lamp, led) / 1000)
    return LampElectrics(
        lamp_id=lamp.id,
        supply=supply,
        led=led,
        current=Currents(full_ma=full, nominal_ma=nominal, flat_ma=flat),
        wanted_ma=led.wanted_ma,
        choice=None,
        series_ohm=built_in,
        verdict=verdict,
        text=text,
    )


_NO_CURRENT = Currents(full_ma=0.0, nominal_ma=0.0, flat_ma=0.0)
