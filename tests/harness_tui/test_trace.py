"""Trace on the screen: what is seen by one key a lamp, the next test answered, the find logged."""

from __future__ import annotations

import pytest

from harness_tui.app import LoomApp
from harness_tui.cli import main
from harness_tui.examples import text
from harness_tui.screens.find import FindScreen
from harness_tui.screens.trace import TraceScreen
from harness_tui.session import Session
from harness_tui.widgets.ask import Choose
from harness_tui.widgets.ask_checked import AskChecked
from model.editing import new_harness
from model.routing.allot import settle
from model.store import loads, save
from model.tracing.behaviour import Sight
from model.tracing.probe_words import probe_words
from model.tracing.proposing import Standing, next_test, standing
from model.tracing.trace import SOUND, ProbeKind, outcomes, suspects, volts_of
from model.tracing.trace_text import expectation_words
from tests.harness_tui.pressing import pressed, typed
from tests.harness_tui.screen_text import screen_text
from tests.model.tracing.loom import gritter


def flat(app: LoomApp) -> str:
    return " ".join(screen_text(app).split())


def room(app: LoomApp) -> TraceScreen:
    screen = app.room
    assert isinstance(screen, TraceScreen)
    return screen


async def test_scan_read_trace_and_log() -> None:
    app = LoomApp(Session(gritter()), room="find")
    async with app.run_test(size=(80, 24)) as pilot:
        await typed(pilot, "K7L", "enter", "escape", "m")
        shown = screen_text(app)
        assert "output 5 on" in shown
        assert "joint J1 at cab floor" in shown
        await pressed(pilot, "m", "t")
        assert "For each lamp press what it does" in screen_text(app)
        await pressed(pilot, "d", "d", "a")
        shown = screen_text(app)
        assert "Trace 9 suspects" in shown
        assert "9C9 is broken at output 5, pin A5" in shown
        assert "explains all 2" in shown
        assert "next   " in shown
        assert "Enter answers" in shown

        true = next(one.faults for one in suspects(room(app).trace) if one.words.startswith("9C9 is loose"))  # type: ignore[arg-type]
        for _ in range(8):
            trace = room(app).trace
            assert trace is not None
            proposal = next_test(trace)
            if proposal is None:
                break
            await pressed(pilot, "enter")
            if proposal.probe.kind is ProbeKind.VOLTS:
                low, high = volts_of(trace, true, proposal.probe)[0]
                await typed(pilot, f"{(low + high) / 2:.2f} V", "enter")
                continue
            assert isinstance(app.screen, Choose)
            code = next(iter(outcomes(trace, true, proposal.probe)))
            place = [one.code for one in proposal.expectations].index(code)
            await pressed(pilot, *["down"] * place, "enter")
        assert "Found: 9C9 is loose in joint J1 at cab floor." in screen_text(app)

        await pressed(pilot, "g")
        await typed(pilot, "9C9 soldered into J1 anew", "enter")
        assert "Written into the history" in screen_text(app)
        events = {tag: app.session.harness.ledger.get(tag).events for tag in ("9C9", "K7L", "H4E")}
        assert [(one.what, one.note) for one in events["9C9"]] == [("repaired", "9C9 soldered into J1 anew")]
        for tag in ("K7L", "H4E"):
            assert [(one.what, one.note) for one in events[tag]] == [("test again", "9C9 mended")]
        # The log changed no wire: what was found still stands.
        assert "Found: 9C9 is loose" in screen_text(app)
        await pressed(pilot, "escape")
        assert isinstance(app.screen, FindScreen)
        assert "test again 9C9 mended" in screen_text(app)


async def test_every_step_is_taken_back_and_other_screens_lose_nothing() -> None:
    app = LoomApp(Session(gritter()), room="trace")
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "f", "b", "y")
        trace = room(app).trace
        assert trace is not None
        assert list(trace.sights.values()) == [Sight.FLICKERS, Sight.BRIGHT, Sight.STAYS]
        await pressed(pilot, "backspace", "backspace")
        assert room(app).trace.sights == {"L1": Sight.FLICKERS}  # type: ignore[union-attr]
        assert "flickers" in screen_text(app)
        await pressed(pilot, "1", "escape")
        assert isinstance(app.room, TraceScreen)
        assert room(app).trace.sights == {"L1": Sight.FLICKERS}  # type: ignore[union-attr]
        await pressed(pilot, "x")
        assert room(app).trace.odd == ()  # type: ignore[union-attr]
        await pressed(pilot, "backspace")
        assert room(app).trace.odd == ("L1",)  # type: ignore[union-attr]


