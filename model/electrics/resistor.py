"""The series resistor of one LED: chosen for the wanted current, proved at the worst case.

R = (V - Vf) / I at nominal volts and typical forward voltage, the next higher preferred value
(IEC 60063). The worst case is a full battery, the lowest forward voltage and the resistor at
the low end of its tolerance.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from decimal import Decimal

import attrs

from model.electrics.diode import lowest_volts
from model.electrics.led import LedFigures
from model.electrics.supply import Volts
from model.errors import BadValue
from model.standards import preferred, resistor_code
from model.standards.resistor_power import INSIDE_C, Rating, rating_for

LEAST_HEADROOM_V = 0.5
"""Below this the current follows every tenth of a volt; common practice, no source."""

LARGEST_OHM = 1e7
"""The largest value looked for; common practice, no source."""

_DECIMAL = re.compile(r"\d+,\d{1,2}[A-Za-z]*,?")

BLANK_CHIPS = frozenset({"0402"})
"""Chips too small for a print; common practice, no source."""

# Headroom such as 3.7 - 3.2 comes out a hair under 0.5 in doubles.
_HAIR = 1e-9


@attrs.frozen(kw_only=True)
class Currents:
    """Current of one lamp on a full, nominal and flat battery, in mA."""

    full_ma: float
    nominal_ma: float
    flat_ma: float

    @property
    def flat_pct(self) -> float:
        """Current on a flat battery as a share of nominal: about how bright it stays. 0 where it is dark."""
        return 100 * self.flat_ma / self.nominal_ma if self.nominal_ma > 0 else 0.0

    def percent_of(self, wanted_ma: float) -> float:
        """The nominal current in per cent of another."""
        return 100 * self.nominal_ma / wanted_ma


@attrs.frozen(kw_only=True)
class ResistorChoice:
    """A resistor with what it does.

    `exact_ohm` is what the wanted current would need. `raised` says that the next higher value
    was not safe at the worst case and a larger one was taken. `worst_ma` and `power_mw` are those
    of the worst case; `axial` and `chip` the smallest sizes for that power, None where none is
    large enough, `kind` which of them is wanted. `bands` is empty where the value has no colour code.
    """

    ohm: float
    exact_ohm: float
    tolerance_pct: float
    raised: bool
    current: Currents
    worst_ma: float
    max_ma: float
    power_mw: float
    axial: Rating | None
    chip: Rating | None
    bands: tuple[str, ...]
    letter_code: str
    kind: str = "axial"

    @property
    def safe(self) -> bool:
        """Whether the worst case keeps the LED within its limit."""
        return self.worst_ma <= self.max_ma * (1 + _HAIR)

    @property
    def nominal_mw(self) -> float:
        """Its power at nominal volts."""
        return self.current.nominal_ma**2 * self.ohm / 1000

    @property
    def part(self) -> Rating | None:
        """The smallest size of the wanted kind that stands the power, or None."""
        return self.axial if self.kind == "axial" else self.chip

    @property
    def marks(self) -> str:
        """What tells it from others: its bands, or the print on a chip. Empty where it has none."""
        if self.kind == "axial":
            return resistor_code.words(self.bands)
        return "" if self.part is not None and self.part.name in BLANK_CHIPS else _chip_marks(self.ohm)

    @property
    def codes(self) -> str:
        """Its bands as IEC 60757 codes: "OG OG BN GD". Empty on a chip, or where the value has none."""
        return resistor_code.codes(self.bands) if self.kind == "axial" else ""

    @property
    def words(self) -> str:
        """The value and its marks: "330R orange orange brown gold", "330R marked 331"."""
        return f"{self.letter_code} {self.marks}".rstrip()


@attrs.frozen(kw_only=True)
class Refused:
    """Why no resistor will do, and what would. `headroom_v` is what it had at nominal volts."""

    reason: str
    remedy: str
    headroom_v: float


def choose(
    *,
    supply: Volts,
    led: LedFigures,
    series: str = preferred.DEFAULT_SERIES,
    tolerance_pct: float = 5.0,
    drawer_ohm: Sequence[float] = (),
    ambient_c: float = INSIDE_C,
    kind: str = "axial",
) -> ResistorChoice | Refused:
    """The resistor for `led.wanted_ma` on this supply, from the series or, where given, from the drawer.

    Refused where the headroom is too small, or the drawer has no value large enough. BadValue for
    an unknown series or a tolerance outside 0..50 %.
    """
    _check_tolerance(tolerance_pct)
    headroom_v = supply.nominal_v - led.vf_v
    if headroom_v < LEAST_HEADROOM_V - _HAIR:
        return Refused(
            reason=_little_headroom(supply.nominal_v, led.vf_v),
            remedy="Take more cells, a colour with less forward voltage, or an output of limited current.",
            headroom_v=headroom_v,
        )
    exact_ohm = headroom_v / (led.wanted_ma / 1000)
    least_ohm = _least_safe_ohm(supply.full_v, led, tolerance_pct)
    if max(exact_ohm, least_ohm) > LARGEST_OHM:
        return Refused(
            reason=f"{led.wanted_ma:g} mA would need more than {LARGEST_OHM / 1e6:g} megohm",
            remedy="Give the lamp a current that lights it.",
            headroom_v=headroom_v,
        )
    ohm = _value(exact_ohm, series, drawer_ohm)
    raised = False
    if ohm is not None and ohm < least_ohm * (1 - _HAIR):
        ohm, raised = _value(least_ohm, series, drawer_ohm), True
    if ohm is None:
        needed = max(exact_ohm, least_ohm)
        return Refused(
            reason=f"the largest value at hand is {max(drawer_ohm):g} ohm, {needed:.0f} ohm are needed",
            remedy=f"Buy {resistor_code.letter_code(preferred.round_up(needed, series))}.",
            headroom_v=headroom_v,
        )
    return evaluate(
        ohm,
        supply=supply,
        led=led,
        tolerance_pct=tolerance_pct,
        ambient_c=ambient_c,
        kind=kind,
        raised=raised,
    )


def evaluate(
    ohm: float,
    *,
    supply: Volts,
    led: LedFigures,
    tolerance_pct: float = 5.0,
    ambient_c: float = INSIDE_C,
    kind: str = "axial",
    raised: bool = False,
) -> ResistorChoice:
    """What a given resistor does, safe or not. BadValue unless it is above 0 ohm."""
    _check_tolerance(tolerance_pct)
    if not ohm > 0:
        raise BadValue("series resistor", f"{ohm:g} ohm", limit="above 0 ohm")
    worst_ma, power_mw = _worst(ohm, supply.full_v, led, tolerance_pct)
    drawn = currents(ohm, supply=supply, vf_v=led.vf_v)
    nominal_mw = drawn.nominal_ma**2 * ohm / 1000
    return ResistorChoice(
        ohm=ohm,
        exact_ohm=max(supply.nominal_v - led.vf_v, 0.0) / (led.wanted_ma / 1000),
        tolerance_pct=tolerance_pct,
        raised=raised,
        current=drawn,
        worst_ma=worst_ma,
        max_ma=led.max_ma,
        power_mw=power_mw,
        axial=rating_for(nominal_mw, power_mw, kind="axial", ambient_c=ambient_c),
        chip=rating_for(nominal_mw, power_mw, kind="chip", ambient_c=ambient_c),
        bands=_bands(ohm, tolerance_pct),
        letter_code=resistor_words(ohm),
        kind=kind,
    )


def currents(ohm: float, *, supply: Volts, vf_v: float) -> Currents:
    """Current through the LED by the data-sheet sum (V - Vf) / R, never below 0."""
    flat, nominal, full = (1000 * max(volts - vf_v, 0.0) / ohm for volts in supply)
    return Currents(full_ma=full, nominal_ma=nominal, flat_ma=flat)


def _worst(ohm: float, full_v: float, led: LedFigures, tolerance_pct: float) -> tuple[float, float]:
    """Current in mA and power of the resistor in mW at the worst case.

    Up to the test current the low forward voltage is that at the limit itself: a current below
    the limit is never taken for one above, nor the other way round.
    """
    low_ohm = ohm * (1 - tolerance_pct / 100)
    drop_v = max(full_v - lowest_volts(led, led.max_ma), 0.0)
    return 1000 * drop_v / low_ohm, 1000 * drop_v**2 / low_ohm


def _least_safe_ohm(full_v: float, led: LedFigures, tolerance_pct: float) -> float:
    drop_v = max(full_v - lowest_volts(led, led.max_ma), 0.0)
    return drop_v / (led.max_ma / 1000) / (1 - tolerance_pct / 100)


def _value(ohm: float, series: str, drawer_ohm: Sequence[float]) -> float | None:
    return preferred.round_up_among(ohm, drawer_ohm) if drawer_ohm else preferred.round_up(ohm, series)


def _check_tolerance(tolerance_pct: float) -> None:
    if not 0 <= tolerance_pct <= 50:
        raise BadValue("resistor tolerance", f"{tolerance_pct:g} %", limit="0 to 50 %")


def _little_headroom(nominal_v: float, vf_v: float) -> str:
    if nominal_v <= vf_v:
        return f"{nominal_v:.1f} V do not light an LED that needs {vf_v:.1f} V"
    return (
        f"only {nominal_v - vf_v:.2f} V are left for the resistor ({nominal_v:.1f} V less {vf_v:.1f} V), "
        f"{LEAST_HEADROOM_V:g} V are the least that holds a current"
    )


def _bands(ohm: float, tolerance_pct: float) -> tuple[str, ...]:
    for count in (resistor_code.bands_for(tolerance_pct), 5):
        try:
            return resistor_code.bands(ohm, tolerance_pct, count)
        except BadValue:
            continue
    return ()


def _chip_marks(ohm: float) -> str:
    try:
        return f"marked {resistor_code.chip_code(ohm)}"
    except BadValue:
        return ""


def parse_drawer(typed: str) -> tuple[float, ...]:
    """Values as a person lists them ("220 470R, 4K7"), smallest first and each once, in ohm.

    A comma between digits and one or two digits more is a decimal one, any other stands between values.
    BadValue names the one that is none.
    """
    pieces: list[str] = []
    for piece in re.split(r"[;\s]+", typed.strip()):
        pieces += [piece.rstrip(",")] if _DECIMAL.fullmatch(piece) else piece.split(",")
    return tuple(sorted({resistor_code.parse_letter_code(piece) for piece in pieces if piece}))


def drawer_text(drawer_ohm: Sequence[float]) -> str:
    """Values as `parse_drawer` reads them: "220R 470R 4K7"."""
    return " ".join(_typed(ohm) for ohm in drawer_ohm)


def _typed(ohm: float) -> str:
    try:
        return resistor_code.letter_code(ohm)
    except BadValue:
        return f"{Decimal(repr(ohm)):f}"


def resistor_words(ohm: float) -> str:
    """The letter code, or plain ohms where a value has none, such as a measured one: "332.6 ohm"."""
    try:
        return resistor_code.letter_code(ohm)
    except BadValue:  # a measured value, such as 332.6 ohm
        return f"{ohm:.4g} ohm"
