"""The drawing: to scale, nothing left out, nothing on top of anything else."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given, settings

from model import editing
from model.harness import Harness
from model.papers.drawing import LEFT_MM, WIDTH_MM, drawing, unplaced
from model.papers.figure import Chip, Disc, Figure, Words, shifted, touches
from model.papers.lettering import short_end
from model.papers.loom import grow
from model.routing.allot import settle
from model.routing.graph import route_graph
from model.routing.wires import derive
from tests.model.papers.looms import big, planned
from tests.strategies import harnesses

LOOMS = {
    "gritter": planned("gritter"),
    "tug": planned("tug"),
    "lighthouse": planned("lighthouse"),
    "big": big(60),
}


def scale(figure: Figure) -> float:
    return float(figure.title.rpartition(": ")[2].removeprefix("1 : "))


def texts(figure: Figure) -> list[Words]:
    return [item for item in figure.items if isinstance(item, Words)]


@pytest.mark.parametrize("name", LOOMS)
def test_every_tag_joint_plug_and_lamp_is_there_once(name: str) -> None:
    harness = LOOMS[name]
    figure = drawing(harness)
    said = [words.text for words in texts(figure)]
    tagged = [words.tag for words in texts(figure) if words.tag and words.bold]
    assert sorted(tagged) == sorted(record.tag for record in harness.ledger if record.live)
    for joint in harness.joints:
        assert said.count(joint.id) >= 1
    for leg in harness.legs:
        assert not leg.plug or leg.plug in said
    left_out = {lamp.id for lamp in unplaced(harness)}
    for lamp in harness.lamps:
        shown = [text for text in said if text and lamp.name.startswith(text.removesuffix("..."))]
        assert shown or lamp.id in left_out, lamp.name
    for wire in derive(harness).wires:
        assert short_end(wire.controller_end) in said


@pytest.mark.parametrize("name", LOOMS)
def test_a_waypoint_stands_as_far_right_as_it_is_from_the_controller(name: str) -> None:
    harness = LOOMS[name]
    figure = drawing(harness)
    distance = route_graph(harness).distance_mm
    dots = {round(item.x_mm, 6) for item in figure.items if isinstance(item, Disc) and item.radius_mm == 0.75}
    for point in harness.waypoints:
        if point.id != harness.controller.at and point.id in distance:
            x = LEFT_MM + distance[point.id] / scale(figure)
            assert any(abs(x - dot) < 1e-3 for dot in dots), point.name
    for lamp in harness.lamps:
        if lamp.at is None:
            continue
        end = LEFT_MM + (distance[lamp.at] + lamp.spur_mm) / scale(figure)
        signs = [
            item.x_mm - 0.95 for item in figure.items if isinstance(item, Disc) and item.radius_mm == 1.15
        ]
        assert any(abs(end - sign) < 1e-3 for sign in signs), lamp.name


@pytest.mark.parametrize("name", LOOMS)
def test_no_words_lie_on_others_and_none_leave_the_page(name: str) -> None:
    figure = drawing(LOOMS[name])
    solid = [item for item in figure.items if isinstance(item, (Words, Chip))]
    tight = []
    for item in solid:
        left, top, right, bottom = item.extent
        assert left >= -0.01
        assert right <= WIDTH_MM + 0.5, item
        tight.append((item, (left + 0.05, top + 0.35, right - 0.05, bottom - 0.35)))
    tight.sort(key=lambda pair: pair[1][1])
    for (one, first), (other, second) in combinations(tight, 2):
        if second[1] > first[3] + 6:
            continue
        assert not touches(first, second), (one, other)


@pytest.mark.parametrize("name", LOOMS)
def test_a_cut_between_pages_goes_through_no_words(name: str) -> None:
    figure = drawing(LOOMS[name])
    for at in figure.breaks:
        for words in texts(figure):
            _, top, _, bottom = words.extent
            assert not top + 0.5 < at < bottom - 0.6, (at, words)
    steps = [b - a for a, b in zip(figure.breaks, figure.breaks[1:], strict=False)]
    assert max(steps) < 12


@settings(max_examples=30, deadline=None)
@given(harness=harnesses(lamps=(1, 8), nasty=0.5))
def test_any_harness_can_be_drawn(harness: Harness) -> None:
    figure = drawing(harness)
    assert figure.height_mm > 0
    nodes = [node for root in grow(harness).roots for node in root.everything()]
    assert sorted(node.point.id for node in nodes) == sorted(point.id for point in harness.waypoints)


def test_what_has_no_place_is_named_and_what_is_not_connected_is_drawn() -> None:
    harness = editing.add_lamp(editing.new_harness("Odd", "ODD"), "Nowhere")
    harness = editing.add_waypoint(harness, "island")
    harness = editing.add_waypoint(harness, "other side")
    harness = editing.set_leg(harness, "W2", "W3", length_mm=100)
    harness = settle(editing.add_lamp(harness, "Castaway", at="W3"))
    assert [lamp.name for lamp in unplaced(harness)] == ["Nowhere"]
    said = [words.text for words in texts(drawing(harness))]
    assert "not connected to the controller:" in said
    assert {"island", "other side", "Castaway"} <= set(said)


def test_a_chain_of_a_thousand_waypoints_does_not_go_too_deep() -> None:
    harness = editing.new_harness("Train", "TRN")
    last = "W1"
    for number in range(1000):
        harness = editing.add_waypoint(harness, f"sleeper {number}")
        harness = editing.set_leg(harness, last, harness.waypoints[-1].id, length_mm=10)
        last = harness.waypoints[-1].id
    assert drawing(harness).height_mm > 1000


def test_moving_a_figure_moves_all_of_it() -> None:
    figure = drawing(planned("tug"))
    moved = shifted(figure.items, 3, -2)
    for one, other in zip(figure.items, moved, strict=True):
        assert other.extent == pytest.approx(
            tuple(a + b for a, b in zip(one.extent, (3, -2, 3, -2), strict=True))
        )
