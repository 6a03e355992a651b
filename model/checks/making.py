"""Rules on what was made and printed: wires not as planned, labels that are missing or no longer true."""

from __future__ import annotations

from collections.abc import Iterator

from model.bench import StepKind
from model.checks import cut_lengths, wire_room
from model.checks.cut_lengths import made_wires
from model.checks.naming import some
from model.findings import Finding, Severity
from model.harness import Harness
from model.labels.batch import LabelState, label_state
from model.labels.content import ENDS, joint_labels, plug_labels, said, spool_labels, wire_label
from model.tracing.find import live_heirs
from model.values import counted

TAKEN_OFF = "taken off"
"""The event that a label of a retired tag is no longer on any wire."""


def joined_without_sleeve(harness: Harness) -> Iterator[Finding]:
    """A wire that was joined at both ends before its sleeves were slid on."""
    for record, _ in made_wires(harness):
        if StepKind.JOIN in record.steps and StepKind.SLEEVE not in record.steps:
            yield Finding(
                subject=record.tag,
                rule="joined without sleeve",
                found=f"is joined, its sleeves are not on ({record.meaning})",
                limit="sleeves go on before the joint",
                remedy="Mark the sleeves as done if they are on; else open the joint, or use flags.",
                place="bench",
                ref=record.tag,
            )


def begun_without_label(harness: Harness) -> Iterator[Finding]:
    """Wires with sleeves on but not both labels printed; only where labels are printed at all."""
    if not any(record.printed_lamp or record.printed_controller for record in harness.ledger):
        return
    begun = [
        record
        for record, _ in made_wires(harness)
        if StepKind.SLEEVE in record.steps and not (record.printed_lamp and record.printed_controller)
    ]
    if begun:
        yield Finding(
            subject=some([record.tag for record in begun]),
            rule="begun without label",
            found=f"{counted(len(begun), 'wire')} with sleeves on, but not both labels printed",
            limit="both ends marked (AC 43.13-1B 11-208)",
            remedy="Print the labels that are missing.",
            severity=Severity.NOTE,
            place="labels",
            ref=begun[0].tag,
        )


def label_no_longer_true(harness: Harness) -> Iterator[Finding]:
    """Retired tags that a label or a begun wire still carries, until it is logged as taken off."""
    for record in harness.ledger:
        if record.live or not record.issued or any(event.what == TAKEN_OFF for event in record.events):
            continue
        heirs = [heir.tag for heir in live_heirs(harness, record)]
        labelled = record.printed_lamp or record.printed_controller
        away = "Take its labels off" if labelled else "Take the wire begun for it out, or use it elsewhere,"
        instead = f"Mark what took its place: {some(heirs)}." if heirs else "Nothing took its place."
        yield Finding(
            subject=record.tag,
            rule="label no longer true",
            found=f"is retired, {record.retired} (it was {record.meaning})",
            remedy=f"{away} and log that. {instead}",
            severity=Severity.NOTE,
            place="bench",
            ref=record.tag,
        )


def label_says_otherwise(harness: Harness) -> Iterator[Finding]:
    """Printed labels whose words or colour have changed since, as with a lamp's name or output's number."""
    changed: list[str] = []
    for record, wire in made_wires(harness):
        if record.printed:
            texts = [wire_label(harness, wire, record.tag, end) for end in ENDS]
            changed += [text.name for text in texts if label_state(record, text)[0] is LabelState.CHANGED]
    changed += _others_changed(harness)
    if changed:
        yield Finding(
            subject=some(changed),
            rule="label says otherwise",
            found=f"{counted(len(changed), 'printed label')} would say something else now",
            remedy="Print them again: w shows the changed ones on Labels.",
            severity=Severity.NOTE,
            place="labels",
            ref=changed[0],
        )


def _others_changed(harness: Harness) -> Iterator[str]:
    """The joints, plugs and spools whose printed label would say something else now."""
    printed = {(one.kind, one.name): one.said for one in harness.printed}
    if printed:
        for text in (*joint_labels(harness), *plug_labels(harness), *spool_labels(harness)):
            if printed.get((text.kind, text.tag), said(text)) != said(text):
                yield text.tag


RULES = (
    *cut_lengths.RULES,
    *wire_room.RULES,
    joined_without_sleeve,
    begun_without_label,
    label_no_longer_true,
    label_says_otherwise,
)
