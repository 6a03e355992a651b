"""The series resistor: chosen, proved, refused."""

from __future__ import annotations

import math

import attrs
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from model.electrics.diode import lamp_diode, operating_point
from model.electrics.led import LedFigures, forward_volts_text, led_figures, parse_forward_volts
from model.electrics.resistor import (
    Refused,
    ResistorChoice,
    choose,
    currents,
    drawer_text,
    evaluate,
    parse_drawer,
)
from model.electrics.supply import Volts, volts
from model.errors import BadValue
from model.harness import Lamp, Supply
from model.standards.leds import LED_COLOURS, LED_SIZES

SIX_CELLS = volts(Supply(chemistry="NiMH", cells=6))
ONE_LIPO = volts(Supply(chemistry="LiPo", cells=1))


def lamp(colour: str = "amber", size: str = "3 mm", **figures: float) -> Lamp:
    return Lamp(id="L1", name="lamp", colour=colour, size=size, **figures)  # type: ignore[arg-type]


def chosen(supply: Volts, led: LedFigures, **settings: object) -> ResistorChoice:
    choice = choose(supply=supply, led=led, **settings)  # type: ignore[arg-type]
    assert isinstance(choice, ResistorChoice), choice
    return choice


def test_amber_on_six_cells() -> None:
    # (7.2 - 2.1) / 0.010 = 510 -> 560; worst (8.7 - 1.9) / 532 = 12.8 mA and 6.8^2 / 532 = 86.9 mW
    choice = chosen(SIX_CELLS, led_figures(lamp()))
    assert choice.exact_ohm == pytest.approx(510)
    assert choice.ohm == 560
    assert choice.words == "560R green blue brown gold"
    assert choice.current.full_ma == pytest.approx(6.6 / 0.560)
    assert choice.current.nominal_ma == pytest.approx(5.1 / 0.560)
    assert choice.current.flat_ma == pytest.approx(3.9 / 0.560)
    assert choice.current.flat_pct == pytest.approx(100 * 3.9 / 5.1)
    assert choice.worst_ma == pytest.approx(6.8 / 0.532)
    assert choice.power_mw == pytest.approx(6.8**2 / 0.532)
    assert choice.axial is not None
    # 87 of 125 mW at worst are just below 0.7, and (7.2 - 2.1)^2 / 560 = 46 mW below 0.5
    assert choice.axial.name == "1/8 W"
    assert choice.chip is not None
    assert choice.chip.name == "0805"
    assert choice.safe
    assert not choice.raised


def test_a_step_up_where_a_full_battery_would_burn_it() -> None:
    # White on one lithium cell: (3.7 - 3.2) / 0.010 = 50 -> 56 lets (4.2 - 2.8) / 53.2 = 26.3 mA through.
    choice = chosen(ONE_LIPO, led_figures(lamp("white")))
    assert choice.exact_ohm == pytest.approx(50)
    assert choice.ohm == 68
    assert choice.raised
    assert choice.worst_ma == pytest.approx(1400 / 64.6)
    assert choice.current.flat_ma == 0


@pytest.mark.parametrize(
    ("series", "tolerance_pct", "ohm", "bands"),
    [
        ("E6", 20.0, 680, "blue grey brown"),
        ("E12", 10.0, 560, "green blue brown silver"),
        ("E24", 5.0, 510, "green brown brown gold"),
        ("E48", 2.0, 511, "green brown brown black red"),
        ("E96", 1.0, 511, "green brown brown black brown"),
        ("E96", 5.0, 511, "green brown brown black gold"),
        ("E24", 3.0, 510, ""),
    ],
)
def test_series(series: str, tolerance_pct: float, ohm: float, bands: str) -> None:
    choice = chosen(SIX_CELLS, led_figures(lamp()), series=series, tolerance_pct=tolerance_pct)
    assert choice.ohm == ohm
    assert " ".join(choice.bands) == bands


def test_from_the_drawer() -> None:
    led = led_figures(lamp())
    assert chosen(SIX_CELLS, led, drawer_ohm=(1000, 470, 680)).ohm == 680
    refused = choose(supply=SIX_CELLS, led=led, drawer_ohm=(100, 470))
    assert isinstance(refused, Refused)
    assert refused.reason == "the largest value at hand is 470 ohm, 510 ohm are needed"
    assert refused.remedy == "Buy 560R."


@pytest.mark.parametrize(
    ("typed", "values", "text"),
    [
        ("", (), ""),
        (" ; , ", (), ""),
        ("220 470R, 4k7,1k", (220, 470, 1000, 4700), "220R 470R 1K 4K7"),
        ("1000,470,220", (220, 470, 1000), "220R 470R 1K"),
        ("4,7k, 100R 100", (100, 4700), "100R 4K7"),
        ("332.6 R47", (0.47, 332.6), "R47 332.6"),
    ],
)
def test_a_drawer_as_typed(typed: str, values: tuple[float, ...], text: str) -> None:
    assert parse_drawer(typed) == values
    assert drawer_text(values) == text


