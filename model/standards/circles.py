"""The circle that encloses a bundle of wires.

Equal circles: best known packings of 1 to 19, proved to 13 and for 19 (Graham 1968, Pirl 1969,
Kravitz 1967, Melissen 1994, Fodor 1999 to 2003), the others conjectured. They are lower bounds:
a bundle laid by hand is looser. Above 19, and for mixed sizes, 1.2 times the root of the sum of
squares, a rule of cable practice that under-reads small bundles and is raised for them here.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from model.errors import BadValue

RATIOS: tuple[float, ...] = (
    1.0,
    2.0,
    1 + 2 / math.sqrt(3),
    1 + math.sqrt(2),
    1 + math.sqrt(2 * (1 + 1 / math.sqrt(5))),
    3.0,
    3.0,
    1 + 1 / math.sin(math.pi / 7),
    1 + math.sqrt(2 * (2 + math.sqrt(2))),
    3.8130,
    1 + 1 / math.sin(math.pi / 9),
    4.0296,
    2 + math.sqrt(5),
    4.3284,
    4.5214,
    4.6154,
    4.7920,
    1 + math.sqrt(2) + math.sqrt(6),
    1 + math.sqrt(2) + math.sqrt(6),
)
"""Enclosing diameter of n equal circles as a multiple of one, at index n - 1."""

HAND_FACTOR = 1.2  # of the root of the sum of squares; published factors run from 1.15 to 1.45


def enclosing_ratio(count: int) -> float:
    """Enclosing diameter of `count` equal circles over one circle's: table to 19, rule above."""
    if count < 1:
        raise BadValue("wires in a bundle", str(count), limit="at least 1")
    return RATIOS[count - 1] if count <= len(RATIOS) else HAND_FACTOR * math.sqrt(count)


def bundle_diameter_mm(od_mm: Iterable[float]) -> float:
    """Diameter of a bundle of wires with these outside diameters; 0 for no wire.

    Exact for equal wires to 19, for any two, and for any three; else an estimate that never falls
    below what the largest few of them need, nor rises above that many of the largest.
    """
    sizes = sorted(od_mm, reverse=True)
    if not sizes:
        return 0.0
    if not all(math.isfinite(size) and size > 0 for size in sizes):
        raise BadValue("wire in a bundle", f"{min(sizes):g} mm", limit="a diameter above 0 mm")
    count, largest = len(sizes), sizes[0]
    if math.isclose(largest, sizes[-1], rel_tol=1e-9):
        return enclosing_ratio(count) * largest
    if count == 2:
        return sizes[0] + sizes[1]
    if count == 3:
        return _three_mm(*sizes)
    factor = max(HAND_FACTOR, enclosing_ratio(count) / math.sqrt(count))
    estimate = factor * math.sqrt(sum(size**2 for size in sizes))
    # However they lie, the first k of them need what k as small as the smallest of these need.
    some = max(ratio * size for ratio, size in zip(RATIOS, sizes, strict=False))
    return max(min(estimate, enclosing_ratio(count) * largest), _three_mm(*sizes[:3]), some)


def _three_mm(first: float, second: float, third: float) -> float:
    """Least circle round three circles of these diameters, largest first.

    Soddy's outer circle, by Descartes' theorem of curvatures; but a small third one lies in the
    gap beside the other two and leaves their circle of d1 + d2 as it is.
    """
    a, b, c = 2 / first, 2 / second, 2 / third
    outer = 2 / (first + second)
    # What just fills the gap: the theorem's root term vanishes, as the three centres are in line.
    if c >= a + b - outer:
        return first + second
    root = math.sqrt(a * b + b * c + c * a)
    return 2 / (2 * root - (a + b + c))
