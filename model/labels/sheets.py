"""Puts labels onto pages, strips and carriers in the order given, and writes them at their true size.

A page is bitmaps of whole printer dots on paper of exact size. No Pillow until something is drawn.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import attrs

from model.errors import BadValue, StoreError
from model.labels.bitmap_pdf import BitmapPage, PdfFile
from model.labels.items import Item, Layout, Line, Text
from model.labels.stock import MM_PER_INCH, PAGES, Stock
from model.values import in_range

if TYPE_CHECKING:
    from PIL import Image

CUT_LINE_MM = 0.1
STRIP_MAX_MM = 1000.0
SCALE_NOTE = "Print at 100 %, not fitted to the page. This line is 50 mm long:"
CALIBRATION_DPI = 600
TAPE_RULER_MM = 100.0
TAPE_RULER_LEAST_MM = 6.0  # a tape's width that has room for the ruler's lines and numbers

Going = Callable[[int, int], bool]
"""Called with (done, of how many); what it returns says whether to go on."""


@attrs.frozen(kw_only=True)
class Placed:
    """A label with its upper left corner at (x, y) of the page."""

    layout: Layout
    x_mm: float
    y_mm: float


@attrs.frozen(kw_only=True)
class Page:
    """One page, strip or carrier: labels in their places, and what is printed beside them.

    A page goes through the printer along its height, or `fed_across` along its width, as a tape does.
    """

    width_mm: float
    height_mm: float
    dpi: int
    placed: tuple[Placed, ...] = ()
    items: tuple[Item, ...] = ()
    fed_across: bool = False

    @property
    def size_dots(self) -> tuple[int, int]:
        """Width and height in whole dots that lie on the page."""
        dot = MM_PER_INCH / self.dpi
        return math.floor(self.width_mm / dot + 1e-6), math.floor(self.height_mm / dot + 1e-6)


@attrs.frozen(kw_only=True)
class Calibration:
    """By how much a printer's lengths are to be stretched to come out true.

    `x` across the way the paper or tape goes, `y` along it: down a page.
    """

    x: float = attrs.field(default=1.0, validator=in_range(0.9, 1.1))
    y: float = attrs.field(default=1.0, validator=in_range(0.9, 1.1))

    def after(self, measured_x_mm: float | None, measured_y_mm: float | None, rulers: Rulers) -> Calibration:
        """The calibration to use from now on, after the rulers printed with this one were measured.

        A ruler that was not measured (None) leaves its way as it is. BadValue where one is more than a tenth
        off: then the printer fits to the page.
        """
        factors: list[float] = []
        for axis, measured, true, now in (
            ("across", measured_x_mm, rulers.x_mm, self.x),
            ("down", measured_y_mm, rulers.y_mm, self.y),
        ):
            if measured is None:
                factors.append(now)
                continue
            if not (math.isfinite(measured) and measured > 0 and 0.9 <= now * true / measured <= 1.1):
                raise BadValue(
                    f"ruler {axis}",
                    f"measured {measured:g} mm",
                    limit=f"{true:g} mm, at most a tenth off",
                    remedy="Set the printer to 100 %, not fitted to the page, and print the rulers again.",
                )
            factors.append(now * true / measured)
        return Calibration(x=factors[0], y=factors[1])


def paper_mm(page: Page, calibration: Calibration) -> tuple[float, float]:
    """Width and height of the paper a page takes. A piece of tape grows with what is printed on it."""
    return page.width_mm * (calibration.y if page.fed_across else 1.0), page.height_mm


@attrs.frozen(kw_only=True)
class Rulers:
    """Lengths of the two rulers of a calibration page: `x_mm` across the way it goes, `y_mm` along it."""

    x_mm: float = 150.0
    y_mm: float = 200.0


def pages(
    layouts: Sequence[Layout],
    *,
    start: int = 0,
    copies: int = 1,
    strip_mm: float | None = None,
    heading: str = "",
) -> tuple[Page, ...]:
    """Pages with all labels in the order given, each `copies` times in a row; none for no labels.

    On a sheet, `start` is the place of the first label (0 the upper left, counted along the rows) for
    a part-used page. On tape and carrier each label is a page of its own, as such printers cut, or
    with `strip_mm` as many as go into that length. All labels are of one stock and resolution.
    """
    if not layouts:
        return ()
    stock = layouts[0].stock
    if any(layout.stock != stock for layout in layouts):
        raise BadValue("labels", "are on different stock", remedy="Print each stock by itself.")
    if not 1 <= copies <= 100:
        raise BadValue("copies", f"{copies}", limit="1 to 100")
    all_labels = [layout for layout in layouts for _ in range(copies)]
    if stock.sheet is not None:
        return _sheet_pages(stock, all_labels, start, heading)
    if start:
        raise BadValue("start position", f"{start}", limit="0", remedy="Only a sheet can be part-used.")
    return _strips(stock, all_labels, strip_mm)


def _sheet_pages(stock: Stock, layouts: Sequence[Layout], start: int, heading: str) -> tuple[Page, ...]:
    sheet = stock.sheet
    assert sheet is not None
    if not 0 <= start < sheet.places:
        raise BadValue(
            "start position",
            f"{start + 1}",
            limit=f"1 to {sheet.places} on {stock.title}",
            remedy="Count the places along the rows from the upper left.",
        )
    count = math.ceil((start + len(layouts)) / sheet.places)
    found: list[Page] = []
    for number in range(count):
        first = max(0, number * sheet.places - start)
        last = (number + 1) * sheet.places - start
        placed: list[Placed] = []
        for place, layout in enumerate(layouts[first:last], first + start - number * sheet.places):
            row, column = divmod(place, sheet.columns)
            placed.append(
                Placed(
                    layout=layout,
                    x_mm=sheet.left_mm + column * (stock.length_mm + sheet.gap_x_mm),
                    y_mm=sheet.top_mm + row * (stock.height_mm + sheet.gap_y_mm),
                )
            )
        items = [*_cut_lines(placed), *_page_note(stock, heading, number + 1, count)]
        found.append(
            Page(
                width_mm=sheet.width_mm,
                height_mm=sheet.height_mm,
                dpi=stock.dpi,
                placed=tuple(placed),
                items=tuple(items),
            )
        )
    return tuple(found)


def _cut_lines(placed: Sequence[Placed]) -> list[Line]:
    """The outline of each label, each line once."""
    corners: dict[tuple[float, float, float, float], None] = {}
    for item in placed:
        left, upper = item.x_mm, item.y_mm
        right, lower = left + item.layout.length_mm, upper + item.layout.height_mm
        for ends in (
            (left, upper, right, upper),
            (left, lower, right, lower),
            (left, upper, left, lower),
            (right, upper, right, lower),
        ):
            x1, y1, x2, y2 = (round(value, 4) for value in ends)
            corners[x1, y1, x2, y2] = None
    return [_rule(*ends, style_cut=True) for ends in corners]


def _rule(x1: float, y1: float, x2: float, y2: float, *, style_cut: bool = False, width: float = 0.0) -> Line:
    return Line(
        x1_mm=x1,
        y1_mm=y1,
        x2_mm=x2,
        y2_mm=y2,
        width_mm=width or CUT_LINE_MM,
        style="cut" if style_cut else "rule",
    )


def _page_note(stock: Stock, heading: str, number: int, count: int) -> list[Item]:
    """Scale note with a line to check, and the page's number, where the upper margin is high enough."""
    sheet = stock.sheet
    assert sheet is not None
    if sheet.top_mm < 9:
        return []
    left = max(sheet.left_mm, 6.0)
    title = "  ".join(part for part in (heading, stock.title, f"page {number} of {count}") if part)
    note = Text(x_mm=left, y_mm=8.0, height_mm=1.6, text=SCALE_NOTE)
    ruler = left + note.width_mm + 2
    items: list[Item] = [Text(x_mm=left, y_mm=5.0, height_mm=1.6, text=_plain(title)[:100]), note]
    if ruler + 50 < sheet.width_mm - 5:
        items += [
            _rule(ruler, 8.8, ruler + 50, 8.8, width=0.2),
            _rule(ruler, 7.8, ruler, 9.8, width=0.2),
            _rule(ruler + 50, 7.8, ruler + 50, 9.8, width=0.2),
        ]
    return items


