"""Volts of supplies, typed and by cells."""

from __future__ import annotations

import pytest

from model.electrics.supply import Volts, output_volts, volts
from model.harness import Delivers, Output, Supply


@pytest.mark.parametrize(
    ("supply", "expected"),
    [
        (Supply(chemistry="NiMH", cells=6), (6.0, 7.2, 8.7)),
        (Supply(chemistry="LiPo", cells=2), (6.0, 7.4, 8.4)),
        (Supply(chemistry="lead-acid", cells=6), (10.5, 12.0, 14.4)),
        (Supply(chemistry="alkaline", cells=4), (3.6, 6.0, 6.4)),
        (Supply(chemistry="LiFePO4", cells=2), (5.0, 6.4, 7.3)),
        (Supply(chemistry="NiMH", cells=6, full_v=9.0), (6.0, 7.2, 9.0)),
        (Supply(chemistry="NiMH", cells=6, nominal_v=9.5), (6.0, 9.5, 9.5)),
        (Supply(chemistry="NiMH", cells=6, nominal_v=5.0), (5.0, 5.0, 8.7)),
        (Supply(chemistry="NiMH", cells=6, flat_v=7.5), (7.5, 7.5, 8.7)),
        (Supply(chemistry="NiMH", cells=6, full_v=5.0), (5.0, 5.0, 5.0)),
        (Supply(chemistry="regulated", nominal_v=5.0), (5.0, 5.0, 5.0)),
        (Supply(chemistry="regulated", flat_v=4.5, nominal_v=5.0, full_v=5.5), (4.5, 5.0, 5.5)),
    ],
)
def test_volts(supply: Supply, expected: tuple[float, float, float]) -> None:
    assert tuple(volts(supply)) == pytest.approx(expected)


def test_words() -> None:
    assert str(volts(Supply(chemistry="NiMH", cells=6))) == "6.0 / 7.2 / 8.7 V"


def test_an_output_may_hold_its_own_voltage() -> None:
    supply = Supply(chemistry="NiMH", cells=6)
    held = Output(number=1, pin="1", delivers=Delivers.REGULATED, delivers_v=5.0)
    assert output_volts(supply, held) == Volts(flat_v=5.0, nominal_v=5.0, full_v=5.0)
    assert output_volts(supply, Output(number=1, pin="1")) == volts(supply)
    assert output_volts(supply, None) == volts(supply)
