"""The first power-on at the screen: ticks, ohms, what lights, a lamp that does not, and on to Trace."""

from __future__ import annotations

from pathlib import Path

from harness_tui.app import LoomApp
from harness_tui.screens.commissioning import CommissioningScreen
from harness_tui.screens.trace import TraceScreen
from harness_tui.session import Session, today
from harness_tui.widgets.columns import FittedTable
from model.editing import new_harness
from model.harness import Harness
from model.store import dumps, load, save
from model.tracing.behaviour import Sight
from model.tracing.commission import checklist, last_sights, record_table
from tests.harness_tui.pressing import pressed, typed
from tests.harness_tui.screen_text import screen_text
from tests.model.tracing.loom import gritter


async def test_from_the_checks_to_a_trace() -> None:
    app = LoomApp(Session(gritter()), room="bench")
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "c")
        assert isinstance(app.screen, CommissioningScreen)
        text = screen_text(app)
        assert "battery disconnected, and the harness unplugged from the controller" in text
        assert "Disconnect it before you touch the wiring" in text
        await pressed(pilot, *["space"] * 9)
        table = app.screen.query_one(FittedTable)
        assert table.here == "ohm A.2"
        assert screen_text(app).count("\u2713") == 9

        await pressed(pilot, "enter")
        await typed(pilot, "0.8", "enter")
        assert "0.8 ohm is a short circuit" in screen_text(app)
        assert table.here == "ohm A.2"
        await pressed(pilot, "enter")
        await typed(pilot, "", "enter")
        assert "over range" in screen_text(app)
        assert table.here == "ohm A.5"
        await pressed(pilot, "enter")
        await typed(pilot, "2000000", "enter")

        assert table.here == "output 2"
        assert "switch on output 2 alone" in screen_text(app)
        await pressed(pilot, "enter")
        assert "1 of 1 lit" in screen_text(app)
        assert table.here == "output 5"
        await pressed(pilot, "i")
        await typed(pilot, "50", "enter")
        assert "50 mA is too much" in screen_text(app)
        await pressed(pilot, "n", "space", "enter", "down", "down", "down", "enter")
        assert last_sights(app.session.harness)["L1"][1] is Sight.DARK
        assert last_sights(app.session.harness)["L2"][1] is Sight.LIT
        assert "1 of 2 lit" in screen_text(app)

        await pressed(pilot, "t")
        trace = app.room
        assert isinstance(trace, TraceScreen)
        assert trace.trace is not None
        assert trace.trace.odd == ("L1",)
        assert "Taken over from the tests" in screen_text(app)
        assert "K7L" in screen_text(app)

        rows = record_table(app.session.harness).rows
        assert {row[2] for row in rows} == {"checked", "tested", "measured"}
        assert any(row[3] == "dark with output 5" for row in rows)
        # Each result is one step that can be undone, in the history and on the screen.
        await pressed(pilot, "escape", "u")
        assert isinstance(app.screen, CommissioningScreen)
        assert "L1" not in last_sights(app.session.harness)
        assert "50 mA" in screen_text(app)
        await pressed(pilot, "u")
        assert "50 mA" not in screen_text(app)
        assert len(record_table(app.session.harness).rows) == len(rows) - 3


async def test_what_is_ticked_too_early_and_measured_badly_is_said() -> None:
    app = LoomApp(Session(gritter()), room="commissioning")
    async with app.run_test(size=(80, 24)) as pilot:
        text = screen_text(app)
        assert "ohm from the common to each pin: below" in text
        for item in checklist(app.session.harness):
            assert item.short in text or item.words in text, "no check is cut"
        table = app.screen.query_one(FittedTable)
        await pressed(pilot, "down", "space")
        assert "Ticked off, but 9 of 9 are not made yet" in screen_text(app)
        assert len(app.session.harness.checked) == 1
        table.go_to("ohm A.5")
        await pressed(pilot, "enter")
        await typed(pilot, "300", "enter")
        assert "300 ohm where over 500 kohm is right" in screen_text(app)
        assert "> 500 kohm" in screen_text(app)
        table.go_to("output 5")
        await pressed(pilot)
        said = " ".join(screen_text(app).split())
        assert "First: common to output 5, pin A5: 300 ohm where over 500 kohm is right" in said
        table.go_to("output 2")
        await pressed(pilot)
        assert "First:" not in screen_text(app)


async def test_ticks_are_there_after_the_lid_was_closed(tmp_path: Path) -> None:
    path = tmp_path / "gritter.toml"
    save(gritter(), path)

    def keep(harness: Harness) -> None:
        path.write_text(dumps(harness), "utf-8")

    app = LoomApp(Session(load(path), path, save=keep), room="commissioning")
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "space", "space", "space", "up", "space", "u")
        assert screen_text(app).count("\u2713") == 3, "the tick that was taken off is back"
    app = LoomApp(Session(load(path), path), room="commissioning")
    async with app.run_test(size=(80, 24)):
        assert screen_text(app).count("\u2713") == 3
        assert screen_text(app).count(today()) == 3
    rows = [row for row in record_table(load(path)).rows if row[2] == "checked"]
    assert [row[0] for row in rows] == [today()] * 3


async def test_all_as_it_should_be_leaves_nothing_to_trace() -> None:
    app = LoomApp(Session(gritter()), room="commissioning")
    async with app.run_test(size=(120, 40)) as pilot:
        table = app.screen.query_one(FittedTable)
        await pressed(pilot, "end", "enter", "up", "enter")
        assert table.here in ("output 2", "output 5")
        assert all(sight is Sight.LIT for _, sight in last_sights(app.session.harness).values())
        assert len(last_sights(app.session.harness)) == 3
        await pressed(pilot, "t")
        assert isinstance(app.screen, CommissioningScreen)
        nominal = screen_text(app)
        await pressed(pilot, "v")
        await typed(pilot, "6", "enter")
        assert "battery at 6.0 V" in screen_text(app)
        assert screen_text(app) != nominal


async def test_an_empty_project_says_what_comes_first() -> None:
    app = LoomApp(Session(new_harness("Tug", "TUG")), room="commissioning")
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "enter", "space", "n", "i")
        assert "No lamp can light yet" in screen_text(app)
