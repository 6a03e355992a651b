"""Lamps: a list typed in by keys alone, and everything a tired person types into it."""

from __future__ import annotations

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from harness_tui.app import LoomApp
from harness_tui.session import Session
from model import editing
from model.editing import new_harness
from model.findings import Severity
from model.harness import Build, Hand
from tests.harness_tui.pressing import pressed
from tests.harness_tui.screen_text import screen_text


async def typed(pilot: Pilot[object], text: str) -> None:
    """Type a text into the focused line, as a paste does: one value, no forty key presses."""
    focused = pilot.app.focused
    assert focused is not None
    focused.value = text  # type: ignore[attr-defined]
    await pilot.pause()


@pytest.fixture
def app() -> LoomApp:
    return LoomApp(Session(new_harness("Gritter", "GRT")))


async def test_a_list_typed_by_keys(app: LoomApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        assert "Press a" in screen_text(app)
        await pilot.press("a", *"Indicator", "space", *"left", "enter")
        await pilot.pause()
        lamp = app.session.harness.lamps[0]
        assert (lamp.name, lamp.function, lamp.colour, lamp.hand) == (
            "Indicator left",
            "indicator",
            "amber",
            Hand.LEFT,
        )

        # The cursor is in the waypoint field: a new name makes the waypoint, Enter goes on field by field.
        await typed(pilot, "front bumper")
        await pilot.press("enter", *"40", "enter", "1", "enter", "escape")
        await pilot.pause()
        lamp = app.session.harness.lamps[0]
        point = app.session.harness.find_waypoint(lamp.at)
        assert point is not None
        assert point.name == "front bumper"
        assert (lamp.spur_mm, lamp.output) == (40, 1)

        await pilot.press("m")
        await pilot.pause()
        mirrored = app.session.harness.lamps[1]
        assert (mirrored.name, mirrored.hand, mirrored.output) == ("Indicator right", Hand.RIGHT, None)
        assert "output of its own" in screen_text(app)

        await pilot.press("d")
        await pilot.pause()
        assert len(app.session.harness.lamps) == 1
        await pilot.press("u")
        await pilot.pause()
        assert [lamp.name for lamp in app.session.harness.lamps] == ["Indicator left", "Indicator right"]
        assert "Indicator right" in screen_text(app)


async def test_a_mirror_image_says_that_its_waypoint_is_missing_and_makes_it(app: LoomApp) -> None:
    harness = editing.add_waypoint(app.session.harness, "Buffer beam left")
    harness = editing.set_leg(harness, "W1", harness.waypoints[-1].id, length_mm=120)
    app.session.apply(
        lambda _: editing.add_lamp(harness, "Headlamp left", at=harness.waypoints[-1].id), "headlamp"
    )
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "m")
        assert "There is no waypoint Buffer beam right" in screen_text(app)
        await pressed(pilot, "escape")
        assert len(app.session.harness.lamps) == 1
        await pressed(pilot, "m", "enter")
        made = app.session.harness
        assert made.waypoint(made.lamps[1].at or "").name == "Buffer beam right"
        assert [leg.length_mm for leg in made.legs] == [120, 120]
        assert "Check the legs of Buffer beam right in Routes (2)" in " ".join(screen_text(app).split())
        await pressed(pilot, "u", "m", "down", "enter")
        assert app.session.harness.lamps[1].at == app.session.harness.lamps[0].at
        assert len(app.session.harness.waypoints) == 2


@pytest.mark.parametrize(
    ("name", "message"),
    [
        ("x" * 500, "500 characters"),
        ("red\x1b[31m lamp", "control character"),
        ("\u202egnp.pmal", "control character"),
    ],
)
async def test_names_that_cannot_stand(app: LoomApp, name: str, message: str) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("a")
        await typed(pilot, name)
        await pilot.press("enter")
        await pilot.pause()
        assert app.session.harness.lamps == ()
        assert message in " ".join(screen_text(app).split())


@pytest.mark.parametrize(
    "name", ["[/]", "[bold]lamp[/bold]", "=cmd|'/c calc'!A0", "lamp \U0001f6a8", "<b>x</b>", "\u5de6\u5074"]
)
async def test_names_that_look_like_code_are_only_text(app: LoomApp, name: str) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("a")
        await typed(pilot, name)
        await pilot.press("enter", "escape")
        await pilot.pause()
        assert app.session.harness.lamps[0].name == name
        assert name[:4] in screen_text(app)
        for key in ("2", "3", "4", "1", "exclamation_mark", "escape", "question_mark", "escape"):
            await pilot.press(key)
            await pilot.pause()
        assert app.is_running


