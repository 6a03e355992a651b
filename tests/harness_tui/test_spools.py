"""Spools: entering what wire is on hand by keys alone, from Routes and from Setup."""

from __future__ import annotations

from textual.pilot import Pilot
from textual.widgets import Input

from harness_tui.app import LoomApp
from harness_tui.examples import text
from harness_tui.screens.spools import SpoolsScreen
from harness_tui.session import Session
from harness_tui.widgets.table import ThingTable
from model import editing
from model.harness import Spool
from model.papers.cut_list import cut_text
from model.routing.spools import count_cut, edit_spool, spool_uses
from model.store import dumps, loads
from tests.harness_tui.screen_text import screen_text


async def answer(pilot: Pilot[object], typed: str) -> None:
    """Type an answer in the place of the one that is proposed."""
    pilot.app.screen.query_one(Input).value = typed
    await pilot.press("enter")
    await pilot.pause()


async def test_what_was_cut_at_the_bench_is_off_the_spool() -> None:
    harness = editing.set_spools(loads(text("gritter")), [Spool(name="RD 1", colour="RD", length_mm=500)])
    app = LoomApp(Session(harness), room="spools")
    async with app.run_test(size=(80, 24)) as pilot:
        for cut_mm, said in ((405.0, "500 mm entered, 405 mm cut since;"), (540.0, "measure what is left")):
            app.session.apply(
                lambda h, mm=cut_mm: count_cut(edit_spool(h, "RD 1", length_mm=500), "RD 1", mm), "cut"
            )
            app.screen.redraw()
            await pilot.pause()
            assert said in " ".join(screen_text(app).split())
        assert spool_uses(app.session.harness)[0].pieces == 0
        await pilot.press("enter")
        await pilot.pause()
        await answer(pilot, "300")
        assert app.session.harness.spools == (Spool(name="RD 1", colour="RD", length_mm=300),)


async def test_wire_on_hand_is_entered_changed_and_taken_off() -> None:
    app = LoomApp(Session(loads(text("gritter"))), room="routes")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("s")
        await pilot.pause()
        assert isinstance(app.screen, SpoolsScreen)
        assert "Press a" in screen_text(app)
        assert "none on hand: buy 1 x 10 m" in screen_text(app)

        # What is missing is proposed; what can't be is said where it is typed.
        await pilot.press("a")
        await pilot.pause()
        assert app.screen.query_one(Input).value in ("RD", "BK")
        await answer(pilot, "crimson")
        assert "not known" in screen_text(app)
        await answer(pilot, "black")
        await answer(pilot, "0 m")
        assert "out of range" in screen_text(app)
        await answer(pilot, "2,5 m")
        assert app.session.harness.spools == (Spool(name="BK 1", colour="BK", length_mm=2500),)
        (use,) = spool_uses(app.session.harness)
        assert f"{use.pieces} pieces, {use.used_mm:g} mm" in screen_text(app)
        assert "BK 1" in cut_text(app.session.harness)

        await pilot.press("a")
        await pilot.pause()
        await answer(pilot, "RD")
        await answer(pilot, "10 m")
        assert app.screen.query_one(ThingTable).here == "RD 1"
        assert "RD 1" in cut_text(app.session.harness)

        # The form: the length first, then the name; a name that another has is refused.
        await pilot.press("enter")
        await pilot.pause()
        app.focused.value = "850"
        await pilot.press("enter")
        await pilot.pause()
        app.focused.value = "BK 1"
        await pilot.press("enter")
        await pilot.pause()
        assert "BK 1" in screen_text(app)
        assert app.session.harness.spools[1].name == "RD 1"
        app.focused.value = "[red]rest[/]"
        await pilot.press("enter")
        await pilot.press("escape")
        await pilot.pause()
        assert app.session.harness.spools[1] == Spool(name="[red]rest[/]", colour="RD", length_mm=850)
        assert "[red]rest" in screen_text(app)
        assert loads(dumps(app.session.harness)).spools == app.session.harness.spools

        await pilot.press("d")
        await pilot.pause()
        assert len(app.session.harness.spools) == 1
        await pilot.press("u")
        await pilot.pause()
        assert len(app.session.harness.spools) == 2

        await pilot.press("c")
        await pilot.pause()
        assert "Papers" in screen_text(app)
        await pilot.press("escape", "escape")
        await pilot.pause()
        assert app.screen.WORD == "Routes"


async def test_setup_leads_to_the_spools_and_a_spool_of_no_use_says_so() -> None:
    harness = loads(text("lighthouse"))
    app = LoomApp(Session(harness), room="setup")
    async with app.run_test(size=(120, 40)) as pilot:
        app.screen.query_one(ThingTable).go_to("spools")
        await pilot.press("enter")
        await pilot.pause()
        assert isinstance(app.screen, SpoolsScreen)
        await pilot.press("a")
        await pilot.pause()
        await answer(pilot, "TQ")
        await answer(pilot, "85 cm")
        assert "no wire of this colour and gauge is left to cut" in screen_text(app)
