"""Every label of the demos on every stock, and of 300 random harnesses on stock after stock."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import cycle

import pytest

from harness_tui import examples
from model.findings import Severity
from model.harness import Harness
from model.labels.content import joint_labels, plug_labels, spool_labels, wire_labels
from model.labels.layout import lay_out
from model.labels.stock import RESOLUTIONS_DPI, load_stocks
from model.labels.text import LabelText
from model.store import loads
from tests.model.labels.label_cases import faults
from tests.strategies import harness_from_seed

STOCKS = load_stocks()


def all_labels(harness: Harness) -> Iterable[LabelText]:
    return (*wire_labels(harness), *joint_labels(harness), *plug_labels(harness), *spool_labels(harness))


@pytest.mark.parametrize("demo", examples.names())
def test_demo_on_every_stock_and_resolution(demo: str) -> None:
    harness = loads(examples.text(demo))
    for number, text in enumerate(all_labels(harness)):
        for place, stock in enumerate(STOCKS.values()):
            dpi = RESOLUTIONS_DPI[(number + place) % len(RESOLUTIONS_DPI)]
            assert faults(lay_out(stock.at(dpi), text)) == [], (text, stock.name, dpi)


@pytest.mark.parametrize("demo", examples.names())
@pytest.mark.parametrize("name", ["flag-12", "flag-18", "flags-a4", "flags-letter", "strips-a4"])
def test_demo_wires_have_nothing_worse_than_a_note(demo: str, name: str) -> None:
    for text in wire_labels(loads(examples.text(demo))):
        problems = lay_out(STOCKS[name], text).problems
        assert [problem.found for problem in problems if problem.severity > Severity.NOTE] == []


@pytest.mark.parametrize("seeds", [range(start, start + 50) for start in range(0, 300, 50)], ids=str)
def test_random_harnesses(seeds: range) -> None:
    stocks = cycle([stock.at(dpi) for dpi in RESOLUTIONS_DPI for stock in STOCKS.values()])
    count = 0
    for seed in seeds:
        for text in all_labels(harness_from_seed(seed)):
            for stock in (next(stocks), next(stocks)):
                assert faults(lay_out(stock, text)) == [], (text, stock.name, stock.dpi)
                count += 1
    assert count > 1000
