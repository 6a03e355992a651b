"""Remember what was worked out from a frozen value, for as long as that value lives."""

from __future__ import annotations

import functools
import weakref
from collections import OrderedDict
from collections.abc import Callable
from typing import Any, TypeVar

K = TypeVar("K")
V = TypeVar("V")


_KNOWN: list[Callable[[], None]] = []


def forget() -> None:
    """Forget all results, as where sentences are to be written otherwise than before."""
    for clear in _KNOWN:
        clear()


def by_identity(function: Callable[[K], V]) -> Callable[[K], V]:
    """Cache a function of one frozen value by that value's identity.

    Hashing a whole harness would cost more than most of what is derived from it. The entry goes with the
    value.
    """
    known: dict[int, tuple[weakref.ref[Any], V]] = {}
    _KNOWN.append(known.clear)

    @functools.wraps(function)
    def remembered(value: K) -> V:
        place = id(value)
        entry = known.get(place)
        if entry is not None and entry[0]() is value:
            return entry[1]
        result = function(value)
        known[place] = (weakref.ref(value, lambda _: known.pop(place, None)), result)
        return result

    return remembered


WIRING = ("controller", "waypoints", "legs", "lamps", "joints", "contacts", "settings")
"""The parts of a harness that decide its wires. A label printed or a step done at the bench changes none of
them.
"""

ELECTRICS = (*WIRING, "supply")
"""The parts that decide its currents."""

DECISIONS = (*ELECTRICS, "ledger")
"""All but names and the place where the person is."""


def of_parts(*names: str, keep: int = 16) -> Callable[[Callable[[K], V]], Callable[[K], V]]:
    """Cache a function of a frozen value by the identity of the parts of it that it looks at.

    A new value that shares these parts, as after a bench step, finds the result of the old one. The last
    `keep` results are held, with their parts.
    """

    def decorate(function: Callable[[K], V]) -> Callable[[K], V]:
        known: OrderedDict[tuple[int, ...], tuple[tuple[Any, ...], V]] = OrderedDict()
        _KNOWN.append(known.clear)

        @functools.wraps(function)
        def remembered(value: K) -> V:
            parts = tuple(getattr(value, name) for name in names)
            # The entry holds the parts, so their ids stand for them as long as it does.
            place = tuple(map(id, parts))
            entry = known.get(place)
            if entry is None:
                entry = known[place] = (parts, function(value))
                if len(known) > keep:
                    known.popitem(last=False)
            else:
                known.move_to_end(place)
            return entry[1]

        return remembered

    return decorate
