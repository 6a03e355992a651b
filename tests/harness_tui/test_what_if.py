"""What a change of supply would do, in words."""

from __future__ import annotations

from harness_tui.widgets.what_if import comparison_words
from model import editing
from model.bench import StepKind, mark_step
from model.electrics.whatif import compare
from model.harness import Harness, Supply
from model.routing.allot import settle


def two_lamps() -> Harness:
    harness = editing.new_harness("Test", "TST")
    for name in ("left", "right"):
        harness = editing.add_lamp(harness, name, colour="amber", output=1, measured_mm=300.0)
    for lamp in harness.lamps:
        harness = settle(editing.accept_run(harness, lamp.id, editing.RunChoice()))
    return harness


def soldered(harness: Harness, lamp_id: str) -> Harness:
    return mark_step(harness, harness.ledger.live()[f"{lamp_id}+"].tag, StepKind.LAMP, "2026-03-03")


def words(before: Harness, supply: Supply) -> str:
    return comparison_words(compare(before, editing.set_supply(before, supply)), len(before.lamps))


def test_soldered_resistors_are_said_to_stay() -> None:
    higher = Supply(chemistry="NiMH", cells=8)
    none, one = two_lamps(), soldered(two_lamps(), "L1")
    assert words(none, higher) == "2 of 2 lamps change: 2 other resistors"
    assert words(one, higher).startswith("2 of 2 lamps change: 1 other resistor, 1 soldered resistor stays")
    assert "2 soldered resistors stay" in words(soldered(one, "L2"), higher)
    assert words(soldered(one, "L2"), one.supply) == "no lamp changes"
