"""The board: true lengths, measured in the PDF itself, pages that fit together, nothing left out."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from pypdfium2 import PdfDocument

from model import editing
from model.harness import Harness
from model.labels.stock import PAGES
from model.papers.board import LARGEST_MM, SHORT_SPUR_MM, Board, board, board_tables
from model.papers.board_pages import tiles
from model.papers.figure import Stroke, Words
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
    laid = board(harness)
    content = papers_pdf(BOARD, harness, page=page)
    assert content is not None
    document = PdfDocument(content)
    sheets = [document[number] for number in range(2, len(document))]  # behind cover and overview
    drawn = [length(line) for sheet in sheets for line in lines(sheet)]
    for one in laid.stretches:
        if one.length_mm:
            assert min(abs(one.length_mm - mm) for mm in drawn) < 0.5, one
    for sheet in sheets:
        size = sorted(side * 25.4 / 72 for side in sheet.get_size())
        assert size == pytest.approx(sorted(PAGES[page]), abs=0.05)
        assert min(abs(length(line) - RULER_MM) for line in lines(sheet)) < 0.05


def placed(sheet_lines: list[Line], tile_x: float, tile_y: float) -> set[tuple[float, ...]]:
    """Lines in the coordinates of the board, to a tenth of a millimetre."""
    dx, dy = tile_x - CROP_MM, tile_y - CROP_MM
    return {
        tuple(round(value, 1) for value in (x1 + dx, y1 + dy, x2 + dx, y2 + dy))
        for x1, y1, x2, y2 in sheet_lines
    }


def test_what_leaves_one_page_goes_on_at_the_same_place_of_the_next() -> None:
    harness = LOOMS["big"]
    laid = board(harness)
    content = papers_pdf(BOARD, harness)
    assert content is not None
    document = PdfDocument(content)
    sheet = document[2]
    wide, high = (side * 25.4 / 72 - 2 * CROP_MM for side in sheet.get_size())
    found = tiles(laid.figure, wide, high)
    assert len(found) == len(document) - 2
    spine = [one for one in laid.stretches if one.what.startswith("frame") and "to frame" in one.what]
    pages = [placed(lines(document[2 + n]), tile.x_mm, tile.y_mm) for n, tile in enumerate(found)]
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
def test_the_pages_hold_all_of_it_without_a_gap(name: str) -> None:
    figure = board(LOOMS[name]).figure
    found = tiles(figure, 188, 275)
    assert len({tile.name for tile in found}) == len(found)
    for item in figure.items:
        if isinstance(item, Stroke):
            for x, y in item.points:
                assert any(
                    tile.x_mm - 0.01 <= x <= tile.x_mm + 188.01
                    and tile.y_mm - 0.01 <= y <= tile.y_mm + 275.01
                    for tile in found
                )
    xs = sorted({tile.x_mm for tile in found})
    assert all((b - a) % 188 == pytest.approx(0, abs=1e-6) or (b - a) % 188 > 187.9 for a, b in pairwise(xs))


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
    assert tiles(board(editing.new_harness("Empty", "NIL")).figure, 188, 275)
