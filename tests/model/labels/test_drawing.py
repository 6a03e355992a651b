"""Pictures of labels: size, ink only where the layout says, whole modules, resolution in the file."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageChops

from model.errors import StoreError
from model.labels.drawing import cells, draw, save_png
from model.labels.items import Box, Layout, Qr, Text
from model.labels.layout import lay_out
from model.labels.qr_code import matrix
from model.labels.stock import RESOLUTIONS_DPI, load_stocks
from model.labels.text import LabelText
from tests.model.labels.label_cases import inked_boxes, label, labels

STOCKS = load_stocks()


def ink(image: Image.Image) -> tuple[int, int, int, int] | None:
    """Left, upper, right, lower of the black pixels."""
    return ImageChops.invert(image).getbbox()


def _in_dots(box: Box, layout: Layout) -> tuple[int, int, int, int]:
    left, upper, right, lower = (round(value / layout.stock.dot_mm, 6) for value in box)
    return int(left), int(upper), -int(-right // 1), -int(-lower // 1)


@settings(max_examples=120, deadline=None)
@given(labels, st.sampled_from(sorted(STOCKS)), st.sampled_from((180, 203, 300)))
def test_ink_stays_in_the_boxes_of_the_layout(text: LabelText, name: str, dpi: int) -> None:
    layout = lay_out(STOCKS[name].at(dpi), text)
    image = draw(layout)
    assert image.mode == "1"
    assert abs(image.width * layout.stock.dot_mm - layout.length_mm) <= layout.stock.dot_mm / 2 + 1e-9
    assert abs(image.height * layout.stock.dot_mm - layout.height_mm) <= layout.stock.dot_mm / 2 + 1e-9
    for item, (_, box) in zip(layout.items, inked_boxes(layout), strict=True):
        box = item.box if isinstance(item, Qr) else box
        image.paste(255, _in_dots(box, layout))
    assert ink(image) is None


@settings(max_examples=60, deadline=None)
@given(labels, st.sampled_from(sorted(STOCKS)))
def test_every_item_leaves_ink(text: LabelText, name: str) -> None:
    layout = lay_out(STOCKS[name], text)
    image = draw(layout)
    for item in layout.items:
        if isinstance(item, Text) and not item.text.strip(" '.,-·"):
            continue
        assert ink(image.crop(_in_dots(item.box, layout))) is not None, item


@pytest.mark.parametrize("rotation", [0, 90, 180, 270])
def test_turned_text_stays_in_its_box(rotation: int) -> None:
    layout = lay_out(STOCKS["cards-a4"], label())
    item = Text(x_mm=40.0, y_mm=25.0, height_mm=3.0, text="Äpg 6Q", rotation=rotation)
    image = draw(attrs.evolve(layout, items=(item,)))
    found = ink(image)
    assert found is not None
    left, upper, right, lower = (value / layout.stock.dot_mm for value in item.box)
    assert found[0] >= left - 1
    assert found[1] >= upper - 1
    assert found[2] <= right + 1
    assert found[3] <= lower + 1
    long, short = max(found[2] - found[0], found[3] - found[1]), min(found[2] - found[0], found[3] - found[1])
    assert (found[2] - found[0] == long) is (rotation in (0, 180))
    assert long > 3 * short


def test_text_turned_half_round_is_the_same_upside_down() -> None:
    layout = lay_out(STOCKS["cards-a4"], label())
    pictures = []
    for rotation in (0, 180):
        item = Text(x_mm=40.0, y_mm=25.0, height_mm=3.0, text="6Hq", rotation=rotation)
        image = draw(attrs.evolve(layout, items=(item,)))
        pictures.append(image.crop(ink(image)))
    assert pictures[0].tobytes() == pictures[1].rotate(180).tobytes()


@pytest.mark.parametrize("dpi", RESOLUTIONS_DPI)
def test_modules_of_a_code_are_whole_equal_dots(dpi: int) -> None:
    layout = lay_out(STOCKS["flag-12"].at(dpi), label())
    code = layout.qr
    assert code is not None
    dots = round(code.module_mm / layout.stock.dot_mm)
    x, y = round(code.x_mm / layout.stock.dot_mm), round(code.y_mm / layout.stock.dot_mm)
    image = draw(layout)
    rows = matrix(code.content, code.version, code.level)
    side = code.modules
    for row in range(side):
        for column in range(side):
            part = image.crop(
                (x + column * dots, y + row * dots, x + (column + 1) * dots, y + (row + 1) * dots)
            )
            expected = (0, 0) if rows[row][column] else (255, 255)
            assert part.getextrema() == expected, (row, column)
    quiet = 4 * dots
    around = image.crop((x - quiet, y - quiet, x + side * dots + quiet, y + side * dots + quiet))
    around.paste(255, (quiet, quiet, quiet + side * dots, quiet + side * dots))
    assert ink(around) is None


@pytest.mark.parametrize("dpi", RESOLUTIONS_DPI)
def test_png_holds_its_resolution_and_size(tmp_path: Path, dpi: int) -> None:
    layout = lay_out(STOCKS["flag-12"].at(dpi), label())
    path = tmp_path / "label.png"
    save_png(layout, path)
    with Image.open(path) as image:
        assert image.mode == "1"
        across, down = image.info["dpi"]
        assert (across, down) == (pytest.approx(dpi, abs=0.02), pytest.approx(dpi, abs=0.02))
        assert image.width / across * 25.4 == pytest.approx(layout.length_mm, abs=0.1)
        assert image.height / down * 25.4 == pytest.approx(layout.height_mm, abs=0.1)


def test_png_that_can_not_be_written(tmp_path: Path) -> None:
    with pytest.raises(StoreError, match="can't be written"):
        save_png(lay_out(STOCKS["flag-12"], label()), tmp_path / "no folder" / "label.png")


def test_cells_show_the_label_in_half_blocks() -> None:
    layout = lay_out(STOCKS["flag-12"], label())
    rows = cells(layout, 100, 20)
    assert 1 <= len(rows) <= 20
    assert {len(row) for row in rows} <= set(range(95, 101))
    assert len({len(row) for row in rows}) == 1
    assert set("".join(rows)) <= set(" ▀▄█")
    share = sum({" ": 0, "▀": 1, "▄": 1, "█": 2}[sign] for row in rows for sign in row)
    assert 0.05 < share / (2 * len(rows) * len(rows[0])) < 0.5


def test_layout_needs_neither_pillow_nor_the_encoder() -> None:
    script = (
        "import sys, model.labels.layout, model.labels.preview, model.labels.sheets, model.labels.stock;"
        "model.labels.stock.load_stocks();"
        "heavy = {'PIL', 'qrcode', 'fontpkg', 'textual', 'rich'};"
        "print(sorted({name.partition('.')[0] for name in sys.modules} & heavy))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
