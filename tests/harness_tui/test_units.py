"""Inches and the size of print on labels, chosen once, hold on every screen."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import attrs
import pytest

from harness_tui.app import LoomApp
from harness_tui.preferences import Preferences, read_preferences, remember_cautions, take_effect
from harness_tui.projects import close_project, open_demo
from model.labels.batch import laid_out
from model.labels.content import wire_label
from model.labels.stock import packaged_stocks
from model.lengths import MM_PER_INCH
from model.routing.wires import derive
from tests.harness_tui.homes import own_home
from tests.harness_tui.pressing import field, pressed, typed
from tests.harness_tui.screen_text import screen_text


@pytest.fixture
def work(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    yield own_home(tmp_path, monkeypatch)
    take_effect(Preferences())


def inches(mm: float) -> str:
    said = f"{mm / MM_PER_INCH:.2f}".rstrip("0").rstrip(".")
    return said[1:] if said.startswith("0.") else said


async def test_inches_on_every_screen_and_in_every_field(work: Path) -> None:
    remember_cautions()
    session = open_demo("gritter")
    session.begin()
    app = LoomApp(session, room="lamps", preferences=Preferences(units="inch"))
    async with app.run_test(size=(120, 40)) as pilot:
        await pressed(pilot)
        lamp = session.harness.lamps[0]
        assert "measured in" in screen_text(app)
        await pressed(pilot, "enter")
        for key in ("spur_mm", "measured_mm"):
            assert field(app, key).field.label.endswith(" in")
        field(app, "spur_mm").focus()
        await typed(pilot, "1 1/2", "enter")
        assert session.harness.lamp(lamp.id).spur_mm == 38.1
        await pressed(pilot, "escape")
        assert "from there in 1.5" in screen_text(app)
        await pressed(pilot, "u")
        assert session.harness.lamp(lamp.id).spur_mm == lamp.spur_mm

        await pressed(pilot, "2")
        leg = session.harness.legs[0]
        text = screen_text(app)
        assert inches(leg.length_mm) in text
        await pressed(pilot, "down", "enter")
        assert any(one.field.label == "leg in" for one in app.screen.query("FieldInput"))  # type: ignore[attr-defined]
        before = session.harness
        await pressed(pilot, *["enter"] * 5)  # what is only accepted changes nothing
        assert session.harness is before
        await pressed(pilot, "escape")

        await pressed(pilot, "4")
        text = screen_text(app)
        assert " in" in text
        assert " mm" not in text.partition("way ")[2].partition("LAMP")[0]

        await pressed(pilot, "5")
        in_inches = re.search(r"cut ([\d.]+) in of", screen_text(app))
        assert in_inches is not None
        await pressed(pilot, "t")
        assert "cut in" in screen_text(app)
        await pressed(pilot, "t")
        longest = max(derive(session.harness).wires, key=lambda one: one.cut_mm)
        live = session.harness.ledger.live()
        await pressed(pilot, "slash")
        await typed(pilot, live[longest.key].tag, "enter")
        assert f"{inches(longest.cut_mm)} in" in screen_text(app)

        app.action_go("spools")
        await pressed(pilot)
        await pilot.pause(0.1)
        assert re.search(r"pieces, [\d.]+ ft, none on hand", screen_text(app))

        # Back to mm: at once, everywhere.
        app.change_setting("units", "mm")
        app.action_go("spools")
        await pressed(pilot, "5")
        in_mm = re.search(r"cut (\d+) mm of", screen_text(app))
        assert in_mm is not None
        assert inches(float(in_mm[1])) == in_inches[1]
        assert read_preferences().units == "mm"
        close_project(session)


def test_larger_print_on_labels_where_there_is_room(work: Path) -> None:
    session = open_demo("gritter")
    session.begin()
    wire = derive(session.harness).wires[0]
    text = wire_label(session.harness, wire, session.harness.ledger.live()[wire.key].tag, "L")
    flag = packaged_stocks()["flag-24"]

    def heights() -> list[float]:
        return sorted(item.height_mm for item in laid_out(flag, text).items if hasattr(item, "text"))

    usual = heights()
    take_effect(attrs.evolve(Preferences(), label_text_mm=3.0))
    larger = heights()
    assert larger != usual
    assert min(larger) > min(usual)
    take_effect(Preferences())
    assert heights() == usual
    close_project(session)
