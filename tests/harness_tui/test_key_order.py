"""Keys that come in one piece: typed ahead of a question, or sent by a scanner into a list."""

from __future__ import annotations

import time

import pytest
from textual import events
from textual.pilot import Pilot
from textual.widgets import Input

from harness_tui.app import LoomApp
from harness_tui.screens.find import FindScreen
from harness_tui.screens.lamps import LampsScreen
from harness_tui.session import Session
from harness_tui.widgets import key_order
from harness_tui.widgets.key_order import burst
from harness_tui.widgets.scans import is_label_text
from model.editing import new_harness
from tests.harness_tui.screen_text import screen_text
from tests.harness_tui.test_walk import star
from tests.model.tracing.loom import gritter

_NAMES = {" ": "space", "-": "minus", "/": "slash", "\r": "enter"}


async def in_one_piece(pilot: Pilot[int], *texts: str) -> None:
    """Hand over each text as a terminal does that has read all of it at once."""
    app = pilot.app
    assert isinstance(app, LoomApp)
    driver = app._driver
    assert driver is not None
    for text in texts:
        for sign in text:
            key = events.Key(_NAMES.get(sign, sign), "\r" if sign == "\r" else sign)
            key.set_sender(app)
            driver.send_message(key)
        for _ in range(100):
            await pilot.pause(0.05)
            if not app._waiting and app._under_way is None:
                break
        await pilot.pause()


async def test_a_name_typed_at_once_with_the_key_that_asks_for_it() -> None:
    session = Session(new_harness("Lorry", "LRY"))
    app = LoomApp(session, room="lamps")
    async with app.run_test(size=(80, 24)) as pilot:
        await in_one_piece(pilot, "aDuck lamp\rdeck\r")
        assert [lamp.name for lamp in session.harness.lamps] == ["Duck lamp"]
        assert [point.name for point in session.harness.waypoints if point.name == "deck"]
        # The cursor is in the next field: what comes now is a distance, and deletes nothing.
        await in_one_piece(pilot, "30\rd")
        assert session.harness.lamps[0].spur_mm == 30
        assert isinstance(app.focused, Input)
        assert app.focused.value == "d"


async def test_find_and_what_to_find_in_one_piece() -> None:
    app = LoomApp(Session(gritter()), room="lamps")
    async with app.run_test(size=(80, 24)) as pilot:
        await in_one_piece(pilot, "/K7L\r")
        assert isinstance(app.screen, FindScreen)
        assert app.screen.asked == "K7L"


async def test_a_scanner_in_any_list_asks_find_and_commands_nothing() -> None:
    app = LoomApp(Session(gritter()), room="lamps")
    async with app.run_test(size=(80, 24)) as pilot:
        before = app.session.harness
        for room, sent in (("lamps", "GRT-K7L-C"), ("walk", "H4E"), ("bench", "grt-9c9-l")):
            app.action_go(room)
            await pilot.pause()
            await in_one_piece(pilot, f"{sent}\r")
            assert isinstance(app.screen, FindScreen), (room, sent)
            assert app.screen.asked == sent, (room, sent)
        app.action_go("outputs")
        await pilot.pause()
        assert app.session.harness.lamps == before.lamps
        assert app.session.harness.ledger == before.ledger
        await in_one_piece(pilot, "4006381333931\r")
        assert "is no label: nothing was done" in " ".join(screen_text(app).split())
        assert app.session.harness.ledger == before.ledger


async def test_a_label_that_is_pasted_into_a_list_is_looked_up() -> None:
    app = LoomApp(Session(gritter()), room="outputs")
    async with app.run_test(size=(80, 24)) as pilot:
        assert app._driver is not None
        app._driver.send_message(events.Paste("K7L\n"))
        for _ in range(40):
            await pilot.pause(0.05)
            if isinstance(app.screen, FindScreen) and app.screen.asked:
                break
        assert isinstance(app.screen, FindScreen)
        assert app.screen.asked == "K7L"
        app.action_go("outputs")
        await pilot.pause()
        app._driver.send_message(events.Paste("\x1b[31m"))
        await pilot.pause(0.1)
        assert "nothing was done" not in screen_text(app)