async def test_other_tests_battery_and_all_suspects() -> None:
    app = LoomApp(Session(gritter()), room="trace")
    async with app.run_test(size=(120, 40)) as pilot:
        await pressed(pilot, "d", "d", "l")
        first = next_test(room(app).trace)  # type: ignore[arg-type]
        assert first is not None
        await pressed(pilot, "n")
        second = next_test(room(app).trace)  # type: ignore[arg-type]
        assert second is not None
        assert second.probe != first.probe
        await pressed(pilot, "v")
        await typed(pilot, "nonsense", "enter")
        assert "nonsense" in screen_text(app)
        await typed(pilot, "8.4", "enter")
        assert room(app).trace.battery_v == pytest.approx(8.4)  # type: ignore[union-attr]
        await pressed(pilot, "v")
        await typed(pilot, "99", "enter")
        assert "at most 60 V" in screen_text(app)
        await pressed(pilot, "escape")
        assert room(app).trace.battery_v == pytest.approx(8.4)  # type: ignore[union-attr]
        await pressed(pilot, "s")
        assert isinstance(app.screen, Choose)
        assert "explains all 2" in screen_text(app)
        await pressed(pilot, "enter")
        assert isinstance(app.screen, FindScreen)


async def test_what_is_not_there_and_what_nobody_expected() -> None:
    """c clears the first suspect, and a look may find all sound where every suspect is."""
    app = LoomApp(Session(gritter()), room="trace")
    async with app.run_test(size=(120, 40)) as pilot:
        await pressed(pilot, "d", "d", "l")
        asked = None
        for _ in range(20):
            trace = room(app).trace
            assert trace is not None
            asked = next_test(trace)
            left = suspects(trace)
            if asked is None or (asked.probe.kind is ProbeKind.LOOK and len(left) == 2):
                break
            await pressed(pilot, "c")
            assert "Not so: " in screen_text(app)
            assert left[0].faults not in [one.faults for one in suspects(room(app).trace)]  # type: ignore[arg-type]
        assert asked is not None
        assert SOUND not in [one.code for one in asked.expectations]
        await pressed(pilot, "enter")
        assert "all sound there" in screen_text(app)
        await pressed(pilot, "end", "enter")
        trace = room(app).trace
        assert trace is not None
        assert trace.answers[-1].reading == SOUND
        assert all(len(one.faults) == 2 for one in suspects(trace))
        await pressed(pilot, "backspace", "backspace")
        assert len(room(app).trace.cleared) == len(trace.cleared) - 1  # type: ignore[union-attr]


async def test_several_lamps_in_words_and_every_step_taken_back() -> None:
    app = LoomApp(Session(gritter()), room="trace")
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "e")
        await typed(pilot, "indicator purple", "enter")
        assert "without what it does" in screen_text(app)
        await typed(pilot, "output 5 dark, beacon lit", "enter")
        trace = room(app).trace
        assert trace is not None
        assert dict(trace.sights) == {"L1": Sight.DARK, "L2": Sight.DARK, "L3": Sight.LIT}
        await pressed(pilot, "v")
        await typed(pilot, "6.4", "enter")
        assert app.session.battery_v == pytest.approx(6.4)
        await pressed(pilot, "backspace")
        assert app.session.battery_v is None
        await pressed(pilot, "backspace")
        trace = room(app).trace
        assert trace is not None
        assert not trace.sights


async def test_a_log_entry_is_undone_and_the_steps_before_it_too() -> None:
    app = LoomApp(Session(gritter()), room="trace")
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "d", "a", "g", "enter")
        assert any(record.events for record in app.session.harness.ledger)
        await pressed(pilot, "u")
        assert not any(record.events for record in app.session.harness.ledger)
        await pressed(pilot, "backspace", "backspace")
        trace = room(app).trace
        assert trace is not None
        assert not trace.sights


async def test_tests_till_none_is_left() -> None:
    app = LoomApp(Session(gritter()), room="trace")
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "d", "d", "l")
        for _ in range(40):
            if next_test(room(app).trace) is None:  # type: ignore[arg-type]
                break
            await pressed(pilot, "n")
        assert standing(room(app).trace) is Standing.ALIKE  # type: ignore[arg-type]
        assert "can't be told apart" in screen_text(app)


