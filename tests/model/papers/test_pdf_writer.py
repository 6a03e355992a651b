"""The PDF: complete, of the size asked for, the same every time, and harmless."""

from __future__ import annotations

import re
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import pytest
from pypdfium2 import PdfDocument

from model import editing
from model.cautions import CAUTIONS
from model.errors import BadValue
from model.harness import Harness
from model.papers.pdf_canvas import MARGIN_MM
from model.papers.pdf_writer import papers_pdf
from model.papers.shelf import PAPERS
from model.papers.wire_list import wire_table
from model.routing.allot import settle
from tests.model.papers.looms import big, planned
from tests.model.tracing.loom import gritter

DAY = "2026-03-03"


def made(harness: Harness, page: str = "A4", keys: str = "") -> PdfDocument:
    chosen = [paper for paper in PAPERS if not keys or paper.key in keys.split()]
    content = papers_pdf(chosen, harness, page=page, day=DAY)
    assert content is not None
    return PdfDocument(content)


def text(document: PdfDocument, first: int = 0) -> str:
    return "\n".join(document[n].get_textpage().get_text_range() for n in range(first, len(document)))


def test_the_cover_lists_every_paper_with_its_pages() -> None:
    document = made(planned("gritter"))
    cover = document[0].get_textpage().get_text_range()
    for paper in PAPERS:
        found = re.search(rf"{paper.title}.*?pages? (\d+)", cover, re.DOTALL)
        assert found, paper.title
        page = document[int(found.group(1)) - 1].get_textpage().get_text_range()
        assert paper.title in page or paper.key == "board"
    for caution in CAUTIONS:
        assert caution.words[:40] in cover
    assert DAY in cover


@pytest.mark.parametrize(("page", "size"), [("A4", (210, 297)), ("Letter", (215.9, 279.4))])
def test_pages_have_the_size_asked_for(page: str, size: tuple[float, float]) -> None:
    document = made(planned("tug"), page)
    for number in range(len(document)):
        sides = sorted(side * 25.4 / 72 for side in document[number].get_size())
        assert sides == pytest.approx(size, abs=0.05)


@pytest.mark.parametrize("name", ["gritter", "big"])
def test_no_text_leaves_the_page_or_runs_into_the_next_column(name: str) -> None:
    document = made(
        big(60) if name == "big" else planned(name),
        keys="output-map wire-list parts-list electrics test-record",
    )
    for number in range(1, len(document)):
        page = document[number]
        wide, high = page.get_size()
        reader = page.get_textpage()
        boxes = []
        for n in range(reader.count_rects()):
            left, low, right, top = reader.get_rect(n)
            assert left > (MARGIN_MM - 1) * 72 / 25.4
            assert right < wide - (MARGIN_MM - 1) * 72 / 25.4, reader.get_text_bounded(left, low, right, top)
            assert low > 8
            assert top < high - 8
            boxes.append((round((low + top) / 2), left, right))
        boxes.sort()
        for one, other in pairwise(boxes):
            if one[0] == other[0]:
                assert one[2] < other[1] + 1, (number, one, other)


def test_the_wire_list_on_paper_is_that_of_the_spreadsheet() -> None:
    harness = planned("gritter")
    table = wire_table(harness)
    printed = text(made(harness, keys="wire-list"), 1)
    lines = {line.split()[0]: line for line in printed.splitlines() if line.split()}
    for row in table.rows:
        fields = dict(zip(table.columns, row, strict=True))
        line = lines[fields["tag"]]
        for column in ("from", "polarity", "colour", "gauge", "cut mm"):
            assert fields[column] in line, (column, line)


def test_a_page_of_the_drawing_says_whose_lines_go_on() -> None:
    document = made(big(60), keys="drawing")
    second = document[2].get_textpage().get_text_range()
    assert "mm from the controller along the wires" in second
    for number in range(1, 8):
        assert f"frame {number}" in second


def test_the_cautions_are_read_from_afar() -> None:
    document = made(planned("lighthouse"), keys="cautions")
    page = document[1].get_textpage()
    heights = [high - low for _, low, _, high in map(page.get_rect, range(page.count_rects()))]
    assert max(heights) * 25.4 / 72 > 4
    assert " ".join(CAUTIONS[-1].words.split()) in " ".join(page.get_text_range().split())
    assert len(document) == 2


def test_the_same_day_gives_the_same_bytes() -> None:
    harness = gritter()
    first = papers_pdf(PAPERS, harness, day=DAY)
    assert first == papers_pdf(PAPERS, harness, day=DAY)
    assert first != papers_pdf(PAPERS, harness, day="2026-03-04")


def test_it_can_be_stopped_and_says_how_far_it_is() -> None:
    told: list[tuple[int, int]] = []

    def going(done: int, total: int) -> bool:
        told.append((done, total))
        return done < 2

    assert papers_pdf(PAPERS, gritter(), going=going) is None
    assert told == [(0, len(PAPERS)), (1, len(PAPERS)), (2, len(PAPERS))]


def test_an_unknown_page_is_refused() -> None:
    with pytest.raises(BadValue, match="A4, Letter"):
        papers_pdf(PAPERS, gritter(), page="A3")


def test_an_empty_project_has_papers_too() -> None:
    document = made(editing.new_harness("Empty", "NIL"))
    assert "No run is accepted yet" in text(document)


NASTY = (
    "=cmd|' /C calc'!A0",
    "<script>alert(1)</script>",
    "(\\) Tj ET endstream",
    "../../etc/passwd",
    "[/] {x} %s",
    ") >> endobj",
)


def test_a_name_is_only_ever_text() -> None:
    harness = editing.rename(gritter(), name=NASTY[2])
    for lamp, name in zip(harness.lamps, NASTY, strict=False):
        harness = editing.edit_lamp(harness, lamp.id, name=name)
    for point, name in zip(harness.waypoints, NASTY[2:], strict=False):
        harness = editing.edit_waypoint(harness, point.id, name=name)
    content = papers_pdf(PAPERS, settle(harness), day=DAY)
    assert content is not None
    assert not re.search(rb"/(JavaScript|JS|Launch|URI|SubmitForm|EmbeddedFile)\b", content)
    words = " ".join(text(PdfDocument(content), 1).split())
    assert all(name in words for name in NASTY)


def test_what_the_font_lacks_is_said_on_the_cover() -> None:
    harness = settle(editing.edit_lamp(gritter(), "L1", name="信号 öЖ е\u0301 \u05d0"))
    document = made(harness)
    cover = document[0].get_textpage().get_text_range()
    assert "cjk unified ideograph-4fe1" in " ".join(cover.split())
    assert "hebrew letter alef" in " ".join(cover.split())
    assert "cyrillic" not in cover
    assert "öЖ" in text(document, 1)


def test_writing_needs_neither_a_screen_nor_an_image_library_for_the_core() -> None:
    code = "import model.papers.shelf, sys; print(*sys.modules)"
    root = Path(__file__).resolve().parents[3]
    run = subprocess.run([sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=True)
    assert not {"fpdf", "PIL", "textual"} & {name.split(".")[0] for name in run.stdout.split()}
