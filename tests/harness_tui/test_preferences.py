"""The person's settings file, and what the program remembers."""

from __future__ import annotations

from pathlib import Path

import pytest

from harness_tui import preferences
from harness_tui.app import LoomApp
from harness_tui.examples import text
from harness_tui.preferences import (
    MOST_RECENT,
    read_preferences,
    read_state,
    remember_cautions,
    remember_project,
)
from harness_tui.session import Session
from model.errors import Faults
from model.store import loads
from tests.harness_tui.homes import own_home
from tests.mutations import batter, rounds


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


@pytest.mark.parametrize("theme", ["ansi-dark", "ansi-light", "textual-light"])
async def test_no_colour_is_never_print_of_the_colour_of_its_ground(
    theme: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    own_home(tmp_path, monkeypatch)
    app = LoomApp(Session(loads(text("lighthouse"))), preferences=preferences.Preferences(theme=theme))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        words = [
            segment
            for strip in app.screen._compositor.render_strips(app.size)
            for segment in strip
            if segment.text.strip() and segment.style is not None
        ]
        assert any("Porch light" in segment.text for segment in words)
        for segment in words:
            print_colour, ground = segment.style.color, segment.style.bgcolor
            default = print_colour is None or print_colour.is_default
            assert default or print_colour != ground, segment
            if print_colour is not None and print_colour.triplet is not None:
                assert len(set(print_colour.triplet)) == 1, segment  # grey at most


@pytest.mark.skipif("sys.platform == 'win32'", reason="no resource module")
def test_damaged_settings_are_said_and_never_in_the_way(tmp_path: Path) -> None:
    good = [
        b'theme = "ansi-light"\npaper = "Letter"\nunits = "inch"\nlabel_text_mm = 2.5\nsound = false\n\n'
        b'[keys]\n"walk.skip" = "k"\n"go.find" = "7,f8"\n',
        b'cautions_seen = true\nrecent = ["/a.toml", "/b.toml"]\n\n[choices]\nstock = "flag-12"\n\n'
        b"[printers.desk]\nx = 1.01\ny = 0.99\n",
    ]
    file = tmp_path / "settings.toml"

    def read(data: bytes) -> preferences.Preferences:
        file.write_bytes(data)
        read_state(file)
        found = read_preferences(file)
        if found.faults:
            raise Faults("settings", found.faults)
        return found

    def check(found: preferences.Preferences) -> None:
        assert found.units in ("mm", "inch")
        assert 1.4 <= found.label_text_mm <= 6
        assert found.paper in preferences.PAPER_SIZES

    figures = batter(good, read, check, rounds(500), seed=4)
    assert figures["read"] > 0
    assert figures["refused"] > 0.5 * figures["count"]