def _plain(text: str) -> str:
    from model.labels.font_metrics import drawable

    return drawable(text)[0]


def _strips(stock: Stock, layouts: Sequence[Layout], strip_mm: float | None) -> tuple[Page, ...]:
    """Tape runs along the text, a carrier across it."""
    along = stock.medium == "tape"
    carrier = stock.carrier_mm or stock.height_mm
    if strip_mm is not None and not 0 < strip_mm <= STRIP_MAX_MM:
        raise BadValue("strip length", f"{strip_mm:g} mm", limit=f"at most {STRIP_MAX_MM:g} mm")
    groups: list[list[Layout]] = []
    used = 0.0
    for layout in layouts:
        side = layout.length_mm if along else layout.height_mm
        if groups and strip_mm is not None and used + stock.gap_mm + side <= strip_mm:
            groups[-1].append(layout)
            used += stock.gap_mm + side
        else:
            groups.append([layout])
            used = side
    return tuple(_strip(stock, group, along=along, carrier=carrier) for group in groups)


def _strip(stock: Stock, group: Sequence[Layout], *, along: bool, carrier: float) -> Page:
    placed: list[Placed] = []
    cuts: list[Item] = []
    at = 0.0
    for layout in group:
        across = (carrier - (layout.height_mm if along else layout.length_mm)) / 2
        if placed:
            middle = at + stock.gap_mm / 2 - CUT_LINE_MM / 2
            at += stock.gap_mm
            if along:
                cuts.append(_rule(middle, 0, middle, carrier, style_cut=True))
        placed.append(Placed(layout=layout, x_mm=at if along else across, y_mm=across if along else at))
        at += layout.length_mm if along else layout.height_mm
    width, height = (at, carrier) if along else (carrier, at)
    return Page(
        width_mm=width,
        height_mm=height,
        dpi=stock.dpi,
        placed=tuple(placed),
        items=tuple(cuts),
        fed_across=along,
    )


