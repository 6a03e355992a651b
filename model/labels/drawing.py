"""Draws a layout as a picture of black and white dots.

Pillow, the font and the QR encoder are loaded when the first label is drawn.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from model.errors import StoreError
from model.labels import font_metrics, qr_code, qr_sizes
from model.labels.items import Item, Layout, Line, Mark, Qr, Shape, Text
from model.labels.stock import MM_PER_INCH

if TYPE_CHECKING:
    from PIL import Image

BLACK, WHITE = 0, 255
DASH_MM = 0.8
STROKE = 1 / 8  # of a mark's side

_TURNS = {90: 4, 180: 3, 270: 2}  # PIL.Image.Transpose: clockwise 90, 180, 270


def draw(layout: Layout, dpi: int | None = None) -> Image.Image:
    """The label as an image of mode "1", one pixel a printer dot, at the stock's resolution or another.

    Another resolution is for screens: modules of a code may then come out unequal. Width and height
    are the label's, rounded to whole dots.
    """
    from PIL import Image

    dot = MM_PER_INCH / (dpi or layout.stock.dpi)
    size = (round(layout.length_mm / dot), round(layout.height_mm / dot))
    image = Image.new("1", size, WHITE)
    draw_into(image, layout, 0, 0, dot)
    return image


def draw_into(image: Image.Image, layout: Layout, x: int, y: int, dot: float) -> None:
    """Draws the label into `image`, its upper left corner at pixel (x, y); `dot` is a pixel's side in mm."""
    draw_items(image, layout.items, x, y, dot)


def draw_items(image: Image.Image, items: Iterable[Item], x: int, y: int, dot: float) -> None:
    """Draws items whose origin is pixel (x, y)."""
    for item in items:
        if isinstance(item, Text):
            _text(image, item, x, y, dot)
        elif isinstance(item, Qr):
            _qr(image, item, x, y, dot)
        elif isinstance(item, Mark):
            side = round(item.size_mm / dot)
            mask = _mark(item.shape, side)
            image.paste(BLACK, (x + round(item.x_mm / dot), y + round(item.y_mm / dot)), mask)
        else:
            line(image, item, x, y, dot)


def line(image: Image.Image, item: Line, x: int, y: int, dot: float) -> None:
    """Draws one line, dashed where it is to be folded or cut at."""
    left, upper, right, lower = (round(value / dot) for value in item.box)
    right, lower = max(right, left + 1), max(lower, upper + 1)
    along_x = item.x1_mm != item.x2_mm
    if item.style in ("fold", "cut"):
        mask = _dashes(right - left, lower - upper, max(2, round(DASH_MM / dot)), along_x)
        image.paste(BLACK, (x + left, y + upper), mask)
    else:
        image.paste(BLACK, (x + left, y + upper, x + right, y + lower))


@lru_cache(maxsize=64)
def _dashes(width: int, height: int, step: int, along_x: bool) -> Image.Image:
    from PIL import Image

    mask = Image.new("1", (width, height), 0)
    for start in range(0, width if along_x else height, 2 * step):
        mask.paste(255, (start, 0, start + step, height) if along_x else (0, start, width, start + step))
    return mask


def save_png(layout: Layout, path: Path, dpi: int | None = None) -> None:
    """Writes the label as a PNG that holds its resolution. StoreError if it can't be written."""
    save_image(draw(layout, dpi), path, dpi or layout.stock.dpi)


def save_image(image: Image.Image, path: Path, dpi: int) -> None:
    """Writes a drawn image as a PNG that holds its resolution. StoreError if it can't be written."""
    try:
        image.save(path, format="PNG", dpi=(dpi, dpi), optimize=False)
    except OSError as error:
        raise StoreError(str(path), f"can't be written: {error.strerror or error}") from error


def _text(image: Image.Image, item: Text, x: int, y: int, dot: float) -> None:
    cap = max(1, round(item.height_mm / dot))
    left, upper = x + round(item.x_mm / dot), y + round(item.y_mm / dot)
    row, above = _row(item.text, cap)
    if not item.rotation:
        image.paste(BLACK, (left, upper - above), row)
        return
    from PIL import Image

    high = row.height
    turned = row.transpose(Image.Transpose(_TURNS[item.rotation]))
    shift = {90: (above - high, 0), 180: (-row.width, above - high), 270: (-above, -row.width)}[item.rotation]
    image.paste(BLACK, (left + shift[0], upper + shift[1]), turned)


@lru_cache(maxsize=2048)
def _row(text: str, cap: int) -> tuple[Image.Image, int]:
    """A text as a mask, and how many rows of it lie over the capitals."""
    from PIL import Image

    top, depth = font_metrics.extents(text)
    above, below = math.ceil((top - 1) * cap), math.ceil(depth * cap)
    advance = font_metrics.ADVANCE * cap
    mask = Image.new("1", (math.ceil(len(text) * advance), above + cap + below), 0)
    for index, sign in enumerate(text):
        if sign != " ":
            glyph, over = _glyph(sign, cap)
            mask.paste(255, (round(index * advance), above - over), glyph)
    return mask, above


STRAIGHT = "AEFHKLMNPRTXYZ147"
"""The signs that end in straight strokes, above at the line of the capitals and below at the base line."""

FINE = 8
"""How many times finer a sign is drawn where hinting leaves no size with capitals of the wanted pixels."""


