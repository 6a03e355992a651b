"""Plans: the three side by side, and taking all, a net or a merge, by keys alone."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable

import pytest
from textual.pilot import Pilot

from harness_tui.app import LoomApp
from harness_tui.examples import text
from harness_tui.screens.plans import PlansScreen
from harness_tui.session import Session
from harness_tui.widgets.table import ThingTable
from model.harness import Harness
from model.integrity import broken_references
from model.routing.plan_compare import Comparison, compare
from model.routing.wires import derive
from model.store import dumps, loads
from tests.harness_tui.screen_text import screen_text


async def worked_out(pilot: Pilot[object]) -> PlansScreen:
    """The screen once the plans stand on it."""
    for _ in range(400):
        screen = pilot.app.screen
        if isinstance(screen, PlansScreen) and screen.compared is not None:
            await pilot.pause()
            return screen
        await pilot.pause(0.05)
    raise AssertionError(screen_text(pilot.app))


@pytest.fixture
def app() -> LoomApp:
    return LoomApp(Session(loads(text("tug"))), room="routes")


async def test_what_is_shown_is_what_the_core_says_and_what_is_taken(app: LoomApp) -> None:
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("w")
        screen = await worked_out(pilot)
        compared = compare(app.session.harness)
        shown = screen_text(app)
        for plan in compared.columns:
            assert f"{plan.wire_mm / 1000:.2f} m" in shown
        assert "how sure" in shown

        # A pair for each lamp: tags of the tug's unprinted wires follow, nothing has to be asked.
        before = dumps(app.session.harness)
        await pilot.press("o")
        await pilot.pause()
        assert app.session.harness.joints == ()
        assert derive(app.session.harness).spool_mm == pytest.approx(compared.own_pairs.wire_mm)
        assert "u undoes it" in screen_text(app)

        await worked_out(pilot)
        await pilot.press("a")
        await pilot.pause()
        assert derive(app.session.harness).spool_mm == pytest.approx(compared.best.wire_mm)
        assert len(app.session.harness.joints) == compared.best.joint_count
        assert not broken_references(app.session.harness)

        await pilot.press("u", "u")
        await pilot.pause()
        # What was decided is as before; only the ledger remembers the tags that were given meanwhile.
        assert dumps(app.session.harness).split("[[tag]]")[0] == before.split("[[tag]]")[0]
        assert screen.is_current


async def test_one_net_and_one_merge_are_taken_alone() -> None:
    app = LoomApp(Session(loads(text("lighthouse"))), room="plans")
    async with app.run_test(size=(120, 40)) as pilot:
        screen = await worked_out(pilot)
        assert screen.compared is not None
        net = screen.compared.plan.nets[0]
        await pilot.press("enter")
        await pilot.pause()
        walked = [lamp for lamp in app.session.harness.lamps if lamp.run is not None]
        assert {lamp.id for lamp in walked} == set(net.lamps)
        assert len(app.session.harness.joints) == net.joint_count


async def test_what_is_taken_is_marked_and_the_cursor_stays() -> None:
    app = LoomApp(Session(loads(text("gritter"))), room="plans")
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await worked_out(pilot)
        table = screen.query_one(ThingTable)
        assert screen.compared is not None
        marked = [key for key, cells in table._rows if cells[-1].strip() == "stands"]
        row, key = next(
            (row, key)
            for row, (key, _) in enumerate(table._rows)
            if key.partition(":")[2] and key not in marked
        )
        table.move_cursor(row=row)
        await pilot.press("enter")
        await pilot.pause()
        await worked_out(pilot)
        assert table.cursor_row == row, key
        assert table._rows[row][1][-1].strip() == "stands"


async def test_printed_labels_are_not_retired_unasked() -> None:
    app = LoomApp(Session(loads(text("gritter"))), room="plans")
    async with app.run_test(size=(80, 24)) as pilot:
        await worked_out(pilot)
        before = app.session.harness
        await pilot.press("o")
        await pilot.pause()
        shown = screen_text(app)
        if "would be retired" in shown:
            await pilot.press("escape")
            await pilot.pause()
            assert app.session.harness is before
        else:
            # Then none of the tags that something carries may be gone.
            live = {record.tag for record in app.session.harness.ledger if record.live}
            assert {record.tag for record in before.ledger if record.issued and record.live} <= live
        assert app.screen.query_one(ThingTable).has_focus


def begun_wires(harness: Harness) -> dict[str, tuple[object, ...]]:
    """What is known of each wire that was begun at the bench: tag, ends, length, way, steps."""
    wires = derive(harness).by_key
    return {
        key: (
            record.tag,
            wires[key].lamp_end.ref,
            wires[key].controller_end.ref,
            wires[key].cut_mm,
            wires[key].path,
            record.steps,
        )
        for key, record in harness.ledger.live().items()
        if record.steps
    }


@pytest.mark.parametrize("key", ["a", "o"])
async def test_wires_begun_at_the_bench_are_not_moved(key: str) -> None:
    app = LoomApp(Session(loads(text("gritter"))), room="plans")
    async with app.run_test(size=(80, 24)) as pilot:
        await worked_out(pilot)
        before = begun_wires(app.session.harness)
        assert len(before) > 3
        wire_mm = derive(app.session.harness).spool_mm
        await pilot.press(key)
        await pilot.pause()
        if "would be retired" in screen_text(app):
            await pilot.press("down", "enter")
            await pilot.pause()
        assert derive(app.session.harness).spool_mm != wire_mm, "the plan was taken"
        assert begun_wires(app.session.harness) == before


async def test_it_is_worked_out_beside_the_keys_and_given_up_on_the_way_out(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    held, left, starts = threading.Event(), threading.Event(), []

    def slow(harness: Harness, progress: Callable[[float], object]) -> Comparison:
        starts.append(harness)
        progress(0.4)
        while not held.wait(0.01):
            try:
                progress(0.4)
            except BaseException:
                left.set()
                raise
        return compare(harness)

    monkeypatch.setattr("harness_tui.screens.plans.compare", slow)
    app = LoomApp(Session(loads(text("lighthouse"))), room="routes")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("w")
        for _ in range(100):
            await pilot.pause(0.02)
            if starts:
                break
        assert "working out the least wire" in screen_text(app)
        await pilot.press("a")
        await pilot.pause()
        assert "still being worked out" in screen_text(app)
        assert app.session.harness.lamps[0].run is None

        await pilot.press("escape")
        await pilot.pause()
        assert app.screen.WORD == "Routes"
        assert await asyncio.to_thread(left.wait, 5), "the work was given up"

        held.set()
        await pilot.press("w")
        screen = await worked_out(pilot)
        assert len(starts) == 2
        assert "still being worked out" not in screen_text(app)
        assert screen.query_one(ThingTable).has_focus
