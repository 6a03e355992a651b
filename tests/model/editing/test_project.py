"""The project as a whole."""

from __future__ import annotations

import attrs
import pytest

from model import editing
from model.errors import Conflict
from model.harness import Spool, Supply
from model.integrity import broken_references
from model.tags import TagScheme
from tests.model.editing.cases import printed, small, walked


def test_a_new_project_has_a_controller_to_start_from():
    harness = editing.new_harness("Gritter", "GRT")
    assert [output.number for _, output in harness.controller.outputs()] == [1, 2, 3, 4, 5, 6]
    assert [(block.name, common.pin) for block, common in harness.controller.commons()] == [("A", "7")]
    assert [point.id for point in harness.waypoints] == [harness.controller.at]
    assert broken_references(harness) == ()


def test_rename():
    harness = editing.rename(small(), name="Tug", code="TUG")
    assert (harness.name, harness.code) == ("Tug", "TUG")
    assert editing.rename(harness, name="Boat").code == "TUG"
    assert editing.rename(printed(walked()), name="Tug", code="GRT").name == "Tug", (
        "the same code is no change"
    )
    assert editing.rename(walked(), code="NEW").code == "NEW", "tags without labels do not hold the code"


def test_supply_settings_and_progress():
    supply = Supply(chemistry="lead-acid", cells=6)
    assert editing.set_supply(small(), supply).supply is supply
    harness = editing.set_settings(small(), slack_pct=15, plus_colour="WH")
    assert (harness.settings.slack_pct, harness.settings.plus_colour) == (15, "WH")
    assert editing.set_settings(small(), tag_scheme=TagScheme.NUMBER).settings.tag_scheme is TagScheme.NUMBER
    harness = editing.set_progress(harness, walk="L2", bench="K7L")
    assert (harness.progress.walk, harness.progress.bench) == ("L2", "K7L")
    assert editing.set_progress(harness, walk="L2") is harness, "nothing new is no edit"


def test_wire_on_hand():
    spools = (Spool(name="new", colour="BK", length_mm=10_000), Spool(name="rest", colour="BK", length_mm=8))
    harness = editing.set_spools(small(), spools)
    assert harness.spools == spools
    assert editing.set_spools(harness, list(spools)) is harness, "nothing new is no edit"
    assert editing.set_spools(harness, ()).spools == ()
    with pytest.raises(Conflict, match="stands 2 times"):
        editing.set_spools(harness, (spools[0], spools[0]))


def test_the_checklist_is_ticked_and_a_tick_taken_off():
    harness = editing.check_off(editing.check_off(small(), "battery", "2026-01-24"), "fuse", "2026-01-24")
    again = editing.check_off(harness, "battery", "2026-02-01")
    assert {one.id: one.day for one in again.checked} == {"battery": "2026-02-01", "fuse": "2026-01-24"}
    assert [one.id for one in editing.check_off(again, "battery", "").checked] == ["fuse"]


def test_what_is_put_back_keeps_the_world():
    earlier = walked()
    now = editing.rename(printed(earlier), name="Renamed")
    back = editing.put_back(earlier, now)
    assert back.name == earlier.name
    assert back.ledger == now.ledger
    assert editing.put_back(attrs.evolve(earlier, code="OLD"), now).code == now.code
    assert editing.put_back(attrs.evolve(earlier, code="OLD"), earlier).code == "OLD"
