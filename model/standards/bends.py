"""Least bend radius of wires and bundles, as a multiple of the outside diameter.

Ten times for anything that flexes (SAE AS50881, as quoted; US Army TM 1-1500-204-23-4), six
times for a fixed bundle (NASA-STD-8739.4), three times where both sides are held (AS50881, as
quoted), twice for a single thin wire that is fixed (IPC/WHMA-A-620, as quoted).
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from model.errors import BadValue

BEND_MULTIPLES: Mapping[str, float] = MappingProxyType(
    {"flexing": 10.0, "fixed bundle": 6.0, "supported": 3.0, "fixed single wire": 2.0}
)
"""Radius over diameter, by how the bend is held."""


def bend_radius_mm(od_mm: float, held: str) -> float:
    """Least inside radius for a wire or bundle of this diameter. BadValue lists the ways of holding."""
    multiple = BEND_MULTIPLES.get(held)
    if multiple is None:
        raise BadValue(f"bend {held!r}", "is not in the table", limit=", ".join(BEND_MULTIPLES))
    return multiple * od_mm
