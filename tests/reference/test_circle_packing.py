"""Enclosing circles against published packings of equal circles.

Sources: Graham 1968 (to 7), Pirl 1969 (to 10), Kravitz 1967 (best known to 19), Melissen 1994 (11), Fodor
1999, 2000, 2003 (19, 12, 13); the figures as collected in published tables, to four places.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.optimize import minimize

from model.standards.circles import bundle_diameter_mm, enclosing_ratio

PUBLISHED = [
    1.0000, 2.0000, 2.1547, 2.4142, 2.7013, 3.0000, 3.0000, 3.3048, 3.6131, 3.8130,
    3.9238, 4.0296, 4.2361, 4.3284, 4.5214, 4.6154, 4.7920, 4.8637, 4.8637,
]  # fmt: skip


@pytest.mark.parametrize(("count", "ratio"), list(enumerate(PUBLISHED, start=1)))
def test_ratio(count: int, ratio: float) -> None:
    assert enclosing_ratio(count) == pytest.approx(ratio, abs=5.1e-5)
    assert bundle_diameter_mm([0.84] * count) == pytest.approx(0.84 * ratio, abs=5e-5)


# Best known for 20 to 37 circles, conjectured (Graham, Lubachevsky, Nurmela and Ostergard 1998, and later
# tables); the figures are from memory.
BEST_KNOWN = [
    5.1223, 5.2523, 5.4397, 5.5452, 5.6517, 5.7528, 5.8282, 5.9063, 6.0149,
    6.1386, 6.1977, 6.2915, 6.4295, 6.4867, 6.6110, 6.6972, 6.7467, 6.7588,
]  # fmt: skip


@pytest.mark.parametrize(("count", "ratio"), list(enumerate(BEST_KNOWN, start=20)))
def test_the_rule_above_the_table_is_on_the_safe_side(count: int, ratio: float) -> None:
    assert ratio < enclosing_ratio(count) < 1.08 * ratio


def test_many_circles_go_into_what_the_rule_says() -> None:
    """Circles in a honeycomb, round the best of many middles: a packing that exists."""
    honey = [(x + y % 2 / 2, y * math.sqrt(3) / 2) for x in range(-15, 16) for y in range(-15, 16)]
    middles = [(a / 24, b * math.sqrt(3) / 48) for a in range(13) for b in range(9)]
    far = [sorted(math.dist(middle, circle) for circle in honey) for middle in middles]
    for count in range(38, 200):
        assert min(2 * from_middle[count - 1] + 1 for from_middle in far) < enclosing_ratio(count), count


def packed_mm(sizes: list[float], tries: int, seed: int) -> float:
    """The least circle round these that was found by moving them about; they overlap nowhere."""
    radius = np.array(sizes) / 2
    count = len(sizes)
    one, other = np.triu_indices(count, 1)
    pair, circle, both = np.arange(len(one)), len(one) + np.arange(count), (0, 1)
    apart = (radius[one] + radius[other]) ** 2

    def room(x: np.ndarray) -> np.ndarray:
        at = x[:-1].reshape(count, 2)
        return np.concatenate(
            [((at[one] - at[other]) ** 2).sum(1) - apart, (x[-1] - radius) ** 2 - (at**2).sum(1)]
        )

    def slope(x: np.ndarray) -> np.ndarray:
        at = x[:-1].reshape(count, 2)
        table = np.zeros((len(one) + count, 2 * count + 1))
        for axis in both:
            table[pair, 2 * one + axis] = 2 * (at[one] - at[other])[:, axis]
            table[pair, 2 * other + axis] = -table[pair, 2 * one + axis]
            table[circle, 2 * np.arange(count) + axis] = -2 * at[:, axis]
        table[len(one) :, -1] = 2 * (x[-1] - radius)
        return table

    dice = np.random.default_rng(seed)
    wide = max(sizes) * math.sqrt(count)
    best = math.inf
    for _ in range(tries):
        found = minimize(
            lambda x: x[-1],
            np.append(dice.uniform(-wide / 2, wide / 2, 2 * count), wide),
            jac=lambda x: np.append(np.zeros(2 * count), 1.0),
            constraints={"type": "ineq", "fun": room, "jac": slope},
            method="SLSQP",
        )
        if found.x[-1] >= max(radius) and room(found.x).min() > -1e-7:
            best = min(best, 2 * found.x[-1])
    return best


@pytest.mark.parametrize(
    "sizes",
    [
        [1.27] * 6 + [0.6],
        [1.35, 1.35, 0.84, 0.84, 0.84],
        [1.8, 0.84, 0.84, 0.84, 0.84],
        [1.1, 1.1, 1.1, 0.6, 0.6],
        [1.8, 1.8, 0.6, 0.6, 0.6, 0.6],
    ],
)
def test_a_mixed_bundle_is_never_said_to_be_thinner_than_it_can_be(sizes: list[float]) -> None:
    packed = packed_mm(sizes, tries=8, seed=1)
    assert packed * (1 - 1e-6) <= bundle_diameter_mm(sizes) <= 1.15 * packed