@given(st.lists(st.floats(1e-3, 1e7), max_size=8, unique_by=lambda ohm: f"{ohm:.6g}"))
def test_a_drawer_reads_back_as_it_was(values: list[float]) -> None:
    assert parse_drawer(drawer_text(sorted(values))) == pytest.approx(tuple(sorted(values)), rel=1e-9)


@pytest.mark.parametrize("typed", ["470 x", "0", "-5", "1e3", "470 ohm"])
def test_what_is_no_resistor_is_named(typed: str) -> None:
    with pytest.raises(BadValue, match="resistance"):
        parse_drawer(typed)


def test_a_chip_is_sized_and_marked_as_one() -> None:
    choice = chosen(SIX_CELLS, led_figures(lamp()), kind="chip")
    assert choice.part is choice.chip
    assert choice.part is not None
    assert (choice.part.name, choice.part.body) == ("0805", "2.0 x 1.25 mm")
    assert choice.words == "560R marked 561"
    small = chosen(ONE_LIPO, led_figures(lamp("white", current_ma=2.0)), kind="chip")
    assert small.part is not None
    assert (small.part.name, small.words) == ("0402", "270R")  # nothing is printed on one


def test_a_hot_model_wants_a_larger_part() -> None:
    # (155 - 100) / 85 of the rating is left: 87 mW are over 0.7 of 81 mW and below 0.7 of 162 mW
    choice = chosen(SIX_CELLS, led_figures(lamp()), ambient_c=100.0)
    assert choice.part is not None
    assert choice.part.name == "1/4 W"


@pytest.mark.parametrize(
    ("nominal_v", "colour", "words"),
    [(3.3, "blue", "only 0.10 V are left"), (3.0, "white", "do not light"), (2.4, "red", "only 0.40 V")],
)
def test_refused_without_headroom(nominal_v: float, colour: str, words: str) -> None:
    supply = volts(Supply(chemistry="regulated", nominal_v=nominal_v))
    refused = choose(supply=supply, led=led_figures(lamp(colour)))
    assert isinstance(refused, Refused)
    assert words in refused.reason


def test_half_a_volt_is_just_enough() -> None:
    assert isinstance(choose(supply=ONE_LIPO, led=led_figures(lamp("white"))), ResistorChoice)


def test_a_typed_limit_below_the_test_current_is_kept() -> None:
    """Between the points it is fitted through the curve lies below the straight fall of the voltage.

    110 ohm would do by the straight line, and let 10.8 mA through a part of the lowest forward voltage.
    """
    led = led_figures(lamp("UV", current_ma=22.0, max_ma=10.63))
    supply = Volts(flat_v=3.3, nominal_v=4.115, full_v=4.3)
    choice = chosen(supply, led, series="E96", tolerance_pct=1.0)
    low_ohm = 0.99 * choice.ohm
    curve = lamp_diode(led, led.vf_low_v)
    assert choice.worst_ma <= 10.63
    assert curve.volts(0.01063) + 0.01063 * low_ohm >= 4.3


def test_an_unsafe_fitted_one_is_said_to_be_unsafe() -> None:
    choice = evaluate(100, supply=SIX_CELLS, led=led_figures(lamp()))
    assert not choice.safe
    assert choice.worst_ma == pytest.approx(6.8 / 0.095)
    assert choice.letter_code == "100R"
    measured = evaluate(332.6, supply=SIX_CELLS, led=led_figures(lamp()))
    assert measured.bands == ()
    assert measured.letter_code == "332.6 ohm"


@pytest.mark.parametrize("ohm", [0, -10, float("nan")])
def test_a_resistor_is_above_zero(ohm: float) -> None:
    with pytest.raises(BadValue):
        evaluate(ohm, supply=SIX_CELLS, led=led_figures(lamp()))


def test_tolerance_and_series_are_checked() -> None:
    with pytest.raises(BadValue, match="0 to 50 %"):
        choose(supply=SIX_CELLS, led=led_figures(lamp()), tolerance_pct=100)
    with pytest.raises(BadValue, match="E12"):
        choose(supply=SIX_CELLS, led=led_figures(lamp()), series="E13")


