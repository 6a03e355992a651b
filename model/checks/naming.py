"""How findings name things."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

NAMED = 3


def some(names: Sequence[str]) -> str:
    """ "a", "a and b", "a, b and c", "a, b, c and 4 more"."""
    if len(names) > NAMED:
        return f"{', '.join(names[:NAMED])} and {len(names) - NAMED} more"
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 2 else names)


def same(name: str) -> str:
    """The form in which two names are the same to a person: case and spaces do not count."""
    return " ".join(name.split()).casefold()


def twice(names: Iterable[str]) -> dict[str, int]:
    """The names that stand more than once, in the form of `same`, with their count."""
    counts: dict[str, int] = {}
    for name in names:
        counts[same(name)] = counts.get(same(name), 0) + 1
    return {name: count for name, count in counts.items() if count > 1}
