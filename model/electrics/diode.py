"""The curve of an LED: Shockley's diode law with a series resistance.

V = n Vt ln(I / Is + 1) + I Rs (Shockley 1949), with Vt = kT/q = 25.852 mV at 300 K. Fitted
through two points of the lamp's data, its test current and a twentieth of that.
"""

from __future__ import annotations

import math

import attrs

from model.electrics.led import LedFigures
from model.errors import BadValue

THERMAL_V = 0.025852
"""kT/q at 300 K, in V."""

LOW_SHARE = 20.0
"""The second point of the fit lies at the test current divided by this."""


@attrs.frozen(kw_only=True)
class Diode:
    """Saturation current in A, emission voltage n Vt in V (all junctions of a chain together), series ohm."""

    saturation_a: float
    emission_v: float
    series_ohm: float

    @property
    def ideality(self) -> float:
        """The factor n."""
        return self.emission_v / THERMAL_V

    def volts(self, current_a: float) -> float:
        """Forward voltage at a current of 0 or more, in V."""
        return self.emission_v * math.log1p(current_a / self.saturation_a) + current_a * self.series_ohm


def fit(*, low_a: float, low_v: float, test_a: float, test_v: float, series_ohm: float) -> Diode:
    """The curve of this series resistance through two points. BadValue unless both rise.

    Where the resistance alone would take more than nine tenths of the rise, it is cut to that.
    """
    if not (0 < low_a < test_a and 0 < low_v < test_v and series_ohm >= 0):
        raise BadValue(
            "diode curve",
            f"{low_v:g} V at {1000 * low_a:g} mA and {test_v:g} V at {1000 * test_a:g} mA",
            limit="rising volts at rising current",
        )
    rise_v = test_v - low_v
    series_ohm = min(series_ohm, 0.9 * rise_v / (test_a - low_a))
    emission_v = (rise_v - series_ohm * (test_a - low_a)) / math.log(test_a / low_a)
    # I + Is ~ I: at the low point Is is smaller by the exponential of some ten or more.
    saturation_a = test_a / math.expm1((test_v - test_a * series_ohm) / emission_v)
    return Diode(saturation_a=saturation_a, emission_v=emission_v, series_ohm=series_ohm)


def lamp_diode(led: LedFigures, vf_v: float) -> Diode:
    """The curve of a part whose forward voltage at the test current is `vf_v`.

    Its rise is that of the typical part, in proportion to the voltage.
    """
    test_a = led.test_ma / 1000
    low_v = vf_v * (1 - led.volts_per_decade * math.log10(LOW_SHARE) / led.vf_v)
    return fit(low_a=test_a / LOW_SHARE, low_v=low_v, test_a=test_a, test_v=vf_v, series_ohm=led.series_ohm)


def lowest_volts(led: LedFigures, current_ma: float) -> float:
    """The lowest forward voltage that any part may have at this current, in V.

    Below the test current the straight fall of `led.least_vf_v` or the curve of the lowest part, whichever is
    less: between the two points it is fitted through, the curve hangs below the straight line.
    """
    if current_ma >= led.test_ma or led.volts_per_decade <= 0:
        return led.least_vf_v(current_ma)
    curve_v = lamp_diode(led, led.vf_low_v).volts(current_ma / 1000)
    return min(led.least_vf_v(current_ma), curve_v)


def operating_point(
    volts: float, ohm: float, saturation_a: float, emission_v: float, guess_v: float
) -> tuple[float, float, float]:
    """Junction volts, current in A and slope dI/dV of a diode with `ohm` in series on `volts`.

    Newton on u + R Is (exp(u / nVt) - 1) = V, which is convex: from the upper side it comes down to
    the root without overshoot. `guess_v` is a junction voltage from an earlier call, or `volts`.
    """
    drop_v = ohm * saturation_a
    # The root is below both V (all of it at the junction) and what all of V through R would give; below
    # 0 V it lies between V and 0.
    upper = min(volts, emission_v * math.log1p(volts / drop_v)) if volts > 0 else 0.0
    u = guess_v if guess_v < upper else upper
    limit = 1e-8 * emission_v
    for _ in range(100):
        rise = math.exp(u / emission_v)
        step = (u + drop_v * (rise - 1.0) - volts) / (1.0 + drop_v * rise / emission_v)
        u -= step
        if u > upper:
            u = upper
            continue
        if -limit < step < limit:
            break
    rise = saturation_a * math.exp(u / emission_v)
    return u, rise - saturation_a, 1.0 / (ohm + emission_v / rise) if rise > 1e-290 else 0.0