async def test_quick_keys_that_are_no_label_are_commands_in_their_order() -> None:
    app = LoomApp(Session(gritter()), room="lamps")
    async with app.run_test(size=(80, 24)) as pilot:
        count = len(app.session.harness.lamps)
        await in_one_piece(pilot, "cx\x1b")
        assert len(app.session.harness.lamps) == count + 1
        assert isinstance(app.focused, Input)
        assert app.focused.value.endswith("x"), "the second key went into the field the first one opened"
        await in_one_piece(pilot, "\r")


async def test_a_key_held_down_is_not_held_back() -> None:
    app = LoomApp(Session(gritter()), room="walk")
    async with app.run_test(size=(80, 24)) as pilot:
        app.action_go("walk")
        await pilot.press("home")
        first = app.screen.lamp_id  # type: ignore[attr-defined]
        await in_one_piece(pilot, "nn")
        assert app.screen.lamp_id != first  # type: ignore[attr-defined]
        await in_one_piece(pilot, "pppppppp")
        assert app.screen.lamp_id == app.session.harness.lamps[0].id  # type: ignore[attr-defined]


async def test_a_single_key_is_heard_without_another() -> None:
    app = LoomApp(Session(gritter()), room="lamps")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("3")
        assert not isinstance(app.screen, LampsScreen)


HELD = (0.0, 0.4, 0.433, 0.466, 0.5, 0.533)
"""Seconds at which a key that is held down comes: a while after the first it repeats 30 times a second."""


@pytest.mark.parametrize(("room", "key", "sign"), [("bench", "space", " "), ("walk", "enter", "\r")])
async def test_a_held_key_does_not_run_over_steps_that_nobody_has_read(
    room: str, key: str, sign: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(key_order, "HELD_WITHIN_S", 0.15)
    app = LoomApp(Session(gritter() if room == "bench" else star()), room=room)

    def done() -> int:
        harness = app.session.harness
        steps = sum(len(record.steps) for record in harness.ledger)
        return steps if room == "bench" else sum(lamp.run is not None for lamp in harness.lamps)

    async with app.run_test(size=(80, 24)) as pilot:
        before, began = done(), time.monotonic()
        assert app._driver is not None
        for at_s in HELD:
            event = events.Key(key, sign)
            event.time = began + at_s
            event.set_sender(app)
            app._driver.send_message(event)
        for _ in range(100):
            await pilot.pause(0.05)
            if not app._waiting and app._under_way is None:
                break
        assert done() == before + 2, "the press and the first repeat, which a hand might have been"
        event = events.Key(key, sign)
        event.time = began + HELD[-1] + 0.2
        event.set_sender(app)
        app._driver.send_message(event)
        await pilot.pause(0.2)
        assert done() == before + 3, "a press of its own"


def keys_at(text: str, *times_s: float) -> list[events.Key]:
    found = []
    for sign, time_s in zip(text, times_s, strict=True):
        key = events.Key(_NAMES.get(sign, sign), sign)
        key.time = time_s
        found.append(key)
    return found


@pytest.mark.parametrize(
    ("text", "times_s", "so_many"),
    [
        ("K7L", (0.0, 0.016, 0.032), 3),
        ("K7L", (0.0, 0.040, 0.056), 1),  # a hand, then two that came together
        ("nnn", (0.0, 0.033, 0.066), 1),  # a key held down
        ("G-K", (0.0, 0.001, 0.050), 3),
        ("-K7", (0.0, 0.001, 0.002), 0),  # no label begins so
        ("a b", (0.0, 0.001, 0.002), 1),
    ],
)
def test_what_came_too_fast_for_a_hand(text: str, times_s: tuple[float, ...], so_many: int) -> None:
    assert len(burst(keys_at(text, *times_s))) == so_many


def test_what_is_a_label() -> None:
    harness = gritter()
    assert is_label_text(harness, "GRT-K7L-C")
    assert is_label_text(harness, "TUG-A44-L"), "of another project, which Find says"
    assert is_label_text(harness, "GRT-J3")
    assert is_label_text(harness, "k7l")
    assert not is_label_text(harness, "K7K")
    assert not is_label_text(harness, "4006381333931")
    assert not is_label_text(harness, "nnp")
