"""Outputs: blocks, outputs and commons by keys alone, with sums that a person can add up."""

from __future__ import annotations

import pytest
from textual.content import Content

from harness_tui.app import LoomApp
from harness_tui.session import Session
from harness_tui.widgets.output_lines import LEAST, line_cells, line_panel, sum_line
from model.editing import RunChoice, accept_run, add_lamp, edit_output, new_harness
from model.electrics.outputs import output_loads
from model.harness import Delivers, Hand, Harness
from model.routing.allot import settle
from tests.harness_tui.pressing import field, pressed, typed
from tests.harness_tui.screen_text import screen_text
from tests.strategies import NASTY_NAMES


def lorry() -> Harness:
    harness = new_harness("Gritter", "GRT")
    for name, output, hand in (
        ("Indicator left", 1, Hand.LEFT),
        ("Indicator right", 2, Hand.RIGHT),
        ("Headlamp left", 3, Hand.LEFT),
        ("Headlamp right", 3, Hand.RIGHT),
        ("Beacon", None, Hand.NONE),
    ):
        function = "indicator" if name.startswith("Ind") else "other"
        harness = add_lamp(harness, name, output=output, hand=hand, function=function, measured_mm=300.0)
    for lamp in harness.lamps[:4]:
        harness = settle(accept_run(harness, lamp.id, RunChoice()))
    return harness


def app_of(harness: Harness) -> LoomApp:
    return LoomApp(Session(harness), room="outputs")


async def test_sums_limits_and_what_is_left_stand_in_place() -> None:
    app = app_of(edit_output(lorry(), 3, limit_ma=20))
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "down", "down")
        loads = output_loads(app.session.harness)
        text = screen_text(app)
        over = next(load for load in loads.outputs if load.output.number == 3)
        assert over.margin_ma < 0
        row = next(line for line in text.splitlines() if line.lstrip().startswith("3  A3"))
        assert row.split()[-3:] == [f"{over.full_ma:.0f}", "20", f"{over.margin_ma:.0f}"]
        one, two = (lamp.full_ma for lamp in over.lamps)
        assert f"Headlamp left {one:.1f} + Headlamp right {two:.1f} = {over.full_ma:.1f} of 20 mA" in text
        assert "TOO MUCH" in text
        assert "1 lamp has no output" in text
        assert f"Outputs {loads.total_ma:.0f} mA, 1 over" in text
        assert "! output 3: " in text  # the finding, beside what it is about

        common = next(line for line in text.splitlines() if "common" in line and "A7" in line)
        assert common.split()[-3] == f"{loads.total_ma:.0f}"
        await pressed(pilot, "down", "down", "down", "down")
        assert "Indicator left" in screen_text(app)
        assert f"= {loads.commons[0].full_ma:.1f} of 1000 mA" in screen_text(app)


async def test_an_output_is_edited_in_place_and_its_lamps_follow_its_number() -> None:
    app = app_of(lorry())
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "down", "down", "enter")
        await typed(pilot, "dipped [/] beam", "enter")
        await typed(pilot, "9", "enter")
        # The row is another one now; the form stays on it.
        await typed(pilot, "12", "enter")
        await typed(pilot, "400 mA", "enter")
        await typed(pilot, "regulated", "enter")
        await typed(pilot, "6,5", "enter")
        await typed(pilot, "BU", "enter")
        block, output = app.session.harness.controller.find_output(9) or (None, None)
        assert output is not None
        assert block is not None
        assert (
            output.function,
            output.pin,
            output.limit_ma,
            output.delivers,
            output.delivers_v,
            output.colour,
        ) == (
            "dipped [/] beam",
            "12",
            400,
            Delivers.REGULATED,
            6.5,
            "BU",
        )
        assert [lamp.name for lamp in app.session.harness.lamps if lamp.output == 9] == [
            "Headlamp left",
            "Headlamp right",
        ]
        text = screen_text(app)
        assert "6.5 V" in text
        assert "dipped [/]" in text

        await pressed(pilot, "enter")
        for key, wrong, message in (
            ("number", "1", "exists already"),
            ("number", "0", "out of range"),
            ("number", "two", "1 to 99"),
            ("pin", "", "is empty"),
            ("limit_ma", "0", "out of range"),
            ("limit_ma", "", "Type a number"),
            ("delivers", "steam", "supply, regulated, current"),
            ("colour", "ZZ", "not known"),
        ):
            field(app, key).focus()
            await typed(pilot, wrong, "enter")
            assert message in " ".join(screen_text(app).split()), (key, wrong)
            await pressed(pilot, "escape")
        assert app.session.harness.controller.find_output(9) == (block, output)


async def test_lamps_are_put_on_an_output_and_left_with_right_is_said() -> None:
    app = app_of(lorry())
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "l")
        text = screen_text(app)
        assert "[x] Indicator left" in text
        assert "output 3" in text
        await pressed(pilot, "space", "enter")  # takes the first one off, whatever else
        assert app.session.harness.lamp("L1").output is None
        await pressed(pilot, "l", "space", "space", "down", "down", "space", "enter")
        assert [lamp.output for lamp in app.session.harness.lamps] == [1, 1, 3, 3, 1]
        assert app.session.harness.find_lamp("L1") is not None
        await pilot.pause()
        assert "is on output 1 with Indicator" in screen_text(app)
        await pressed(pilot, "u")
        assert [lamp.output for lamp in app.session.harness.lamps] == [None, 2, 3, 3, None]
        await pressed(pilot, "l", "space", "escape")  # nothing happens
        assert [lamp.output for lamp in app.session.harness.lamps] == [None, 2, 3, 3, None]


