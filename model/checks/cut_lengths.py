"""Rules on wires that are cut: those the plan now asks more of, and those it asks much less of."""

from __future__ import annotations

from collections.abc import Iterator

from model import lengths
from model.bench import CutCheck, Fit, cut_check
from model.findings import Finding, Severity
from model.harness import Harness
from model.routing.wires import Wire, derive
from model.tags import TagRecord


def made_wires(harness: Harness) -> Iterator[tuple[TagRecord, Wire]]:
    """Every live tag with its wire."""
    wires = derive(harness).by_key
    for record in harness.ledger:
        if record.live and record.wire in wires:
            yield record, wires[record.wire]


def _cut(harness: Harness, fit: Fit) -> Iterator[tuple[TagRecord, Wire, CutCheck]]:
    for record, wire in made_wires(harness):
        check = cut_check(record, wire)
        if check is not None and check.fit is fit:
            yield record, wire, check


def _found(record: TagRecord, check: CutCheck) -> str:
    what = "its own lead was shortened" if check.own_lead else "was cut"
    return f"{what} to {lengths.text(check.cut_mm)} ({record.meaning})"


def _needed(check: CutCheck) -> str:
    without, needed = lengths.text(round(check.least_mm)), lengths.text(round(check.needed_mm))
    return f"{needed} needed now with slack, {without} without"


def cut_too_short(harness: Harness) -> Iterator[Finding]:
    """A wire that was cut shorter than the plan needs now even without slack."""
    for record, wire, check in _cut(harness, Fit.SHORT):
        remedy = "Make it anew, splice a piece in, or take a shorter way for it."
        if check.own_lead:
            lead = lengths.text(check.cut_mm)
            remedy = f"Give the lamp its lead of {lead} in Lamps, then cut the wire that is laid onto it."
            if wire.own_lead:
                remedy = f"Give the lamp its lead of {lead} in Lamps, or take a shorter way for it."
        yield Finding(
            subject=record.tag,
            rule="wire too short",
            found=_found(record, check),
            limit=f"{_needed(check)}: too short",
            remedy=remedy,
            place="bench",
            ref=record.tag,
        )


def cut_without_slack(harness: Harness) -> Iterator[Finding]:
    """A wire that was cut shorter than the plan needs now, but reaches; rounding up does not count."""
    for record, _, check in _cut(harness, Fit.TIGHT):
        yield Finding(
            subject=record.tag,
            rule="wire without slack",
            found=_found(record, check),
            limit=f"{_needed(check)}: still reaches without slack",
            remedy="Lay it without slack where nothing moves, or make it anew.",
            place="bench",
            ref=record.tag,
        )


def cut_too_long(harness: Harness) -> Iterator[Finding]:
    """A wire that was cut much longer than the plan asks for now."""
    for record, _, check in _cut(harness, Fit.LONG):
        over = lengths.text(round(check.cut_mm - check.planned_mm))
        yield Finding(
            subject=record.tag,
            rule="wire too long",
            found=_found(record, check),
            limit=f"{lengths.text(round(check.planned_mm))} planned now, {over} less",
            remedy="Shorten it before its last end is joined, or lay the rest in a loop.",
            severity=Severity.NOTE,
            place="bench",
            ref=record.tag,
        )


RULES = (cut_too_short, cut_without_slack, cut_too_long)
