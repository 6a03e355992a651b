"""The electrics on the screens and as a command: every figure shown is the one the core works out."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from textual.pilot import Pilot

from harness_tui.app import LoomApp
from harness_tui.cli import main
from harness_tui.screens.setup_groups import GROUPS
from harness_tui.session import Session
from harness_tui.widgets.electrics import brief_lines, lamp_lines
from model import editing
from model.electrics.lamps import lamp_current
from model.harness import Build, Delivers, Harness
from tests.harness_tui.screen_text import screen_text
from tests.strategies import walk

GRITTER = Path(__file__).parents[2] / "harness_tui" / "examples" / "gritter.toml"


def model_of(**lamp: object) -> Harness:
    harness = editing.new_harness("Gritter", "GRT")  # NiMH, 6 cells: 6.0 / 7.2 / 8.7 V
    return walk(editing.add_lamp(harness, "Beacon", colour="amber", output=1, at="W1", **lamp))


def texts(harness: Harness, width: int = 78) -> list[str]:
    lamp = harness.lamps[0]
    return [line.plain for line in lamp_lines(lamp, lamp_current(harness, lamp), width)]


def test_a_bare_led() -> None:
    assert texts(model_of()) == [
        "resistor 560R green blue brown gold, 9.1 mA",
        "flat 7.0 mA   nominal 9.1 mA   full 11.8 mA   flat 76 % as bright",
        "worst 12.8 of 25 mA (8.7 V, LED 1.9 V, -5 %)   87 mW: 1/8 W, 1.8 x 3.5 mm",
    ]


@pytest.mark.parametrize(
    ("rated_v", "first", "second"),
    [
        (6.0, "over-driven: made for 6 V: 169 % of its current on a full battery",
         "flat 20.0 mA 100 %   nominal 26.2 mA 131 %   full 33.8 mA 169 %"),
        (9.0, "made for 9 V: 74 % of its current, 14.8 mA",
         "flat 11.3 mA 57 %   nominal 14.8 mA 74 %   full 19.1 mA 96 %"),
        (12.0, "too dim: made for 12 V: 52 % of its current at 7.2 V",
         "flat 7.9 mA 39 %   nominal 10.3 mA 52 %   full 13.3 mA 67 %"),
    ],
)  # fmt: skip
def test_ready_wired_on_six_cells(rated_v: float, first: str, second: str) -> None:
    lines = texts(model_of(build=Build.WIRED, rated_v=rated_v))
    assert lines[0] == first
    assert lines[1] == second
    assert lines[2] == f"{(rated_v - 2.1) / 0.020:.0f} ohm inside, by 20 mA (assumed) at {rated_v:g} V"


def test_what_is_measured_and_what_is_put_in_front() -> None:
    harness = model_of(build=Build.WIRED, rated_v=6.0, rated_ma=13.0, resistor_ohm=150.0)
    assert texts(harness)[2] == "300 ohm inside and 150 in front, by 13 mA (as typed) at 6 V"


def test_no_resistor_is_called_for_where_the_output_limits_the_current() -> None:
    harness = editing.edit_output(model_of(), 1, delivers=Delivers.CURRENT, delivers_ma=15.0)
    lines = texts(harness)
    assert lines[0] == "no resistor: output 1 gives it 15.0 mA"
    assert len(lines) == 2


@pytest.mark.parametrize("width", [20, 40, 76, 200])
def test_brief_lines_keep_the_width(width: int) -> None:
    for harness in (model_of(), model_of(build=Build.WIRED, rated_v=6.0), model_of(resistor_ohm=100.0)):
        lamp = harness.lamps[0]
        lines = brief_lines(lamp, lamp_current(harness, lamp), width)
        assert all(line.cell_length <= width for line in lines)
        assert len(lines) <= 2
        if width >= 76:
            assert "flat" in lines[-1].plain
            assert "full" in lines[-1].plain


async def field(pilot: Pilot[object], key: str, text: str, *keys: str) -> None:
    """Type into the field of that key."""
    editor = next(one for one in pilot.app.screen.query("FieldInput") if one.field.key == key)  # type: ignore[attr-defined]
    editor.focus()
    await pilot.pause()
    editor.value = text  # type: ignore[attr-defined]
    await pilot.press(*(keys or ("enter",)))
    await pilot.pause()


async def test_the_leds_own_figures() -> None:
    app = LoomApp(Session(model_of()))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("1", "e")
        await pilot.pause()
        await field(pilot, "vf", "2.0 / 2.2 / 2.6", "down", "up")
        shown = " ".join(screen_text(app).split())
        assert "empty takes 1.9 / 2.1 / 2.3 V (usual range of data sheets)" in shown
        lamp = app.session.harness.lamps[0]
        assert (lamp.vf_low_v, lamp.vf_v, lamp.vf_high_v) == (2.0, 2.2, 2.6)
        await field(pilot, "vf", "2.6 2.0")
        assert "do not rise" in " ".join(screen_text(app).split())
        await field(pilot, "vf", "")
        await field(pilot, "resistor_ohm", "4K7")
        await field(pilot, "max_ma", "12")
        assert "25 mA (common practice, no source)" not in screen_text(app)
        lamp = app.session.harness.lamps[0]
        assert (lamp.vf_low_v, lamp.vf_v, lamp.resistor_ohm, lamp.max_ma) == (None, None, 4700, 12)
        await field(pilot, "build", "ready-wired")
        await field(pilot, "rated_v", "9")
        await field(pilot, "resistor_ohm", "150")
        await pilot.press("escape")
        await pilot.pause()
        assert "345 ohm inside and 150 in front, by 20 mA (assumed) at 9 V" in screen_text(app)
        # Nothing has gone off the screen: the last field and the foot line are still there.
        assert "place note" in screen_text(app)
        assert "help" in screen_text(app)


@pytest.mark.parametrize("size", [(80, 24), (120, 40)])
async def test_the_walk_shows_resistor_and_currents(size: tuple[int, int]) -> None:
    app = LoomApp(Session(model_of()))
    async with app.run_test(size=size) as pilot:
        await pilot.press("4")
        await pilot.pause()
        shown = " ".join(screen_text(app).split())
        assert "560R green blue brown gold" in shown
        assert ("flat 7.0 nominal 9.1 full 11.8 mA" in shown) == (size == (80, 24))
        assert ("worst 12.8 of 25 mA" in shown) == (size == (120, 40))


def down_to(key: str) -> list[str]:
    """The keys from the first group of Setup to this one."""
    return ["down"] * [group.key for group in GROUPS].index(key)


async def test_a_drawer_is_tried_before_it_is_accepted() -> None:
    app = LoomApp(Session(editing.edit_output(model_of(), 1, limit_ma=12.0)))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("0", *down_to("resistors"), "enter")
        await pilot.pause()
        await field(pilot, "drawer_ohm", "470R 510, 4k7")
        assert app.session.harness.settings.drawer_ohm == ()
        assert "1 of 1 lamp changes: 1 other resistor" in " ".join(screen_text(app).split())
        await pilot.press("escape")
        await pilot.pause()
        shown = " ".join(screen_text(app).split())
        assert "560R to 510R, 9.1 to 10.0 mA, right" in shown
        assert "all on, full volts: 12 to 13 mA; over its limit: output 1 13 mA" in shown
        await pilot.press("k")
        await pilot.pause()
        assert app.session.harness.settings.drawer_ohm == ()
        await pilot.press("enter")
        await pilot.pause()
        await field(pilot, "drawer_ohm", "470R 510, 4k7")
        await field(pilot, "resistor_body", "chip")
        await field(pilot, "inside_c", "60")  # the last field: Enter leaves the form and asks
        await pilot.press("enter")
        await pilot.pause()
        settings = app.session.harness.settings
        assert settings.drawer_ohm == (470, 510, 4700)
        assert (settings.resistor_body, settings.inside_c) == ("chip", 60)
        assert "from the drawer: 470R 510R 4K7" in screen_text(app)


async def test_contacts_are_settings() -> None:
    app = LoomApp(Session(model_of()))
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("0", *down_to("contacts"), "enter")
        await pilot.pause()
        await field(pilot, "contact_milliohm", "35")
        await field(pilot, "visible_difference_pct", "0")
        assert "out of range" in screen_text(app)
        await field(pilot, "visible_difference_pct", "12")
        settings = app.session.harness.settings
        assert (settings.contact_milliohm, settings.visible_difference_pct) == (35, 12)


def test_the_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["electrics", str(GRITTER)]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    titles = [block.splitlines()[0] for block in out.split("\n\n")]
    assert titles == ["Lamps", "LEDs", "Resistors", "Outputs", "Common pins", "Wires", "Sums"]
    assert main(["electrics", str(GRITTER), "--csv"]) == 0
    rows = list(csv.reader(io.StringIO(capsys.readouterr().out, newline="")))
    assert rows[0][:5] == ["lamp", "function", "LED", "output", "resistor"]
    assert rows.count([]) == len(titles) - 1


def test_the_command_with_some_outputs_on(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["electrics", str(GRITTER), "--on", "2, 5"]) == 0
    out = capsys.readouterr().out
    assert out.startswith("Lamps as wired, outputs on: 2, 5\n")
    assert "a pack of 3000 mAh lasts" in out
    for wrong, words in (
        ("2,x", "are no outputs"),
        ("-1", "are no outputs"),
        ("99", "output 99: does not exist"),
    ):
        assert main(["electrics", str(GRITTER), "--on", wrong]) == 2
        out, err = capsys.readouterr()
        assert out == ""
        assert words in err
