"""Ids and names of new things, and the changing over of one item of a tuple."""

from __future__ import annotations

import re
from typing import Any

from model.errors import BadValue, Conflict
from model.harness import Harness


def next_id(harness: Harness, letter: str) -> str:
    """The next free id of that letter."""
    return next_ids(harness, letter, 1)[0]


def next_ids(harness: Harness, letter: str, count: int) -> tuple[str, ...]:
    """The next free ids. Ids of things that are gone are not given again: retired tags still speak of
    them.
    """
    taken = [item.id for group in (harness.lamps, harness.joints, harness.waypoints) for item in group]
    for record in harness.ledger:
        taken += [record.wire, record.lamp_end, record.controller_end]
    # Not every reference is an id: a plug may be called J7, and its contact then "J7.1".
    key = re.compile(rf"{letter}([0-9]{{1,5}})([+-](\.[0-9]+)?)?")
    numbers = [int(found.group(1)) for name in taken if (found := key.fullmatch(name))]
    first = max(numbers, default=0) + 1
    return tuple(f"{letter}{number}" for number in range(first, first + count))


def no_dot(subject: str) -> None:
    """Raise BadValue for the new name of a block or plug that has a dot in it.

    "A.1.2" would be pin 2 of block A.1 or pin 1.2 of block A. Files may hold such a name; a finding says so.
    """
    if "." in subject:
        raise BadValue(
            subject, "has a dot in its name", remedy="Write it without: the dot stands before the pin."
        )


def named_alike(subject: str, other: str) -> Conflict:
    """The error where a block and a plug would have one name."""
    # "A.2" on a label and in the ledger is contact 2 of a plug or pin 2 of a block, never either.
    return Conflict(subject, f"is called as {other} is", remedy="Choose another name.")


def swap(items: tuple[Any, ...], old: Any, new: Any) -> tuple[Any, ...]:
    """The items with `new` in the place of `old`."""
    return tuple(new if item is old else item for item in items)
