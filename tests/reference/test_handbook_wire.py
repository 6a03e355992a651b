"""Wire resistance against the AWG table of a handbook.

Source: Handbook of Electronic Tables and Formulas for American Wire Gauge, as reproduced in print
and on the web; solid copper at 20 C, ohm per km. Its "maximum amps for power transmission" column is
the rule of 700 circular mil per ampere, rounded to two or three digits, so that it is held to 4 % only.
"""

from __future__ import annotations

import pytest

from model.standards.wire import awg_diameter_mm, gauge

HANDBOOK = [
    (20, 33.29, 1.5),
    (21, 41.98, 1.2),
    (22, 52.94, 0.92),
    (23, 66.78, 0.729),
    (24, 84.20, 0.577),
    (25, 106.2, 0.457),
    (26, 133.9, 0.361),
    (27, 168.8, 0.288),
    (28, 212.9, 0.226),
    (29, 268.4, 0.182),
    (30, 338.5, 0.142),
    (31, 426.7, 0.113),
    (32, 538.2, 0.091),
    (33, 678.6, 0.072),
    (34, 855.8, None),
]


@pytest.mark.parametrize(("number", "ohm_per_km", "amps"), HANDBOOK)
def test_resistance_within_two_parts_in_a_thousand(
    number: int, ohm_per_km: float, amps: float | None
) -> None:
    one = gauge(f"{number} AWG")
    assert one.ohm_per_km == pytest.approx(ohm_per_km, rel=0.002)
    if amps is not None:
        assert one.current_ma == pytest.approx(1000 * amps, rel=0.04)


def test_fixed_points_of_astm_b258() -> None:
    assert awg_diameter_mm(36) == pytest.approx(0.0050 * 25.4, rel=1e-12)
    assert awg_diameter_mm(-3) == pytest.approx(0.4600 * 25.4, rel=1e-12)


def test_three_gauges_double_the_area() -> None:
    assert gauge("25 AWG").area_mm2 / gauge("28 AWG").area_mm2 == pytest.approx(2.005, abs=5e-4)
    assert gauge("20 AWG").area_mm2 / gauge("30 AWG").area_mm2 == pytest.approx(10.16, abs=0.005)
