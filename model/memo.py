"""Remember what was worked out from a frozen value, for as long as that value lives."""

from __future__ import annotations

import functools
import weakref
from collections.abc import Callable
from typing import Any, TypeVar

K = TypeVar("K")
V = TypeVar("V")


def by_identity(function: Callable[[K], V]) -> Callable[[K], V]:
    """Cache a function of one frozen value by that value's identity.

    Hashing a whole harness would cost more than most of what is derived from it. The entry goes with the value.
    """
    known: dict[int, tuple[weakref.ref[Any], V]] = {}

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
