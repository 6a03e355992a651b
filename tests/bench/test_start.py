"""From start to a usable first screen, beside a bare app of the same library, whole processes in a terminal,
same run.
"""

from __future__ import annotations

import fcntl
import os
import select
import signal
import statistics
import struct
import sys
import termios
import time
from pathlib import Path

import pytest

import harness_tui
from harness_tui.examples import text

pty = pytest.importorskip("pty", reason="needs a pseudo-terminal, which this system lacks")

ROOT = Path(harness_tui.__file__).parent.parent
ROUNDS = 9
MOST_TIMES = 1.6

BARE = """
from textual.app import App
from textual.widgets import DataTable, Footer, Header

class Bare(App):
    def compose(self):
        yield Header()
        yield DataTable()
        yield Footer()

    def on_mount(self):
        table = self.query_one(DataTable)
        table.add_columns("lamp")
        for number in range(3):
            table.add_row(f"Porch {number}")

Bare().run()
"""
LOOMTAG = "import sys; from harness_tui.cli import main; sys.exit(main(['lighthouse.toml']))"


def until_seen(code: str, mark: bytes, folder: Path) -> tuple[float, float]:
    """Seconds until `mark` stands on an 80x24 terminal: by the clock, and of processor time."""
    places = {"HOME": str(folder), "XDG_STATE_HOME": str(folder / "state"), "PYTHONPATH": str(ROOT)}
    environment = {**os.environ, **places, "TERM": "xterm-256color"}
    environment.pop("PYTHONDONTWRITEBYTECODE", None)  # an installed program is compiled, as the library is
    started = time.perf_counter()
    pid, terminal = pty.fork()
    if pid == 0:
        os.chdir(folder)
        os.execve(sys.executable, [sys.executable, "-c", code], environment)
    fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    seen = b""
    while mark not in seen:
        ready, _, _ = select.select([terminal], [], [], 20)
        assert ready, seen[-2000:]
        seen += os.read(terminal, 65536)
    took = time.perf_counter() - started
    os.kill(pid, signal.SIGKILL)
    used = os.wait4(pid, 0)[2]
    os.close(terminal)
    return took, used.ru_utime + used.ru_stime


def test_the_first_screen_comes_up_nearly_as_soon_as_a_bare_app(tmp_path: Path) -> None:
    (tmp_path / "lighthouse.toml").write_text(text("lighthouse"), "utf-8")
    state = tmp_path / "state" / "loomtag"
    state.mkdir(parents=True)
    (state / "state.toml").write_text("cautions_seen = true\n", "utf-8")
    # In pairs, one after the other, so that what else the machine does falls on both alike.
    pairs = [
        (until_seen(BARE, b"Porch", tmp_path), until_seen(LOOMTAG, b"Porch", tmp_path)) for _ in range(ROUNDS)
    ]
    ratios = {}
    for column, name in enumerate(("clock", "processor")):
        bare, ours = (1000 * statistics.median(pair[who][column] for pair in pairs) for who in (0, 1))
        each = [loomtag[column] / plain[column] for plain, loomtag in pairs]
        ratios[name] = statistics.median(each)
        print(
            f"start, {name}: bare {bare:.0f} ms, loomtag {ours:.0f} ms, "
            f"{ratios[name]:.2f} times ({min(each):.2f} to {max(each):.2f})"
        )
    assert max(ratios.values()) <= MOST_TIMES, ratios
