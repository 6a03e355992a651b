"""Tables on pages: every row once, none alone on a page, narrow ones side by side."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdfium2 import PdfDocument

from model import editing
from model.papers.pdf_canvas import Canvas
from model.papers.pdf_table import LEAST_ROWS, MOST_LINES, _pages, set_table
from model.papers.table import Table


@given(
    highs=st.lists(st.floats(min_value=3, max_value=90), min_size=1, max_size=120),
    first=st.floats(min_value=100, max_value=240),
    beside=st.integers(min_value=1, max_value=3),
)
def test_every_row_stands_once_and_in_order(highs: list[float], first: float, beside: int) -> None:
    pages = _pages(highs, first, 240.0, beside)
    strips = [strip for page in pages for strip in page]
    assert [row for begin, end in strips for row in range(begin, end)] == list(range(len(highs)))
    for number, page in enumerate(pages):
        assert len(page) <= beside
        for begin, end in page:
            assert sum(highs[begin:end]) <= (240.0 if number else first) + 1.0


@pytest.mark.parametrize("count", [50, 51, 52, 53, 54, 55, 99, 103, 104, 107])
def test_no_page_holds_a_few_rows_alone(count: int) -> None:
    pages = _pages([4.6] * count, 230.0, 240.0, 1)
    if len(pages) > 1:
        begin, end = pages[-1][0]
        assert end - begin >= LEAST_ROWS


def drawn(table: Table, *, across: bool = False) -> list[str]:
    canvas = Canvas(editing.new_harness("Table", "TAB"), 210.0, 297.0, day="")
    canvas.page(across=across)
    set_table(canvas, table)
    document = PdfDocument(canvas.finish())
    return [document[n].get_textpage().get_text_range() for n in range(len(document))]


def test_a_narrow_table_stands_in_strips() -> None:
    rows = tuple((str(n), f"word {n}") for n in range(100))
    pages = drawn(Table(title="Narrow", columns=("number", "word"), rows=rows))
    assert len(pages) == 1
    assert pages[0].count("number") == 3
    assert all(f"word {n}" in pages[0] for n in range(100))


def test_a_heading_is_not_left_alone() -> None:
    canvas = Canvas(editing.new_harness("Table", "TAB"), 210.0, 297.0, day="")
    canvas.page()
    canvas.y = canvas.bottom - 20
    rows = tuple((f"some long words of row {n} " * 4, "x") for n in range(8))
    set_table(canvas, Table(title="Late", columns=("a", "b"), rows=rows))
    document = PdfDocument(canvas.finish())
    assert "Late" not in document[0].get_textpage().get_text_range()
    assert "Late" in document[1].get_textpage().get_text_range()


def test_a_row_higher_than_a_page_says_that_it_is_cut() -> None:
    rows = (("name " * 4000, "x"), ("after", "y"))
    text = "".join(drawn(Table(title="High", columns=("a", "b"), rows=rows)))
    assert "whole in the CSV" in text
    assert "after" in text
    assert text.count("name") < 4000 * MOST_LINES
