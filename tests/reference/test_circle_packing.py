"""Enclosing circles against published packings of equal circles.

Sources: Graham 1968 (to 7), Pirl 1969 (to 10), Kravitz 1967 (best known to 19), Melissen 1994 (11), Fodor
1999, 2000, 2003 (19, 12, 13); the figures as collected in published tables, to four places.
"""

from __future__ import annotations

import pytest

from model.standards.circles import bundle_diameter_mm, enclosing_ratio

PUBLISHED = [
    1.0000, 2.0000, 2.1547, 2.4142, 2.7013, 3.0000, 3.0000, 3.3048, 3.6131, 3.8130,
    3.9238, 4.0296, 4.2361, 4.3284, 4.5214, 4.6154, 4.7920, 4.8637, 4.8637,
]  # fmt: skip


@pytest.mark.parametrize(("count", "ratio"), list(enumerate(PUBLISHED, start=1)))
def test_ratio(count: int, ratio: float) -> None:
    assert enclosing_ratio(count) == pytest.approx(ratio, abs=5.1e-5)
    assert bundle_diameter_mm([0.84] * count) == pytest.approx(0.84 * ratio, abs=5e-5)


def test_the_rule_above_the_table_is_on_the_safe_side() -> None:
    # Best known for 20 circles: 5.1223 (from memory, the same tables).
    assert enclosing_ratio(20) > 5.1223
