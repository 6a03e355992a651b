"""What the first screen needs, and what it leaves for later."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import harness_tui

SCRIPT = """
import sys
from harness_tui.app import LoomApp
from harness_tui.session import Session
from harness_tui.examples import text
from model.store import loads

app = LoomApp(Session(loads(text("lighthouse")), claim=lambda: None))
seen = []

def first_screen():
    seen.append(str(app.screen))
    late = ("PIL", "qrcode", "fpdf", "filelock", "tomli_w", "model.checks")
    seen.extend(name for name in late if name in sys.modules)
    app.exit()

app._begin = first_screen
app.run(headless=True, size=(80, 24))
print(*seen)
"""


def test_the_first_screen_comes_up_without_what_draws_labels_and_papers() -> None:
    root = Path(harness_tui.__file__).parent.parent
    done = subprocess.run(
        [sys.executable, "-c", SCRIPT],
        env={**os.environ, "PYTHONPATH": str(root)},
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    assert done.stdout.split() == ["LampsScreen()"]
