"""Rated currents of small fuses: the steps of IEC 60127-1 (2006; from memory).

A fuse of 1.25 times the load or more does not blow by itself (common practice, no source); it goes in
the positive lead close to the battery and protects that lead, which must carry the fuse's rating.
"""

from __future__ import annotations

RATINGS_MA: tuple[float, ...] = (
    100, 125, 160, 200, 250, 315, 400, 500, 630, 800,
    1000, 1250, 1600, 2000, 2500, 3150, 4000, 5000, 6300, 10_000,
)  # fmt: skip

LOAD_FACTOR = 1.25
LEAST_LEAD_MA = (
    500.0  # a battery lead is handled: nothing thinner than this asks for; common practice, no source
)


def fuse_for(load_ma: float) -> float | None:
    """The smallest rating in mA that holds the load, or None above the table."""
    return next((rating for rating in RATINGS_MA if rating >= LOAD_FACTOR * load_ma), None)
