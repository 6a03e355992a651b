"""The board: true lengths, measured in the PDF itself, pages that fit together, nothing left out."""

from __future__ import annotations

import math
from itertools import combinations

import pytest
from hypothesis import given, settings
from pypdfium2 import PdfDocument

from model import editing
from model.harness import Harness
from model.labels.stock import PAGES
from model.papers.board import LARGEST_MM, Board, board, board_tables
from model.papers.board_lines import SHORT_SPUR_MM, Stretch
from model.papers.figure import Box, Chip, Disc, Stroke, Words, touches
from model.papers.pdf_writer import CROP_MM, RULER_MM, papers_pdf
from model.papers.shelf import PAPERS
from model.routing.allot import settle
from model.routing.graph import leg_length_mm, route_graph
from tests.model.papers.looms import big, planned
from tests.model.papers.pdf_lines import Line, length, lines
from tests.strategies import harnesses

BOARD = [paper for paper in PAPERS if paper.key == "board"]
LOOMS = {
    "gritter": planned("gritter"),
    "tug": planned("tug"),
    "lighthouse": planned("lighthouse"),
    "big": big(60),
}


def true_lengths(harness: Harness) -> list[float]:
    """Every leg of the tree of shortest ways, and every lamp that stands apart from its waypoint."""
    graph = route_graph(harness)
    legs = [leg_length_mm(graph.legs[point][parent]) for point, parent in graph.next_hop.items()]
    lamps = [
        lamp.spur_mm
        for lamp in harness.lamps
        if lamp.at in graph.distance_mm and lamp.spur_mm >= SHORT_SPUR_MM
    ]
    measured = [
        lamp.measured_mm
        for lamp in harness.lamps
        if lamp.at is None and (lamp.measured_mm or 0) >= SHORT_SPUR_MM
    ]
    return sorted(mm for mm in (*legs, *lamps, *measured) if mm)


def windows(page: str = "A4") -> tuple[tuple[float, float], tuple[float, float]]:
    """What is left of a page between its crop marks, across and upright."""
    wide, high = (side - 2 * CROP_MM for side in PAGES[page])
    return (high, wide), (wide, high)


def drawn_lengths(laid: Board) -> list[float]:
    return sorted(math.dist(one.start, one.end) for one in laid.stretches if one.length_mm)


@pytest.mark.parametrize("name", LOOMS)
def test_every_leg_and_spur_is_as_long_as_it_was_measured(name: str) -> None:
    assert drawn_lengths(board(LOOMS[name])) == pytest.approx(true_lengths(LOOMS[name]), abs=0.01)


@settings(max_examples=25, deadline=None)
@given(harness=harnesses(lamps=(1, 8), nasty=0.4))
def test_any_loom_keeps_its_lengths(harness: Harness) -> None:
    laid = board(harness)
    if not laid.missing:
        assert drawn_lengths(laid) == pytest.approx(true_lengths(harness), abs=0.01)


@pytest.mark.parametrize(("name", "page"), [("gritter", "A4"), ("big", "Letter")])
def test_lengths_are_right_within_half_a_millimetre_on_the_pages(name: str, page: str) -> None:
    harness = LOOMS[name]
    content = papers_pdf(BOARD, harness, page=page)
    assert content is not None
    document = PdfDocument(content)
    laid = board(harness, windows(page))
    sheets = [document[number] for number in range(len(document) - len(laid.tiles), len(document))]
    drawn: list[tuple[Line, float]] = []
    for sheet, tile in zip(sheets, laid.tiles, strict=True):
        size = sorted(side * 25.4 / 72 for side in sheet.get_size())
        assert size == pytest.approx(sorted(PAGES[page]), abs=0.05)
        found = lines(sheet)
        assert min(abs(length(line) - RULER_MM) for line in found) < 0.05
        dx, dy = tile.x_mm - CROP_MM, tile.y_mm - CROP_MM
        drawn += [
            ((x1 + dx, y1 + dy, x2 + dx, y2 + dy), length(one)) for one in found for x1, y1, x2, y2 in [one]
        ]
    for one in laid.stretches:
        if one.length_mm:
            # The two wires of a lamp lie beside the line between the ends.
            own = [
                long
                for line, long in drawn
                if math.dist(line[:2], one.start) < 0.6 and math.dist(line[2:], one.end) < 0.6
            ]
            assert own, one
            assert max(abs(long - one.length_mm) for long in own) < 0.5, one


def placed(sheet_lines: list[Line], tile_x: float, tile_y: float) -> set[tuple[float, ...]]:
    """Lines in the coordinates of the board, to a tenth of a millimetre."""
    dx, dy = tile_x - CROP_MM, tile_y - CROP_MM
    return {
        tuple(round(value, 1) for value in (x1 + dx, y1 + dy, x2 + dx, y2 + dy))
        for x1, y1, x2, y2 in sheet_lines
    }


def test_what_leaves_one_page_goes_on_at_the_same_place_of_the_next() -> None:
    harness = LOOMS["big"]
    laid = board(harness, windows())
    content = papers_pdf(BOARD, harness)
    assert content is not None
    document = PdfDocument(content)
    found = laid.tiles
    first = len(document) - len(found)
    wide, high = (side * 25.4 / 72 - 2 * CROP_MM for side in document[first].get_size())
    assert (found[0].wide_mm, found[0].high_mm) == pytest.approx((wide, high), abs=0.05)
    spine = [one for one in laid.stretches if one.what.startswith("frame") and "to frame" in one.what]
    pages = [placed(lines(document[first + n]), tile.x_mm, tile.y_mm) for n, tile in enumerate(found)]
    for one in spine:
        ends = tuple(round(value, 1) for value in (*one.start, *one.end))
        on = [n for n, page in enumerate(pages) if any(math.dist(line, ends) < 0.3 for line in page)]
        crossed = [
            n
            for n, tile in enumerate(found)
            if tile.x_mm < one.end[0]
            and tile.x_mm + wide > one.start[0]
            and tile.y_mm < one.start[1] < tile.y_mm + high
        ]
        assert set(crossed) <= set(on), one


