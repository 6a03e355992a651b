"""Bench: the wires are made one key at a time, and nothing that was done is ever forgotten."""

from __future__ import annotations

import pytest

from harness_tui.app import LoomApp
from harness_tui.screens.bench import BenchScreen
from harness_tui.session import Session
from harness_tui.widgets.big import GLYPHS, HEIGHT, big
from model import editing
from model.bench import StepKind, bench_order, next_wire, progress, step_kinds
from model.editing import new_harness
from model.harness import Build, Harness
from model.routing.allot import settle
from model.routing.words import wire_words
from model.tags import ALPHABET
from tests.harness_tui.screen_text import screen_text
from tests.model.test_bench import alone
from tests.model.tracing.loom import gritter, moved


def bench(harness: Harness) -> LoomApp:
    return LoomApp(Session(harness), room="bench")


def flat(app: LoomApp) -> str:
    """The screen without its line breaks."""
    return " ".join(screen_text(app).split())


def steps_of(app: LoomApp, tag: str) -> tuple[str, ...]:
    return app.session.harness.ledger.get(tag).steps


def bench_screen(app: LoomApp) -> BenchScreen:
    screen = app.screen
    assert isinstance(screen, BenchScreen)
    return screen


async def test_one_wire_is_made_by_the_space_bar() -> None:
    app = bench(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        first = bench_order(app.session.harness)[0]
        tag = app.session.harness.ledger.live()[first.key].tag
        text = screen_text(app)
        assert "wire 1 of 9" in text
        assert "\u25b6     cut" in text
        assert all(row.rstrip() in text for row in big(tag))
        for done, kind in enumerate(step_kinds(first), 1):
            await pilot.press("space")
            await pilot.pause()
            assert steps_of(app, tag) == step_kinds(first)[:done], kind
        assert steps_of(app, tag).index("sleeve") < steps_of(app, tag).index("lamp")
        assert "is made" in flat(app)
        assert "1 of 9 wires made, 7 of 63 steps" in flat(app)
        await pilot.press("space")
        await pilot.pause()
        assert "wire 2 of 9" in screen_text(app)
        assert len(steps_of(app, tag)) == 7, "going on marks nothing"


async def test_stopping_and_coming_back_another_day() -> None:
    app = bench(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("n", "n", "space", "space")
        await pilot.pause()
        key = bench_screen(app).key
    again = bench(app.session.harness)
    async with again.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert bench_screen(again).key == key
        assert "wire 3 of 9" in screen_text(again)
        assert "\u25b6     strip" in screen_text(again)


async def test_taking_back_goes_step_by_step_and_says_so() -> None:
    app = bench(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("space", "space", "backspace")
        await pilot.pause()
        tag = app.session.harness.progress.bench
        assert steps_of(app, tag) == ("cut",)
        assert f"sleeve of {tag} is open again" in flat(app)
        await pilot.press("backspace", "backspace")
        await pilot.pause()
        assert steps_of(app, tag) == ()
        assert f"No step of {tag} is done" in flat(app)
        # Undo is of the last edit, whatever it was: here the taking back of the cut.
        await pilot.press("u")
        await pilot.pause()
        assert steps_of(app, tag) == ("cut",)
        assert [event.what for event in app.session.harness.ledger.get(tag).events][-1] == "not cut"


async def test_a_length_that_differs_is_kept_and_one_too_short_is_said() -> None:
    app = bench(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        bench_screen(app).go_to("K7L")
        await pilot.press("l", *"300", "enter")
        await pilot.pause()
        assert app.session.harness.ledger.get("K7L").cut_mm == 300
        assert "cut to 300 mm, the plan says" in screen_text(app)
        await pilot.press("l", *("backspace",) * 3, *"12", "enter")
        await pilot.pause()
        assert app.session.harness.ledger.get("K7L").cut_mm == 12
        assert "Make it anew" in flat(app)
        await pilot.press("l", *("backspace",) * 2, *"1x", "enter")
        await pilot.pause()
        assert "1x is not a number" in flat(app)
        assert app.session.harness.ledger.get("K7L").cut_mm == 12
        # The question is still up, with what was typed.
        await pilot.press(*("backspace",) * 2, "enter")
        await pilot.pause()
        assert app.session.harness.ledger.get("K7L").cut_mm is None


async def test_a_wire_that_is_cut_keeps_its_length_when_the_plan_changes() -> None:
    app = bench(alone())
    async with app.run_test(size=(80, 24)) as pilot:
        mine = app.session.harness.ledger.live()["L1+"].tag
        bench_screen(app).go_to(mine)
        await pilot.press("space")
        app.session.apply(lambda harness: editing.set_leg(harness, "W1", "W2", length_mm=150), "leg")
        bench_screen(app).redraw()
        await pilot.pause()
        text = flat(app)
        assert "cut to 225 mm, the plan says 255 mm" in text
        assert "\u2713 cut to 225 mm of red 28 AWG; the plan says 255 mm" in text
        assert "! was cut to 225 mm" in text
        assert "Make it anew" in text
        await pilot.press("backspace")
        await pilot.pause()
        assert "cut 255 mm of red 28 AWG" in flat(app)
        assert "was cut to" not in flat(app)


async def test_an_own_lead_is_shortened_by_a_sum_and_the_list_shows_whole_lines_where_it_can() -> None:
    app = bench(alone(build=Build.WIRED, rated_v=9.0, lead_mm=250.0))
    async with app.run_test(size=(120, 40)) as pilot:
        await pilot.pause()
        text = flat(app)
        assert "shorten the lamp's own plus lead to 205 mm" in text
        assert "120 legs +20 slack +60 loop +3 strip +2 up = 205 mm" in text
        words = [wire_words(app.session.harness, wire) for wire in bench_order(app.session.harness)]
        assert all(len(one) > 25 and screen_text(app).count(one) for one in words)


async def test_the_joint_shows_who_is_there() -> None:
    app = bench(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        bench_screen(app).go_to("K7L")
        await pilot.press("v")
        await pilot.pause()
        text = flat(app)
        assert "joint J1 at cab floor" in text
        assert "0 of 3 are here. Still to come: K7L, H4E, 9C9." in text
        await pilot.press("escape", *("space",) * 5, "v")
        await pilot.pause()
        assert "join" in steps_of(app, "K7L")
        assert "1 of 3 are here. Still to come: H4E, 9C9." in flat(app)
        await pilot.press("v")
        await pilot.pause()
        assert "\u25b6     shrink" in screen_text(app), "v leads round to the steps"
        bench_screen(app).go_to("F8N")
        await pilot.press("v")
        await pilot.pause()
        assert bench_screen(app).joint == "", "no joint, no joint view"


async def test_the_list_leads_to_any_wire() -> None:
    app = bench(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("t")
        await pilot.pause()
        text = screen_text(app)
        assert all(record.tag in text for record in app.session.harness.ledger)
        await pilot.press("space")
        await pilot.pause()
        assert progress(app.session.harness)[0] == 0
        assert not any(record.steps for record in app.session.harness.ledger), (
            "no wire is worked on in the list"
        )
        await pilot.press("down", "down", "enter")
        await pilot.pause()
        assert "wire 3 of 9" in screen_text(app)
        await pilot.press("t", "escape")
        await pilot.pause()
        assert "wire 3 of 9" in screen_text(app)
        assert "\u25b6" in screen_text(app)


async def test_all_wires_made() -> None:
    harness = gritter()
    for wire in bench_order(harness)[:-1]:
        tag = harness.ledger.live()[wire.key].tag
        for kind in step_kinds(wire):
            harness = editing.do_step(harness, tag, kind, "2026-03-03")
    app = bench(settle(harness))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("t", "ctrl+end", "enter", *("space",) * 7)
        await pilot.pause()
        assert next_wire(app.session.harness) is None
        assert "All wires are made: 9 of 9" in flat(app)
        before = app.session.harness
        await pilot.press("space", "enter")
        await pilot.pause()
        assert app.session.harness.ledger is before.ledger
        assert "All wires are made" in flat(app)


async def test_nothing_to_make_yet() -> None:
    app = bench(new_harness("Empty", "NIL"))
    async with app.run_test(size=(80, 24)) as pilot:
        assert "Press 4 and walk the lamps" in screen_text(app)
        await pilot.press("space", "backspace", "l", "n", "p", "v", "t", "f", "escape")
        await pilot.pause()
        assert "Press 4 and walk the lamps" in screen_text(app)


async def test_a_project_open_for_reading_is_not_worked_on() -> None:
    app = LoomApp(Session(gritter(), read_only="is open elsewhere"), room="bench")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert "Only reading. This project is open elsewhere." in flat(app), "before a key is pressed"
        await pilot.press("space")
        await pilot.pause()
        assert "is open elsewhere" in flat(app)
        assert not any(record.steps for record in app.session.harness.ledger)


async def test_a_finding_of_a_retired_tag_is_answered_by_find() -> None:
    app = bench(moved())
    async with app.run_test(size=(80, 24)) as pilot:
        bench_screen(app).go_to("N6H")
        await pilot.pause()
        assert "retired" in screen_text(app)


@pytest.mark.parametrize(
    ("size", "name"),
    [
        ((20, 5), "[/]"),
        ((40, 12), "[bold]x[/bold]"),
        ((80, 24), "\U0001f6a8 \u30e9\u30f3"),
        ((200, 60), "x" * 60),
    ],
)
async def test_any_name_in_any_window(size: tuple[int, int], name: str) -> None:
    app = bench(settle(editing.edit_lamp(gritter(), "L1", name=name)))
    async with app.run_test(size=size) as pilot:
        await pilot.press("space", "n", "v", "v", "t", "down", "enter", "space")
        await pilot.resize_terminal(80, 24)
        await pilot.pause()
        assert "wire 3 of 9" in screen_text(app)
        assert app.session.harness.lamps[0].name == name


def test_every_sign_of_a_tag_can_be_drawn_large_and_differs() -> None:
    signs = [*ALPHABET, "0", "1", "?"]
    drawn = [tuple(big(sign)) for sign in signs]
    assert len(set(drawn)) == len(signs)
    assert all(len(rows) == HEIGHT and {len(row) for row in rows} == {5} for rows in drawn)
    assert set(GLYPHS) == set(signs)
    assert big("a9")[1] == "a9", "what can't be drawn is shown as it is"


def test_step_words_are_the_ledgers() -> None:
    assert [str(kind) for kind in StepKind] == ["cut", "sleeve", "strip", "lamp", "join", "shrink", "test"]
