"""What was printed: labels of wires, joints, plugs and spools."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Any

import attrs

from model.errors import BadValue
from model.harness import Harness, Printed
from model.tags import Print, TagRecord

SIDES: Mapping[str, str] = MappingProxyType({"L": "lamp", "C": "controller"})
"""What the fields of a record call the side of an end."""


def mark_printed(
    harness: Harness,
    labels: Iterable[tuple[str, str]],
    day: str,
    *,
    said: Mapping[tuple[str, str], str] | None = None,
    on: str = "",
) -> Harness:
    """Remember that labels were printed: pairs of tag and end ("L" lamp side, "C" controller side).

    With `day` "" take it that they were not. `on` is the kind of stock, "sleeve" or "flag", each remembered
    for itself; "" where that is not known, which counts for all.

    `said` holds for each pair a mark of what the label says (model.labels.content.said), which tells later
    whether it is still true.
    """
    records = {record.tag: record for record in harness.ledger}
    changed: dict[str, TagRecord] = {}
    for tag, end in labels:
        record = changed.get(tag) or records.get(tag) or harness.ledger.get(tag)
        if end not in SIDES:
            raise BadValue(f"label {tag}", f"end {end!r}", limit="L or C")
        last = record.last_print(end)
        known = [*(one for one in record.earlier if one.end == end), *([last] if last else [])]
        if day:
            new = Print(end=end, on=on, day=day, said=(said or {}).get((tag, end), ""))
            known = [*(one for one in known if one.on != on), new]
        else:
            known = [one for one in known if on and one.on not in ("", on)]
        changed[tag] = _with_prints(record, end, known)
    return attrs.evolve(harness, ledger=harness.ledger.replace(*changed.values()))


def _with_prints(record: TagRecord, end: str, prints: Sequence[Print]) -> TagRecord:
    """The record with these prints of one end, the last one last, in the place of those it had."""
    side = SIDES[end]
    last = prints[-1] if prints else None
    others = [one for one in record.earlier if one.end != end]
    news: dict[str, Any] = {
        f"printed_{side}": last.day if last else "",
        f"said_{side}": last.said if last else "",
        f"on_{side}": last.on if last else "",
        "earlier": (*others, *prints[:-1]),
    }
    return attrs.evolve(record, **news)


def print_as_in(harness: Harness, earlier: TagRecord, end: str) -> Harness:
    """Take it that the label of an end was printed as an earlier record of its tag has it."""
    last = earlier.last_print(end)
    prints = [*(one for one in earlier.earlier if one.end == end), *([last] if last else [])]
    record = _with_prints(harness.ledger.get(earlier.tag), end, prints)
    return attrs.evolve(harness, ledger=harness.ledger.replace(record))


def mark_other_printed(harness: Harness, prints: Iterable[Printed], *, forget: bool = False) -> Harness:
    """Remember that labels of joints, plugs or spools were printed, each in the place of its older print.

    With `forget`, take it that they were not.
    """
    prints = tuple(prints)
    known = {(one.kind, one.name): one for one in harness.printed}
    for one in prints:
        known.pop((one.kind, one.name), None)
        if not forget:
            known[one.kind, one.name] = one
    after = tuple(known[key] for key in sorted(known))
    return harness if after == harness.printed else attrs.evolve(harness, printed=after)
