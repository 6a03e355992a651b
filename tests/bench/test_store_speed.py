"""How long a project takes to save and to open, beside plain library calls, from 30 to 3,000 lamps.

Run with `pytest tests/bench/test_store_speed.py -s`; the table is printed. Each wire carries a printed label
and four bench steps, so that the ledger is as long as it ever is.
"""

from __future__ import annotations

import math
import time
import tomllib
from collections.abc import Callable
from pathlib import Path

import attrs
import pytest
import tomli_w

from model.harness import (
    Block,
    CommonPin,
    Controller,
    Harness,
    Lamp,
    Lead,
    Leg,
    Output,
    Polarity,
    Run,
    Waypoint,
)
from model.lamp_list import MOST_ROWS, read_lamps, write_lamps
from model.store import dumps, load, loads, open_file, save
from model.tags import Event, Ledger, TagRecord, issuable

DAY = "2026-03-03"
STEPS = ("cut", "sleeve", "strip", "join")
SIZES = (30, 300, 1000, 3000)


def walked(lamps: int) -> Harness:
    """A harness of so many lamps on a spine of twenty waypoints, all walked, made and labelled."""
    points = tuple(Waypoint(id=f"W{number}", name=f"point {number}") for number in range(1, 21))
    legs = tuple(
        Leg(a=f"W{number}", b=f"W{number + 1}", length_mm=100.0 + number / 2) for number in range(1, 20)
    )
    blocks = tuple(
        Block(
            name=letter,
            outputs=tuple(Output(number=12 * block + pin, pin=str(pin)) for pin in range(1, 13)),
            commons=(CommonPin(pin="13"),),
        )
        for block, letter in enumerate("ABCDEFGH")
    )
    made = []
    records = []
    tags = issuable(4)
    for number in range(1, lamps + 1):
        at = 2 + number % 18
        output = 1 + number % 96
        ends = {
            Polarity.PLUS: "A.13",
            Polarity.MINUS: f"{'ABCDEFGH'[(output - 1) // 12]}.{(output - 1) % 12 + 1}",
        }
        run = Run(way=tuple(f"W{point}" for point in range(at, 0, -1)), plus=Lead(pin="A.13"))
        made.append(
            Lamp(
                id=f"L{number}",
                name=f"Indicator {number} left",
                function="indicator",
                colour="amber",
                output=output,
                at=f"W{at}",
                spur_mm=12.5,
                run=run,
            )
        )
        records += [
            TagRecord(
                tag=tags[len(records) + side],
                wire=f"L{number}{polarity}",
                lamp_end=f"L{number}",
                controller_end=end,
                meaning=f"Indicator {number} left {polarity.word} to pin {end}",
                printed_lamp=DAY,
                printed_controller=DAY,
                steps=STEPS,
                events=tuple(Event(day=DAY, what=step) for step in STEPS),
            )
            for side, (polarity, end) in enumerate(ends.items())
        ]
    return Harness(
        name="Large",
        code="LRG",
        waypoints=points,
        legs=legs,
        controller=Controller(blocks=blocks),
        lamps=tuple(made),
        ledger=Ledger(records=tuple(records)),
    )


def best_ms(times: int, work: Callable[[], object]) -> float:
    """Milliseconds of the fastest of several runs."""
    best = math.inf
    for _ in range(times):
        start = time.perf_counter()
        work()
        best = min(best, time.perf_counter() - start)
    return 1000 * best


def as_if_opened(harness: Harness) -> Harness:
    """The same harness of new values, of which nothing is remembered from an earlier save."""
    lamps = tuple(attrs.evolve(lamp) for lamp in harness.lamps)
    records = tuple(attrs.evolve(record) for record in harness.ledger)
    return attrs.evolve(harness, lamps=lamps, ledger=Ledger(records=records))


def one_size(lamps: int, path: Path) -> tuple[float, ...]:
    """Size in kB, then milliseconds: first save, next save, tomli_w, opening, tomllib."""
    harness = walked(lamps)
    text = dumps(harness)
    assert dumps(loads(text)) == text
    stamp = save(harness, path)
    times = 4 if lamps > 300 else 10
    fresh = [as_if_opened(harness) for _ in range(times)]
    first_ms = best_ms(times, lambda: save(fresh.pop(), path, stamp=stamp))
    changed = attrs.evolve(harness, lamps=(*harness.lamps[:-1], attrs.evolve(harness.lamps[-1])))
    next_ms = best_ms(times, lambda: save(changed, path, stamp=stamp))
    tables = tomllib.loads(text)
    return (
        len(text) / 1000,
        first_ms,
        next_ms,
        best_ms(times, lambda: tomli_w.dumps(tables)),
        best_ms(times, lambda: open_file(path)),
        best_ms(times, lambda: tomllib.loads(text)),
    )


def test_saving_and_opening(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rows = {lamps: one_size(lamps, tmp_path / f"{lamps}.toml") for lamps in SIZES}
    with capsys.disabled():
        print("\n lamps     kB  first save   next save    tomli_w  ratio       open    tomllib  ratio")
        for lamps, (size_kb, first, later, writer, opened, parser) in rows.items():
            saving = f"{first:8.1f} ms {later:8.1f} ms {writer:7.1f} ms {first / writer:6.2f}"
            print(
                f"{lamps:6} {size_kb:6.0f} {saving} {opened:7.0f} ms {parser:7.0f} ms {opened / parser:6.2f}"
            )
    assert rows[1000][1] < 50
    assert rows[1000][2] < 50
    assert rows[1000][4] < 500
    # Opening grows with the lamps, not with their square: a hundred times the lamps, at most twice that.
    assert rows[3000][4] < 200 * rows[30][4]


def test_lamp_lists(capsys: pytest.CaptureFixture[str]) -> None:
    harness = walked(30)
    rows = [f"lamp {number},{1 + number % 96},point {1 + number % 20}" for number in range(MOST_ROWS)]
    text = "name,output,waypoint\n" + "\n".join(rows)
    read_ms = best_ms(3, lambda: read_lamps(text, harness))
    write_ms = best_ms(3, lambda: write_lamps(read_lamps(text, harness))) - read_ms
    with capsys.disabled():
        print(f"\nlamp list of {MOST_ROWS} rows: read {read_ms:.0f} ms, written {write_ms:.0f} ms")
    assert read_ms < 2000


def test_opening_a_demo_sized_project(benchmark: Callable[..., object], tmp_path: Path) -> None:
    path = tmp_path / "model.toml"
    save(walked(30), path)
    benchmark(load, path)
