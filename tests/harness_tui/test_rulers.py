"""Rulers on the tape of a printer that takes no paper, on the screen."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Input

from harness_tui import printers
from harness_tui.app import LoomApp
from harness_tui.printers import calibration_of
from harness_tui.screens import printer_slip, rulers
from harness_tui.session import Session
from tests.harness_tui.homes import own_home
from tests.harness_tui.screen_text import screen_text
from tests.model.tracing.loom import gritter


async def test_a_tape_printer_is_measured_along_its_tape(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own_home(tmp_path / "home", monkeypatch)
    for module in (printers, printer_slip, rulers):
        monkeypatch.setattr(module, "queues", lambda: ())
    path = tmp_path / "gritter.toml"
    app = LoomApp(Session(gritter(), path), room="labels")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("c", *"desk", "tab", *"sleeve-1.5-3to1", "enter")
        await pilot.pause()
        said = " ".join(screen_text(app).split())
        assert "2.36 mm wide" in said
        assert "A printer is as true on every tape" in said
        app.screen.query_one("#paper", Input).value = "flag-12"
        await pilot.press("enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert (tmp_path / "GRT-labels" / "rulers-flag-12.pdf").exists()
        app.screen.query_one("#across", Input).value = "9"
        await pilot.press("enter")
        await pilot.pause()
        assert "one of them is not measured" in " ".join(screen_text(app).split())
        app.screen.query_one("#across", Input).value = ""
        app.screen.query_one("#down", Input).value = "98"
        await pilot.press("enter")
        await pilot.pause()
        assert "stretched to 100.00 % across, 102.04 % down" in " ".join(screen_text(app).split())
    assert calibration_of("desk").y == pytest.approx(100 / 98)
