"""Labels on pages and strips, calibration, and the PDF at its true size."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

import pypdfium2
import pytest
from PIL import Image, ImageChops

from model.errors import BadValue, StoreError
from model.labels.drawing import draw
from model.labels.items import Layout, Line
from model.labels.layout import lay_out
from model.labels.sheets import (
    Calibration,
    Page,
    Rulers,
    calibration_page,
    calibration_tape,
    draw_page,
    make_pdf,
    pages,
    tape_rulers,
)
from model.labels.stock import load_stocks
from model.tags import ALPHABET
from tests.model.labels.label_cases import label

STOCKS = load_stocks()


def some_labels(name: str, count: int, dpi: int | None = None) -> list[Layout]:
    stock = STOCKS[name] if dpi is None else STOCKS[name].at(dpi)
    tags = [first + second + "7" for first in ALPHABET for second in ALPHABET]
    return [lay_out(stock, label(tag=tags[number], end="LC"[number % 2])) for number in range(count)]


def order(sheets: tuple[Page, ...]) -> list[str]:
    return [placed.layout.text.name for page in sheets for placed in page.placed]


@pytest.mark.parametrize(
    ("name", "count", "start", "on_pages"),
    [
        ("flags-a4", 54, 0, [54]),
        ("flags-a4", 55, 0, [54, 1]),
        ("flags-a4", 10, 50, [4, 6]),
        ("flags-letter", 1, 50, [1]),
        ("strips-letter", 300, 3, [291, 9]),
        ("cards-a4", 11, 0, [10, 1]),
    ],
)
def test_sheets_are_filled_in_order_from_the_start_position(
    name: str, count: int, start: int, on_pages: list[int]
) -> None:
    layouts = some_labels(name, count)
    sheets = pages(layouts, start=start)
    assert [len(page.placed) for page in sheets] == on_pages
    assert order(sheets) == [layout.text.name for layout in layouts]
    stock = layouts[0].stock
    sheet = stock.sheet
    assert sheet is not None
    first = sheets[0].placed[0]
    row, column = divmod(start, sheet.columns)
    assert first.x_mm == pytest.approx(sheet.left_mm + column * (stock.length_mm + sheet.gap_x_mm))
    assert first.y_mm == pytest.approx(sheet.top_mm + row * (stock.height_mm + sheet.gap_y_mm))


@pytest.mark.parametrize("name", sorted(STOCKS))
def test_no_label_lies_on_another_or_off_the_page(name: str) -> None:
    for page in pages(some_labels(name, 70), copies=2, strip_mm=None if STOCKS[name].sheet else 400.0):
        boxes = [
            (item.x_mm, item.y_mm, item.x_mm + item.layout.length_mm, item.y_mm + item.layout.height_mm)
            for item in page.placed
        ]
        assert min(min(box[:2]) for box in boxes) >= 0
        assert max(box[2] for box in boxes) <= page.width_mm + 1e-6
        assert max(box[3] for box in boxes) <= page.height_mm + 1e-6
        for a, b in combinations(boxes, 2):
            assert a[2] <= b[0] + 1e-6 or b[2] <= a[0] + 1e-6 or a[3] <= b[1] + 1e-6 or b[3] <= a[1] + 1e-6


def test_copies_follow_each_other() -> None:
    assert order(pages(some_labels("flag-12", 2), copies=3)) == ["227-L"] * 3 + ["237-C"] * 3


def test_tape_is_one_label_a_page_or_strips_of_a_length() -> None:
    layouts = some_labels("flag-12", 9)
    single = pages(layouts)
    assert [len(page.placed) for page in single] == [1] * 9
    assert (single[0].width_mm, single[0].height_mm) == (layouts[0].length_mm, 12.0)
    strips = pages(layouts, strip_mm=300.0)
    assert order(strips) == order(single)
    assert all(page.width_mm <= 300 for page in strips)
    assert strips[0].width_mm + 2 + layouts[len(strips[0].placed)].length_mm > 300
    cuts = [item for item in strips[0].items if isinstance(item, Line) and item.style == "cut"]
    assert len(cuts) == len(strips[0].placed) - 1


def test_carrier_runs_across_the_text() -> None:
    stock = STOCKS["ladder-2.4"]
    page = pages(some_labels("ladder-2.4", 5), strip_mm=200.0)[0]
    assert (page.width_mm, page.height_mm) == (stock.carrier_mm, pytest.approx(5 * stock.height_mm + 4 * 2.0))
    assert {item.x_mm for item in page.placed} == {(58.0 - 38.0) / 2}


def test_cut_lines_go_round_each_label_once() -> None:
    page = pages(some_labels("flags-a4", 2))[0]
    cuts = [item for item in page.items if isinstance(item, Line) and item.style == "cut"]
    assert len(cuts) == 7  # two labels side by side share one side


@pytest.mark.parametrize(
    ("name", "options"),
    [
        ("flags-a4", {"start": 54}), ("flags-a4", {"start": -1}), ("flag-12", {"start": 1}),
        ("flag-12", {"copies": 0}), ("flag-12", {"copies": 101}), ("flag-12", {"strip_mm": 5000.0}),
        ("flag-12", {"strip_mm": 0.0}),
    ],
)  # fmt: skip
def test_refuses(name: str, options: dict[str, float]) -> None:
    with pytest.raises(BadValue):
        pages(some_labels(name, 3), **options)  # type: ignore[arg-type]


def test_refuses_mixed_stock_and_takes_nothing() -> None:
    with pytest.raises(BadValue, match="different stock"):
        pages([*some_labels("flag-12", 1), *some_labels("flag-18", 1)])
    assert pages([]) == ()


def _black_or_white(image: Image.Image) -> Image.Image:
    return image.point(lambda value: 255 * (value > 127))


def _rendered(path: Path, number: int, dpi: float) -> Image.Image:
    with pypdfium2.PdfDocument(path) as document:
        return document[number].render(scale=dpi / 72).to_pil().convert("L")


@pytest.mark.parametrize("name", sorted(STOCKS))
def test_pdf_pages_have_the_size_of_the_stock(name: str, tmp_path: Path) -> None:
    sheets = pages(some_labels(name, 3))
    path = tmp_path / "labels.pdf"
    assert make_pdf(sheets, path, title="Labels \N{BULLET} GRT")
    with pypdfium2.PdfDocument(path) as document:
        assert len(document) == len(sheets)
        assert document.get_metadata_dict()["Title"] == "Labels \N{BULLET} GRT"
        for page, written in zip(sheets, document, strict=True):
            width, height = (points * 25.4 / 72 for points in written.get_size())
            assert width == pytest.approx(page.width_mm, abs=0.01)
            assert height == pytest.approx(page.height_mm, abs=0.01)
            pictures = list(written.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_IMAGE]))
            assert len(pictures) == 1
            assert pictures[0].get_metadata().bits_per_pixel == 1
    assert list(tmp_path.iterdir()) == [path]


def test_pdf_shows_each_dot_that_was_drawn(tmp_path: Path) -> None:
    layouts = some_labels("flag-12", 1, 300)
    path = tmp_path / "labels.pdf"
    make_pdf(pages(layouts), path)
    drawn = draw(layouts[0])
    shown = _black_or_white(_rendered(path, 0, 300 * 3).resize(drawn.size, Image.Resampling.BOX))
    differing = ImageChops.difference(drawn.convert("L"), shown).histogram()[255]
    assert differing < 0.002 * drawn.width * drawn.height


def test_label_lies_where_the_sheet_says_within_a_tenth(tmp_path: Path) -> None:
    """Measured on the rendered page: the bar under the tag of the last place."""
    layout = some_labels("flags-a4", 1)[0]
    sheet = pages([layout], start=53)
    path = tmp_path / "labels.pdf"
    make_pdf(sheet, path)
    bar = next(item for item in layout.items if isinstance(item, Line) and item.style == "bar")
    shown = ImageChops.invert(_black_or_white(_rendered(path, 0, 600)))
    x, y = 7.5 + 2 * 65 + bar.x1_mm, 13.5 + 17 * 15 + bar.y1_mm
    dot = 25.4 / 600
    around = (x - 0.6, y - 0.2, x + 5, y + 0.7)
    box = shown.crop(tuple(round(value / dot) for value in around)).getbbox()
    assert box is not None
    assert box[0] * dot == pytest.approx(0.6, abs=0.1)
    assert box[1] * dot == pytest.approx(0.2, abs=0.1)
    assert (box[3] - box[1]) * dot == pytest.approx(bar.width_mm, abs=0.1)


def test_same_pages_give_the_same_bytes(tmp_path: Path) -> None:
    for name in ("a.pdf", "b.pdf"):
        make_pdf(pages(some_labels("flags-a4", 5)), tmp_path / name, title="GRT")
    assert (tmp_path / "a.pdf").read_bytes() == (tmp_path / "b.pdf").read_bytes()


def test_stopping_leaves_no_file(tmp_path: Path) -> None:
    seen: list[tuple[int, int]] = []

    def going(done: int, total: int) -> bool:
        seen.append((done, total))
        return done < 2

    assert not make_pdf(pages(some_labels("flag-12", 5)), tmp_path / "labels.pdf", going=going)
    assert seen == [(0, 5), (1, 5), (2, 5)]
    assert list(tmp_path.iterdir()) == []


def test_an_older_file_stays_when_writing_fails(tmp_path: Path) -> None:
    path = tmp_path / "labels.pdf"
    path.write_text("old")

    def going(done: int, total: int) -> bool:
        raise RuntimeError("the screen went away")

    with pytest.raises(RuntimeError):
        make_pdf(pages(some_labels("flag-12", 1)), path, going=going)
    assert path.read_text() == "old"
    assert list(tmp_path.iterdir()) == [path]
    with pytest.raises(StoreError):
        make_pdf(pages(some_labels("flag-12", 1)), tmp_path / "none" / "labels.pdf")


def _ruler_ends(path: Path, stretch_x: float = 1.0, stretch_y: float = 1.0) -> tuple[float, float]:
    """Lengths in mm of the two base lines as a printer that stretches by these factors puts them on paper."""
    dpi = 600
    dot = 25.4 / dpi
    ink = ImageChops.invert(_black_or_white(_rendered(path, 0, dpi)))
    lengths = []
    for row in (True, False):
        if not row:  # the ruler across ends above
            ink = ink.crop((0, round(55 / dot), ink.width, ink.height))
        best = 0
        for at in range(round(28 / dot), round(64 / dot)):
            line = ink.crop((0, at, ink.width, at + 1) if row else (at, 0, at + 1, ink.height))
            found = line.getbbox()
            if found and line.histogram()[255] > 0.95 * (found[2] - found[0] if row else found[3] - found[1]):
                best = max(best, line.histogram()[255])
        lengths.append(best * dot)
    return lengths[0] * stretch_x, lengths[1] * stretch_y


def test_calibrated_printer_prints_true(tmp_path: Path) -> None:
    """A printer that makes everything 1.5 % too wide and 0.8 % too short, measured with a ruler to 0.1 mm."""
    wide, short = 1.015, 0.992
    rulers = Rulers()
    before = tmp_path / "before.pdf"
    make_pdf([calibration_page("A4", rulers)], before)
    true = _ruler_ends(before)
    assert true == (pytest.approx(150.0, abs=0.1), pytest.approx(200.0, abs=0.1))
    measured = [round(length, 1) for length in _ruler_ends(before, wide, short)]
    calibration = Calibration().after(*measured, rulers)
    after = tmp_path / "after.pdf"
    make_pdf([calibration_page("A4", rulers)], after, calibration=calibration)
    printed = _ruler_ends(after, wide, short)
    assert printed == (pytest.approx(150.0, abs=0.15), pytest.approx(200.0, abs=0.15))
    again = calibration.after(*printed, rulers)
    assert again.x == pytest.approx(1 / wide, abs=0.001)
    assert again.y == pytest.approx(1 / short, abs=0.001)


@pytest.mark.parametrize("measured", [(120.0, 200.0), (150.0, 0.0), (150.0, float("nan")), (150.0, 230.0)])
def test_a_measure_that_can_not_be_is_refused(measured: tuple[float, float]) -> None:
    with pytest.raises(BadValue, match="100 %"):
        Calibration().after(*measured, Rulers())


@pytest.mark.parametrize("page", ["A4", "Letter"])
def test_calibration_page_fits_its_paper(page: str) -> None:
    image = draw_page(calibration_page(page))
    box = ImageChops.invert(image).getbbox()
    assert box is not None
    margin = round(6 / (25.4 / 600))
    assert box[0] >= margin
    assert box[2] <= image.width - margin
    assert box[3] <= image.height - margin
    with pytest.raises(BadValue):
        calibration_page("A3")


def test_sheet_says_how_to_print_it() -> None:
    page = pages(some_labels("flags-a4", 1), heading="GRT Winter gritter")[0]
    words = [item.text for item in page.items if hasattr(item, "text")]
    assert any("100 %" in word for word in words)
    assert any("GRT Winter gritter" in word and "page 1 of 1" in word for word in words)


@pytest.mark.parametrize("name", ["flag-9", "flag-12", "flag-24", "sleeve-6.4"])
def test_rulers_on_a_tape_have_their_length_and_stay_on_it(name: str) -> None:
    stock = STOCKS[name]
    page = calibration_tape(stock, note="For the printer desk.")
    rulers = tape_rulers(stock)
    assert page.fed_across
    assert (rulers.y_mm, page.height_mm) == (100.0, stock.carrier_mm)
    within = stock.height_mm - 2 * stock.margin_y_mm
    assert within - 1.5 < rulers.x_mm < within
    dot = stock.dot_mm
    ink = ImageChops.invert(draw_page(page).convert("L"))
    box = ink.getbbox()
    assert box is not None
    left, upper, right, lower = (value * dot for value in box)
    assert stock.margin_x_mm <= left < right <= page.width_mm - stock.margin_x_mm
    assert stock.margin_y_mm - 1e-6 <= upper < lower <= stock.height_mm - stock.margin_y_mm + 1e-6
    parted = round((page.width_mm - stock.margin_x_mm - 8.5) / dot)  # between the two rulers
    along = ink.crop((0, box[1], parted, box[1] + 1)).getbbox()
    across = ink.crop((parted, 0, ink.width, ink.height)).getbbox()
    assert along is not None
    assert across is not None
    assert (along[2] - along[0]) * dot == pytest.approx(100.0, abs=1.5 * dot)
    assert (across[3] - across[1]) * dot == pytest.approx(rulers.x_mm, abs=1.5 * dot)


@pytest.mark.parametrize("name", ["sleeve-1.6", "flags-a4", "ladder-2.4"])
def test_rulers_go_on_no_other_stock(name: str) -> None:
    with pytest.raises(BadValue, match="rulers on"):
        calibration_tape(STOCKS[name])


@pytest.mark.parametrize("turned", [False, True])
def test_a_stretched_tape_label_is_whole_and_as_much_longer(turned: bool, tmp_path: Path) -> None:
    """A printer that feeds 3 % short gets 3 % more, along the tape only, and nothing is cut off."""
    sheets = pages(some_labels("flag-12", 1))
    found = []
    for stretch in (Calibration(), Calibration(y=1 / 0.97)):
        path = tmp_path / f"{stretch.y}.pdf"
        make_pdf(sheets, path, calibration=stretch, turned=turned)
        with pypdfium2.PdfDocument(path) as document:
            part = next(document[0].get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_IMAGE]))
            left, lower, right, upper = part.get_bounds()
            width, height = sorted(document[0].get_size(), reverse=True)
            assert 0 <= left < right <= width
            found.append((right - left, upper - lower, width, height))
    (length, height, paper, tape), (longer, as_high, more, as_wide) = found
    assert longer / length == pytest.approx(1 / 0.97, abs=1e-4)
    assert more / paper == pytest.approx(1 / 0.97, abs=1e-4)
    assert (as_high, as_wide) == (pytest.approx(height, abs=1e-3), pytest.approx(tape, abs=1e-3))


def test_a_ruler_not_measured_leaves_its_way_as_it_is() -> None:
    before = Calibration(x=1.01, y=0.99)
    after = before.after(None, 99.0, Rulers(x_mm=10, y_mm=100))
    assert (after.x, after.y) == (1.01, pytest.approx(0.99 * 100 / 99))
