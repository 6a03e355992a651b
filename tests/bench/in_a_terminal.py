"""A whole program in a pseudo-terminal, and how long it takes from a key to the last byte it draws for it."""

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
from types import TracebackType

import harness_tui

ROOT = Path(harness_tui.__file__).parent.parent
QUIET_S = 0.06
"""No more comes for a key once nothing has come for so long: three frames and more."""
PATIENCE_S = 60


class Running:
    """A Python program in a terminal of 80x24, in a home folder of its own; ended with the `with`."""

    def __init__(self, code: str, folder: Path) -> None:
        places = {"HOME": str(folder), "XDG_STATE_HOME": str(folder / "state"), "PYTHONPATH": str(ROOT)}
        environment = {**os.environ, **places, "TERM": "xterm-256color"}
        environment.pop(
            "PYTHONDONTWRITEBYTECODE", None
        )  # an installed program is compiled, as the library is
        import pty

        self.started = time.perf_counter()
        self.pid, self.terminal = pty.fork()
        if self.pid == 0:
            os.chdir(folder)
            os.execve(sys.executable, [sys.executable, "-c", code], environment)
        fcntl.ioctl(self.terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))

    def __enter__(self) -> Running:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        os.close(self.terminal)

    def until(self, mark: bytes) -> float:
        """Seconds from the start until `mark` stands on the screen."""
        seen = b""
        while mark not in seen:
            ready, _, _ = select.select([self.terminal], [], [], PATIENCE_S)
            assert ready, seen[-2000:]
            seen += os.read(self.terminal, 65536)
        return time.perf_counter() - self.started

    def settle(self, quiet_s: float = 0.5) -> bytes:
        """Read until nothing more comes."""
        seen = b""
        while select.select([self.terminal], [], [], quiet_s)[0]:
            seen += os.read(self.terminal, 65536)
        return seen

    def key(self, key: bytes) -> tuple[float, float]:
        """Press a key: seconds until the first byte that is drawn for it, and until the last."""
        os.write(self.terminal, key)
        pressed = time.perf_counter()
        ready, _, _ = select.select([self.terminal], [], [], PATIENCE_S)
        assert ready, "nothing was drawn"
        first = last = time.perf_counter()
        while select.select([self.terminal], [], [], QUIET_S)[0]:
            os.read(self.terminal, 65536)
            last = time.perf_counter()
        return first - pressed, last - pressed

    def used_s(self) -> float:
        """Processor seconds used so far."""
        fields = Path(f"/proc/{self.pid}/stat").read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


DOWN, UP = b"\x1b[B", b"\x1b[A"


def key_to_repaint(running: Running, keys: int = 40) -> tuple[float, float]:
    """Press Down so often and Up as often: the median seconds to the last byte drawn, processor seconds a
    key.
    """
    before = running.used_s()
    took = [running.key(key)[1] for key in (*[DOWN] * (keys // 2), *[UP] * (keys // 2))]
    return statistics.median(took), (running.used_s() - before) / keys


BARE_TABLE = """
from textual.app import App
from textual.widgets import DataTable, Footer, Header

class Bare(App):
    CSS = "DataTable { height: 8; }"

    def compose(self):
        yield Header()
        yield DataTable(cursor_type="row")
        yield Footer()

    def on_mount(self):
        table = self.query_one(DataTable)
        for title, width in (("", 1), ("lamp", 27), ("LED", 14), ("output", 11), ("place", 15)):
            table.add_column(title, width=width)
        for number in range(1, ROWS + 1):
            table.add_row("", f"Indicator {number} left", "amber 3 mm", "1 indicator", "point 3")

Bare().run()
"""


def bare_table(rows: int) -> str:
    """A bare app of the same library with a table of so many rows, as high as that of Lamps in 80x24."""
    return f"ROWS = {rows}\n{BARE_TABLE}"


def loomtag(file: str) -> str:
    """The program with a project open."""
    return f"import sys; from harness_tui.cli import main; sys.exit(main([{file!r}]))"


def cautions_read(folder: Path) -> None:
    """Let the program start without showing the cautions first."""
    state = folder / "state" / "loomtag"
    state.mkdir(parents=True, exist_ok=True)
    (state / "state.toml").write_text("cautions_seen = true\n", "utf-8")
