"""The person's settings file, and what the program remembers."""

from __future__ import annotations

from pathlib import Path

import pytest

from harness_tui import preferences
from harness_tui.preferences import (
    MOST_RECENT,
    read_preferences,
    read_state,
    remember_cautions,
    remember_project,
)


class TestSettings:
    def test_no_file_is_no_fault(self, tmp_path: Path) -> None:
        found = read_preferences(tmp_path / "settings.toml")
        assert (found.theme, dict(found.keys), found.faults) == (preferences.USUAL_THEME, {}, ())

    def test_what_is_right_is_taken(self, tmp_path: Path) -> None:
        file = tmp_path / "settings.toml"
        file.write_text('theme = "ansi-light"\n[keys]\n"walk.skip" = "k"\n')
        found = read_preferences(file)
        assert (found.theme, dict(found.keys), found.faults) == ("ansi-light", {"walk.skip": "k"}, ())

    def test_every_fault_is_said_and_the_rest_is_taken(self, tmp_path: Path) -> None:
        file = tmp_path / "settings.toml"
        file.write_text('theme = "mud"\ncolour = 3\n[keys]\n"walk.skip" = 7\n"walk.way" = "v"\n')
        found = read_preferences(file)
        words = " ".join(fault.message() for fault in found.faults)
        assert found.theme == preferences.USUAL_THEME
        assert dict(found.keys) == {"walk.way": "v"}
        assert len(found.faults) == 3
        for part in ("theme: 'mud' is not known", "walk.skip: is no text", "colour: is not known"):
            assert part in words

    @pytest.mark.parametrize(
        ("content", "message"),
        [
            (b"theme = ", "can't be read"),
            (b"\xff\xfe", "is not UTF-8"),
            (b"a\x00b", "zero bytes"),
            (b"a = " + b"[" * 5000, "can't be read"),
            (b"keys = 3", "is no table"),
            (b"theme = 3", "is not known"),
            (b"theme = []", "is not known"),
        ],
    )
    def test_a_damaged_file_is_said_and_harms_nothing(
        self, tmp_path: Path, content: bytes, message: str
    ) -> None:
        file = tmp_path / "settings.toml"
        file.write_bytes(content)
        found = read_preferences(file)
        assert message in " ".join(fault.message() for fault in found.faults)
        assert (found.theme, dict(found.keys)) == (preferences.USUAL_THEME, {})
        assert file.read_bytes() == content

    def test_a_folder_in_its_place(self, tmp_path: Path) -> None:
        assert "is a folder" in read_preferences(tmp_path).faults[0].message()


class TestState:
    def test_the_last_opened_comes_first_and_once(self, tmp_path: Path) -> None:
        file = tmp_path / "deep" / "state.toml"
        for name in ("a.toml", "b.toml", "a.toml"):
            remember_project(tmp_path / name, file)
        assert [Path(one).name for one in read_state(file).recent] == ["a.toml", "b.toml"]

    def test_only_so_many_are_remembered(self, tmp_path: Path) -> None:
        file = tmp_path / "state.toml"
        for number in range(MOST_RECENT + 3):
            remember_project(tmp_path / f"{number}.toml", file)
        recent = read_state(file).recent
        assert len(recent) == MOST_RECENT
        assert Path(recent[0]).name == f"{MOST_RECENT + 2}.toml"

    def test_cautions_and_projects_do_not_push_each_other_out(self, tmp_path: Path) -> None:
        file = tmp_path / "state.toml"
        assert not read_state(file).cautions_seen
        remember_project(tmp_path / "a.toml", file)
        remember_cautions(file)
        remember_project(tmp_path / "b.toml", file)
        state = read_state(file)
        assert state.cautions_seen
        assert len(state.recent) == 2

    @pytest.mark.parametrize(
        "text", ["recent = 3", "recent = [1, 2]", "cautions_seen = 1", "x", "\x00", 'recent = ["a"']
    )
    def test_a_damaged_memory_is_an_empty_one(self, tmp_path: Path, text: str) -> None:
        file = tmp_path / "state.toml"
        file.write_text(text)
        assert read_state(file) == preferences.State()

    def test_a_home_that_cannot_be_written_stops_nothing(self, tmp_path: Path) -> None:
        blocked = tmp_path / "file"
        blocked.write_text("")
        remember_project(tmp_path / "a.toml", blocked / "state.toml")
        remember_cautions(blocked / "state.toml")
        assert read_state(blocked / "state.toml") == preferences.State()
