"""Rules on what is slid on to a wire: whether its insulation has room for all of it."""

from __future__ import annotations

from collections.abc import Iterator

from model import lengths
from model.bench import StepKind
from model.checks.cut_lengths import made_wires
from model.checks.naming import some
from model.findings import Finding, Severity
from model.harness import Harness
from model.labels.batch import label_group
from model.labels.stock import packaged_stocks
from model.labels.wire_room import WireRoom, wire_room
from model.routing.sleeves import tag_sleeve
from model.routing.wires import Wire
from model.tags import TagRecord
from model.values import counted


def _not_sleeved(harness: Harness) -> Iterator[tuple[TagRecord, Wire, WireRoom]]:
    for record, wire in made_wires(harness):
        if StepKind.SLEEVE not in record.steps:
            yield record, wire, wire_room(harness, wire, record)


def no_room_for_sleeves(harness: Harness) -> Iterator[Finding]:
    """A wire whose plain sleeves are longer than its insulation."""
    for record, _, room in _not_sleeved(harness):
        if room.left_mm < -1e-6:
            needed = " and ".join(f"{lengths.text(mm)} {words}" for words, mm in room.plain)
            yield Finding(
                subject=record.tag,
                rule="no room for sleeves",
                found=f"has no room for its sleeves before it is joined ({record.meaning})",
                limit=f"{needed} on {lengths.text(round(room.insulated_mm))} of insulation",
                remedy="Cut it longer (l at the bench), or cut the sleeves shorter.",
                place="bench",
                ref=record.tag,
            )


def no_room_for_tag_sleeves(harness: Harness) -> Iterator[Finding]:
    """Wires that a tag sleeve grips, but that are too short for one beside what else is slid on to them."""
    stocks = packaged_stocks()
    chosen = harness.settings.sleeve_stock
    chosen = chosen if chosen in stocks else ""
    short = [
        record.tag
        for record, wire, _ in _not_sleeved(harness)
        if tag_sleeve(wire) is not None and label_group(harness, stocks, chosen, wire) == "flag"
    ]
    if short:
        yield Finding(
            subject=some(short),
            rule="no room for tag sleeves",
            found=f"{counted(len(short), 'wire')} too short for a tag sleeve beside the plain ones",
            limit="all sleeves lie on the insulation before the wire is joined",
            remedy="Print flags for them.",
            severity=Severity.NOTE,
            place="labels",
            ref=short[0],
        )


RULES = (no_room_for_sleeves, no_room_for_tag_sleeves)