async def test_an_empty_project_says_what_comes_first() -> None:
    app = LoomApp(Session(new_harness("Tug", "TUG")), room="trace")
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "d", "enter", "n")
        assert "No lamp can light yet" in screen_text(app)


async def test_a_reading_typed_straight_away_is_an_answer() -> None:
    """Figures are other screens where there is no meter's reading to type."""
    app = LoomApp(Session(gritter()), room="trace")
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "down", "down", "d", "a")
        while (proposal := next_test(room(app).trace)) and proposal.probe.kind is not ProbeKind.VOLTS:  # type: ignore[arg-type]
            await pressed(pilot, "n")
        assert proposal is not None
        shown = screen_text(app)
        assert "Enter answers" in shown
        await pressed(pilot, "4")
        assert isinstance(app.screen, AskChecked)
        await pressed(pilot, ".", "9", "enter")
        trace = room(app).trace
        assert trace is not None
        assert [one.reading for one in trace.answers] == [4.9]
        assert isinstance(app.room, TraceScreen)
        assert "No fault known" not in screen_text(app)


async def test_every_answer_can_be_read_at_80_columns() -> None:
    app = LoomApp(Session(settle(loads(text("gritter"), "gritter.toml"))), room="trace")
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "e")
        await typed(
            pilot, "Beacon front right, roof marker left, roof marker right dark; the rest lit", "enter"
        )
        assert room(app).trace.odd  # type: ignore[union-attr]
        shown = flat(app)
        assert "Enter answers" in shown
        proposal = next_test(room(app).trace)  # type: ignore[arg-type]
        assert proposal is not None
        assert probe_words(room(app).trace.harness, proposal.probe) in shown  # type: ignore[union-attr]
        for one in proposal.expectations:
            assert expectation_words(one, 2) in shown


async def test_a_logged_repair_is_not_offered_again_and_a_joint_brings_its_lamps() -> None:
    app = LoomApp(Session(gritter()), room="trace")
    async with app.run_test(size=(80, 24)) as pilot:
        room(app).go_to("J1")
        await pressed(pilot, "e")
        assert "J1 dark" in screen_text(app)
        await pressed(pilot, "space", "x", "enter")
        await pressed(pilot, "escape", "e")
        assert "J1 dark x" in screen_text(app), "what was refused is still there to be mended"
        await pressed(pilot, "backspace", "backspace", "enter")
        assert room(app).trace.odd == ("L1", "L2")  # type: ignore[union-attr]
        while next_test(room(app).trace) is not None:  # type: ignore[arg-type]
            await pressed(pilot, "n")
        await pressed(pilot, "g", "enter")
        assert "Written into the history" in screen_text(app)
        await pressed(pilot, "1", "escape")
        assert isinstance(app.room, TraceScreen)
        assert room(app).check_action("log", ()) is None
        assert "g writes it" not in flat(app)
        await pressed(pilot, "u")
        assert room(app).check_action("log", ()) is True


def test_plain_commands(tmp_path: object, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "lorry.toml"  # type: ignore[operator]
    save(gritter(), path)
    assert main(["expect", str(path), "k7l"]) == 0
    assert "output 5 on" in capsys.readouterr().out
    assert main(["trace", str(path), "--dark", "indicator front left,H4E", "--lit", "beacon"]) == 1
    out = capsys.readouterr().out
    assert "dark: Indicator front left, Indicator side left" in out
    assert "9C9 is broken at output 5, pin A5" in out
    assert main(["trace", str(path), "--stays-on", "output 2", "--rest-lit"]) == 1
    assert "Found: output 2 is stuck on." in capsys.readouterr().out
    assert main(["trace", str(path)]) == 0
    assert "Nothing is seen to be wrong yet." in capsys.readouterr().out
    for wrong in (["--dark", "no such lamp"], ["--dark", "beacon", "--battery", "99"]):
        assert main(["trace", str(path), *wrong]) == 2
        said = capsys.readouterr()
        assert said.out == ""
        assert "Traceback" not in said.err
    assert main(["expect", str(path), "ZZZ"]) == 2
    capsys.readouterr()
    assert main(["expect", str(path), "K7X"]) == 2
    assert "It may be K7L (L as the third character, not X)" in " ".join(capsys.readouterr().err.split())
    assert main(["expect", str(path), "K71"]) == 0
    assert "read as K7L" in capsys.readouterr().out
