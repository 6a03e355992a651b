"""Pressing keys and typing lines, as the tests of several screens do it."""

from __future__ import annotations

import pytest
from textual.app import App
from textual.pilot import Pilot
from textual.widgets import Input

from harness_tui.widgets import key_order
from harness_tui.widgets.form import FieldInput


@pytest.fixture(autouse=True)
def _pilot_holds_no_key(monkeypatch: pytest.MonkeyPatch) -> None:
    """The pilot presses a key twice within 50 ms where a person who means it takes longer."""
    monkeypatch.setattr(key_order, "HELD_WITHIN_S", 0.0)


def field(app: App[object], key: str) -> FieldInput:
    """The editor of a field of the form that is up."""
    return next(one for one in app.screen.query(FieldInput) if one.field.key == key)


async def typed(pilot: Pilot[object], text: str, *keys: str) -> None:
    """Put a text into the focused line, in the place of what stands there, then press keys."""
    await pilot.pause()
    line = pilot.app.focused
    assert isinstance(line, Input), f"the focus is on {line!r}"
    line.value = text
    await pressed(pilot, *keys)


async def pressed(pilot: Pilot[object], *keys: str) -> None:
    """Press keys one after the other, each drawn before the next."""
    await pilot.pause()
    for key in keys:
        await pilot.press(key)
        await pilot.pause()
