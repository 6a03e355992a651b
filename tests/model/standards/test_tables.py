"""LEDs, cells, lamp functions, ratings, legibility, bends: the tables are sound and refuse what they lack."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from model.errors import BadValue
from model.standards import bends, cells, functions, leds, legibility, resistor_power


@pytest.mark.parametrize("colour", leds.LED_COLOURS.values(), ids=lambda colour: colour.name)
def test_forward_voltages_rise_from_low_to_high(colour: leds.LedColour) -> None:
    assert 1 < colour.vf_low_v < colour.vf_v < colour.vf_high_v < 4.5
    # The plain resistance is the smaller part of the curve's rise, or the fit would fail.
    assert colour.series_ohm * 0.019 / 1.301 < colour.volts_per_decade / 2


@pytest.mark.parametrize("size", leds.LED_SIZES.values(), ids=lambda size: size.name)
def test_currents_rise_from_good_to_greatest(size: leds.LedSize) -> None:
    assert size.good_ma <= size.test_ma <= size.max_ma <= 30  # mA; common practice, no source
    assert size.good_ma <= 10


def test_kind_says_where_it_is_from() -> None:
    kind = leds.led("amber", "3 mm")
    assert kind.name == "amber 3 mm"
    assert "common practice" in kind.source
    assert "common practice" not in leds.led("amber", "5 mm").source


@pytest.mark.parametrize("cell", cells.CHEMISTRIES.values(), ids=lambda cell: cell.chemistry)
def test_cells_fall_from_full_to_flat(cell: cells.Cell) -> None:
    assert 0.8 <= cell.flat_v < cell.nominal_v < cell.full_v <= 4.2


def test_only_indicators_keep_their_sides_apart() -> None:
    apart = [function.name for function in functions.FUNCTIONS.values() if function.sides_apart]
    assert apart == ["indicator"]
    assert functions.function("indicator").source == "UN R48"


@pytest.mark.parametrize("function", functions.FUNCTIONS.values(), ids=lambda function: function.name)
def test_usual_colours_are_colours_of_leds(function: functions.LampFunction) -> None:
    assert function.usual_colour in leds.LED_COLOURS
    assert function.scene in {"road", "water", "building", "any"}


@pytest.mark.parametrize(
    ("name", "colour"),
    [("port sidelight", "red"), ("starboard sidelight", "green"), ("towing light", "yellow")],
)
def test_colours_of_navigation_lights(name: str, colour: str) -> None:
    assert functions.function(name).usual_colour == colour


@pytest.mark.parametrize(
    ("ambient_c", "share"),
    [(20, 1.0), (70, 1.0), (85, 0.824), (100, 0.647), (125, 0.353), (155, 0.0), (200, 0.0)],
)
def test_derating(ambient_c: float, share: float) -> None:
    assert resistor_power.derating(ambient_c) == pytest.approx(share, abs=5e-4)


@pytest.mark.parametrize(
    ("nominal_mw", "worst_mw", "kind", "ambient_c", "name"),
    [
        (62.5, 80, "axial", 40, "1/8 W"),
        (63, 80, "axial", 40, "1/4 W"),
        (40, 88, "axial", 40, "1/4 W"),
        (40, 87, "axial", 40, "1/8 W"),
        (60, 60, "chip", 40, "0805"),
        (60, 60, "chip", 100, "1206"),
        (1001, 1001, "axial", 40, None),
        (1, 1, "chip", 155, None),
    ],
)
def test_rating_that_fits(
    nominal_mw: float, worst_mw: float, kind: str, ambient_c: float, name: str | None
) -> None:
    found = resistor_power.rating_for(nominal_mw, worst_mw, kind=kind, ambient_c=ambient_c)
    assert (found and found.name) == name


@pytest.mark.parametrize(
    ("distance_mm", "arc_minutes", "cap_mm"),
    [
        (300, 16, 1.40), (300, 20, 1.75), (300, 22, 1.92),
        (250, 16, 1.16), (350, 16, 1.63), (500, 16, 2.33),
        (250, 20, 1.45), (350, 20, 2.04), (500, 20, 2.91),
    ],
)  # fmt: skip
def test_cap_height(distance_mm: float, arc_minutes: float, cap_mm: float) -> None:
    height = legibility.cap_height_mm(distance_mm, arc_minutes)
    assert height == pytest.approx(cap_mm, abs=0.005)
    assert legibility.reading_distance_mm(height, arc_minutes) == pytest.approx(distance_mm)


def test_bend_radius() -> None:
    assert bends.bend_radius_mm(2.0, "flexing") == 20.0


@pytest.mark.parametrize(
    "look_up",
    [
        lambda: leds.led("puce", "3 mm"),
        lambda: leds.led("red", "4 mm"),
        lambda: cells.cell("plutonium"),
        lambda: functions.function("disco"),
        lambda: bends.bend_radius_mm(1.0, "tied"),
        lambda: legibility.cap_height_mm(0),
        lambda: legibility.reading_distance_mm(float("nan")),
    ],
)
def test_unknown_names_are_refused(look_up: Callable[[], Any]) -> None:
    with pytest.raises(BadValue):
        look_up()
