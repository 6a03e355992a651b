"""A session killed at any moment: the file opens, and the last step it was told is saved is there.

LOOMTAG_KILLS=1000 kills more sessions than the normal run.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import time
from multiprocessing.connection import Connection
from pathlib import Path
from random import Random

import pytest

from model.editing import edit_lamp, log_event, rename
from model.routing.allot import settle
from model.store import lock, open_file, save
from tests.strategies import harness_from_seed

ROUNDS = int(os.environ.get("LOOMTAG_KILLS", 50))


def session(path: Path, seed: int, told: Connection) -> None:
    """Edit and save for ever, and tell each step once it is on disk."""
    rng = Random(seed)
    with lock(path):
        opened = open_file(path)
        harness, stamp = opened.harness, opened.stamp
        number = int(harness.name.split()[1])
        while True:
            number += 1
            lamp = rng.choice(harness.lamps)
            harness = rename(harness, name=f"step {number}")
            harness = settle(edit_lamp(harness, lamp.id, spur_mm=float(number % 500), place=f"step {number}"))
            record = rng.choice(harness.ledger.records)
            harness = log_event(harness, record.tag, "seen", f"step {number}", "2026-03-03")
            stamp = save(harness, path, stamp=stamp)
            told.send(number)


def run_and_kill(path: Path, number: int) -> list[int]:
    """Let a session edit for a random while and kill it; returns the steps it told."""
    listen, tell = multiprocessing.Pipe(duplex=False)
    process = multiprocessing.get_context("fork").Process(
        target=session, args=(path, number, tell), daemon=True
    )
    process.start()
    tell.close()
    told = [listen.recv()]
    time.sleep(Random(f"kill {number}").uniform(0, 0.2))
    assert process.pid is not None
    os.kill(process.pid, signal.SIGKILL)
    process.join()
    while True:
        try:
            told.append(listen.recv())
        except (EOFError, ConnectionError):
            break
    listen.close()
    assert process.exitcode == -signal.SIGKILL, "the session ended by itself"
    return told


@pytest.mark.skipif(
    not hasattr(os, "fork") or not hasattr(signal, "SIGKILL"), reason="needs fork and SIGKILL"
)
def test_killed_at_any_moment(tmp_path: Path, record_property: pytest.RecordProperty) -> None:
    path = tmp_path / "model.toml"
    start = harness_from_seed(11, lamps=(4, 4), nasty=0.0, walked=1.0)
    save(rename(start, name="step 0"), path)
    known = {record.tag: len(record.events) for record in start.ledger}
    step = 0
    half_written = 0
    for number in range(ROUNDS):
        told = run_and_kill(path, number)
        assert told == list(range(step + 1, step + 1 + len(told)))
        half_written += any(entry.name.endswith(".tmp") for entry in tmp_path.iterdir())
        harness = open_file(path).harness
        step = int(harness.name.split()[1])
        # A step may be on disk before its word came through, never the other way round.
        assert step in (told[-1], told[-1] + 1), f"round {number}: told {told[-1]}, found {step}"
        assert any(lamp.place == f"step {step}" for lamp in harness.lamps)
        now = {record.tag: len(record.events) for record in harness.ledger}
        assert all(now.get(tag, 0) >= count for tag, count in known.items())
        assert sum(now.values()) == step
        known = now
    with lock(path) as mine:
        assert mine.left_by is not None
    assert [entry.name for entry in tmp_path.iterdir() if entry.name.endswith(".tmp")] == []
    record_property("edits", step)
    record_property("killed while writing", half_written)
    print(f"{ROUNDS} sessions killed, {half_written} of them while writing, {step} edits")
    assert step >= ROUNDS
    assert half_written > 0
