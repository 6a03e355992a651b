"""Setup: every group edited by keys, what-if before the supply changes, and what is refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from harness_tui.app import LoomApp
from harness_tui.screens.setup_groups import GROUPS
from harness_tui.session import Session
from harness_tui.widgets.what_if import WhatIf
from model.editing import RunChoice, accept_run, add_lamp, new_harness
from model.electrics.lamps import lamp_current
from model.electrics.resistor import ResistorChoice
from model.harness import Build, Harness, Switched
from model.routing.allot import settle
from model.store import load
from model.tags import TagScheme
from tests.harness_tui.pressing import field, pressed, typed
from tests.harness_tui.screen_text import screen_text


def tug() -> Harness:
    harness = new_harness("Tug", "TUG")
    harness = add_lamp(harness, "Port sidelight", output=1, measured_mm=300.0, colour="red")
    return add_lamp(harness, "Deck lamp", output=2, measured_mm=300.0, build=Build.WIRED, rated_v=9.0)


def app_of(harness: Harness) -> LoomApp:
    return LoomApp(Session(harness), room="setup")


def group_at(key: str) -> int:
    return [group.key for group in GROUPS].index(key)


async def go_to(pilot: object, app: LoomApp, key: str) -> None:
    app.room.go_to(key)  # type: ignore[union-attr]
    await pressed(pilot, "enter")  # type: ignore[arg-type]


async def test_every_group_is_reached_and_left_without_a_change() -> None:
    app = app_of(tug())
    before = app.session.harness
    async with app.run_test(size=(80, 24)) as pilot:
        for group in GROUPS:
            assert group.title in screen_text(app)
            await pressed(pilot, "enter")
            count = len(group.fields(before))
            await pressed(pilot, *["enter"] * count)  # Enter, Enter, Enter: all as it was
            if not count:
                await pressed(pilot, "escape")  # a group that is a list of its own, as the spools are
            assert app.focused is app.screen.query_one("#groups"), group.key
            await pressed(pilot, "down")
        assert app.session.harness is before


async def test_names_wire_lengths_and_tags() -> None:
    app = app_of(tug())
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "enter")
        await typed(pilot, "Harbour [/] tug", "enter")
        await typed(pilot, "ht2", "enter")
        assert (app.session.harness.name, app.session.harness.code) == ("Harbour [/] tug", "HT2")
        assert "HT2  Harbour [/] tug" in screen_text(app)

        await go_to(pilot, app, "wire")
        await typed(pilot, "30 AWG", "enter")
        await typed(pilot, "yes", "enter")
        await typed(pilot, "yellow", "enter")
        await typed(pilot, "YE", "enter")
        assert "YE for both polarities" in screen_text(app)
        await typed(pilot, "bu", "enter")
        settings = app.session.harness.settings
        assert (settings.gauge, settings.plus_colour, settings.minus_colour) == ("30 AWG", "YE", "BU")
        assert settings.colour_per_output
        assert all(output.colour for _, output in app.session.harness.controller.outputs())

        await go_to(pilot, app, "lengths")
        await typed(pilot, "12,5 %", "enter")
        await typed(pilot, "25 mm", "enter", "escape")
        settings = app.session.harness.settings
        assert (settings.slack_pct, settings.slack_min_mm) == (12.5, 25)
        assert "slack 12.5 %, min 25" in screen_text(app)

        await go_to(pilot, app, "tags")
        await typed(pilot, "number", "enter")
        assert app.session.harness.settings.tag_scheme is TagScheme.NUMBER

        # Six things were changed, each a step of its own.
        for _ in range(9):
            await pressed(pilot, "u")
        assert app.session.harness.name == "Tug"
        assert app.session.harness.settings.tag_scheme is TagScheme.CODE


WRONG = (
    ("project", "name", "", "is empty"),
    ("project", "code", "TOOLONG", "2 or 3 of A to Z"),
    ("supply", "chemistry", "coal", "is not known"),
    ("supply", "cells", "2.5", "not a whole number"),
    ("supply", "cells", "0", "1 to 60"),
    ("supply", "nominal_v", "1e9", "out of range"),
    ("controller", "at", "nowhere", "does not exist"),
    ("controller", "switched", "both", "negative or positive"),
    ("wire", "gauge", "99 AWG", "is not known"),
    ("wire", "plus_colour", "mauve", "no IEC 60757 code"),
    ("lengths", "round_mm", "0", "out of range"),
    ("lengths", "slack_pct", "", "Type a number"),
    ("joints", "joint_max_wires", "2", "out of range"),
    ("joints", "joint_max_wires", "3.5", "not a whole number"),
    ("resistors", "series", "E13", "is not known"),
    ("resistors", "resistor_tolerance_pct", "nan", "is not a number"),
    ("tags", "tag_scheme", "runes", "code or number"),
    ("labels", "flag_stock", "parchment", "does not exist"),
)


async def test_what_cannot_stand_is_said_and_changes_nothing() -> None:
    app = app_of(tug())
    before = app.session.harness
    async with app.run_test(size=(80, 24)) as pilot:
        for group, key, text, message in WRONG:
            await go_to(pilot, app, group)
            field(app, key).focus()
            await typed(pilot, text, "enter")
            assert message in " ".join(screen_text(app).split()), (group, key, text)
            await pressed(pilot, "escape", "escape")
            assert app.session.harness is before


class TestWhatIf:
    async def test_a_supply_is_shown_with_what_it_changes_before_it_is_accepted(self) -> None:
        app = app_of(tug())
        async with app.run_test(size=(80, 24)) as pilot:
            await go_to(pilot, app, "supply")
            await typed(pilot, "LiPo", "enter")
            await typed(pilot, "3", "enter")
            assert app.session.harness.supply.chemistry == "NiMH"  # nothing is changed yet
            text = screen_text(app)
            assert "not accepted yet: LiPo 3 cells  9.0 / 11.1 / 12.6 V" in text
            assert "what if: 2 of 2 lamps change" in text
            await pressed(pilot, "escape")
            assert isinstance(app.screen, WhatIf)
            text = screen_text(app)
            now = resistor_of(app.session.harness)
            assert f"{now} to " in text  # the resistor of the red LED
            assert "now over-driven" in text  # the 9 V lamp on a full 12.6 V

            # Escape goes on editing with what was typed; k keeps what was.
            await pressed(pilot, "escape", "escape")
            assert isinstance(app.screen, WhatIf)
            await pressed(pilot, "k")
            assert app.session.harness.supply.chemistry == "NiMH"
            assert "not accepted yet" not in screen_text(app)

    async def test_accepted_it_is_one_step_that_can_be_undone(self) -> None:
        app = app_of(tug())
        async with app.run_test(size=(80, 24)) as pilot:
            await go_to(pilot, app, "supply")
            await typed(pilot, "LiPo", "enter")
            await typed(pilot, "3", "enter", "escape")
            await pressed(pilot, "enter")
            supply = app.session.harness.supply
            assert (supply.chemistry, supply.cells) == ("LiPo", 3)
            assert "LiPo 3 cells  9.0 / 11.1 / 12.6 V" in screen_text(app)
            await pressed(pilot, "u")
            assert (app.session.harness.supply.chemistry, app.session.harness.supply.cells) == ("NiMH", 6)

    async def test_a_series_likewise(self) -> None:
        app = app_of(tug())
        async with app.run_test(size=(80, 24)) as pilot:
            await go_to(pilot, app, "resistors")
            await typed(pilot, "E96", "enter")
            await pressed(pilot, "escape")
            assert "other resistor" in screen_text(app)
            await pressed(pilot, "enter")
            assert app.session.harness.settings.series == "E96"

    async def test_it_waits_while_the_person_looks_elsewhere(self) -> None:
        app = app_of(tug())
        async with app.run_test(size=(80, 24)) as pilot:
            await go_to(pilot, app, "supply")
            await typed(pilot, "LiPo", "enter", "f2")
            assert app.session.harness.supply.chemistry == "NiMH"
            await pressed(pilot, "0")
            assert "not accepted yet: LiPo 6 cells" in screen_text(app)

    async def test_without_lamps_there_is_nothing_to_ask(self) -> None:
        app = app_of(new_harness("Tug", "TUG"))
        async with app.run_test(size=(80, 24)) as pilot:
            await go_to(pilot, app, "supply")
            await typed(pilot, "regulated", "enter")
            assert app.session.harness.supply.nominal_v == 7.2  # the volts it had, to be changed
            await typed(pilot, "12", "enter", "escape")
            assert app.session.harness.supply.nominal_v == 12


def resistor_of(harness: Harness) -> str:
    choice = lamp_current(harness, harness.lamps[0]).choice
    assert isinstance(choice, ResistorChoice)
    return choice.letter_code


async def test_another_switched_side_asks_first_as_it_opens_every_run() -> None:
    harness = settle(accept_run(tug(), "L1", RunChoice()))
    app = app_of(harness)
    async with app.run_test(size=(80, 24)) as pilot:
        await go_to(pilot, app, "controller")
        field(app, "switched").focus()
        await typed(pilot, "positive", "enter")
        assert "1 run is open again" in screen_text(app)
        await pressed(pilot, "enter")  # the cursor is on keeping it
        assert app.session.harness.controller.switched is Switched.NEGATIVE
        await go_to(pilot, app, "controller")
        field(app, "switched").focus()
        await typed(pilot, "positive", "enter")
        await pressed(pilot, "up", "enter")
        assert app.session.harness.controller.switched is Switched.POSITIVE
        assert all(lamp.run is None for lamp in app.session.harness.lamps)


async def test_a_copy_is_saved_and_never_over_another_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    app = app_of(tug())
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "s", "enter")
        assert load(tmp_path / "tug-copy.toml").lamps == app.session.harness.lamps
        await pressed(pilot, "s")
        await typed(pilot, "tug-copy.toml", "enter")
        assert "exists already" in screen_text(app)
        await typed(pilot, "tug-third.toml", "enter")  # still asked
        assert "Saved a copy in tug-third.toml" in screen_text(app)
        assert load(tmp_path / "tug-third.toml").lamps == app.session.harness.lamps
