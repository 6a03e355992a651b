"""The drawing as a file of its own: to scale, whole, with every tag, in each kind of file."""

from __future__ import annotations

import io
import xml.etree.ElementTree as ElementTree
from itertools import pairwise

import attrs
import pypdfium2
import pytest
from PIL import Image

from model.errors import BadValue
from model.papers import figure_image as images
from model.papers.drawing import drawing
from model.papers.figure import Figure, Stroke, Words, around
from model.papers.figure_image import EDGE_MM, MM_PER_INCH, WRITERS, figure_image, image_kind
from model.standards.colours import COLOURS
from tests.model.papers.looms import planned
from tests.strategies import NASTY_NAMES

GRITTER = planned("gritter")
SVG = "{http://www.w3.org/2000/svg}"


def tags(figure: Figure) -> set[str]:
    return {item.tag for item in figure.items if isinstance(item, Words) and item.tag}


@pytest.mark.parametrize(
    ("name", "kind"), [("a.png", "png"), ("A.B.SVG", "svg"), ("loom.pdf", "pdf"), (".png", "png")]
)
def test_the_kind_is_that_of_the_name(name: str, kind: str):
    assert image_kind(name) == kind


@pytest.mark.parametrize("name", ["loom", "png", "loom.gif", "loom.png.bak", ""])
def test_other_kinds_are_refused(name: str):
    with pytest.raises(BadValue):
        image_kind(name)


def test_a_png_has_the_size_of_the_drawing():
    figure = drawing(GRITTER)
    image = Image.open(io.BytesIO(figure_image(figure, GRITTER, "png")))
    dpi = image.info["dpi"][0]
    assert dpi == pytest.approx(300, abs=0.01)
    assert image.width * MM_PER_INCH / dpi == pytest.approx(figure.width_mm + 2 * EDGE_MM, abs=0.2)
    # Wire of both colours is there, and nothing runs over the edge.
    seen = {colour for _, colour in image.getcolors(1 << 24)}
    assert {COLOURS["RD"].rgb, COLOURS["BK"].rgb} <= seen
    edge = round((EDGE_MM - 2) * dpi / MM_PER_INCH)
    for box in ((0, 0, image.width, edge), (0, image.height - edge, *image.size), (0, 0, edge, image.height)):
        assert {colour for _, colour in image.crop(box).getcolors()} == {images.PAPER_RGB}


def test_a_png_is_drawn_to_scale():
    """A line from 10 to 60 mm is found between these columns of dots, where it was put."""
    stroke = Stroke(points=((10.0, 5.0), (60.0, 5.0)), width_mm=1.0, ink="RD")
    figure = Figure(title="line", about="a line", width_mm=80.0, height_mm=10.0, items=(stroke,))
    image = Image.open(io.BytesIO(figure_image(figure, GRITTER, "png")))
    red = Image.new("1", image.size)
    red.putdata([dot == COLOURS["RD"].rgb for dot in image.get_flattened_data()])
    left, _, right, _ = red.getbbox()
    dots = 300 / MM_PER_INCH
    assert (left / dots, right / dots) == pytest.approx((10 + EDGE_MM, 60 + EDGE_MM), abs=0.2)


def test_a_dashed_line_has_gaps_and_ends_where_it_should():
    dashes = images._dashes((0.0, 0.0), (10.0, 0.0), 1.2, 0.8)
    assert dashes[0] == ((0.0, 0.0), (1.2, 0.0))
    assert dashes[-1][1][0] <= 10.0
    assert all(one[1][0] < other[0][0] for one, other in pairwise(dashes))
    assert images._dashes((3.0, 3.0), (3.0, 3.0), 1.2, 0.8) == []


def test_a_very_long_drawing_is_drawn_coarser(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(images, "MOST_DOTS", 1e6)
    image = Image.open(io.BytesIO(figure_image(drawing(GRITTER), GRITTER, "png")))
    assert image.width * image.height < 1.1e6
    assert image.info["dpi"][0] < 150


def test_an_svg_is_whole_and_shows_every_tag():
    figure = drawing(GRITTER)
    root = ElementTree.fromstring(figure_image(figure, GRITTER, "svg"))
    assert root.get("width") == f"{figure.width_mm + 2 * EDGE_MM:.2f}mm"
    texts = {element.text for element in root.iter(f"{SVG}text")}
    assert tags(figure) <= texts
    assert figure.title in texts
    assert len(tags(figure)) == sum(record.live for record in GRITTER.ledger)
    # What explains the signs stands in the picture itself.
    assert figure.about.split(".")[0].split()[0] in " ".join(text for text in texts if text)


def test_a_pdf_is_one_page_of_the_drawing_s_size_with_every_tag():
    figure = drawing(GRITTER)
    document = pypdfium2.PdfDocument(figure_image(figure, GRITTER, "pdf", day="2026-03-03"))
    assert len(document) == 1
    wide_pt, _ = document[0].get_size()
    assert wide_pt * MM_PER_INCH / 72 == pytest.approx(figure.width_mm + 2 * EDGE_MM, abs=0.1)
    text = document[0].get_textpage().get_text_range()
    assert all(tag in text for tag in tags(figure))


@pytest.mark.parametrize("kind", WRITERS)
def test_names_of_any_kind_are_only_text(kind: str):
    lamps = tuple(
        attrs.evolve(lamp, name=name) for lamp, name in zip(GRITTER.lamps, NASTY_NAMES, strict=False)
    )
    harness = attrs.evolve(GRITTER, lamps=(*lamps, *GRITTER.lamps[len(lamps) :]), name="<b>&")
    figure = drawing(harness)
    assert around(figure.items)[2] <= figure.width_mm + 0.5
    made = figure_image(figure, harness, kind)
    if kind == "svg":
        texts = {element.text for element in ElementTree.fromstring(made).iter(f"{SVG}text")}
        assert "<b>lamp</b> & more" in texts
    assert len(made) > 10_000


def test_another_kind_is_refused():
    with pytest.raises(BadValue):
        figure_image(drawing(GRITTER), GRITTER, "gif")
