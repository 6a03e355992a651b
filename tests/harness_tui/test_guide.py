"""The guide of a first start, by the keys it names, from the welcome to a printed label."""

from __future__ import annotations

from pathlib import Path

import pytest

from harness_tui.app import LoomApp
from harness_tui.preferences import remember_cautions
from harness_tui.projects import close_project, open_demo
from harness_tui.screens.guide import DEMO, STEPS
from harness_tui.screens.welcome import WelcomeScreen
from tests.harness_tui.homes import own_home
from tests.harness_tui.pressing import pressed, typed
from tests.harness_tui.screen_text import screen_text


@pytest.fixture
def work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    return own_home(tmp_path, monkeypatch)


def plain(app: LoomApp) -> str:
    return " ".join(screen_text(app).split())


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_five_steps_end_with_a_printed_label(work: Path, tmp_path: Path, size: tuple[int, int]) -> None:
    remember_cautions()
    # An earlier lighthouse, already walked, does not stand in its way.
    earlier = open_demo(DEMO)
    earlier.remember(lambda harness: harness)
    close_project(earlier)
    app = LoomApp(None)
    async with app.run_test(size=size) as pilot:
        await pressed(pilot)
        assert isinstance(app.screen, WelcomeScreen)
        assert "five steps on the lighthouse" in screen_text(app)
        await pressed(pilot, "g")

        async def at(step: int, *words: str) -> str:
            for _ in range(20):
                app._guide_on()
                await pressed(pilot)
                if f"step {step} of 5" in plain(app):
                    break
            text = plain(app)
            assert f"step {step} of 5" in text, text
            for word in words:
                assert word in text, text
            return text

        await at(1, "press 4")
        await pressed(pilot, "4")
        await at(2, "press it for each of the three lamps")
        await pressed(pilot, "enter", "enter")
        await at(2)
        await pressed(pilot, "enter")
        text = await at(3, "press /", "can't be read")
        asked = text.partition("type ")[2].split()[0]
        assert asked[1] == "?"
        await pressed(pilot, "slash")
        await at(3)
        await typed(pilot, asked, "enter")
        await at(4, "press 6")
        await pressed(pilot, "f7")
        await at(5, "Press p")
        assert not any(record.printed for record in app.session.harness.ledger)
        await pressed(pilot, "p", "enter")
        for _ in range(100):
            await pilot.pause(0.1)
            if "marked as printed" in screen_text(app):
                break
        await pressed(pilot, "enter")
        app._guide_on()
        await pressed(pilot)
        assert any(record.printed for record in app.session.harness.ledger)
        assert list((tmp_path / "data" / "demos").glob("*-labels/**/*.pdf"))
        assert "That is all: labels to print" in plain(app)
        assert app.guide is not None
        assert app.guide.at == len(STEPS)

        await pressed(pilot, "G")
        assert "That is all" not in plain(app)
        assert "guide is closed" in plain(app)
        await pressed(pilot, "G")
        app._guide_on()
        await pressed(pilot)
        assert "That is all" in plain(app)
        close_project(app.session)