@lru_cache(maxsize=64)
def _font(cap: int) -> tuple[Any, int]:
    """The label font with capitals of exactly `cap` pixels, and how many times finer it is to be drawn.

    Hinting moves the line of the capitals by whole pixels and passes some heights over: at 180 dpi no
    size has capitals of 10 pixels. A font one pixel too high would lose its upper row, or run into the
    line above.
    """
    from fontpkg.pil import truetype

    size = cap / font_metrics.CAP_EM
    cell = math.floor(font_metrics.ADVANCE * cap)
    for share in range(100, 84, -1):
        font = truetype(font_metrics.FAMILY, size * share / 100, weight=font_metrics.WEIGHT)
        boxes = [font.getbbox(sign, mode="1", anchor="ls") for sign in STRAIGHT]
        if all(top == -cap and bottom == 0 and right <= cell for _, top, right, bottom in boxes):
            return font, 1
    return truetype(font_metrics.FAMILY, FINE * size, weight=font_metrics.WEIGHT), FINE


@lru_cache(maxsize=4096)
def _glyph(sign: str, cap: int) -> tuple[Image.Image, int]:
    """One character as a mask of its cell, and how many rows of it lie over the capitals.

    What a curve passes its line by, at most a dot, is cut off, so that no text leaves its box.
    """
    from PIL import Image, ImageDraw

    top, depth = font_metrics.extents(sign)
    above, below = math.ceil((top - 1) * cap), math.ceil(depth * cap)
    font, fine = _font(cap)
    wide, high = math.floor(font_metrics.ADVANCE * cap), above + cap + below
    mask = Image.new("1", (wide * fine, high * fine), 0)
    ImageDraw.Draw(mask).text((0, (above + cap) * fine), sign, font=font, fill=1, anchor="ls")
    if fine > 1:
        # A pixel is black where at least half of it is: the stroke keeps its weight.
        grey = mask.convert("L").resize((wide, high), Image.Resampling.BOX)
        mask = grey.point(lambda level: 255 if level >= 128 else 0, mode="1")
    return mask, above


def _qr(image: Image.Image, item: Qr, x: int, y: int, dot: float) -> None:
    side = round(item.side_mm / dot)
    code = _code(item.content, item.version, item.level)
    scaled = code if side == code.width else code.resize((side, side), resample=0)
    image.paste(scaled, (x + round(item.x_mm / dot), y + round(item.y_mm / dot)))


@lru_cache(maxsize=2048)
def _code(content: str, version: int, level: qr_sizes.Level) -> Image.Image:
    """The modules of a code, one pixel each, without quiet zone."""
    from PIL import Image

    side = 17 + 4 * version
    whole_bytes = -(-side // 8)
    packed = bytearray()
    for row in qr_code.rows(content, version, level):
        light = f"{row ^ ((1 << side) - 1):0{side}b}"[::-1].ljust(8 * whole_bytes, "0")  # leftmost first
        packed += int(light, 2).to_bytes(whole_bytes, "big")
    return Image.frombytes("1", (side, side), bytes(packed))


@lru_cache(maxsize=128)
def _mark(shape: Shape, side: int) -> Image.Image:
    """The sign of an end as a mask: drawn four times as large, then brought down to whole dots."""
    from PIL import Image, ImageDraw

    scale = 4
    big = side * scale
    image = Image.new("L", (big, big), 0)
    pen = ImageDraw.Draw(image)
    stroke = max(scale, round(big * STROKE))
    edge = big - 1
    if shape == "lamp":
        pen.ellipse((0, 0, edge, edge), outline=255, width=stroke)
        inset = big * (1 - math.sqrt(0.5)) / 2
        pen.line((inset, inset, edge - inset, edge - inset), fill=255, width=stroke)
        pen.line((inset, edge - inset, edge - inset, inset), fill=255, width=stroke)
    elif shape == "controller":
        pin = big // 5
        pen.rectangle((pin, 0, edge - pin, edge), fill=255)
        for row in range(3):
            centre = big * (2 * row + 1) // 6
            pen.rectangle((0, centre - stroke // 2, edge, centre + stroke // 2), fill=255)
    elif shape == "joint":
        centre = big // 4
        pen.line((0, big // 2, edge, big // 2), fill=255, width=stroke)
        pen.line((big // 2, big // 2, big // 2, edge), fill=255, width=stroke)
        pen.ellipse((centre, centre, edge - centre, edge - centre), fill=255)
    elif shape == "plug":
        pen.rectangle((0, 0, edge, edge), outline=255, width=stroke)
        for column in range(2):
            for row in range(2):
                x, y = big * (4 * column + 3) // 10, big * (4 * row + 3) // 10
                reach = big // 10
                pen.rectangle((x - reach, y - reach, x + reach, y + reach), fill=255)
    else:
        pen.ellipse((0, 0, edge, edge), outline=255, width=stroke)
        pen.ellipse((big * 3 // 8, big * 3 // 8, edge - big * 3 // 8, edge - big * 3 // 8), fill=255)
    small = image.resize((side, side), Image.Resampling.BOX)
    return small.point(lambda value: 255 * (value > 110)).convert("1")


def cells(layout: Layout, width: int, height: int) -> list[str]:
    """The label as text of half blocks that fits `width` columns by `height` rows, dark where it is printed.

    Each character shows two pixels, one over the other, so that a cell of twice its width in height keeps the
    proportions. Returns as many lines as the picture needs, all of one length.
    """
    from PIL import Image

    image = draw(layout)
    scale = min(width / image.width, 2 * height / image.height)
    size = (max(1, round(image.width * scale)), max(2, round(image.height * scale / 2) * 2))
    small = image.convert("L").resize(size, Image.Resampling.BOX)
    dark = [value < 150 for value in small.tobytes()]
    rows = [dark[start : start + size[0]] for start in range(0, len(dark), size[0])]
    signs = {(False, False): " ", (True, False): "▀", (False, True): "▄", (True, True): "█"}
    return [
        "".join(signs[pair] for pair in zip(upper, lower, strict=True))
        for upper, lower in zip(rows[::2], rows[1::2], strict=True)
    ]