async def test_a_wrong_figure_is_refused_and_nothing_is_lost(app: LoomApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("a", *"Fog", "enter")
        await pilot.pause()
        editors = [one for one in app.screen.query("FieldInput") if one.field.key == "spur_mm"]  # type: ignore[attr-defined]
        editors[0].focus()
        await pilot.pause()
        await typed(pilot, "12o")
        await pilot.press("enter")
        await pilot.pause()
        assert "12o is not a number" in screen_text(app)
        assert app.focused is editors[0]
        assert editors[0].value == "12o"  # type: ignore[attr-defined]  # still there to be mended
        await typed(pilot, "12,5")
        await pilot.press("enter", "escape")
        await pilot.pause()
        assert app.session.harness.lamps[0].spur_mm == 12.5


async def test_a_ready_wired_lamp_gets_its_fields(app: LoomApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("a", *"Beacon", "enter")
        await pilot.pause()
        build = next(one for one in app.screen.query("FieldInput") if one.field.key == "build")  # type: ignore[attr-defined]
        build.focus()
        await pilot.pause()
        await pilot.press("space", "enter")
        await pilot.pause()
        lamp = app.session.harness.lamps[0]
        assert lamp.build is Build.WIRED
        assert lamp.rated_v == 8.7, "of a full battery: nothing burns before the person has typed it"
        assert not any(one.severity is Severity.DANGER for one in app.session.findings)
        assert "Type the volts Beacon is made for" in " ".join(screen_text(app).split())
        assert app.focused.field.key == "rated_v"  # type: ignore[union-attr]
        await typed(pilot, "12")
        await pilot.press("enter", "escape")
        await pilot.pause()
        assert "made for 12 V" in screen_text(app)


async def test_escape_in_a_field_puts_back_what_stood_there_and_stores_nothing(app: LoomApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("a", *"Beacon", "enter", "enter")
        await pilot.pause()
        await typed(pilot, "12o")
        await pilot.press("tab")
        await pilot.pause()
        line = app.focused
        assert line.value == "12o", "what can't stand is not left for another field"  # type: ignore[union-attr]
        await pilot.press("escape")
        await pilot.pause()
        assert app.focused is line
        assert line.value == "0"  # type: ignore[union-attr]
        assert "0 again, not 12o. Escape leaves." in " ".join(screen_text(app).split())
        await typed(pilot, "12")
        await pilot.press("escape", "escape")
        await pilot.pause()
        assert app.session.harness.lamps[0].spur_mm == 0
        assert not isinstance(app.focused, Input)
        assert "Escape leaves" not in screen_text(app)
        # Keys that were meant for another screen rename nothing.
        await pilot.press("enter", *"uUu", "escape", "escape")
        await pilot.pause()
        assert [lamp.name for lamp in app.session.harness.lamps] == ["Beacon"]


async def test_the_cursor_moves_faster_than_the_form_is_drawn(app: LoomApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        for name in ("One", "Two", "Three"):
            await pilot.press("a")
            await typed(pilot, name)
            await pilot.press("enter", "escape")
            await pilot.pause()
        await pilot.press("home", "down", "down", "up")
        await pilot.pause()
        assert "name          Two" in screen_text(app)
        await pilot.press("K")
        await pilot.pause()
        assert [lamp.name for lamp in app.session.harness.lamps] == ["Two", "One", "Three"]


async def test_a_name_that_is_refused_stays_to_be_mended(app: LoomApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("a")
        await pilot.pause()
        await typed(pilot, "Indicator " + "left " * 11)
        await pilot.press("enter")
        await pilot.pause()
        assert "at most 60 fit" in screen_text(app)
        assert app.session.harness.lamps == ()
        assert app.focused is not None
        assert app.focused.value.startswith("Indicator left")  # type: ignore[attr-defined]
        await pilot.press(
            "backspace", "backspace", "backspace", "backspace", "backspace", "backspace", "enter"
        )
        await pilot.pause()
        (lamp,) = app.session.harness.lamps
        assert lamp.name.startswith("Indicator left")


async def test_the_row_being_edited_stays_in_sight_when_its_form_grows(app: LoomApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        for number in range(12):
            await pilot.press("a")
            await typed(pilot, f"Cab {number}")
            await pilot.press("enter", "escape", "escape")
        await pilot.press("end", "enter")
        await pilot.pause()
        build = next(one for one in app.screen.query("FieldInput") if one.field.key == "build")  # type: ignore[attr-defined]
        build.focus()
        await pilot.press("space", "enter")
        await pilot.pause(0.2)
        assert app.session.harness.lamps[-1].build is Build.WIRED
        assert "Cab 11  " in screen_text(app).partition("\u2500\u2500\u2500")[0]
        await pilot.press("escape", "escape", "u")
        await pilot.pause()
        assert "Undone: Cab 11: build" in screen_text(app)
