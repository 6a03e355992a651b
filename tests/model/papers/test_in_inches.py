"""Papers of a person who measures in inches: what is read is in inches, a spreadsheet still gets mm."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from pypdfium2 import PdfDocument

from model import lengths
from model.papers.board import board
from model.papers.csv_writer import papers_csv
from model.papers.drawing import drawing
from model.papers.figure import Figure, Words
from model.papers.html_writer import papers_html
from model.papers.pdf_writer import papers_pdf
from model.papers.shelf import PAPERS
from model.papers.table import LENGTH_COLUMNS, Table, as_csv, as_text, number_columns, to_read
from model.papers.wire_list import wire_table
from model.routing.picture import picture
from model.routing.tree import waypoint_tree
from tests.model.papers.looms import planned

TUG = planned("tug")


@pytest.fixture
def inches() -> Iterator[None]:
    lengths.write_in("inch")
    yield
    lengths.write_in("mm")


def cuts() -> list[float]:
    table = wire_table(TUG)
    return [float(row[table.columns.index("cut mm")]) for row in table.rows]


def words_of(figure: Figure) -> list[str]:
    return [item.text for item in figure.items if isinstance(item, Words)]


TABLE = Table(
    title="Cut list, lengths in mm",
    columns=("tag", "cut mm", "bundle mm"),
    rows=(("254", "254", "3"), ("K7L", "6.4", "3.5"), ("H4E", "as measured", "")),
)


@pytest.mark.usefixtures("inches")
def test_a_table() -> None:
    read = to_read(TABLE)
    assert read.title == "Cut list, lengths in inches"
    assert read.columns == ("tag", "cut in", "bundle mm")
    assert read.rows == (("254", "10", "3"), ("K7L", "0.25", "3.5"), ("H4E", "as measured", ""))
    assert number_columns(to_read(Table(title="", columns=TABLE.columns, rows=TABLE.rows[:2]))) == {1, 2}
    assert "cut in" in as_text(TABLE)
    assert as_csv((TABLE,)).startswith("tag,cut mm,bundle mm\r\n'254,254,3\r\n")


def test_in_mm_a_table_stays_as_it_is() -> None:
    assert to_read(TABLE) is TABLE


def test_every_column_of_lengths_is_known() -> None:
    """A head in mm is a length that follows the unit, or one of the few sizes that never do."""
    heads = {
        column
        for paper in PAPERS
        if paper.tables is not None
        for table in paper.tables(TUG)
        for column in table.columns
        if column.endswith(" mm")
    }
    assert heads - LENGTH_COLUMNS == {"bundle mm", "bend radius mm", "hole mm"}


@pytest.mark.usefixtures("inches")
def test_every_paper() -> None:
    said = {lengths.text(cut) for cut in cuts()}
    html = papers_html(PAPERS, TUG)
    assert all(f"<dd>{one}</dd>" in html for one in said)
    assert not any(f"<dd>{cut:g} mm</dd>" in html for cut in cuts())
    assert ">cut in</th>" in html
    assert ">cut mm</th>" not in html
    document = PdfDocument(papers_pdf(PAPERS, TUG))
    text = " ".join(page.get_textpage().get_text_range() for page in document)
    assert all(f", {one}" in text for one in said), "the heads of the bench cards"
    assert "lengths in inches" in text
    assert "lengths in mm" not in text
    for figure in (drawing(TUG), board(TUG).figure):
        legs = [words for words in words_of(figure) if re.search(r"\d in\b", words)]
        assert len(legs) >= len([leg for leg in TUG.legs if leg.length_mm]) // 2
        assert not [words for words in words_of(figure) if re.search(r"\d mm\b", words)]


@pytest.mark.usefixtures("inches")
def test_the_ruler_of_the_drawing() -> None:
    figure = drawing(TUG)
    scale = float(figure.title.rpartition("1 : ")[2])
    ticks = [
        (float(item.text), item.x_mm)
        for item in figure.items
        if isinstance(item, Words) and item.anchor == "middle" and re.fullmatch(r"\d+", item.text)
    ]
    (first, left), *rest = sorted(ticks)
    assert first == 0
    assert len(rest) > 3
    for at, x_mm in rest:
        assert (x_mm - left) * scale == pytest.approx(25.4 * at)
    assert "inches from the controller along the wires" in words_of(figure)


@pytest.mark.usefixtures("inches")
def test_the_loom_in_characters() -> None:
    figures = next(line for line in picture(TUG, 100) if line.endswith(" in"))
    ticks = [float(one) for one in figures.split()[:-1]]
    far = max(branch.distance_mm or 0.0 for branch in waypoint_tree(TUG)) / 25.4
    assert ticks[0] == 0
    assert far - (ticks[2] - ticks[1]) < ticks[-1] <= far


def test_a_spreadsheet_gets_mm_whatever_is_chosen() -> None:
    before = papers_csv(PAPERS, TUG)
    lengths.write_in("inch")
    try:
        after = papers_csv(PAPERS, TUG)
    finally:
        lengths.write_in("mm")
    assert after["TUG-wire-list.csv"] == before["TUG-wire-list.csv"]
    assert after["TUG-cut-list-cut.csv"] == before["TUG-cut-list-cut.csv"]
    assert after.keys() == before.keys()
