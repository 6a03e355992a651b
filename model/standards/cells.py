"""Volts of one battery cell, by chemistry: flat, nominal and full.

Full is a pack just off the charger and at rest, for which every resistor must be good; flat is where
a sensible person stops. Figures as quoted from cell data; those of lead-acid full and
alkaline full are from memory.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

import attrs

from model.errors import BadValue


@attrs.frozen(kw_only=True)
class Cell:
    """One cell's volts."""

    chemistry: str
    flat_v: float
    nominal_v: float
    full_v: float
    note: str = ""


CHEMISTRIES: Mapping[str, Cell] = MappingProxyType(
    {
        cell.chemistry: cell
        for cell in (
            Cell(
                chemistry="NiMH",
                flat_v=1.0,
                nominal_v=1.2,
                full_v=1.45,
                note="1.4 to 1.5 V at rest off the charger",
            ),
            Cell(
                chemistry="NiCd",
                flat_v=1.0,
                nominal_v=1.2,
                full_v=1.45,
                note="1.4 to 1.5 V at rest off the charger",
            ),
            Cell(chemistry="Li-ion", flat_v=3.0, nominal_v=3.6, full_v=4.2),
            Cell(chemistry="LiPo", flat_v=3.0, nominal_v=3.7, full_v=4.2, note="high-voltage types 4.35 V"),
            Cell(chemistry="LiFePO4", flat_v=2.5, nominal_v=3.2, full_v=3.65),
            Cell(chemistry="lead-acid", flat_v=1.75, nominal_v=2.0, full_v=2.4, note="2.4 V on charge"),
            Cell(chemistry="alkaline", flat_v=0.9, nominal_v=1.5, full_v=1.6, note="not rechargeable"),
        )
    }
)
"""Cells by chemistry."""

REGULATED = "regulated"
"""The name, beside the chemistries, of a supply given by its volts."""


def cell(chemistry: str) -> Cell:
    """The cell of this chemistry. BadValue lists those known."""
    found = CHEMISTRIES.get(chemistry)
    if found is None:
        raise BadValue(
            f"battery chemistry {chemistry!r}",
            "is not in the table",
            limit=", ".join([*CHEMISTRIES, REGULATED]),
            remedy=f'Take "{REGULATED}" and enter the volts.',
        )
    return found