def calibration_page(page: str = "A4", rulers: Rulers | None = None, note: str = "") -> Page:
    """A page with a ruler across and one down, to be printed and measured; BadValue for an unknown page.

    `note` stands on it too, such as for which printer it is.
    """
    if page not in PAGES:
        raise BadValue("page", page, limit=", ".join(PAGES))
    rulers = rulers or Rulers()
    width, height = PAGES[page]
    x, y = 30.0, 44.0
    items: list[Item] = []
    for row, text in enumerate(
        (
            "Rulers: how true does this printer print?",
            "Print this page at 100 %, not fitted to the page.",
            f"Measure both rulers from end to end: they should be {rulers.x_mm:g} mm and {rulers.y_mm:g} mm.",
            "Enter what you measured. Labels are stretched by that from then on.",
            _plain(note)[:90],
        )
    ):
        if text:
            items.append(Text(x_mm=x, y_mm=14 + 6 * row, height_mm=2.4 if row else 3.2, text=text))
    items += _ruler(x, y, rulers.x_mm, across=True)
    items += _ruler(x, y + 18, rulers.y_mm, across=False)
    return Page(width_mm=width, height_mm=height, dpi=CALIBRATION_DPI, items=tuple(items))


def tape_rulers(stock: Stock) -> Rulers:
    """The rulers that go onto a tape: 100 mm along it, and across it whole millimetres within the print.

    BadValue for stock that is no tape, or too narrow a one.
    """
    if stock.medium != "tape":
        raise BadValue(
            f"rulers on {stock.title}",
            f"it is a {stock.medium}",
            limit="a tape",
            remedy="Print the rulers on a tape of the same printer, or on A4 or Letter paper.",
        )
    if stock.height_mm < TAPE_RULER_LEAST_MM:
        raise BadValue(
            f"rulers on {stock.title}",
            f"{stock.height_mm:g} mm wide",
            limit=f"at least {TAPE_RULER_LEAST_MM:g} mm",
            remedy="A printer is as true on every tape: print the rulers on a wider one, or on paper.",
        )
    room_mm = stock.height_mm - 2 * stock.margin_y_mm - 2 * stock.dot_mm
    return Rulers(x_mm=float(math.floor(room_mm)), y_mm=TAPE_RULER_MM)


