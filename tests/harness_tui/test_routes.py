"""Routes: a model entered leg by leg with keys alone, changed, and refused where it must be."""

from __future__ import annotations

from pathlib import Path

import pytest

from harness_tui.app import LoomApp
from harness_tui.examples import text as example
from harness_tui.session import Session
from model.editing import add_lamp, add_waypoint, new_harness, set_leg
from model.harness import Harness, Leg
from model.routing.allot import settle
from model.routing.bundles import bundle_of
from model.store import loads
from tests.harness_tui.pressing import field, pressed, typed
from tests.harness_tui.screen_text import screen_text
from tests.strategies import NASTY_NAMES, harness_from_seed


def app_of(harness: Harness) -> LoomApp:
    return LoomApp(Session(harness), room="routes")


def leg_of(app: LoomApp, one: str, other: str) -> Leg:
    harness = app.session.harness
    ids = {point.name: point.id for point in harness.waypoints}
    leg = harness.find_leg(ids[one], ids[other])
    assert leg is not None
    return leg


async def test_a_lorry_entered_leg_by_leg() -> None:
    app = app_of(new_harness("Gritter", "GRT"))
    async with app.run_test(size=(80, 24)) as pilot:
        assert "Press a and name the next place" in screen_text(app)
        await pressed(pilot, "l")
        assert "There is no other place yet" in screen_text(app)
        assert "Routes 1 place " in screen_text(app)
        await pressed(pilot, "a")
        await typed(pilot, "cab floor", "enter")
        assert "How far is cab floor from controller" in screen_text(app)
        await typed(pilot, "210 mm", "enter")
        assert leg_of(app, "controller", "cab floor").length_mm == 210

        # The cursor is on the new place: the next one hangs behind it, b puts one beside it.
        await pressed(pilot, "a")
        await typed(pilot, "front bumper", "enter")
        await typed(pilot, "120", "enter")
        await pressed(pilot, "b")
        await typed(pilot, "roof", "enter")
        await typed(pilot, "90,5", "enter")
        assert leg_of(app, "cab floor", "front bumper").length_mm == 120
        assert leg_of(app, "cab floor", "roof").length_mm == 90.5
        text = screen_text(app)
        assert "\u251c\u2500 front bumper" in text
        assert "\u2514\u2500 roof" in text
        assert "300.5" in text  # to the controller

        # The cab tilts: the leg to its floor takes more wire, asked for there.
        await pressed(pilot, "up", "up", "m")
        assert "How much more wire does the leg to cab floor take to move" in screen_text(app)
        await typed(pilot, "30", "enter")
        assert leg_of(app, "controller", "cab floor").loop_mm == 30
        assert "330.5" in screen_text(app)
        await pressed(pilot, "m")
        await typed(pilot, "", "enter")
        assert leg_of(app, "controller", "cab floor").loop_mm is None

        # A plug: its name is filled in, then its distance is asked for.
        await pressed(pilot, "p", "enter")
        assert "How far is plug P1 from controller" in screen_text(app)
        await typed(pilot, "500", "enter")
        assert "0 to 210 mm" in screen_text(app)  # off the leg: asked again, what was typed still stands
        await typed(pilot, "40", "enter")
        leg = leg_of(app, "controller", "cab floor")
        assert (leg.plug, leg.plug_mm) == ("P1", 40)

        # A second leg closes a loop and is a line of its own, with a form.
        await pressed(pilot, "down", "l")
        assert "A leg from front bumper to" in screen_text(app)
        await pressed(pilot, "down", "enter")
        await typed(pilot, "75", "enter")
        assert leg_of(app, "front bumper", "roof").length_mm == 75
        assert "leg to front bumper" in screen_text(app) or "leg to roof" in screen_text(app)
        await pressed(pilot, "d")
        assert len(app.session.harness.legs) == 3

        await pressed(pilot, "u")
        assert len(app.session.harness.legs) == 4


async def test_fields_of_a_leg_are_edited_in_place() -> None:
    harness = harness_from_seed(5, points=(4, 4), plugs=False, nasty=0.0)
    harness = set_leg(harness, "W1", "W2", length_mm=0)
    app = app_of(harness)
    async with app.run_test(size=(80, 24)) as pilot:
        # What was not measured yet is asked for first.
        await pressed(pilot, "down", "enter")
        await typed(pilot, "100", "enter")
        assert app.session.harness.legs[0].length_mm == 100
        await pressed(pilot, "escape", "enter")
        await typed(pilot, "cab", "enter")
        await typed(pilot, "no", "enter")
        await typed(pilot, "15.5 cm", "enter")
        await typed(pilot, "25", "enter")
        await typed(pilot, "P9", "enter")
        await typed(pilot, "2 cm", "enter")
        await typed(pilot, "3/8 in", "enter")
        point = app.session.harness.waypoints[1]
        leg = leg_of(app, "cab", "controller")
        assert (point.name, point.reachable) == ("cab", False)
        assert (leg.length_mm, leg.loop_mm, leg.plug, leg.hole_mm) == (155, 25, "P9", 9.5)
        assert (leg.plug_mm if leg.a == "W1" else leg.length_mm - leg.plug_mm) == 20
        assert "closed" in screen_text(app)


REFUSED = (
    ("length_mm", "", "has no length"),
    ("length_mm", "-5", "out of range"),
    ("length_mm", "inf", "is not a number"),
    ("length_mm", "12o", "is not a number"),
    ("loop_mm", "1e9", "out of range"),
    ("plug_mm", "10", "Name the plug"),
    ("hole_mm", "0", "out of range"),
    ("reachable", "maybe", "yes or no"),
    ("name", "", "is empty"),
    ("name", "x" * 61, "61 characters"),
    ("name", "red\x1b[31m", "control character"),
)


