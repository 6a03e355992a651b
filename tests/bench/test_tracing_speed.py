"""How fast a tag is found among 10,000, and how fast the whole way of its wire is drawn."""

from __future__ import annotations

from collections.abc import Callable
from random import Random
from typing import Any

import attrs
import pytest

from model import editing
from model.checks import check
from model.harness import Harness, Lamp, Lead, Run
from model.routing.wires import derive
from model.tags import ALPHABET, Ledger, TagRecord, issuable
from model.tracing.find import Found, FoundKind, find
from model.tracing.lines import draw_trail
from model.tracing.trail import trail
from tests.strategies import harness_from_seed, walk

TAGS = 10_000


@pytest.fixture(scope="module")
def big() -> Harness:
    """5,000 lamps with two wires each, all walked; tags of three and four characters in mixed order."""
    harness = editing.add_waypoint(editing.new_harness("Big", "BIG"), "nose")
    harness = editing.set_leg(harness, "W1", "W2", length_mm=100)
    run = Run(way=("W2", "W1"), plus=Lead(pin="A.7"))
    lamps = tuple(
        Lamp(id=f"L{number}", name=f"lamp {number}", output=1 + number % 6, at="W2", run=run)
        for number in range(1, TAGS // 2 + 1)
    )
    harness = attrs.evolve(harness, lamps=lamps)
    tags = [*issuable(3), *issuable(4)][:TAGS]
    Random(1).shuffle(tags)
    records = tuple(
        TagRecord(tag=tag, wire=wire.key, lamp_end=wire.lamp_end.ref, controller_end=wire.controller_end.ref)
        for tag, wire in zip(tags, derive(harness).wires, strict=True)
    )
    harness = attrs.evolve(harness, ledger=Ledger(records=records))
    find(harness, tags[0])  # what the program has worked out anyway by then
    return harness


def misread(harness: Harness, seed: int) -> tuple[str, str]:
    """A tag of the ledger, and the same with one wrong character."""
    rng = Random(seed)
    tag = rng.choice(harness.ledger.records).tag
    place = rng.randrange(len(tag))
    wrong = rng.choice([sign for sign in ALPHABET if sign != tag[place]])
    return tag, f"{tag[:place]}{wrong}{tag[place + 1 :]}"


def measured(benchmark: Any, work: Callable[[], Found], most_ms: float) -> Found:
    """Run under the benchmark; the median must stay under the limit."""
    found: Found = benchmark(work)
    assert 1000 * benchmark.stats.stats.median < most_ms
    return found


def test_exact(benchmark: Any, big: Harness):
    tag = big.ledger.records[TAGS // 2].tag
    assert measured(benchmark, lambda: find(big, tag), 1.0).tag == tag


@pytest.mark.parametrize("place", [0, 1, 2])
def test_illegible(benchmark: Any, big: Harness, place: int):
    tag = big.ledger.records[77].tag
    found = measured(benchmark, lambda: find(big, f"{tag[:place]}?{tag[place + 1 :]}"), 20.0)
    assert found.tag == tag


def test_two_illegible(benchmark: Any, big: Harness):
    tag = next(record.tag for record in big.ledger if len(record.tag) == 4)
    found = measured(benchmark, lambda: find(big, f"??{tag[2:]}"), 20.0)
    assert found.kind in (FoundKind.CANDIDATES, FoundKind.WIRE)


@pytest.mark.parametrize("seed", range(5))
def test_wrong(benchmark: Any, big: Harness, seed: int):
    tag, seen = misread(big, seed)
    found = measured(benchmark, lambda: find(big, seen), 20.0)
    assert tag in [candidate.answer.tag for candidate in found.candidates]


def test_words_that_mean_nothing(benchmark: Any, big: Harness):
    assert measured(benchmark, lambda: find(big, "chandelier"), 20.0).kind is FoundKind.NOTHING


def test_trail_of_a_model_of_sixty_lamps(benchmark: Any):
    harness = walk(harness_from_seed(5, lamps=(60, 60), points=(8, 8), nasty=0.0))
    wire = derive(harness).wires[0]
    assert benchmark(lambda: draw_trail(trail(harness, wire)))
    assert 1000 * benchmark.stats.stats.median < 20.0


def test_all_checks_of_a_model_of_sixty_lamps(benchmark: Any):
    harness = walk(harness_from_seed(5, lamps=(60, 60), points=(8, 8), nasty=0.0))
    # New lamps each time, as after an edit of one: nothing is remembered from the last time.
    assert benchmark(lambda: check(attrs.evolve(harness, lamps=(*harness.lamps,))))
    assert benchmark.stats.stats.median > 1e-3, "that was remembered"
