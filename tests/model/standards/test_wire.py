"""Wire sizes, their resistance and how a mistyped one is answered."""

from __future__ import annotations

import pytest

from model.errors import BadValue
from model.standards import wire


def test_gauges_stand_in_order_of_thickness() -> None:
    areas = [gauge.area_mm2 for gauge in wire.GAUGES.values()]
    assert areas == sorted(areas)
    assert len(areas) == 22
    assert next(iter(wire.GAUGES)) == "36 AWG"


@pytest.mark.parametrize(
    ("asked", "offered"),
    [
        ("28AWG", "28 AWG"),
        ("12 AWG", "20 AWG"),
        ("40 AWG", "36 AWG"),
        ("0.1 mm2", "0.08 mm2"),
        ("0,14", "0.14 mm2"),
        ("thin", "28 AWG"),
        ("", "28 AWG"),
        ("0 mm2", "0.05 mm2"),
    ],
)
def test_an_unknown_gauge_names_the_nearest(asked: str, offered: str) -> None:
    with pytest.raises(BadValue) as caught:
        wire.gauge(asked)
    assert f'"{offered}"' in caught.value.remedy


def test_default_gauge_is_known() -> None:
    assert wire.gauge(wire.DEFAULT_GAUGE).name == "28 AWG"


@pytest.mark.parametrize(("celsius", "factor"), [(20, 1.0), (50, 1.1179), (70, 1.1965)])
def test_copper_resists_more_when_warm(celsius: float, factor: float) -> None:
    assert wire.temperature_factor(celsius) == pytest.approx(factor, rel=1e-9)


@pytest.mark.parametrize("celsius", [-300.0, 400.0, float("nan"), float("inf")])
def test_impossible_temperatures_are_refused(celsius: float) -> None:
    with pytest.raises(BadValue):
        wire.temperature_factor(celsius)


@pytest.mark.parametrize(
    ("name", "one_way_mm", "current_ma", "drop_mv"),
    [("28 AWG", 500, 20, 4.26), ("30 AWG", 1000, 200, 135.4)],
)
def test_drop_out_and_back(name: str, one_way_mm: float, current_ma: float, drop_mv: float) -> None:
    ohm = wire.resistance_ohm(wire.gauge(name), 2 * one_way_mm)
    assert ohm * current_ma == pytest.approx(drop_mv, rel=1e-3)


def test_thinnest_gauge_for_a_current() -> None:
    for like, name in (("30 AWG", "28 AWG"), ("0.05 mm2", "0.08 mm2")):
        chosen = wire.for_current(200, like=wire.gauge(like))
        assert chosen is not None
        assert chosen.name == name
    assert wire.for_current(5000, like=wire.gauge("30 AWG")) is None
    assert [gauge.name for gauge in wire.thicker(wire.gauge("22 AWG"))] == ["21 AWG", "0.5 mm2", "20 AWG"]


@pytest.mark.parametrize("gauge", wire.GAUGES.values(), ids=lambda gauge: gauge.name)
def test_insulation_is_wider_than_copper(gauge: wire.Gauge) -> None:
    assert gauge.od_mm > gauge.diameter_mm
