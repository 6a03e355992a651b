"""A tag or a word that this project does not know, asked of the person's other projects."""

from __future__ import annotations

from pathlib import Path

import attrs
import pytest

from harness_tui.app import LoomApp
from harness_tui.cli import main
from harness_tui.other_projects import elsewhere, other_projects
from harness_tui.preferences import remember_project
from harness_tui.screens.find import FindScreen
from harness_tui.session import Session
from model import editing
from model.editing import new_harness
from model.store import save
from model.tracing.find import FoundKind, find
from tests.harness_tui.pressing import pressed, typed
from tests.harness_tui.screen_text import screen_text
from tests.model.tracing.loom import gritter


@pytest.fixture
def lighter(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The file of an open project LGT without lamps; beside it two others, a damaged file and no project."""
    monkeypatch.setattr("harness_tui.preferences.state_file", lambda: tmp_path / "state" / "state.toml")
    save(gritter(), tmp_path / "gritter.toml")
    save(attrs.evolve(gritter(), code="GR2", name="Its twin"), tmp_path / "twin.toml")
    (tmp_path / "damaged.toml").write_text('code = "GRT"\ntag = "K7L"\n[[', "utf-8")
    (tmp_path / "settings.toml").write_text('theme = "none"\n', "utf-8")
    save(new_harness("Lighter", "LGT"), tmp_path / "lighter.toml")
    return tmp_path / "lighter.toml"


@pytest.mark.parametrize(
    ("asked", "codes"),
    [
        ("GRT-K7L-C", ["GRT"]),
        ("grt k7l", ["GRT"]),
        ("K7L", ["GRT", "GR2"]),
        ("K?L", ["GRT", "GR2"]),
        ("beacon", ["GRT", "GR2"]),
        ("K7L H4E", []),
        ("XYZ-K7L", []),
        ("chandelier", []),
        ("", []),
    ],
)
def test_what_others_know(lighter: Path, asked: str, codes: list[str]) -> None:
    there = elsewhere(find(new_harness("Lighter", "LGT"), asked), lighter)
    assert [one.code for one in there] == codes


def test_nothing_is_searched_where_this_project_answers(lighter: Path) -> None:
    assert find(gritter(), "K7L").kind is FoundKind.WIRE
    assert elsewhere(find(gritter(), "K7L"), lighter) == ()


def test_projects_opened_lately_come_first_and_bring_their_folder(lighter: Path, tmp_path: Path) -> None:
    away = tmp_path / "away"
    away.mkdir()
    save(gritter(), away / "old.toml")
    save(gritter(), away / "older.toml")
    remember_project(away / "old.toml")
    names = [path.name for path in other_projects(lighter)]
    assert names[0] == "old.toml"
    assert {"older.toml", "gritter.toml"} <= set(names)
    assert "lighter.toml" not in names


def test_searching_can_be_stopped(lighter: Path) -> None:
    assert elsewhere(find(new_harness("Lighter", "LGT"), "K7L"), lighter, lambda: False) == ()


async def test_its_project_is_opened_and_asked(lighter: Path) -> None:
    app = LoomApp(Session(new_harness("Lighter", "LGT"), lighter), room="find")
    async with app.run_test(size=(80, 24)) as pilot:
        await typed(pilot, "GRT-K7L-C", "enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        text = screen_text(app)
        assert "K7L is a tag of project GRT" in text
        assert "K7L, controller end: Indicator front left minus" in text
        assert "p opens project GRT" in text
        await pressed(pilot, "escape", "p")
        assert app.onward is not None
        assert app.onward.path.name == "gritter.toml"
        assert app.onward.asked == "GRT-K7L-C"

    app = LoomApp(Session(gritter()), asked="GRT-K7L-C")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.pause()
        assert isinstance(app.screen, FindScreen)
        assert "label of the controller end" in screen_text(app)


async def test_of_several_projects_one_is_chosen(lighter: Path) -> None:
    app = LoomApp(Session(new_harness("Lighter", "LGT"), lighter), room="find")
    async with app.run_test(size=(80, 24)) as pilot:
        await typed(pilot, "beacon", "enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "p opens one of these" in screen_text(app)
        await pressed(pilot, "escape", "p", "down", "enter")
        assert app.onward is not None
        assert app.onward.path.name == "twin.toml"


def test_as_a_command(lighter: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["find", str(lighter), "K7L"]) == 1
    assert f"{lighter.parent / 'gritter.toml'} (GRT): K7L: Indicator" in capsys.readouterr().out
    assert main(["find", str(lighter.parent), "K7L"]) == 0
    assert "twin.toml (GR2): K7L" in capsys.readouterr().out
    assert main(["find", str(lighter.parent), "chandelier"]) == 1
    said = capsys.readouterr()
    assert not said.out
    assert "knows 'chandelier'" in said.err


def test_control_characters_are_shown_once_escaped(capsys: pytest.CaptureFixture[str], lighter: Path) -> None:
    assert main(["find", str(lighter), "a\x1b[31mb c"]) == 1
    said = capsys.readouterr().out
    assert "'a\\x1b[31mb c'" in said
    assert "\\\\x1b" not in said


async def test_what_the_meter_says_goes_by_the_battery_as_it_is() -> None:
    harness = editing.log_event(gritter(), "K7L", "note", "x", "2026-03-03")
    app = LoomApp(Session(harness), room="find")
    async with app.run_test(size=(80, 24)) as pilot:
        await typed(pilot, "K7L", "enter", "escape")
        assert "lamp end to minus" in screen_text(app)
        await pressed(pilot, "m", "v")
        await typed(pilot, "6.3", "enter")
        assert "battery at 6.3 V" in screen_text(app)
        await pressed(pilot, "t", "d", "v")
        assert "6.3" in screen_text(app)
