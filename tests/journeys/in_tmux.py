"""The main job in a real terminal of 80 columns and 24 rows: from an empty project to labels and a look-up.

Run as `python tests/journeys/in_tmux.py LOOMTAG`, with the command to try. Needs tmux.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import tempfile
import time
import tomllib
from pathlib import Path

PATIENCE_S = 30


class Terminal:
    """A terminal of its own that a program runs in; keys go in, the screen's text comes out."""

    def __init__(self, folder: Path, width: int = 80, height: int = 24) -> None:
        self.socket = str(folder / "tmux.sock")
        home = folder / "home"
        home.mkdir()
        places = {"HOME": "", "XDG_DATA_HOME": "d", "XDG_STATE_HOME": "s", "XDG_CONFIG_HOME": "c"}
        self.environment = {**os.environ, **{name: str(home / part) for name, part in places.items()}}
        self._tmux(
            "new-session", "-d", "-s", "bench", "-x", str(width), "-y", str(height), "-c", str(folder), "sh"
        )

    def _tmux(self, *words: str) -> str:
        command = ["tmux", "-S", self.socket, *words]
        done = subprocess.run(
            command, env=self.environment, check=True, capture_output=True, text=True, timeout=20
        )
        return done.stdout

    def keys(self, *keys: str) -> None:
        """Press keys by their names, as fast as a hand: the same one sooner would be a held key."""
        for key in keys:
            self._tmux("send-keys", "-t", "bench", key)
            time.sleep(0.17)

    def type(self, text: str) -> None:
        """Type a text as it stands."""
        self._tmux("send-keys", "-t", "bench", "-l", text)
        time.sleep(0.1)

    def at_once(self, text: str) -> None:
        """Hand over a text and Enter in one piece, as a scanner does that works as a keyboard."""
        self._tmux("send-keys", "-t", "bench", "-l", text, ";", "send-keys", "-t", "bench", "Enter")
        time.sleep(0.1)

    def resize(self, width: int, height: int) -> None:
        """Make the window another size."""
        self._tmux("resize-window", "-t", "bench", "-x", str(width), "-y", str(height))

    def text(self) -> str:
        """What stands on the screen."""
        return self._tmux("capture-pane", "-p", "-t", "bench")

    def wait_for(self, pattern: str) -> str:
        """The screen once `pattern` stands on it; fails with the screen otherwise."""
        end = time.monotonic() + PATIENCE_S
        while time.monotonic() < end:
            screen = self.text()
            if re.search(pattern, screen):
                return screen
            time.sleep(0.1)
        raise SystemExit(f"never came up: {pattern}\n{self.text()}")

    def close(self) -> None:
        """End it."""
        self._tmux("kill-server")


