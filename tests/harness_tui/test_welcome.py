"""The welcome and the guided start, from the first start of all to the first lamp."""

from __future__ import annotations

from pathlib import Path

import pytest
from textual.widgets import Input

from harness_tui.app import LoomApp
from harness_tui.preferences import read_state, remember_cautions
from harness_tui.projects import close_project, new_project
from harness_tui.screens.cautions import CautionsScreen
from harness_tui.screens.lamps import LampsScreen
from harness_tui.screens.start import StartScreen
from harness_tui.screens.welcome import WelcomeScreen
from model.cautions import CAUTIONS
from model.editing import add_lamp, new_harness
from model.harness import Switched
from model.store.project import load
from tests.harness_tui.homes import own_home
from tests.harness_tui.pressing import pressed, typed
from tests.harness_tui.screen_text import screen_text


@pytest.fixture
def work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    return own_home(tmp_path, monkeypatch)


async def test_the_first_start_of_all_from_cautions_to_the_first_lamp(work: Path) -> None:
    app = LoomApp(None)
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot)
        assert isinstance(app.screen, CautionsScreen)
        text = " ".join(screen_text(app).replace("\u2502", " ").split())
        for caution in CAUTIONS:
            assert caution.about in text
            assert caution.words in text
        await pressed(pilot, "enter")
        assert read_state().cautions_seen
        assert isinstance(app.screen, WelcomeScreen)
        assert "new project" in screen_text(app)

        # The cursor is on a new project; every answer is filled in.
        await pressed(pilot, "enter")
        assert isinstance(app.screen, StartScreen)
        await typed(pilot, "Winter [/] gritter", "enter")
        assert "WNT" in screen_text(app)
        await pressed(pilot, "enter", "enter", "enter", "enter", "enter")
        assert "winter-gritter.toml" in screen_text(app)
        await pressed(pilot, "enter")
        assert isinstance(app.screen, LampsScreen)
        assert "Press a" in screen_text(app)
        harness = load(work / "winter-gritter.toml")
        assert (harness.name, harness.code, harness.supply.cells) == ("Winter [/] gritter", "WNT", 6)
        assert sum(1 for _ in harness.controller.outputs()) == 6

        await pressed(pilot, "a")
        await typed(pilot, "Headlamp left", "enter", "escape")
        assert [lamp.name for lamp in load(work / "winter-gritter.toml").lamps] == ["Headlamp left"]
        close_project(app.session)


async def test_answers_are_changed_refused_and_gone_back_to(work: Path) -> None:
    remember_cautions()
    (work / "tug.toml").write_text("my diary")
    app = LoomApp(None)
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "n")
        for wrong, message in (
            ("", "is empty"),
            ("x" * 61, "61 characters"),
            ("a\x07b", "control character"),
        ):
            await typed(pilot, wrong, "enter")
            assert message in screen_text(app)
        await typed(pilot, "Tug", "enter")
        await typed(pilot, "too long", "enter")
        assert "2 or 3 of A to Z" in screen_text(app)
        await typed(pilot, "tg", "enter")
        await typed(pilot, "steam", "enter")
        assert "is not known" in screen_text(app)
        await typed(pilot, "2s lipo", "enter")
        await typed(pilot, "lots", "enter")
        assert "is not a number" in screen_text(app)
        await typed(pilot, "6+4", "enter")

        # Escape goes back question by question, with what was answered still there.
        assert "question 5 of 7" in screen_text(app)
        await pressed(pilot, "escape", "escape")
        assert "question 3 of 7" in screen_text(app)
        assert "LiPo 2 cells" in screen_text(app)
        assert "6.0 / 7.4 / 8.4 V flat, nominal, full" in screen_text(app)
        await pressed(pilot, "enter", "enter")
        assert "6+4" in screen_text(app)

        await pressed(pilot, "space")  # the next choice
        assert "positive switched, common negative" in screen_text(app)
        await pressed(pilot, "enter", "space", "enter")
        assert "tug-2.toml" in screen_text(app)  # the diary stays
        await typed(pilot, "tug.toml", "enter")
        assert "exists already" in screen_text(app)
        await typed(pilot, "nowhere/tug.toml", "enter")
        assert "does not exist" in screen_text(app)
        await typed(pilot, "boat", "enter")
        assert isinstance(app.screen, LampsScreen)
        harness = load(work / "boat.toml")
        assert (harness.code, harness.supply.chemistry, harness.supply.cells) == ("TG", "LiPo", 2)
        assert [len(block.outputs) for block in harness.controller.blocks] == [6, 4]
        assert harness.controller.switched is Switched.POSITIVE
        assert harness.settings.colour_per_output
        assert (work / "tug.toml").read_text() == "my diary"
        close_project(app.session)


