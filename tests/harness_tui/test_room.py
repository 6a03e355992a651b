"""What all screens share: keys that have room in the foot, and a speaking line that is of now."""

from __future__ import annotations

import pytest
from textual.widgets import Footer

from harness_tui.app import LoomApp
from harness_tui.doors import DOORS, SIDE_DOORS
from harness_tui.examples import text
from harness_tui.screens.findings import count_words
from harness_tui.screens.room import Room
from harness_tui.session import Session
from harness_tui.widgets.lines import SayLine
from model.findings import Finding, Severity
from model.store import loads


@pytest.fixture
def app() -> LoomApp:
    session = Session(loads(text("gritter")))
    session.begin()
    return LoomApp(session, room="lamps")


def said(app: LoomApp) -> str:
    return app.screen.query_one(SayLine).text


async def test_every_key_of_the_foot_has_room_at_80_columns(app: LoomApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        for door in (*DOORS, *SIDE_DOORS):
            app.action_go(door.name)
            await pilot.pause()
            await pilot.pause(0.1)
            room = app.screen
            assert isinstance(room, Room)
            keys = [key for key in room.query_one(Footer).children if key.display]
            assert keys
            last = max(keys, key=lambda key: key.region.right)
            # A margin may be cut, no word.
            width = last.content_size.width
            assert last.region.right <= 80, (door.name, str(last))
            assert width > 0


async def test_what_was_said_is_gone_once_one_goes_on(app: LoomApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("4", "s")
        await pilot.pause()
        assert "Skipped" in said(app)
        await pilot.press("question_mark", "escape")
        assert "Skipped" in said(app), "help over it is no going on"
        await pilot.press("n")
        assert said(app) == ""
        await pilot.press("s")
        assert "Skipped" in said(app)
        await pilot.press("1", "4")
        await pilot.pause()
        assert said(app) == ""
        await pilot.press("5")
        await pilot.press(*["backspace"] * 1)
        first = said(app)
        assert first
        await pilot.press("n")
        assert said(app) == ""


async def test_an_escape_too_many_does_not_make_letters_commands_of_another_screen(app: LoomApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("4", "6")
        await pilot.pause()
        await pilot.press("escape", "escape", "escape")
        await pilot.pause()
        assert app.room is not None
        assert app.room.WORD == "Labels"
        assert "Escape ends here" in said(app)
        # From a screen that was come to through another, it leads back there.
        await pilot.press("2", "w", "1")
        await pilot.pause()
        for word in ("Plans", "Routes"):
            await pilot.press("escape")
            await pilot.pause(0.1)
            assert app.room is not None
            assert word == app.room.WORD


def test_notes_are_counted_apart_as_the_head_line_does_not_count_them() -> None:
    def of(severity: Severity) -> Finding:
        return Finding(subject="x", rule="r", found="f", limit="l", remedy="m", severity=severity)

    assert count_words((of(Severity.DANGER), of(Severity.WARNING), of(Severity.NOTE))) == "2 findings, 1 note"
    assert count_words((of(Severity.WARNING),)) == "1 finding"
    assert count_words((of(Severity.NOTE),) * 2) == "2 notes"
