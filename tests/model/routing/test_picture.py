"""The plan as a picture of text: true to scale, within its width, with every waypoint and joint in it."""

from __future__ import annotations

import unicodedata

import pytest

from model import editing
from model.harness import Harness
from model.routing.allot import settle
from model.routing.graph import route_graph
from model.routing.merge_plan import apply, best_plan
from model.routing.picture import PLAIN, picture
from tests.large_models import large_model
from tests.strategies import NASTY_NAMES, harness_from_seed


def lorry() -> Harness:
    """A cab behind a hinge, a hopper behind a plug, and a bumper."""
    harness = editing.new_harness("lorry", "LRY")
    for name in ("hinge", "cab", "bumper", "hopper"):
        harness = editing.add_waypoint(harness, name)
    for one, other, fields in (
        ("W1", "W2", {"length_mm": 100}),
        ("W2", "W3", {"length_mm": 50, "loop_mm": 50}),
        ("W2", "W4", {"length_mm": 300}),
        ("W1", "W5", {"length_mm": 200, "plug": "P1", "plug_mm": 50}),
        ("W4", "W5", {"length_mm": 900}),
    ):
        harness = editing.set_leg(harness, one, other, **fields)
    for name, at in (("roof", "W3"), ("low left", "W4"), ("low right", "W4"), ("work", "W5")):
        harness = editing.add_lamp(harness, name, output=1, at=at)
    return settle(apply(harness, best_plan(harness)))


def test_the_whole_picture():
    assert picture(lorry(), 80) == (
        "0         100       200      300       400 mm",
        "┴─────────┴─────────┴────────┴─────────┴",
        "■                                        controller",
        "├─────────◆                              hinge  2 wires  J1 3NR  J3 6EL",
        "│         ├~~~~~~~~~○                    cab  2 wires  1 lamp",
        "│         └────────────────────────────◆ bumper  2 wires  2 lamps  J2 CK5",
        "│                                          J4 5JX",
        "└─────▣─────────────○                    hopper  2 wires  P1  1 lamp",
        "also bumper to hopper, 900 mm, not used",
        "◆ joint  ○ lamps  ~~ moves  ▣ plug",
    )


def test_plain_signs():
    lines = picture(lorry(), 60, signs=PLAIN)
    assert all(line.isascii() for line in lines)
    assert lines[2].startswith("C ")
    assert any("~" in line for line in lines)


def cells(text: str) -> int:
    return sum(
        0
        if unicodedata.combining(sign) or sign in "\u200d\ufe0f"
        else 2
        if unicodedata.east_asian_width(sign) in "WF"
        else 1
        for sign in text
    )


@pytest.mark.parametrize("width", [40, 60, 80, 120, 200])
def test_within_its_width_and_with_everything_in_it(width: int):
    for seed in range(25):
        harness = harness_from_seed(seed, points=(1, 9), lamps=(1, 9), nasty=0.5)
        lines = picture(harness, width)
        assert all(cells(line) <= width for line in lines), seed
        text = "\n".join(lines)
        tags = {record.wire: record.tag for record in harness.ledger if record.live}
        for joint in harness.joints:
            tag = tags[f"{joint.id}{harness.polarity_of(joint)}"]
            assert f"{joint.id} {tag}" in text, seed


def test_distances_are_to_scale():
    harness = large_model(10, 4, 8, seed=2, plugs=0, moving=0)
    harness = settle(apply(harness, best_plan(harness)))
    lines = picture(harness, 160)
    far = max(len(line[:80].rstrip()) for line in lines[2:] if " point " in line) - 1
    near = route_graph(harness).distance_mm
    longest = max(near.values())
    for point in harness.waypoints[1:]:
        line = next(line for line in lines if f" {point.name}  " in line)
        column = len(line[:80].rstrip()) - 1
        # Half a column of rounding, and one more for a leg that is shorter than a column.
        assert abs(column - near[point.id] / longest * far) <= 1.6, point.name


def test_names_are_data():
    for name in NASTY_NAMES:
        harness = editing.add_waypoint(editing.new_harness("n", "NST"), name)
        harness = editing.set_leg(harness, "W1", "W2", length_mm=100)
        lines = picture(harness, 80)
        assert any(name[:20] in line for line in lines)


def test_nothing_but_a_controller():
    lines = picture(editing.new_harness("bare", "BAR"))
    assert lines[0].startswith("■")
    assert "controller" in lines[0]


def test_what_is_not_connected_is_said():
    harness = editing.add_waypoint(editing.add_waypoint(editing.new_harness("b", "BAR"), "isle"), "rock")
    assert "not connected: isle, rock" in picture(harness)


def test_legs_without_length_are_still_seen():
    harness = editing.new_harness("zero", "ZRO")
    for name in ("one", "two"):
        harness = editing.add_waypoint(harness, name)
    harness = editing.set_leg(harness, "W1", "W2", length_mm=0)
    harness = editing.set_leg(harness, "W2", "W3", length_mm=0)
    assert [line.split()[:2] for line in picture(harness)[:3]] == [
        ["■", "controller"],
        ["└•", "one"],
        ["└•", "two"],
    ]
