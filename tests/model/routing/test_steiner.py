"""Steiner trees on graphs: small ones by hand, nodes where lines may not meet, what is refused."""

from __future__ import annotations

import pytest

from model.errors import NotSolved
from model.routing.steiner import Graph, steiner_tree


def graph(*edges: tuple[str, str, float]) -> Graph[str]:
    """Edges as a mapping under both of their nodes."""
    found: dict[str, dict[str, float]] = {}
    for one, other, length in edges:
        found.setdefault(one, {})[other] = length
        found.setdefault(other, {})[one] = length
    return found


STAR = graph(
    ("hub", "a", 6), ("hub", "b", 6), ("hub", "c", 6), ("a", "b", 10), ("b", "c", 10), ("a", "c", 10)
)


def test_the_hub_is_found():
    tree = steiner_tree(STAR, ["a", "b", "c"])
    assert tree.weight == 18
    assert tree.exact
    assert tree.bound == 18
    assert {frozenset(edge) for edge in tree.edges} == {frozenset(("hub", end)) for end in "abc"}


def test_where_lines_may_not_meet_they_go_round():
    assert steiner_tree(STAR, ["a", "b", "c"], blocked=["hub"]).weight == 20


def test_lines_may_pass_where_they_may_not_meet():
    line = graph(("a", "x", 1), ("b", "x", 1), ("x", "end", 10))
    apart = steiner_tree(line, ["end", "a", "b"], blocked=["x", "a", "b"])
    assert apart.weight == 22
    assert apart.lines == (("a", "x", "end"), ("b", "x", "end"))
    # One may pass through the other's end if lines may meet there.
    assert steiner_tree(line, ["end", "a", "b"], blocked=["x"]).weight == 13


def test_a_blocked_end_takes_one_line():
    spokes = graph(("end", "a", 5), ("end", "b", 5), ("a", "b", 9))
    assert steiner_tree(spokes, ["end", "a", "b"]).weight == 10
    assert steiner_tree(spokes, ["end", "a", "b"], blocked=["end"]).weight == 14


@pytest.mark.parametrize(
    ("terminals", "weight"), [([], 0), (["a"], 0), (["a", "a"], 0), (["a", "b", "a"], 10)]
)
def test_few_terminals(terminals: list[str], weight: float):
    tree = steiner_tree(STAR, terminals)
    assert tree.weight == weight
    assert tree.exact
    assert tree.gap == 0


def test_edges_without_length():
    flat = graph(("a", "x", 0), ("x", "b", 0), ("x", "c", 0))
    tree = steiner_tree(flat, ["a", "b", "c"])
    assert tree.weight == 0
    assert tree.gap == 0


@pytest.mark.parametrize(
    ("net", "terminals", "found"),
    [
        (STAR, ["a", "z"], "not in the graph"),
        ({**STAR, "alone": {}}, ["a", "alone"], "not connected"),
        (graph(("a", "b", -1)), ["a", "b"], "is -1 long"),
        (graph(("a", "b", float("nan"))), ["a", "b"], "is nan long"),
    ],
)
def test_refused(net: Graph[str], terminals: list[str], found: str):
    with pytest.raises(NotSolved, match=found):
        steiner_tree(net, terminals)
