"""Whatever the theme, print can be read on its ground: WCAG 2.1, success criterion 1.4.3 (AA)."""

from __future__ import annotations

from pathlib import Path

import pytest
from rich.color import ColorSystem
from textual.color import Color
from textual.theme import BUILTIN_THEMES

from harness_tui.app import LoomApp
from harness_tui.examples import text
from harness_tui.preferences import Preferences
from harness_tui.session import Session
from harness_tui.widgets.contrast import LEAST_CONTRAST, contrast, readable
from harness_tui.widgets.wire_paint import chip_style
from model.standards.colours import COLOURS
from model.store import loads
from tests.harness_tui.homes import own_home
from tests.harness_tui.pressing import pressed

ROOMS = ("outputs", "walk", "bench", "labels", "find", "setup")
RULES = set("\u2500\u2502\u2501\u2581\u2582\u2583\u2584\u2585\u2586\u2587\u2588\u2580\u2589\u258a\u258b ")
"""Lines and blocks: drawing, no print."""


def test_the_extremes_and_a_published_pair() -> None:
    black, white = Color(0, 0, 0), Color(255, 255, 255)
    assert contrast(black, white) == pytest.approx(21)
    assert contrast(white, white) == 1
    assert contrast(Color.parse("#767676"), white) == pytest.approx(4.54, abs=0.01)


@pytest.mark.parametrize("name", [name for name, theme in BUILTIN_THEMES.items() if not theme.ansi])
def test_the_accent_of_every_theme_can_be_read(name: str) -> None:
    colours = BUILTIN_THEMES[name].to_color_system().generate()
    for print_colour in ("text-accent", "text-warning", "text-error"):
        made = readable(colours[print_colour], colours["background"])
        assert contrast(Color.parse(made), Color.parse(colours["background"])) >= LEAST_CONTRAST


@pytest.mark.parametrize("code", COLOURS)
def test_the_letters_on_every_wire(code: str) -> None:
    style = chip_style(code)
    assert style.foreground is not None
    assert style.background is not None
    assert contrast(style.foreground, style.background) >= LEAST_CONTRAST


@pytest.mark.parametrize("theme", ["textual-light", "ansi-dark"])
async def test_print_on_the_screens(theme: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    own_home(tmp_path, monkeypatch)
    monkeypatch.delenv("NO_COLOR", raising=False)
    session = Session(loads(text("gritter")))
    app = LoomApp(session, room="lamps", preferences=Preferences(theme=theme))
    faint: set[tuple[str, str, float]] = set()
    async with app.run_test(size=(80, 24)) as pilot:
        for room in ROOMS:
            app.action_go(room)
            await pressed(pilot)
            await pilot.pause(0.05)
            for strip in app.screen._compositor.render_strips(app.size):
                for segment in strip:
                    style = segment.style
                    if style is None or not set(segment.text) - RULES:
                        continue
                    front, back = style.color, style.bgcolor
                    if front is None or back is None:
                        continue
                    if not front.is_default and not style.dim:
                        # In 16 colours print never takes the colour of its ground.
                        assert front.downgrade(ColorSystem.STANDARD) != back.downgrade(
                            ColorSystem.STANDARD
                        ), (
                            room,
                            segment,
                        )
                    if front.triplet is not None and back.triplet is not None:
                        ratio = contrast(Color(*front.triplet), Color(*back.triplet))
                        if ratio < LEAST_CONTRAST:
                            faint.add((room, segment.text, round(ratio, 1)))
    assert not faint