async def test_what_cannot_stand_is_said_and_left_to_be_mended() -> None:
    app = app_of(harness_from_seed(5, points=(3, 3), plugs=False, nasty=0.0))
    before = app.session.harness
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "down", "enter")
        for key, text, message in REFUSED:
            field(app, key).focus()
            await typed(pilot, text, "enter")
            assert message in " ".join(screen_text(app).split()), key
            assert field(app, key).has_focus, key
            assert app.session.harness is before
            await pressed(pilot, "escape")  # puts back what stood there
        assert "\x1b" not in screen_text(app)


async def test_a_place_that_holds_something_stays_and_one_that_does_not_can_go() -> None:
    harness = add_waypoint(new_harness("Shed", "SHD"), "gable")
    harness = add_lamp(harness, "porch", at="W2")
    app = app_of(harness)
    async with app.run_test(size=(80, 24)) as pilot:
        text = screen_text(app)
        assert "not connected:" in text
        assert "1 not connected" in text
        await pressed(pilot, "down")
        assert "can't be reached" in screen_text(app)
        await pressed(pilot, "down", "d")
        assert "holds porch" in screen_text(app)

        # Typing its name behind the controller leads the leg there and adds no second gable.
        await pressed(pilot, "up", "up", "a")
        await typed(pilot, "Gable", "enter")
        await typed(pilot, "80", "enter")
        assert [point.name for point in app.session.harness.waypoints] == ["controller", "gable"]
        assert leg_of(app, "controller", "gable").length_mm == 80
        await pressed(pilot, "a")
        await typed(pilot, "gable", "enter")
        assert "exists already" in screen_text(app)
        await pressed(pilot, "escape", "x")
        assert app.session.harness.legs == ()


async def test_the_controller_moves_and_findings_lead_here() -> None:
    harness = harness_from_seed(1, points=(5, 5), nasty=0.0)
    app = app_of(harness)
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "down", "down", "c")
        assert app.session.harness.controller.at != "W1"
        leg = app.session.harness.legs[-1]
        app.action_go("routes", f"{leg.a}-{leg.b}")
        await pilot.pause()
        table = app.screen.query_one("#waypoints")
        assert table.here in (leg.a, leg.b, f"{leg.a}-{leg.b}", f"{leg.b}-{leg.a}")  # type: ignore[attr-defined]


async def test_the_plan_is_drawn_and_escape_leads_back_to_the_tree() -> None:
    app = app_of(harness_from_seed(1, points=(5, 5), nasty=0.0))
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "v")
        text = screen_text(app)
        assert "joint" in text  # the legend
        assert all(point.name in text for point in app.session.harness.waypoints)
        await pressed(pilot, "a")  # nothing is added while the tree is not in sight
        assert len(app.session.harness.waypoints) == 6
        await pressed(pilot, "escape")
        assert "waypoint" in screen_text(app)
        assert app.focused is app.screen.query_one("#waypoints")


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (60, 20)])
async def test_names_that_look_like_code_are_only_text(size: tuple[int, int]) -> None:
    harness = new_harness("Gritter", "GRT")
    for name in NASTY_NAMES:
        harness = add_waypoint(harness, name)
    app = app_of(harness)
    async with app.run_test(size=size) as pilot:
        await pressed(pilot, *["down"] * len(NASTY_NAMES), "up", "enter", "escape")
        assert "[red]Head" in screen_text(app)


async def test_the_picture_is_written_into_a_file(tmp_path: Path) -> None:
    app = app_of(settle(loads(example("gritter"))))
    async with app.run_test(size=(80, 24)) as pilot:
        await pressed(pilot, "i")  # nothing to write while the tree is up
        assert app.screen is app.room
        await pressed(pilot, "v", "i")
        await typed(pilot, str(tmp_path / "loom.gif"), "enter")
        assert "of no known kind" in screen_text(app)
        await typed(pilot, str(tmp_path / "loom.png"), "enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "Written" in screen_text(app)
        assert (tmp_path / "loom.png").read_bytes().startswith(b"\x89PNG")

        await pressed(pilot, "i")
        await typed(pilot, str(tmp_path / "no folder" / "loom.svg"), "enter")
        await app.workers.wait_for_complete()
        await pilot.pause()
        assert "can't be written" in screen_text(app)


async def test_what_lies_in_a_leg_and_what_to_do_where_it_does_not_pass() -> None:
    harness = settle(loads(example("gritter")))
    pillar = next(leg for leg in harness.legs if leg.hole_mm == 3.5)
    harness = settle(set_leg(harness, pillar.a, pillar.b, hole_mm=2.0))
    bundle = bundle_of(harness, harness.find_leg(pillar.a, pillar.b))
    app = app_of(harness)
    async with app.run_test(size=(80, 24)) as pilot:
        app.action_go("routes", f"{pillar.a}-{pillar.b}")
        app.session.findings  # noqa: B018  (worked out once the screen is drawn)
        await pilot.pause()
        app.redraw()
        await pilot.pause()
        text = " ".join(screen_text(app).split())
        assert f"{len(bundle.wires)} wires {bundle.diameter_mm:.1f} mm" in text
        assert f"too thick for 2 mm hole, sleeve {bundle.sleeve.name}, bend {bundle.bend_mm:.0f} mm" in text
        assert "Drill it to" in text
        assert "hole too small" in {finding.rule for finding in app.session.findings}
