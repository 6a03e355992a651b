"""What befalls a terminal, in a real one: made tiny, put into the background, ended from outside, closed.

Nothing is lost by it, and the screen is right after.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

import harness_tui
from harness_tui.examples import text
from model.store import load, lock
from tests.journeys.in_tmux import Terminal

pytestmark = pytest.mark.skipif(shutil.which("tmux") is None, reason="needs tmux")

ROOT = Path(harness_tui.__file__).parent.parent
PROMPT = r"[$#]\s*\Z"


def running(folder: Path) -> int:
    """The process that has the project open in this folder, by its note."""
    note = (folder / ".lighthouse.toml.lock.json").read_text("utf-8")
    return int(note.partition('"pid": ')[2].split(",")[0])


def gone(pid: int) -> bool:
    end = time.monotonic() + 20
    while time.monotonic() < end:
        # One that nobody waits for any more stays as a zombie.
        state = subprocess.run(
            ["ps", "-o", "stat=", "-p", str(pid)], capture_output=True, text=True, check=False
        ).stdout.strip()
        if not state or state.startswith("Z"):
            return True
        time.sleep(0.1)
    return False


def same(terminal: Terminal, before: str) -> None:
    """Wait until the screen is as it was."""
    end = time.monotonic() + 20
    while terminal.text() != before:
        assert time.monotonic() < end, f"{before}\n--- is now ---\n{terminal.text()}"
        time.sleep(0.1)


def test_a_terminal_resized_suspended_ended_and_closed(tmp_path: Path) -> None:
    path = tmp_path / "lighthouse.toml"
    path.write_text(text("lighthouse"), "utf-8")
    terminal = Terminal(tmp_path)
    state = tmp_path / "home" / "s" / "loomtag"
    state.mkdir(parents=True)
    (state / "state.toml").write_text("cautions_seen = true\n", "utf-8")
    start = f"clear; {sys.executable} -m harness_tui lighthouse.toml"
    try:
        terminal.type(f"export PYTHONPATH={ROOT}")
        terminal.keys("Enter")
        terminal.type(start)
        terminal.keys("Enter")
        terminal.wait_for("a add")
        terminal.keys("c")
        terminal.wait_for("esc back")
        terminal.keys("Escape")
        terminal.wait_for("a add")
        time.sleep(0.5)
        before = terminal.text()
        assert "Lighthouse lamp 2" in before

        terminal.resize(20, 5)
        time.sleep(0.5)
        terminal.keys("Down", "Up")
        terminal.resize(80, 24)
        same(terminal, before)

        terminal.keys("C-z")
        terminal.wait_for(r"(?i)stopped|suspended")
        terminal.type("fg")
        terminal.keys("Enter")
        same(terminal, before)
        pid = running(tmp_path)
        os.kill(pid, signal.SIGTSTP)
        terminal.wait_for(PROMPT)
        terminal.type("fg")
        terminal.keys("Enter")
        same(terminal, before)

        os.kill(pid, signal.SIGTERM)
        terminal.wait_for(PROMPT)
        assert gone(pid)
        assert [lamp.name for lamp in load(path).lamps].count("Lighthouse lamp 2") == 1
        with lock(path) as mine:
            assert mine.left_by is None, "it let go of its file"

        # The window is closed while a field is being typed in.
        terminal.type(start)
        terminal.keys("Enter")
        terminal.wait_for("a add")
        terminal.keys("a")
        terminal.wait_for("Name of the new lamp")
        terminal.type("Half a na")
        pid = running(tmp_path)
    finally:
        terminal.close()
    assert gone(pid)
    assert [lamp.name for lamp in load(path).lamps].count("Lighthouse lamp 2") == 1
    with lock(path) as mine:
        assert mine.left_by is None
