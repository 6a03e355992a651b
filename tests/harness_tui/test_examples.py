"""The demo projects hold what they promise, and are exactly what the program would write."""

from __future__ import annotations

from itertools import pairwise

import pytest

from harness_tui.examples import names, text
from model.checks import check, problems
from model.errors import NotThere
from model.harness import Build, Harness, Switched
from model.integrity import broken_references
from model.routing.allot import settle
from model.routing.wires import EndKind, derive
from model.store import dumps, loads
from tests.following import assert_connected, assert_tagged


def demo(name: str) -> Harness:
    return loads(text(name), f"{name}.toml")


def walked(harness: Harness) -> int:
    return sum(lamp.run is not None for lamp in harness.lamps)


def test_there_are_three():
    assert names() == ("gritter", "tug", "lighthouse")


@pytest.mark.parametrize("name", ["", "no such", "../gritter", "gritter.toml", "\x1b[2J"])
def test_an_unknown_one_is_refused(name: str):
    with pytest.raises(NotThere, match="gritter, tug, lighthouse") as caught:
        text(name)
    assert "\x1b" not in caught.value.message()


@pytest.mark.parametrize("name", names())
def test_a_demo_is_whole_settled_and_written_as_the_program_writes(name: str):
    harness = demo(name)
    assert broken_references(harness) == ()
    assert settle(harness) is harness
    assert dumps(harness) == text(name)
    assert_connected(harness)
    assert_tagged(harness)


@pytest.mark.parametrize("name", names())
def test_names_are_plain_and_different(name: str):
    harness = demo(name)
    for things in (harness.lamps, harness.waypoints):
        said = [thing.name.lower() for thing in things]
        assert len(set(said)) == len(said)
    assert text(name).isascii()


def test_the_gritter_is_the_lorry_it_promises():
    harness = demo("gritter")
    assert (harness.code, len(harness.lamps)) == ("GRT", 31)
    assert (harness.supply.chemistry, harness.supply.cells) == ("NiMH", 6)
    assert harness.controller.switched is Switched.NEGATIVE
    assert [(len(block.outputs), len(block.commons)) for block in harness.controller.blocks] == [
        (6, 1),
        (6, 1),
    ]
    assert [leg.loop_mm for leg in harness.legs if leg.loop_mm is not None] == [45], "the cab tilts"
    assert [leg.plug for leg in harness.legs if leg.plug] == ["P1"], "the hopper comes off"
    assert derive(harness).at_plug("P1"), "and something crosses its plug"
    assert sum(lamp.build is Build.WIRED for lamp in harness.lamps) >= 3
    for function in ("headlamp", "side lamp", "tail lamp", "brake lamp", "reversing lamp", "indicator"):
        hands = {lamp.hand for lamp in harness.lamps if lamp.function == function}
        assert {"left", "right"} <= hands, function
    for function in ("beacon", "plough lamp", "work lamp", "interior lamp", "marker lamp"):
        assert any(lamp.function == function for lamp in harness.lamps), function


def test_the_lorry_is_as_long_as_one_at_1_to_16():
    # 555 mm from the plough frame over the chassis to the spreader: 8.9 m in full size.
    harness = demo("gritter")
    places = (
        "plough frame",
        "front bumper",
        "chassis front",
        "controller box",
        "chassis middle",
        "chassis rear",
        "spreader",
    )
    ids = [next(point.id for point in harness.waypoints if point.name == name) for name in places]
    assert sum(harness.find_leg(one, other).length_mm for one, other in pairwise(ids)) == 555


def test_the_gritter_is_walked_two_thirds_and_begun_at_the_bench():
    harness = demo("gritter")
    assert walked(harness) == 21
    assert harness.lamp(harness.progress.walk).run is None
    assert harness.ledger.get(harness.progress.bench).live
    printed = [record for record in harness.ledger if record.live and record.printed]
    assert 4 <= len(printed) <= 12
    assert all(record.printed_lamp and record.printed_controller for record in printed)
    steps = sorted(len(record.steps) for record in printed)
    assert steps[0] == 0
    assert steps[-1] == 7
    assert len(set(steps)) >= 3, "some made, some begun, some only printed"
    days = [event.day for record in harness.ledger for event in record.events]
    assert all(day.startswith("2026-01-") for day in days)


def test_the_gritter_remembers_a_slip():
    retired = [record for record in demo("gritter").ledger if record.retired and record.printed]
    assert [record.meaning for record in retired] == ["Indicator front left minus to output 6, pin A6"]
    assert demo("gritter").ledger.get(*retired[0].replaced_by).live
    assert retired[0].events[-1].what == "taken off"


def test_the_gritter_leaves_exactly_two_things_to_find():
    found = problems(check(demo("gritter")))
    assert [(finding.rule, finding.subject) for finding in found] == [
        ("output limit", "output 1"),
        ("no route", "Hopper work lamp"),
    ]


@pytest.mark.parametrize("name", ["tug", "lighthouse"])
def test_nothing_is_wrong_with_the_others(name: str):
    assert problems(check(demo(name))) == ()


# Rules 23 (power-driven vessel), 24 (towing), 27 (not under command) and 30 (at anchor) of the COLREGs, from
# memory; colours as in rule 21: masthead and stern white, sidelights green to starboard and red to port,
# towing yellow.
COLREGS = {
    "masthead light": ("white", 2),
    "port sidelight": ("red", 1),
    "starboard sidelight": ("green", 1),
    "stern light": ("white", 1),
    "towing light": ("yellow", 1),
    "anchor light": ("white", 1),
    "all-round red": ("red", 2),
}


def test_the_tug_shows_the_lights_of_the_colregs():
    harness = demo("tug")
    for function, (colour, count) in COLREGS.items():
        lamps = [lamp for lamp in harness.lamps if lamp.function == function]
        assert [lamp.colour for lamp in lamps] == [colour] * count, function
    hand = {lamp.function: lamp.hand for lamp in harness.lamps}
    assert (hand["port sidelight"], hand["starboard sidelight"]) == ("left", "right")
    # The second masthead and the towing light are shown when towing only, the anchor light by itself.
    alone = ("Masthead light", "Masthead light, towing", "Towing light", "Anchor light", "Stern light")
    outputs = [lamp.output for lamp in harness.lamps if lamp.name in alone]
    assert len(set(outputs)) == len(outputs) == len(alone)


def test_the_tug_is_planned_whole():
    harness = demo("tug")
    assert (harness.supply.chemistry, harness.supply.cells) == ("lead-acid", 6)
    assert harness.controller.switched is Switched.POSITIVE
    assert walked(harness) == len(harness.lamps) == 17
    assert len(harness.joints) >= 8
    assert derive(harness).at_plug("P1")
    assert any(wire.controller_end.kind is EndKind.PIN for wire in derive(harness).wires)


def test_the_lighthouse_is_for_learning():
    harness = demo("lighthouse")
    assert (len(harness.lamps), walked(harness)) == (3, 0)
    assert [lamp.measured_mm for lamp in harness.lamps] == [None, None, 185]
    assert harness.ledger.records == ()
