"""The E series against the independent package `eseries` (values of IEC 60063)."""

from __future__ import annotations

import math
import random

import pytest

from model.standards import preferred

eseries = pytest.importorskip("eseries")

NAMES = ["E3", "E6", "E12", "E24", "E48", "E96"]


@pytest.mark.parametrize("name", NAMES)
def test_same_values(name: str) -> None:
    assert preferred.SERIES[name] == tuple(eseries.series(eseries.ESeries[name]))


@pytest.mark.parametrize("name", NAMES)
def test_same_rounding_up(name: str) -> None:
    numbers = random.Random(60063)
    for _ in range(500):
        ohm = 10 ** numbers.uniform(0, 6)
        theirs = eseries.find_greater_than_or_equal(eseries.ESeries[name], ohm)
        assert math.isclose(preferred.round_up(ohm, name), theirs, rel_tol=1e-9)