@pytest.mark.parametrize("name", LOOMS)
def test_the_pages_hold_all_of_it_and_lie_edge_to_edge(name: str) -> None:
    laid = board(LOOMS[name], windows())
    found = laid.tiles
    assert len({tile.name for tile in found}) == len(found)
    for item in laid.figure.items:
        if isinstance(item, Stroke):
            for x, y in item.points:
                assert any(
                    tile.x_mm - 0.01 <= x <= tile.x_mm + tile.wide_mm + 0.01
                    and tile.y_mm - 0.01 <= y <= tile.y_mm + tile.high_mm + 0.01
                    for tile in found
                )
    wide, high = found[0].wide_mm, found[0].high_mm
    for tile in found:
        across, down = (tile.x_mm - found[0].x_mm) / wide, (tile.y_mm - found[0].y_mm) / high
        assert (across, down) == pytest.approx((round(across), round(down)), abs=1e-6)


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("name", LOOMS)
def test_no_cut_goes_through_words_or_signs(name: str, page: str) -> None:
    laid = board(LOOMS[name], windows(page))
    for item in laid.figure.items:
        if isinstance(item, (Words, Chip, Disc, Box)):
            assert any(tile.holds(item.extent) for tile in laid.tiles), item


def crosses(one: Stretch, other: Stretch) -> bool:
    if any(math.dist(p, q) < 0.01 for p in (one.start, one.end) for q in (other.start, other.end)):
        return False

    def side(line: Stretch, point: tuple[float, float]) -> float:
        (x1, y1), (x2, y2) = line.start, line.end
        return (x2 - x1) * (point[1] - y1) - (y2 - y1) * (point[0] - x1)

    return (
        side(one, other.start) * side(one, other.end) < 0
        and side(other, one.start) * side(other, one.end) < 0
    )


@pytest.mark.parametrize("name", LOOMS)
def test_no_line_of_the_board_crosses_another(name: str) -> None:
    for one, other in combinations(board(LOOMS[name]).stretches, 2):
        assert not crosses(one, other), (one.what, other.what)


def long_names() -> Harness:
    """The gritter with names as long as names may be."""
    harness = planned("gritter")
    for place, lamp in enumerate(harness.lamps):
        harness = editing.edit_lamp(
            harness, lamp.id, name=f"{place} {'W' * 57 if place % 3 else 'long ' * 11}"
        )
    for place, point in enumerate(harness.waypoints):
        harness = editing.edit_waypoint(harness, point.id, name=f"{place} {'place ' * 9}")
    return settle(harness)


@pytest.mark.parametrize("name", ["big", "long names"])
def test_words_of_the_board_lie_on_no_others(name: str) -> None:
    laid = board(LOOMS[name] if name in LOOMS else long_names(), windows())
    level = [
        item for item in laid.figure.items if isinstance(item, (Words, Chip)) and not getattr(item, "turn", 0)
    ]
    tight = []
    for item in level:
        left, top, right, bottom = item.extent
        tight.append((item, (left + 0.05, top + 0.5, right - 0.05, bottom - 0.5)))
    for (one, first), (other, second) in combinations(tight, 2):
        assert not touches(first, second), (one, other)


@pytest.mark.parametrize("name", LOOMS)
def test_every_tag_is_on_the_board(name: str) -> None:
    harness = LOOMS[name]
    words = [item for item in board(harness).figure.items if isinstance(item, Words)]
    tags = {one.tag for one in words if one.tag}
    assert tags == {record.tag for record in harness.ledger if record.live}


def test_the_figures_are_those_of_the_harness() -> None:
    harness = LOOMS["gritter"]
    legs, lamps = board_tables(harness)
    by_ends = {frozenset((row[0], row[1])): dict(zip(legs.columns, row, strict=True)) for row in legs.rows}
    names = {point.id: point.name for point in harness.waypoints}
    hops = route_graph(harness).next_hop
    for point, parent in hops.items():
        leg = harness.find_leg(point, parent)
        assert leg is not None
        row = by_ends[frozenset((names[point], names[parent]))]
        assert float(row["length mm"]) == leg.length_mm
        assert float(row["on the board mm"]) == leg_length_mm(leg)
        if leg.plug:
            from_here = leg.plug_mm if leg.a == point else leg.length_mm - leg.plug_mm
            assert (row["plug"], float(row["plug from mm"])) == (leg.plug, from_here)
    assert len(lamps.rows) == sum(lamp.at is not None for lamp in harness.lamps)


def test_what_no_board_holds_is_said() -> None:
    harness = editing.add_waypoint(editing.new_harness("Pier", "PIR"), "end")
    harness = editing.set_leg(harness, "W1", "W2", length_mm=LARGEST_MM + 1)
    harness = editing.add_waypoint(harness, "island")
    laid = board(settle(harness))
    assert not laid.stretches
    assert "left out" in laid.missing[0]
    assert "island" in laid.missing[1]
    content = papers_pdf(BOARD, settle(harness))
    assert content is not None
    assert len(PdfDocument(content)) == 2
    assert len(board(editing.new_harness("Empty", "NIL"), windows()).tiles) == 1
