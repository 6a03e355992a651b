"""Find: a half-read label in tweezers, one hand free."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.pilot import Pilot
from textual.widgets import Input

from harness_tui.app import LoomApp
from harness_tui.examples import text as example
from harness_tui.other_projects import Elsewhere
from harness_tui.screens.find import FindLine, FindScreen
from harness_tui.screens.printing import PrintScreen
from harness_tui.screens.trace import TraceScreen
from harness_tui.session import Session
from harness_tui.widgets.big import big
from model import editing
from model.checks import check
from model.editing import new_harness
from model.harness import Harness
from model.routing.allot import settle
from model.store import loads
from model.tags import Event
from tests.harness_tui.screen_text import screen_text
from tests.model.tracing.loom import gritter, moved


def find(harness: Harness, path: Path | None = None) -> LoomApp:
    return LoomApp(Session(harness, path), room="find")


def flat(app: LoomApp) -> str:
    """The screen without its line breaks."""
    return " ".join(screen_text(app).split())


async def scanned(pilot: Pilot[object], text: str) -> None:
    """What a scanner sends: the signs of a code as keys, then Enter."""
    names = {" ": "space", "?": "question_mark", "-": "minus", "/": "slash"}
    await pilot.press(*(names.get(sign, sign) for sign in text), "enter")
    await pilot.pause()


async def test_a_scanned_label_gives_the_whole_way_on_one_screen() -> None:
    app = find(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert isinstance(app.focused, FindLine)
        assert "9 wires are tagged" in screen_text(app)
        await scanned(pilot, "GRT-K7L-C")
        text = screen_text(app)
        assert all(row.rstrip() in text for row in big("K7L"))
        for said in (
            "label of the controller end",
            "Indicator front left minus to joint J1 at cab floor",
            "BK  black 28 AWG   170 mm",
            "output 5, pin A5 (indicators left)",
            "9C9 BK",
            "J1 at cab floor",
            "beside it  H4E",
            "front bumper, cab floor",
            "not begun \u00b7 no label printed",
        ):
            assert said in text, said


async def test_label_after_label_without_touching_another_key() -> None:
    app = find(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        for tag, words in (
            ("K7L", "Indicator front left"),
            ("H4E", "Indicator side left"),
            ("N6H", "plug P1"),
        ):
            await scanned(pilot, f"GRT-{tag}-L")
            assert f"GRT-{tag}-L" in screen_text(app)
            assert words in screen_text(app)
        # With the cursor in the answer a code is still a code, not so many keys.
        await pilot.press("escape")
        assert not isinstance(app.focused, FindLine)
        await scanned(pilot, "GRT-82A-C")
        assert isinstance(app.screen, FindScreen)
        assert "Beacon minus to plug P1" in screen_text(app)


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ("K?L", "read as K7L"),
        ("k 7 l", "Indicator front left minus"),
        ("B2A", "8"),
        ("GRX-K7L-L", "tag of project GRX"),
        ("K7L H4E", "all of output 5"),
        ("=1+1", "nothing is called"),
        ("[/]", "nothing is called"),
        ("x" * 300, "300 characters are too many"),
    ],
)
async def test_what_is_hard_to_read(asked: str, said: str) -> None:
    app = find(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        line = app.screen.query_one(FindLine)
        line.value = asked
        await pilot.press("enter")
        await pilot.pause()
        assert said in flat(app)


async def test_words_give_a_list_and_enter_opens_its_lines() -> None:
    app = find(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        await scanned(pilot, "indicator")
        text = screen_text(app)
        assert "Indicator front left, Indicator side left" in text
        assert all(tag in text for tag in ("K7L", "H4E", "9C9"))
        assert "82A" not in text
        await pilot.press("down", "ctrl+end", "enter")
        await pilot.pause()
        screen = app.screen
        assert isinstance(screen, FindScreen)
        opened = screen.asked
        assert app.session.harness.ledger.get(opened)
        assert all(row.rstrip() in screen_text(app) for row in big(opened))
        await pilot.press("escape")
        await pilot.pause()
        assert screen.asked == "indicator", "Escape goes back to the list"
        assert all(tag in screen_text(app) for tag in ("K7L", "H4E", "9C9"))


@pytest.mark.parametrize("asked", ["output 2", "A2", "P1", "roof", "beacon"])
async def test_other_ways_to_the_same_wire(asked: str) -> None:
    app = find(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        await scanned(pilot, asked)
        assert "N6H" in screen_text(app) or "82A" in screen_text(app)


async def test_candidates_tell_why() -> None:
    app = find(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        await scanned(pilot, "K7X")
        text = screen_text(app)
        assert "K7X is no tag of GRT" in text
        assert "K7L" in text
        await pilot.press("down")
        await pilot.pause()
        assert "L as the third character, not X" in flat(app)
        await pilot.press("enter")
        await pilot.pause()
        assert "Indicator front left minus" in screen_text(app)


async def test_a_retired_tag_says_what_it_was_and_what_to_do() -> None:
    app = find(moved())
    async with app.run_test(size=(80, 24)) as pilot:
        await scanned(pilot, "N6H")
        record = app.session.harness.ledger.get("N6H")
        (heir,) = record.replaced_by
        text = screen_text(app)
        assert "this tag is out of use" in text
        assert "was plug P1 contact 2 to output 2, pin A2" in text
        assert f"Enter shows {heir}" in text
        assert "take its labels off" in text
        assert any(finding.ref == "N6H" for finding in check(app.session.harness))
        await pilot.press("escape", "x")
        await pilot.pause()
        assert "no label of N6H is on a wire any more" in flat(app)
        assert not any(finding.ref == "N6H" for finding in check(app.session.harness))
        await pilot.press("enter")
        await pilot.pause()
        assert "output 3, pin A3" in screen_text(app)
        await pilot.press("escape")
        await pilot.pause()
        assert "this tag is out of use" in screen_text(app)


async def test_reprint_takes_two_keys_from_the_line(tmp_path: Path) -> None:
    app = find(gritter(), tmp_path / "gritter.toml")
    app.session.apply(lambda h: editing.rename(h, name="Salt"), "name")
    record = app.session.harness.ledger.get("K7L")
    before = record.printed_lamp, record.printed_controller
    async with app.run_test(size=(80, 24)) as pilot:
        await scanned(pilot, "K7L")
        await pilot.press("escape", "r")
        await pilot.pause()
        assert isinstance(app.screen, PrintScreen)
        assert [label.key for label in app.screen.labels] == ["K7L-L", "K7L-C"]
        await pilot.press("enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "2 labels marked as printed" in screen_text(app)
        await pilot.press("enter")
        await pilot.pause()
        record = app.session.harness.ledger.get("K7L")
        assert record.printed_lamp
        assert record.printed_controller
        assert isinstance(app.screen, FindScreen)
        assert "labels printed" in screen_text(app)
        assert not isinstance(app.focused, FindLine), "the cursor is where it was"
        assert len(list(tmp_path.rglob("GRT-K7L-*.png"))) == 2
        assert "u takes the mark off again" in screen_text(app)
        # As in Labels u takes the marks back, and no edit of the plan before them; then edits again.
        await pilot.press("u")
        await pilot.pause()
        record = app.session.harness.ledger.get("K7L")
        assert (record.printed_lamp, record.printed_controller) == before
        assert app.session.harness.name == "Salt"
        await pilot.press("u")
        await pilot.pause()
        assert app.session.harness.name == "Gritter"


async def test_a_wire_that_is_joined_gets_flags_as_no_sleeve_can_go_on_any_more() -> None:
    app = find(editing.do_step(gritter(), "K7L", "join", "2026-03-03"))
    async with app.run_test(size=(80, 24)) as pilot:
        await scanned(pilot, "K7L")
        await pilot.press("escape", "r")
        await pilot.pause()
        assert isinstance(app.screen, PrintScreen)
        assert {label.layout.stock.kind for label in app.screen.labels} == {"flag"}


async def test_what_happened_is_written_down_and_read_again() -> None:
    app = find(editing.do_step(gritter(), "K7L", "cut", "2026-03-03"))
    async with app.run_test(size=(80, 24)) as pilot:
        await scanned(pilot, "K7L")
        assert "2026-03-03 cut" in flat(app)
        await pilot.press("escape", "l", *"broken", "space", *"[/]")
        line = app.focused
        assert isinstance(line, Input)
        line.value += "x" * 200
        await pilot.press("enter")
        await pilot.pause()
        assert "at most 200 fit" in flat(app)
        line.value = line.value.rstrip("x")  # it stayed to be mended
        await pilot.press("enter")
        await pilot.pause()
        last = app.session.harness.ledger.get("K7L").events[-1]
        assert isinstance(last, Event)
        assert (last.what, last.note) == ("note", "broken [/]")
        assert "note broken [/]" in flat(app)
        for number in range(6):
            app.session.apply(
                lambda h, n=number: editing.log_event(h, "K7L", "note", f"no. {n}", "2026-03-04"), "note"
            )  # type: ignore[misc]
        await pilot.press("h")
        await pilot.pause()
        assert "2026-03-03 cut" in flat(app)
        assert "no. 5" in flat(app)
        await pilot.press("escape")
        await pilot.pause()
        assert "and 4 before" in flat(app)


async def test_from_an_answer_to_its_lamp_and_to_the_bench() -> None:
    app = find(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        await scanned(pilot, "82A")
        await pilot.press("escape", "b")
        await pilot.pause()
        assert "Beacon minus to plug P1" in screen_text(app)
        assert "steps" in screen_text(app)
        await pilot.press("slash")
        await pilot.pause()
        assert isinstance(app.focused, FindLine)
        await pilot.press("escape", "e")
        await pilot.pause()
        assert "Lamps" in screen_text(app).splitlines()[0]
        await pilot.press("7")
        await pilot.pause()
        assert isinstance(app.focused, FindLine), "the line is ready at once"
        await scanned(pilot, "K7L")
        assert "Indicator front left minus" in screen_text(app)


async def test_what_hangs_together_is_listed() -> None:
    app = find(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        await scanned(pilot, "K7L")
        await pilot.press("escape", "o")
        await pilot.pause()
        text = flat(app)
        assert "all of output 5" in text
        assert all(tag in text for tag in ("9C9", "K7L", "H4E"))


async def test_a_wire_that_changes_is_shown_as_it_is_now() -> None:
    app = find(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        await scanned(pilot, "K7L")
        app.session.apply(lambda harness: editing.edit_lamp(harness, "L1", name="Blinker"), "rename")
        await pilot.press("escape", "exclamation_mark", "escape")
        await pilot.pause()
        assert "Blinker minus to joint J1" in screen_text(app)


async def test_nothing_to_find_yet() -> None:
    app = find(new_harness("Empty", "NIL"))
    async with app.run_test(size=(80, 24)) as pilot:
        assert "No tags yet" in screen_text(app)
        await scanned(pilot, "K7L")
        assert "K7L is no tag of NIL" in flat(app)
        await pilot.press("escape", "r", "e", "b", "h", "l", "o", "x", "a", "enter")
        await pilot.pause()
        assert isinstance(app.screen, FindScreen)


@pytest.mark.parametrize(
    ("size", "name"),
    [((20, 5), "[/]"), ((40, 10), "[link=x]y[/]"), ((200, 60), "\U0001f6a8" * 20), ((80, 24), "x" * 60)],
)
async def test_any_name_in_any_window(size: tuple[int, int], name: str) -> None:
    app = find(settle(editing.edit_lamp(gritter(), "L1", name=name)))
    async with app.run_test(size=size) as pilot:
        await scanned(pilot, "K7L")
        await pilot.press("escape", "h", "escape", "o", "down", "enter")
        await pilot.resize_terminal(80, 24)
        await scanned(pilot, "GRT-K7L-L")
        assert name[:6] in screen_text(app)


async def test_what_a_wire_was_called_before() -> None:
    harness = moved()
    old = harness.ledger.get("N6H")
    app = find(harness)
    async with app.run_test(size=(80, 24)) as pilot:
        await scanned(pilot, old.replaced_by[0])
        assert "was        N6H, " in screen_text(app)
        await pilot.press("escape", "h")
        await pilot.pause()
        assert "re-tagged  it was N6H" in screen_text(app)


async def test_the_keys_of_an_answer_work_at_once_and_slash_goes_back_to_the_line() -> None:
    app = find(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("slash", *"K7L", "enter")
        await pilot.pause()
        assert not isinstance(app.focused, FindLine)
        await pilot.press("m")
        await pilot.pause()
        assert "ohm to the pin" in screen_text(app)
        assert "floats" in screen_text(app)
        await pilot.press("slash")
        await pilot.pause()
        assert isinstance(app.focused, FindLine)
        await pilot.press(*"indicator", "enter")
        await pilot.pause()
        assert isinstance(app.focused, FindLine), "of a list nothing is chosen yet"


async def test_lamps_that_are_dark_lead_to_trace_from_the_empty_line_and_from_a_joint() -> None:
    app = find(gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        assert "ctrl+t opens Trace" in flat(app)
        await pilot.press("ctrl+t")
        await pilot.pause()
        assert isinstance(app.screen, TraceScreen)
        await pilot.press("escape", "slash", *"J1", "enter", "down", "t")
        await pilot.pause()
        assert isinstance(app.screen, TraceScreen)
        assert "the 2 lamps behind J1" in flat(app)


async def test_the_history_is_shown_in_full() -> None:
    note = "the strand broke where the sleeve ends, cut back by 4 mm, tinned and soldered into J1 once more"
    app = find(editing.log_event(gritter(), "K7L", "note", note, "2026-03-03"))
    async with app.run_test(size=(80, 24)) as pilot:
        await scanned(pilot, "K7L")
        assert note not in flat(app)
        await pilot.press("h")
        await pilot.pause()
        assert note in flat(app)


@pytest.mark.parametrize(
    ("asked", "known"), [("7??", "It may also be of LTH"), ("K7X", "As it stands it is of LTH")]
)
async def test_an_illegible_tag_is_not_said_to_be_anothers(asked: str, known: str) -> None:
    app = find(settle(loads(example("gritter"), "gritter.toml")) if asked == "7??" else gritter())
    async with app.run_test(size=(80, 24)) as pilot:
        await scanned(pilot, asked)
        screen = app.screen
        assert isinstance(screen, FindScreen)
        there = Elsewhere(path=Path("other.toml"), code="LTH", name="Light", words="a wire")
        screen._found_elsewhere(asked, (there,))
        await pilot.pause()
        assert f"{known}: p opens that" in flat(app)
