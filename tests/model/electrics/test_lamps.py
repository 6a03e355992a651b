"""The verdict on each lamp, bare and ready-wired."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from model import editing
from model.editing import RunChoice, accept_run
from model.electrics.findings import electrics_findings
from model.electrics.lamps import Verdict, all_lamps, lamp_current
from model.electrics.resistor import ResistorChoice
from model.harness import Build, Delivers, Harness, Lamp, Supply
from model.papers.electrics_table import electrics_text
from model.routing.allot import settle
from model.standards.leds import LED_COLOURS, LED_SIZES

EMPTY = editing.new_harness("Test", "TST")  # NiMH, 6 cells: 6.0 / 7.2 / 8.7 V


def lamp(colour: str = "white", **figures: object) -> Lamp:
    return Lamp(id="L1", name="lamp", colour=colour, **figures)  # type: ignore[arg-type]


def wired(rated_v: float, colour: str = "white", **figures: object) -> Lamp:
    return lamp(colour, build=Build.WIRED, rated_v=rated_v, **figures)


@pytest.mark.parametrize(
    ("rated_v", "colour", "verdict", "percent", "percent_full"),
    [
        # (7.2 - 3.2) / (rated - 3.2) and (8.7 - 3.2) / (rated - 3.2)
        (6, "white", Verdict.OVER, 142.9, 196.4),
        (9, "white", Verdict.RIGHT, 69.0, 94.8),
        (12, "white", Verdict.DIM, 45.5, 62.5),
        # (7.2 - 2.0) / (rated - 2.0) and (8.7 - 2.0) / (rated - 2.0)
        (6, "red", Verdict.OVER, 130.0, 167.5),
        (9, "red", Verdict.RIGHT, 74.3, 95.7),
        (12, "red", Verdict.DIM, 52.0, 67.0),
        (7.2, "white", Verdict.OVER, 100.0, 137.5),
        (8.4, "white", Verdict.RIGHT, 76.9, 105.8),
    ],
)
def test_ready_wired_on_six_cells(
    rated_v: float, colour: str, verdict: Verdict, percent: float, percent_full: float
) -> None:
    one = lamp_current(EMPTY, wired(rated_v, colour))
    assert one.verdict is verdict
    assert one.percent == pytest.approx(percent, abs=0.05)
    assert one.percent_full == pytest.approx(percent_full, abs=0.05)
    shown = re.fullmatch(r"made for ([\d.]+) V: (\d+) % of its current.*", one.text)
    assert shown is not None
    assert float(shown[1]) == rated_v
    assert int(shown[2]) == pytest.approx(percent_full if verdict is Verdict.OVER else percent, abs=0.55)


def test_percentage_does_not_hang_on_the_assumed_current() -> None:
    assumed = lamp_current(EMPTY, wired(9))
    measured = lamp_current(EMPTY, wired(9, rated_ma=8))
    assert assumed.percent == pytest.approx(measured.percent)
    assert assumed.series_ohm == pytest.approx(5.8 / 0.020)
    assert measured.series_ohm == pytest.approx(5.8 / 0.008)
    assert measured.current.full_ma == pytest.approx(5.5 / 5.8 * 8)


def test_a_resistor_in_front_of_a_ready_wired_lamp() -> None:
    one = lamp_current(EMPTY, wired(6, resistor_ohm=150))
    # inside (6 - 3.2) / 0.020 = 140, and 150 more
    assert one.series_ohm == pytest.approx(290)
    assert one.verdict is Verdict.RIGHT


def test_a_typed_limit_of_a_ready_wired_lamp_counts() -> None:
    assert lamp_current(EMPTY, wired(9)).verdict is Verdict.RIGHT
    assert lamp_current(EMPTY, wired(9, max_ma=18)).verdict is Verdict.OVER


def test_ready_wired_for_about_its_own_voltage_needs_a_resistor() -> None:
    one = lamp_current(EMPTY, wired(3.3))
    assert one.choice is not None
    assert one.text.startswith("made for 3.3 V, so it has no resistor inside and needs one: 470R")
    assert one.verdict is Verdict.RIGHT


@pytest.mark.parametrize(
    ("ohm", "verdict"),
    [(470.0, Verdict.RIGHT), (100.0, Verdict.OVER), (2200.0, Verdict.DIM), (0.0, Verdict.BARE_END)],
)
def test_the_resistor_in_front_of_one_without_any_counts(ohm: float, verdict: Verdict) -> None:
    """A lamp made for 3.3 V holds none: what is typed is all there is, and the mend is that of a bare LED."""
    one = lamp_current(EMPTY, wired(3.3, resistor_ohm=ohm))
    assert one.verdict is verdict
    assert one.series_ohm == ohm
    figures = {"build": Build.WIRED, "rated_v": 3.3, "resistor_ohm": ohm, "output": 1}
    mends = [
        finding.remedy
        for finding in electrics_findings(editing.add_lamp(EMPTY, "lamp", **figures))
        if finding.ref == "L1" and finding.rule != "resistor power"
    ]
    assert mends == ([] if verdict is Verdict.RIGHT else ["Fit 470R yellow violet brown gold."])


def test_bare_lamp_gets_its_resistor() -> None:
    one = lamp_current(EMPTY, lamp())
    # (7.2 - 3.2) / 0.010 = 400 -> 470
    assert one.series_ohm == 470
    assert one.verdict is Verdict.RIGHT
    assert one.text == "470R yellow violet brown gold, 8.5 mA"
    assert one.fine


def test_bare_lamp_without_headroom() -> None:
    harness = editing.set_supply(EMPTY, Supply(chemistry="regulated", nominal_v=3.3))
    one = lamp_current(harness, lamp("blue"))
    assert one.verdict is Verdict.REFUSED
    assert one.series_ohm is None
    assert one.current.full_ma == 0


@pytest.mark.parametrize(
    ("ohm", "verdict", "words"),
    [
        (470, Verdict.RIGHT, "470R"),
        (100, Verdict.OVER, "where 25 mA is the most"),
        (1200, Verdict.DIM, "33 % of the wanted 10 mA"),
        (0, Verdict.BARE_END, "no resistor of its own"),
        (1e-200, Verdict.BARE_END, "no resistor of its own"),
    ],
)
def test_the_persons_own_resistor(ohm: float, verdict: Verdict, words: str) -> None:
    one = lamp_current(EMPTY, lamp(resistor_ohm=ohm))
    assert one.verdict is verdict
    assert words in one.text


def test_raised_for_safety_is_said() -> None:
    harness = editing.set_supply(EMPTY, Supply(chemistry="LiPo", cells=1))
    one = lamp_current(harness, lamp())
    assert one.verdict is Verdict.RIGHT
    assert one.text == "68R blue grey black gold, 7.4 mA, one size up so as to be safe on a full battery"


def on_current_output(*lamps: dict[str, object], delivers_ma: float = 20.0) -> Harness:
    harness = editing.edit_output(EMPTY, 1, delivers=Delivers.CURRENT, delivers_ma=delivers_ma)
    for number, figures in enumerate(lamps):
        harness = editing.add_lamp(harness, f"lamp {number}", output=1, **figures)
    return harness


@pytest.mark.parametrize(
    ("lamps", "delivers_ma", "verdict", "share_ma"),
    [
        ([{}], 20, Verdict.RIGHT, 20),
        ([{}, {}], 20, Verdict.RIGHT, 10),
        ([{}, {}, {}, {}], 20, Verdict.DIM, 5),
        ([{}], 50, Verdict.OVER, 50),
        ([{"build": Build.WIRED, "rated_v": 9.0}], 20, Verdict.WRONG_OUTPUT, 20),
        ([{"resistor_ohm": 330.0}], 20, Verdict.WRONG_OUTPUT, 20),
    ],
)
def test_outputs_of_limited_current(
    lamps: list[dict[str, object]], delivers_ma: float, verdict: Verdict, share_ma: float
) -> None:
    harness = on_current_output(*lamps, delivers_ma=delivers_ma)
    one = all_lamps(harness)["L1"]
    assert one.verdict is verdict
    assert one.choice is None
    assert one.current.nominal_ma == pytest.approx(share_ma)


def test_a_current_output_needs_headroom_too() -> None:
    harness = editing.set_supply(on_current_output({}), Supply(chemistry="regulated", nominal_v=3.3))
    assert all_lamps(harness)["L1"].verdict is Verdict.REFUSED


def test_a_regulated_output_sets_the_volts() -> None:
    harness = editing.edit_output(EMPTY, 1, delivers=Delivers.REGULATED, delivers_v=5.0)
    harness = editing.add_lamp(harness, "lamp", colour="red", output=1)
    one = all_lamps(harness)["L1"]
    assert one.series_ohm == 330  # (5 - 2) / 0.010 = 300
    assert one.current.full_ma == one.current.flat_ma


def test_the_settings_choose_the_resistor() -> None:
    drawer = editing.set_settings(EMPTY, drawer_ohm=(220.0, 680.0))
    assert lamp_current(drawer, lamp("amber")).text == "680R blue grey brown gold, 7.5 mA"
    assert lamp_current(editing.set_settings(EMPTY, drawer_ohm=(220.0,)), lamp()).verdict is Verdict.REFUSED
    chips = editing.set_settings(EMPTY, resistor_body="chip", inside_c=90.0)
    for one in (lamp_current(chips, lamp()), lamp_current(chips, lamp(resistor_ohm=470))):
        assert isinstance(one.choice, ResistorChoice)
        assert one.choice.part is not None
        # (155 - 90) / 85 of 125 mW are 96; 78 mW are over seven tenths of that
        assert one.choice.part.name == "1206"
        assert one.text == "470R marked 471, 8.5 mA"


def test_unlike_leds_on_one_limited_current() -> None:
    """Side by side without resistors, the one of the lower forward voltage takes it all."""
    figures = all_lamps(on_current_output({"colour": "red"}, {"colour": "white"}, {"colour": "orange"}))
    red, white, orange = figures.values()
    assert red.current.nominal_ma == orange.current.nominal_ma == 10
    assert (white.verdict, white.current.nominal_ma) == (Verdict.DIM, 0)
    assert white.text == "dark: lamp 0 needs fewer volts and takes all the current of output 1"
    alone = all_lamps(on_current_output({"colour": "red"}, {"colour": "white"}, delivers_ma=30.0))
    assert alone["L1"].verdict is Verdict.OVER


def test_all_lamps_knows_each_by_its_id() -> None:
    harness = editing.add_lamp(editing.add_lamp(EMPTY, "one"), "two", colour="red")
    figures = all_lamps(harness)
    assert list(figures) == ["L1", "L2"]
    assert figures["L2"] == lamp_current(harness, harness.lamp("L2"))


VOLTS = st.none() | st.floats(0, 60, exclude_min=True)
CURRENTS = st.none() | st.floats(0, 3000, exclude_min=True)


@given(
    colour=st.sampled_from(list(LED_COLOURS)),
    size=st.sampled_from(list(LED_SIZES)),
    build=st.sampled_from(list(Build)),
    rated_v=st.floats(0, 60, exclude_min=True),
    rated_ma=CURRENTS,
    current_ma=CURRENTS,
    max_ma=CURRENTS,
    vf_low_v=VOLTS,
    vf_v=VOLTS,
    vf_high_v=VOLTS,
    resistor_ohm=st.none() | st.floats(0, 1e7),
    delivers=st.sampled_from(list(Delivers)),
    supply_v=st.floats(0.5, 60),
)
def test_whatever_is_typed_gets_a_verdict(delivers: Delivers, supply_v: float, **figures: object) -> None:
    harness = editing.set_supply(EMPTY, Supply(chemistry="regulated", nominal_v=supply_v))
    harness = editing.edit_output(harness, 1, delivers=delivers, delivers_v=5.0, delivers_ma=20.0)
    harness = editing.add_lamp(harness, "lamp", output=1, at="W1", **figures)
    harness = settle(accept_run(harness, "L1", RunChoice(way=("W1",), plus=None, minus=None)))
    one = all_lamps(harness)["L1"]
    assert one.text
    assert one.series_ohm is None or one.series_ohm >= 0
    if isinstance(one.choice, ResistorChoice) and one.verdict is Verdict.RIGHT:
        assert one.choice.safe
    assert electrics_findings(harness) is not None
    assert electrics_text(harness)
