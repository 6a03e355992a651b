"""What was printed: labels of wires, joints, plugs and spools."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import attrs

from model.errors import BadValue
from model.harness import Harness, Printed
from model.tags import TagRecord


def mark_printed(
    harness: Harness,
    labels: Iterable[tuple[str, str]],
    day: str,
    *,
    said: Mapping[tuple[str, str], str] | None = None,
) -> Harness:
    """Remember that labels were printed: pairs of tag and end ("L" lamp side, "C" controller side).

    `said` holds for each pair a mark of what the label says (model.labels.content.said), which tells later
    whether it is still true.
    """
    records = {record.tag: record for record in harness.ledger}
    changed: dict[str, TagRecord] = {}
    for tag, end in labels:
        record = changed.get(tag) or records.get(tag) or harness.ledger.get(tag)
        side = {"L": "lamp", "C": "controller"}.get(end)
        if side is None:
            raise BadValue(f"label {tag}", f"end {end!r}", limit="L or C")
        news: dict[str, Any] = {f"printed_{side}": day, f"said_{side}": (said or {}).get((tag, end), "")}
        changed[tag] = attrs.evolve(record, **news)
    return attrs.evolve(harness, ledger=harness.ledger.replace(*changed.values()))


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
