"""Ways through the model, against networkx on random graphs."""

from __future__ import annotations

from itertools import islice, pairwise
from random import Random

import networkx as nx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from model import editing
from model.errors import NotThere
from model.harness import Harness
from model.routing.graph import leg_length_mm, route_graph, shortest_way, way_length_mm, ways


def random_model(rng: Random, points: int, legs: int, *, whole_mm: bool = False) -> Harness:
    """Waypoints W1 (the controller) to Wn and up to `legs` legs, not always all connected."""
    harness = editing.new_harness("Random", "RND")
    for number in range(2, points + 1):
        harness = editing.add_waypoint(harness, f"point {number}")
    for _ in range(legs):
        one, other = (f"W{rng.randint(1, points)}" for _ in range(2))
        if one == other:
            continue
        length_mm = rng.randint(0, 4) * 50 if whole_mm else rng.uniform(0, 600)
        loop_mm = rng.choice((None, None, 0.0, 45.0))
        harness = editing.set_leg(harness, one, other, length_mm=length_mm, loop_mm=loop_mm)
    return harness


def as_networkx(harness: Harness) -> nx.Graph:
    graph = nx.Graph()
    graph.add_nodes_from(point.id for point in harness.waypoints)
    for leg in harness.legs:
        graph.add_edge(leg.a, leg.b, weight=leg.length_mm + (leg.loop_mm or 0))
    return graph


def length_mm(graph: nx.Graph, way: tuple[str, ...]) -> float:
    return sum(graph.edges[one, other]["weight"] for one, other in pairwise(way))


@pytest.mark.parametrize("seed", range(60))
def test_shortest_ways_are_as_short_as_those_of_networkx(seed: int):
    rng = Random(seed)
    harness = random_model(rng, rng.randint(1, 12), rng.randint(0, 24))
    graph = as_networkx(harness)
    distances, _ = nx.single_source_dijkstra(graph, "W1")
    assert route_graph(harness).distance_mm == pytest.approx(distances)
    for point in harness.waypoints:
        way = shortest_way(harness, point.id)
        if point.id not in distances:
            assert way is None
            continue
        assert way is not None
        assert (way[0], way[-1]) == (point.id, "W1")
        assert way_length_mm(harness, way) == pytest.approx(distances[point.id])
        assert length_mm(graph, way) == pytest.approx(distances[point.id])


@pytest.mark.parametrize("seed", range(60))
def test_shortest_way_between_any_two_points(seed: int):
    rng = Random(seed)
    harness = random_model(rng, 7, 12)
    graph = as_networkx(harness)
    for start in graph:
        for end in graph:
            way = shortest_way(harness, start, end)
            if not nx.has_path(graph, start, end):
                assert way is None
            else:
                assert way is not None
                assert (way[0], way[-1]) == (start, end)
                assert length_mm(graph, way) == pytest.approx(nx.dijkstra_path_length(graph, start, end))


@pytest.mark.parametrize("whole_mm", [False, True], ids=["any length", "many ways of one length"])
@pytest.mark.parametrize("seed", range(60))
def test_ways_are_the_shortest_without_a_loop(seed: int, whole_mm: bool):
    rng = Random(seed)
    harness = random_model(rng, rng.randint(2, 9), rng.randint(1, 20), whole_mm=whole_mm)
    graph = as_networkx(harness)
    start = f"W{rng.randint(1, len(harness.waypoints))}"
    most = rng.randint(1, 8)
    found = ways(harness, start, most)
    if not nx.has_path(graph, start, "W1"):
        assert found == ()
        return
    theirs = list(islice(nx.shortest_simple_paths(graph, start, "W1", weight="weight"), most))
    assert len(found) == len(theirs)
    assert len(set(found)) == len(found), "no way twice"
    for way in found:
        assert (way[0], way[-1]) == (start, "W1")
        assert len(set(way)) == len(way), "no waypoint twice"
        assert all(graph.has_edge(one, other) for one, other in pairwise(way))
    lengths = [length_mm(graph, way) for way in found]
    assert lengths == pytest.approx(sorted(lengths))
    # Ways of one length may come in any order, so the lengths are compared and not the ways.
    assert lengths == pytest.approx([length_mm(graph, tuple(way)) for way in theirs])


@given(st.randoms(use_true_random=False), st.integers(2, 7), st.integers(0, 14))
def test_all_ways_are_found_when_asked_for_all(rng: Random, points: int, legs: int):
    harness = random_model(rng, points, legs, whole_mm=True)
    graph = as_networkx(harness)
    start = f"W{points}"
    every = {tuple(way) for way in nx.all_simple_paths(graph, start, "W1")}
    assert set(ways(harness, start, 10_000)) == every


def test_from_the_controller_to_itself():
    harness = editing.new_harness("One", "ONE")
    assert shortest_way(harness, "W1") == ("W1",)
    assert ways(harness, "W1") == (("W1",),)
    assert way_length_mm(harness, ("W1",)) == 0
    assert way_length_mm(harness, ()) == 0


def test_a_moving_joint_makes_a_way_longer():
    # Over the hinge 100 + 60, round it 70 + 80: the longer-looking way is the shorter one.
    harness = editing.new_harness("Hinge", "HNG")
    for name in ("cab", "sill"):
        harness = editing.add_waypoint(harness, name)
    harness = editing.set_leg(harness, "W1", "W2", length_mm=100, loop_mm=60)
    harness = editing.set_leg(harness, "W1", "W3", length_mm=70)
    harness = editing.set_leg(harness, "W3", "W2", length_mm=80)
    assert leg_length_mm(harness.legs[0]) == 160
    assert ways(harness, "W2") == (("W2", "W3", "W1"), ("W2", "W1"))
    assert [way_length_mm(harness, way) for way in ways(harness, "W2")] == [150, 160]


def test_what_is_not_there():
    harness = editing.new_harness("One", "ONE")
    assert shortest_way(harness, "W9") is None
    assert ways(harness, "W9") == ()
    with pytest.raises(NotThere):
        harness.waypoint("W9")


def test_the_graph_is_worked_out_once_for_the_same_legs():
    harness = random_model(Random(1), 5, 8)
    assert route_graph(harness) is route_graph(harness)
    # What does not touch the ways does not cost them anew.
    assert route_graph(editing.rename(harness, name="Other")) is route_graph(harness)
    leg = harness.legs[0]
    assert route_graph(
        editing.set_leg(harness, leg.a, leg.b, length_mm=leg.length_mm + 1)
    ) is not route_graph(harness)