async def test_blocks_outputs_and_commons_come_and_go() -> None:
    app = app_of(lorry())
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "d")
        assert "feeds Indicator left" in screen_text(app)

        await pressed(pilot, "b")
        await typed(pilot, "many", "enter")
        assert "is not a number" in screen_text(app)
        await typed(pilot, "3+2", "enter")
        blocks = app.session.harness.controller.blocks
        assert [(block.name, len(block.outputs), len(block.commons)) for block in blocks] == [
            ("A", 6, 1),
            ("B", 3, 1),
            ("C", 2, 1),
        ]
        # The cursor is on the first new output: a adds one to its block, c a common pin.
        await pressed(pilot, "a", "escape", "c", "escape")
        block = app.session.harness.controller.blocks[1]
        assert [output.number for output in block.outputs] == [7, 8, 9, 12]
        assert [common.pin for common in block.commons] == ["4", "6"]
        await pressed(pilot, "d")
        assert len(app.session.harness.controller.blocks[1].commons) == 1

        await pressed(pilot, "up", "r")
        await typed(pilot, "A", "enter")
        assert "exists already" in screen_text(app)
        await typed(pilot, "REAR", "enter")
        assert app.session.harness.controller.blocks[1].name == "REAR"
        await pressed(pilot, "D")
        assert [block.name for block in app.session.harness.controller.blocks] == ["A", "C"]


async def test_a_renamed_block_keeps_its_wires_on_their_pins() -> None:
    app = app_of(lorry())
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "r")
        await typed(pilot, "FRONT", "enter")
        assert [one.ref for one in output_loads(app.session.harness).commons] == ["FRONT.7"]
        assert len(output_loads(app.session.harness).commons[0].lamps) == 4


async def test_a_controller_without_outputs_says_what_to_press() -> None:
    app = app_of(Harness(name="Shed", code="SHD"))
    async with app.run_test(size=(80, 24)) as pilot:
        assert "Press b and say how many" in screen_text(app)
        for key in ("d", "l", "r", "D", "enter", "e"):
            await pressed(pilot, key)
        await pressed(pilot, "a")  # there is no block to add to: it asks for one
        await typed(pilot, "2", "enter")
        assert len(app.session.harness.controller.blocks) == 1


async def test_names_that_look_like_code_are_only_text() -> None:
    harness = new_harness("Gritter", "GRT")
    for place, name in enumerate(NASTY_NAMES[:6]):
        harness = edit_output(harness, place + 1, function=name)
        harness = add_lamp(harness, name, output=place + 1)
    for size in ((80, 24), (124, 40)):
        app = app_of(harness)
        async with app.run_test(size=size) as pilot:
            await pressed(pilot, "down", "l", "escape", "enter", "escape")
            text = screen_text(app)
            assert "[/]" in text
            assert "[red]" in text


def test_a_sum_without_room_for_names_can_still_be_added_up() -> None:
    harness = new_harness("Lorry", "LRY")
    for number in range(9):
        harness = add_lamp(
            harness, f"Marker lamp number {number}", output=1, current_ma=5.0 if number < 4 else 10.0
        )
    load = output_loads(harness).outputs[0]
    line = sum_line(load, 78).plain
    assert len(line) <= 78
    addends, _, rest = line.partition(" = ")
    added = 0.0
    for addend in addends.split(" + "):
        times, _, each = addend.rpartition(" x ")
        added += float(each) * int(times or 1)
    assert added == pytest.approx(float(rest.split(" ")[0]), abs=0.05 * len(load.lamps))
    assert sum_line(load, 400).plain.startswith("Marker lamp number 0 ")


def test_the_worst_sum_stands_beside_the_usual_where_it_passes_the_limit() -> None:
    load = output_loads(lorry()).outputs[2]
    assert len(load.lamps) == 2
    assert load.worst_ma > load.full_ma
    between = (load.full_ma + load.worst_ma) / 2
    for limit_ma, said in (
        (load.worst_ma, ""),
        (between, f"; at worst {load.worst_ma:.1f} mA, {load.worst_ma - between:.1f} TOO MUCH"),
        (load.full_ma - 1, f"; at worst {load.worst_ma:.1f} mA"),
    ):
        harness = edit_output(lorry(), 3, limit_ma=limit_ma)
        line = output_loads(harness).outputs[2]
        words = sum_line(line, 160).plain
        left = words.partition(" mA, ")[2]
        assert left.partition(" left" if limit_ma >= load.full_ma else " TOO MUCH")[2] == said, limit_ma
        assert len(sum_line(line, 78).plain) <= 78
        panel = "\n".join(row.plain for row in line_panel(harness, line))
        assert (f"{load.worst_ma:>6.1f} mA" in panel) is bool(said), limit_ma
        cell = line_cells(harness, line, LEAST, marked=False)[-1]
        assert isinstance(cell, Content) is bool(said), limit_ma


async def test_what_the_checks_say_of_an_output_has_room_at_80_columns() -> None:
    harness = lorry()
    for number in range(8):
        harness = add_lamp(harness, f"Side lamp {number}", output=3)
    app = app_of(edit_output(harness, 3, limit_ma=40, function="side, tail and marker lamps"))
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "down", "down")
        said = " ".join(screen_text(app).split())
        finding = next(one for one in app.session.findings if one.place == "outputs" and one.ref == "3")
        assert " ".join(f"{finding.found}. {finding.remedy}".split()) in said
        assert "TOO MUCH" in said
        assert "all on, full battery" in said
        assert "\u2026" not in said[said.index("TOO MUCH") : said.index("function ", said.index("TOO MUCH"))]
