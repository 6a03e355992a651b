"""How large print must be to be read.

Sixteen arc minutes at the longest reading distance is the least (NUREG-0700 rev. 3, 2020), 20 to
22 are preferred (from memory). Proportions are those of DOD-HDBK-791 (1988).
"""

from __future__ import annotations

import math

from model.errors import BadValue

LEAST_ARC_MINUTES = 16.0
PREFERRED_ARC_MINUTES = 20.0
READING_DISTANCE_MM = 300.0  # a wire held in tweezers; common practice, no source

DEFAULT_CAP_MM = 1.8  # 20 arc minutes at 300 mm, rounded up
FLOOR_CAP_MM = 1.4  # 16 arc minutes at 300 mm

STROKE_DARK_ON_LIGHT = 1 / 6  # of the cap height
STROKE_LIGHT_ON_DARK = 1 / 7
LEAST_WIDTH_TO_HEIGHT = 3 / 5
GREATEST_WIDTH_TO_HEIGHT = 1.0


def cap_height_mm(distance_mm: float = READING_DISTANCE_MM, arc_minutes: float = LEAST_ARC_MINUTES) -> float:
    """Height of a capital seen under this angle: 2 * D * tan(a / 2). 300 mm and 16': 1.40 mm."""
    if not (math.isfinite(distance_mm) and distance_mm > 0):
        raise BadValue("reading distance", f"{distance_mm:g} mm", limit="above 0 mm")
    return 2 * distance_mm * math.tan(math.radians(arc_minutes / 60) / 2)


def reading_distance_mm(cap_mm: float, arc_minutes: float = LEAST_ARC_MINUTES) -> float:
    """The longest distance at which a capital of this height is seen under the angle."""
    if not (math.isfinite(cap_mm) and cap_mm > 0):
        raise BadValue("cap height", f"{cap_mm:g} mm", limit="above 0 mm")
    return cap_mm / (2 * math.tan(math.radians(arc_minutes / 60) / 2))