def journey(loomtag: str, folder: Path) -> None:
    """Press the whole way; every step waits for what a person would see."""
    terminal = Terminal(folder)
    try:
        terminal.type(f"{loomtag} new lorry.toml")
        terminal.keys("Enter")
        terminal.wait_for("Before you begin")
        terminal.keys("Enter")
        for question in range(1, 7):
            screen = terminal.wait_for(f"question {question} of")
            assert "Enter accepts" in screen
            terminal.keys("Enter")
            if f"question {question} of {question}" in screen:
                break
        terminal.wait_for("No lamps yet")

        add_lamp(terminal, "Headlamp left", "front bumper", "20", "1")
        terminal.keys("m")
        terminal.wait_for("Headlamp right")
        add_lamp(terminal, "Brake lamp", "", "", "2")

        terminal.keys("2")
        terminal.wait_for(r"not connected:\s+front bumper")
        terminal.keys("Down", "Down", "l")
        terminal.wait_for("A leg from front bumper")
        terminal.keys("Enter")
        terminal.wait_for("Length of the leg")
        terminal.type("240")
        terminal.keys("Enter")
        terminal.wait_for(r"front bumper +240")

        terminal.keys("4")
        terminal.wait_for("Walk 1 of 3")
        terminal.keys("Enter")
        screen = terminal.wait_for("Walk 2 of 3")
        assert re.search(r"front bumper with Headlamp left +saves \d+ mm for 1 joint +<", screen), screen
        terminal.keys("Enter")
        terminal.wait_for("Walk 3 of 3")

        # Close the window on it, as a closed lid does, and come back to the same run.
        terminal.keys("C-q")
        terminal.wait_for(r"[$#]\s*\Z")
        terminal.type(f"clear; {loomtag} lorry.toml")
        terminal.keys("Enter")
        terminal.wait_for("Walk 3 of 3")
        terminal.keys("t")
        terminal.wait_for("Length of the run of Brake lamp")
        terminal.type("300")
        terminal.keys("Enter")
        terminal.wait_for(r"300 measured \+30 slack \+15 lamp \+60 loop \+6 strip \+4 up\s+= 415 mm")
        terminal.keys("Enter")
        terminal.wait_for("Every lamp is walked")

        terminal.keys("6")
        terminal.wait_for("Labels 16")
        terminal.keys("k")
        terminal.wait_for(r"on +flag|flag: ")
        terminal.keys("p")
        terminal.wait_for("Print 16 labels")
        terminal.keys("Enter")
        terminal.wait_for("16 labels marked as printed")
        terminal.keys("Escape")  # as a tired person does: nothing is lost by it
        terminal.wait_for("Marked as printed; u takes the mark off")
        labels = sorted(folder.glob("*-labels/*/*.png"))
        assert len(labels) == 16, labels
        tags = {label.name.split("-")[1] for label in labels}
        ledger = tomllib.loads((folder / "lorry.toml").read_text("utf-8"))["tag"]
        assert {record["tag"] for record in ledger} == tags, (ledger, tags)
        for record in ledger:
            assert record["printed_lamp"], record
            assert record["printed_controller"], record
        tag = labels[0].name.split("-")[1]

        # A label scanned into the list: it is looked up, and none of its characters is a command.
        terminal.at_once(labels[0].stem)
        terminal.wait_for(r"label of the (lamp|controller) end")
        terminal.keys("F7")
        terminal.wait_for("Labels 16")

        terminal.keys("7")
        terminal.wait_for(r"Find +! \d")
        terminal.type(f"{tag[0]}?{tag[2]}")
        terminal.keys("Enter")
        terminal.wait_for(f"read as {tag}")

        terminal.resize(20, 5)
        time.sleep(0.5)
        terminal.resize(80, 24)
        terminal.wait_for(f"read as {tag}")
        trace(terminal, folder)
        terminal.keys("C-q")
        terminal.wait_for(r"[$#]\s*\Z")

        # Another project is open, and knows whose label this is.
        terminal.type(f"clear; {loomtag} new other.toml --name Other --code OTH; {loomtag} other.toml")
        terminal.keys("Enter")
        terminal.wait_for("No lamps yet")
        terminal.keys("7")
        terminal.wait_for(r"Find +! \d")
        terminal.type(tag)
        terminal.keys("Enter")
        terminal.wait_for("p opens project")
        terminal.keys("Escape")
        terminal.wait_for("p open its project")
        terminal.keys("p")
        terminal.wait_for(r"labels printed")
        terminal.keys("C-q")
        terminal.wait_for(r"[$#]\s*\Z")

        terminal.type(f"clear; {loomtag} find lorry.toml {tag}; echo code $?")
        terminal.keys("Enter")
        terminal.wait_for("code 0")
        # A window that goes away takes nothing with it.
        terminal.type(f"clear; {loomtag} lorry.toml")
        terminal.keys("Enter")
        terminal.wait_for(r"Walk|Lamps|Bench")
    finally:
        terminal.close()
    done = subprocess.run(
        [loomtag, "check", str(folder / "lorry.toml")], capture_output=True, text=True, timeout=60
    )
    assert done.returncode == 0, done.stdout + done.stderr


def trace(terminal: Terminal, folder: Path) -> None:
    """From the wire that was found to what a meter should say, to the fault, and into its history."""
    terminal.wait_for("r reprint")
    terminal.keys("m")
    terminal.wait_for("end to end, battery off")
    terminal.keys("v")
    terminal.wait_for("Battery, in V")
    terminal.type("6.6")
    terminal.keys("Enter")
    terminal.wait_for(r"battery at 6\.6 V")
    terminal.keys("t")
    terminal.wait_for("For each lamp press what it does")
    terminal.keys("e")
    terminal.wait_for("What do you see")
    terminal.type("brake lamp dark")
    terminal.keys("Enter")
    terminal.wait_for(r"Trace \d+ suspects")
    terminal.keys("a", "Enter")
    terminal.wait_for(r"look|meter|switch|diode")
    terminal.keys("Escape")
    terminal.wait_for("d dark")
    terminal.keys("g")
    terminal.wait_for("What was found and mended")
    terminal.keys("Enter")
    terminal.wait_for("Written into the history")
    events = [
        event
        for record in tomllib.loads((folder / "lorry.toml").read_text("utf-8"))["tag"]
        for event in record.get("event", record.get("events", []))
    ]
    assert any(event["what"] == "repaired" for event in events), events


def add_lamp(terminal: Terminal, name: str, waypoint: str, spur: str, output: str) -> None:
    """Add a lamp by keys alone: its name, then field by field."""
    terminal.at_once(f"a{name}")  # typed ahead of the question
    terminal.wait_for("the named place it sits at")
    for text in (waypoint, spur, output):
        if text:
            terminal.type(text)
        terminal.keys("Enter")
        time.sleep(0.3)
    terminal.keys("Escape")
    terminal.wait_for(f"{name} .*")
    terminal.wait_for("a add")


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as scratch:
        journey(os.path.abspath(sys.argv[1]), Path(scratch))
    print("the journey in a terminal went through")