def calibration_tape(stock: Stock, note: str = "") -> Page:
    """A piece of tape with a ruler along it and one across, at the stock's resolution; see `tape_rulers`."""
    rulers = tape_rulers(stock)
    carrier = stock.carrier_mm or stock.height_mm

    def on_a_dot(value_mm: float) -> float:
        return math.ceil(value_mm / stock.dot_mm - 1e-6) * stock.dot_mm

    top = on_a_dot((carrier - stock.height_mm) / 2 + stock.margin_y_mm)
    start = on_a_dot(stock.margin_x_mm + 4.0)
    pen = max(0.1, stock.dot_mm)
    items: list[Item] = _ruler(start, top, rulers.y_mm, across=True, pen=pen, reach_mm=2.5)
    words = (f"{rulers.y_mm:g} mm along, {rulers.x_mm:g} mm across. Print at 100 %.", _plain(note))
    foot = top + 2.5 + 0.5 + 1.8 + 0.6
    height = 1.6
    for row, text in enumerate(words):
        upper = foot + row * 2.4
        room = int(rulers.y_mm / (Text(x_mm=0, y_mm=0, height_mm=height, text="0").width_mm))
        if text and upper + 1.3 * height <= carrier - top:
            items.append(Text(x_mm=start, y_mm=upper, height_mm=height, text=text[:room]))
    side = on_a_dot(start + rulers.y_mm + 4.0)
    items += _ruler(side, top, rulers.x_mm, across=False, pen=pen, reach_mm=2.5, numbers=False)
    return Page(
        width_mm=side + 2.5 + 4.0 + stock.margin_x_mm,
        height_mm=carrier,
        dpi=stock.dpi,
        items=tuple(items),
        fed_across=True,
    )


def _ruler(
    x: float,
    y: float,
    length_mm: float,
    *,
    across: bool,
    pen: float = 0.1,
    reach_mm: float = 7.0,
    numbers: bool = True,
) -> list[Item]:
    items: list[Item] = []
    for mm in range(round(length_mm) + 1):
        reach = reach_mm * (7 if mm % 10 == 0 or mm == round(length_mm) else 5 if mm % 5 == 0 else 3) / 7
        # the outer edges of the first and last line are the ruler's ends
        shift = mm - (pen if mm == round(length_mm) else 0)
        if across:
            items.append(_rule(x + shift, y, x + shift, y + reach, width=pen))
        else:
            items.append(_rule(x, y + shift, x + reach, y + shift, width=pen))
        if numbers and mm % 10 == 0 and mm:
            number = Text(x_mm=0, y_mm=0, height_mm=1.8, text=str(mm))
            if across:
                under = y + reach + (1.0 if reach_mm > 5 else 0.5)
                items.append(attrs.evolve(number, x_mm=x + mm - number.width_mm / 2, y_mm=under))
            else:
                items.append(attrs.evolve(number, x_mm=x + reach + 1, y_mm=y + mm - 0.9))
    end = (x + length_mm, y, x, y) if across else (x, y + length_mm, x, y)
    items.append(_rule(end[2], end[3], end[0], end[1], width=pen))
    return items


def draw_page(page: Page) -> Image.Image:
    """The page as an image of mode "1", one pixel a dot."""
    from PIL import Image

    from model.labels.drawing import WHITE, draw_into, draw_items

    dot = MM_PER_INCH / page.dpi
    image = Image.new("1", page.size_dots, WHITE)
    for item in page.placed:
        draw_into(image, item.layout, round(item.x_mm / dot), round(item.y_mm / dot), dot)
    draw_items(image, page.items, 0, 0, dot)
    return image


def make_pdf(
    sheets: Sequence[Page],
    path: Path,
    *,
    calibration: Calibration | None = None,
    title: str = "",
    turned: bool = False,
    going: Going | None = None,
) -> bool:
    """Writes the pages as a PDF of exact size; the same pages give the same bytes.

    `turned` gives each page a quarter turn, for printers that feed a tape lengthwise (see `lp`).
    False, and no file, where `going` said to stop. StoreError if it can't be written.
    """
    stretch = calibration or Calibration()
    partial = path.with_name(path.name + ".part")
    try:
        with partial.open("wb") as file:
            pdf = PdfFile(file, title=title)
            for number, page in enumerate(sheets):
                if going is not None and not going(number, len(sheets)):
                    break
                image = draw_page(page)
                dot = MM_PER_INCH / page.dpi
                across, down = (stretch.y, stretch.x) if page.fed_across else (stretch.x, stretch.y)
                width_mm, height_mm = paper_mm(page, stretch)
                pdf.add(
                    BitmapPage(
                        width_mm=width_mm,
                        height_mm=height_mm,
                        dot_x_mm=dot * across,
                        dot_y_mm=dot * down,
                        image=image,
                        turned=turned,
                    )
                )
            else:
                pdf.close()
                file.close()
                partial.replace(path)
                if going is not None:
                    going(len(sheets), len(sheets))
                return True
        partial.unlink()
    except OSError as error:
        partial.unlink(missing_ok=True)
        raise StoreError(str(path), f"can't be written: {error.strerror or error}") from error
    except BaseException:
        partial.unlink(missing_ok=True)
        raise
    return False