async def test_the_file_is_not_asked_for_where_it_is_known(work: Path) -> None:
    remember_cautions()
    app = LoomApp(None, new=work / "barge.toml")
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot)
        assert isinstance(app.screen, StartScreen)
        await pressed(pilot, *["enter"] * 6)
        assert isinstance(app.screen, LampsScreen)
        assert (work / "barge.toml").exists()
        close_project(app.session)


async def test_going_back_from_the_first_question_makes_nothing(work: Path) -> None:
    remember_cautions()
    app = LoomApp(None)
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "n")
        await typed(pilot, "Tug", "escape")
        assert isinstance(app.screen, WelcomeScreen)
        assert list(work.iterdir()) == []
        for key in ("1", "5", "f6", "u", "U", "slash", "exclamation_mark", "escape"):
            await pressed(pilot, key)  # there is no project: nothing happens
            assert isinstance(app.screen, WelcomeScreen)
        await pressed(pilot, "question_mark")
        assert "answer filled in" in screen_text(app)
        await pressed(pilot, "escape")
        assert isinstance(app.screen, WelcomeScreen)


async def test_enter_goes_on_with_the_last_project(work: Path) -> None:
    remember_cautions()
    for name in ("Barge", "Tug"):
        session = new_project(
            work / f"{name.lower()}.toml", add_lamp(new_harness(name, "X1"), f"{name} lamp")
        )
        close_project(session)
    app = LoomApp(None)
    async with app.run_test(size=(80, 24)) as pilot:
        text = screen_text(app)
        assert text.index("tug") < text.index("barge") < text.index("new project")
        await pressed(pilot, "enter")
        assert app.session.harness.name == "Tug"
        assert app.session.path is not None
        close_project(app.session)


async def test_a_file_that_cannot_be_opened_is_said_and_its_name_stays(work: Path) -> None:
    remember_cautions()
    (work / "bad.toml").write_text("schema = 1\n[project]\nname = 3\n")
    app = LoomApp(None)
    async with app.run_test(size=(80, 24)) as pilot:
        for name, message in (
            ("missing.toml", "does not exist"),
            (".", "is a folder"),
            ("bad.toml", "fault"),
            ("x\x00y", "can't be opened"),
        ):
            await pressed(pilot, "o")
            await typed(pilot, name, "enter")
            assert message in screen_text(app)
            assert isinstance(app.focused, Input)
            assert app.focused.value == name
            await pressed(pilot, "escape")
            assert isinstance(app.screen, WelcomeScreen)
        await pressed(pilot, "o", "enter")  # nothing typed
        assert isinstance(app.screen, WelcomeScreen)


async def test_a_demo_opens_as_a_copy_of_the_persons_own(work: Path, tmp_path: Path) -> None:
    remember_cautions()
    app = LoomApp(None)
    async with app.run_test(size=(80, 24)) as pilot:
        options = app.screen.query_one("OptionList")
        options.highlighted = next(  # type: ignore[attr-defined]
            place
            for place in range(options.option_count)  # type: ignore[attr-defined]
            if options.get_option_at_index(place).id == "demo-lighthouse"  # type: ignore[attr-defined]
        )
        await pressed(pilot, "enter")
        assert len(app.session.harness.lamps) == 3
        assert app.session.path == tmp_path / "data" / "demos" / "lighthouse.toml"
        close_project(app.session)


async def test_cautions_that_were_only_closed_come_again(work: Path) -> None:
    for _ in range(2):
        app = LoomApp(None)
        async with app.run_test(size=(80, 24)) as pilot:
            await pressed(pilot)
            assert isinstance(app.screen, CautionsScreen)
            await pressed(pilot, "escape")
            assert isinstance(app.screen, WelcomeScreen)
    remember_cautions()
    app = LoomApp(None)
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot)
        assert isinstance(app.screen, WelcomeScreen)
        await pressed(pilot, "c")
        assert isinstance(app.screen, CautionsScreen)