class TestFigures:
    """What a person types goes before the tables."""

    def test_tables(self) -> None:
        led = led_figures(lamp("red", "5 mm"))
        assert (led.vf_low_v, led.vf_v, led.vf_high_v) == (1.8, 2.0, 2.2)
        assert (led.wanted_ma, led.test_ma, led.max_ma) == (10, 20, 30)

    def test_typed_voltage_takes_the_spread_along(self) -> None:
        led = led_figures(lamp("red", vf_v=2.2))
        assert (led.vf_low_v, led.vf_high_v) == pytest.approx((1.98, 2.42))

    def test_typed_ends_hold(self) -> None:
        led = led_figures(lamp("red", vf_low_v=2.1, vf_high_v=2.3))
        assert (led.vf_low_v, led.vf_v, led.vf_high_v) == (2.1, 2.1, 2.3)
        led = led_figures(lamp("red", vf_v=1.9, vf_low_v=2.1))
        assert led.vf_low_v == 1.9

    @pytest.mark.parametrize(
        ("typed", "low", "usual", "high", "text"),
        [
            ("", None, None, None, ""),
            ("2,1 V", None, 2.1, None, "2.1"),
            ("1.9 2.3", 1.9, None, 2.3, "1.9 / - / 2.3"),
            ("1.9/2.1/2.3V", 1.9, 2.1, 2.3, "1.9 / 2.1 / 2.3"),
            ("1.9 / - / 2.3", 1.9, None, 2.3, "1.9 / - / 2.3"),
            ("- / 2.1 / 2.3", None, 2.1, 2.3, "- / 2.1 / 2.3"),
        ],
    )
    def test_volts_as_typed(
        self, typed: str, low: float | None, usual: float | None, high: float | None, text: str
    ) -> None:
        found = parse_forward_volts(typed, "volts")
        assert found == {"vf_low_v": low, "vf_v": usual, "vf_high_v": high}
        assert forward_volts_text(lamp(**found)) == text  # type: ignore[arg-type]

    @pytest.mark.parametrize("typed", ["2.3 2.1", "2.1 / 1.9 / 2.3", "1 2 3 4", "two", "1.9 / x"])
    def test_volts_that_mean_nothing(self, typed: str) -> None:
        with pytest.raises(BadValue, match="volts"):
            parse_forward_volts(typed, "volts")

    def test_a_lower_limit_lowers_the_wanted_current(self) -> None:
        assert led_figures(lamp("red", max_ma=5)).wanted_ma == 5
        assert led_figures(lamp("red", max_ma=5, current_ma=7)).wanted_ma == 7

    def test_three_dies_draw_three_currents(self) -> None:
        led = led_figures(lamp("white", "5050"))
        assert (led.wanted_ma, led.test_ma, led.max_ma) == (30, 60, 75)

    def test_low_voltage_falls_with_the_current(self) -> None:
        led = led_figures(lamp("red"))
        assert led.least_vf_v(30) == led.vf_low_v
        assert led.least_vf_v(2) == pytest.approx(1.8 - 0.245)


SUPPLIES = st.builds(
    lambda nominal, down, up: Volts(flat_v=nominal * down, nominal_v=nominal, full_v=nominal * up),
    st.floats(2, 30),
    st.floats(0.5, 1),
    st.floats(1, 1.5),
)
LAMPS = st.builds(
    lamp,
    st.sampled_from(list(LED_COLOURS)),
    st.sampled_from(list(LED_SIZES)),
    current_ma=st.floats(0.2, 40),
)
TO_THE_END = st.just(1.0) | st.floats(-1, 1)


@given(
    supply=SUPPLIES,
    one=LAMPS,
    max_ma=st.none() | st.floats(0.5, 100),
    series=st.sampled_from(["E6", "E12", "E24", "E48", "E96"]),
    drawer_ohm=st.lists(st.floats(1, 1e6), max_size=6),
    tolerance_pct=st.floats(0, 20),
    spread=st.none() | st.floats(0.8, 1),
    at=TO_THE_END.map(abs),
    off_pct=TO_THE_END.map(lambda share: -share),
)
def test_never_over_the_limit_anywhere(
    supply: Volts,
    one: Lamp,
    max_ma: float | None,
    series: str,
    drawer_ohm: list[float],
    tolerance_pct: float,
    spread: float | None,
    at: float,
    off_pct: float,
) -> None:
    """At any voltage and tolerance, by the diode curve of the lowest part, which is not how it was chosen."""
    low_v = None if spread is None else spread * LED_COLOURS[one.colour].vf_v
    led = led_figures(attrs.evolve(one, max_ma=max_ma, vf_low_v=low_v))
    choice = choose(supply=supply, led=led, series=series, tolerance_pct=tolerance_pct, drawer_ohm=drawer_ohm)
    assume(isinstance(choice, ResistorChoice))
    assert isinstance(choice, ResistorChoice)
    assert choice.safe
    assert choice.ohm >= choice.exact_ohm * (1 - 1e-9)
    assert not drawer_ohm or choice.ohm in drawer_ohm
    voltage = supply.flat_v + at * (supply.full_v - supply.flat_v)
    ohm = choice.ohm * (1 + off_pct * tolerance_pct / 100)
    curve = lamp_diode(led, led.vf_low_v)
    _, current_a, _ = operating_point(
        voltage, ohm + curve.series_ohm, curve.saturation_a, curve.emission_v, voltage
    )
    assert 1000 * current_a <= led.max_ma * (1 + 1e-6)


@given(supply=SUPPLIES, one=LAMPS, more=st.floats(1, 2))
def test_a_higher_supply_never_gives_less(supply: Volts, one: Lamp, more: float) -> None:
    led = led_figures(one)
    higher = Volts(
        flat_v=supply.flat_v * more, nominal_v=supply.nominal_v * more, full_v=supply.full_v * more
    )
    before = currents(330, supply=supply, vf_v=led.vf_v)
    after = currents(330, supply=higher, vf_v=led.vf_v)
    assert before.flat_ma <= after.flat_ma
    assert before.nominal_ma <= after.nominal_ma
    assert before.full_ma <= after.full_ma
    assert math.isfinite(after.full_ma)
