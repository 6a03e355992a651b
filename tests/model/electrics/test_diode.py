"""The diode curve and its fit."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from model.electrics.diode import Diode, fit, lamp_diode, operating_point
from model.electrics.led import led_figures
from model.errors import BadValue
from model.harness import Lamp
from model.standards.leds import LED_COLOURS, LED_SIZES


@pytest.mark.parametrize("colour", LED_COLOURS)
@pytest.mark.parametrize("size", LED_SIZES)
def test_fit_goes_through_the_data(colour: str, size: str) -> None:
    led = led_figures(Lamp(id="L1", name="lamp", colour=colour, size=size))
    for vf_v in (led.vf_low_v, led.vf_v, led.vf_high_v):
        curve = lamp_diode(led, vf_v)
        assert curve.volts(led.test_ma / 1000) == pytest.approx(vf_v, rel=1e-9)
        low_v = vf_v - led.volts_per_decade * math.log10(20) * vf_v / led.vf_v
        assert curve.volts(led.test_ma / 20_000) == pytest.approx(low_v, rel=1e-3)
        assert 1 < curve.ideality < 12


def test_too_large_a_series_resistance_is_cut() -> None:
    curve = fit(low_a=0.001, low_v=1.9, test_a=0.020, test_v=2.0, series_ohm=50.0)
    assert curve.series_ohm == pytest.approx(0.9 * 0.1 / 0.019)
    assert curve.volts(0.020) == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("low_a", "low_v", "test_a", "test_v"),
    [(0.02, 1.9, 0.02, 2.0), (0.001, 2.0, 0.02, 2.0), (0.0, 1.0, 0.02, 2.0), (0.001, -1.0, 0.02, 2.0)],
)
def test_a_curve_must_rise(low_a: float, low_v: float, test_a: float, test_v: float) -> None:
    with pytest.raises(BadValue):
        fit(low_a=low_a, low_v=low_v, test_a=test_a, test_v=test_v, series_ohm=1.0)


@given(
    volts=st.floats(-30, 60),
    ohm=st.floats(0.01, 1e6),
    saturation_a=st.floats(-280, -6).map(lambda power: 10**power),
    emission_v=st.floats(0.02, 3),
    guess=st.floats(-60, 60),
)
def test_operating_point_obeys_the_law(
    volts: float, ohm: float, saturation_a: float, emission_v: float, guess: float
) -> None:
    junction, current, slope = operating_point(volts, ohm, saturation_a, emission_v, guess)
    assert junction + ohm * current == pytest.approx(volts, abs=1e-9, rel=1e-9)
    assert current == pytest.approx(
        saturation_a * math.expm1(junction / emission_v), rel=1e-6, abs=saturation_a
    )
    assert 0 <= slope <= 1 / ohm


def test_slope_is_the_derivative() -> None:
    red = Diode(saturation_a=1e-10, emission_v=4.09 * 0.025852, series_ohm=0.1)
    for volts in (1.0, 1.7, 2.0, 5.0):
        _, below, slope = operating_point(volts - 1e-6, 100.1, red.saturation_a, red.emission_v, volts)
        _, above, _ = operating_point(volts + 1e-6, 100.1, red.saturation_a, red.emission_v, volts)
        assert (above - below) / 2e-6 == pytest.approx(slope, rel=1e-4)
