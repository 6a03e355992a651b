"""Pressing keys and typing lines, as the tests of several screens do it."""

from __future__ import annotations

from textual.app import App
from textual.pilot import Pilot
from textual.widgets import Input

from harness_tui.widgets.form import FieldInput


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
