"""How long a wire is: what it was cut to, else what the plan says."""

from __future__ import annotations

from model.routing.wires import Wire
from model.tags import TagRecord


def made_mm(record: TagRecord | None, wire: Wire) -> float:
    """The length a wire has, in mm: what it was cut to, else that of the plan."""
    return wire.cut_mm if record is None or record.cut_mm is None else record.cut_mm
