"""The wires as they are in the world: their lamps, their live tags, and how long they are."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from model.harness import Harness, Lamp
from model.memo import by_identity
from model.routing.wires import Wire
from model.tags import TagRecord


@by_identity
def live_records(harness: Harness) -> Mapping[str, TagRecord]:
    """The live tags by the key of their wire."""
    return MappingProxyType(harness.ledger.live())


@by_identity
def lamps_by_id(harness: Harness) -> Mapping[str, Lamp]:
    """The lamps by id."""
    return MappingProxyType({lamp.id: lamp for lamp in harness.lamps})


def made_mm(record: TagRecord | None, wire: Wire) -> float:
    """The length a wire has, in mm: what it was cut to, else that of the plan."""
    return wire.cut_mm if record is None or record.cut_mm is None else record.cut_mm
