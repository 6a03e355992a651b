"""Damaged project files: each ends in a clear error or a correct reading.

LOOMTAG_FUZZ=100000 runs the whole; without it a few thousand from the same seed.
"""

from __future__ import annotations

import pytest

from model.harness import Harness
from model.integrity import broken_references
from model.routing.allot import settle
from model.routing.wires import derive
from model.store import dumps, loads
from model.store.disk import decoded
from tests.model.store.samples import SMALL, full_harness
from tests.mutations import batter, mutated, rounds
from tests.strategies import harness_from_seed


def good_files() -> list[bytes]:
    sizes = {"lamps": (2, 4), "points": (1, 4), "world": True, "later_edits": 2}
    texts = [SMALL, dumps(full_harness())]
    texts += [dumps(harness_from_seed(seed, **sizes)) for seed in range(8)]
    return [text.encode() for text in texts]


def read(data: bytes) -> Harness:
    return loads(decoded(data, "project.toml"), "project.toml")


def check(harness: Harness) -> None:
    """What could be read must be whole, and usable by all that follows."""
    assert broken_references(harness) == ()
    text = dumps(harness)
    assert dumps(loads(text)) == text
    derive(harness)
    assert broken_references(settle(harness)) == ()


@pytest.mark.skipif("sys.platform == 'win32'", reason="no resource module")
def test_damaged_files(record_property: pytest.RecordProperty) -> None:
    figures = batter(good_files(), read, check, rounds(2500))
    for name, value in figures.items():
        record_property(name, value)
    print(figures)
    # The damage is of a kind that leaves some readable and breaks most, else it would prove nothing.
    assert figures["read"] > 0.05 * figures["count"]
    assert figures["refused"] > 0.5 * figures["count"]


def test_the_same_seed_gives_the_same_damage() -> None:
    from random import Random

    good = good_files()
    assert [mutated(Random(7), data, good) for data in good] == [
        mutated(Random(7), data, good) for data in good
    ]
