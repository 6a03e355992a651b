"""One label of each stock as it was looked at and found good.

The pictures are beside this file. After a wanted change run `python -m tests.model.labels.test_golden`, look
at `golden/contact_sheet.png`, and only then keep them.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from PIL import Image, ImageChops

from model.labels.drawing import draw, save_png
from model.labels.items import Layout
from model.labels.layout import lay_out
from model.labels.stock import Stock, load_stocks
from tests.model.labels.label_cases import label

STOCKS = load_stocks()
WRAPPED_MM = {"wrap-19x25": 2.0, "wrap-51x76": 10.0}
"""What wraps go round that are not for a single thin wire."""

GOLDEN = Path(__file__).parent / "golden"
TOLERANCE = 0.005  # of all dots: another release of the rasteriser may set an edge a dot differently


def sample(stock: Stock) -> Layout:
    """A lamp end on wraps and sleeves of odd sizes, a controller end elsewhere, on a wire that fits."""
    least, most = stock.od_range_mm
    od_mm = WRAPPED_MM.get(stock.name, round(min(max(1.2, least * 1.1), most), 2))
    end = "L" if stock.height_mm < 5 else "C"
    if stock.name.startswith("cards"):
        steps = ("1 cut 170 mm", "2 sleeves on", "3 strip 3 mm both ends", "4 solder", "5 test")
        return lay_out(stock, label(kind="card", end="", lines=tuple((step,) for step in steps)))
    if stock.kind == "plate":
        text = label(kind="spool", tag="RD-28", end="", polarity="", lines=(("28 AWG  12 m left",),))
        return lay_out(stock, text)
    lines = (("output 5 pin A5", "out 5 A5"), ("from Indicator front left", "from Ind fr le", "from In le"))
    return lay_out(stock, label(end=end, wire_od_mm=od_mm, polarity="-", colour_code="BK", lines=lines))


@pytest.mark.parametrize("name", sorted(STOCKS))
def test_label_looks_as_it_did(name: str) -> None:
    drawn = draw(sample(STOCKS[name]))
    with Image.open(GOLDEN / f"{name}.png") as kept:
        assert drawn.size == kept.size
        differing = ImageChops.difference(drawn.convert("L"), kept.convert("L")).histogram()[255]
    assert differing <= TOLERANCE * drawn.width * drawn.height


def test_there_is_a_picture_of_each_stock_and_no_other() -> None:
    assert {path.stem for path in GOLDEN.glob("*.png")} == {*STOCKS, "contact_sheet"}


def contact_sheet() -> Image.Image:
    """All stock on one picture at about 300 dots an inch, with their names."""
    from fontpkg.pil import truetype
    from PIL import ImageDraw

    font = truetype("Roboto Mono", 26, weight=400)
    width, gap, x, y, row = 2200, 24, 24, 24, 0
    sheet = Image.new("L", (width, 4000), 225)
    pen = ImageDraw.Draw(sheet)
    layouts = sorted((sample(stock) for stock in STOCKS.values()), key=lambda one: one.height_mm)
    for layout in layouts:
        picture = draw(layout).convert("L")
        scale = 300 / layout.stock.dpi
        size = (round(picture.width * scale), round(picture.height * scale))
        picture = picture.resize(size, Image.Resampling.BOX)
        name = layout.stock.name
        if layout.squeeze < 1 or name.startswith("wrap"):
            name += f"  {layout.text.wire_od_mm:g} mm wire"
        wide = max(picture.width, round(font.getlength(name)))
        if x + wide + gap > width:
            x, y, row = gap, y + row + gap, 0
        pen.text((x, y), name, font=font, fill=0)
        sheet.paste(picture, (x, y + 36))
        x += wide + 2 * gap
        row = max(row, picture.height + 36)
    return sheet.crop((0, 0, width, y + row + gap))


if __name__ == "__main__":
    GOLDEN.mkdir(exist_ok=True)
    for path in GOLDEN.glob("*.png"):
        path.unlink()
    for stock in STOCKS.values():
        save_png(sample(stock), GOLDEN / f"{stock.name}.png")
    contact_sheet().quantize(16).save(GOLDEN / "contact_sheet.png", optimize=True)
