"""Label stock: what labels are printed on, read from TOML files and checked.

The fields of a file are described in `label_templates/__init__.py`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from functools import lru_cache
from importlib import resources
from pathlib import Path
from types import MappingProxyType
from typing import Any, Literal, cast

import attrs

from model.errors import BadValue, Faults, LoomError, NotThere, StoreError
from model.standards.heatshrink import Sleeve
from model.toml_text import said, tables
from model.values import shown

StockKind = Literal["sleeve", "flag", "wrap", "strip", "plate"]
Medium = Literal["tape", "ladder", "sheet"]

SCHEMA = 1
KINDS: tuple[StockKind, ...] = ("sleeve", "flag", "wrap", "strip", "plate")
MEDIA: tuple[Medium, ...] = ("tape", "ladder", "sheet")
RESOLUTIONS_DPI = (180, 203, 300, 360, 600)
MM_PER_INCH = 25.4
FILE_MAX_BYTES = 65_536
FILES_MAX = 500
LENGTH_MAX_MM = 300.0

PAGES: Mapping[str, tuple[float, float]] = MappingProxyType({"A4": (210.0, 297.0), "Letter": (215.9, 279.4)})
"""Width and height in mm: ISO 216 A4, ANSI/ASME Y14.1 A (Letter)."""

_NAME = re.compile(r"[a-z0-9][a-z0-9.-]{0,39}")


@attrs.frozen(kw_only=True)
class Sheet:
    """A page of labels in rows and columns, for an ordinary printer."""

    page: str
    width_mm: float
    height_mm: float
    columns: int
    rows: int
    left_mm: float
    top_mm: float
    gap_x_mm: float
    gap_y_mm: float

    @property
    def places(self) -> int:
        """Labels on one page."""
        return self.columns * self.rows


@attrs.frozen(kw_only=True)
class Stock:
    """One kind of label. Lengths run along the text (x), heights across it (y), all in mm.

    `length_max_mm` is more than `length_mm` where the label is cut from a continuous tape and takes
    the length its text needs. `printed_mm` is the printed part of a wrap's height; below it the tail
    is clear. `carrier_mm` is the width of the tape or ladder, `gap_mm` lies between two labels on it.
    `sleeve` holds the tube of a printed sleeve.
    """

    name: str
    title: str
    kind: StockKind
    medium: Medium
    resolutions_dpi: tuple[int, ...]
    dpi: int
    length_mm: float
    length_max_mm: float
    height_mm: float
    margin_x_mm: float
    margin_y_mm: float
    thickness_mm: float = 0.0
    printed_mm: float | None = None
    carrier_mm: float | None = None
    gap_mm: float = 0.0
    sleeve: Sleeve | None = None
    sheet: Sheet | None = None
    note: str = ""

    @property
    def is_continuous(self) -> bool:
        """Whether the label takes the length its text needs."""
        return self.length_max_mm > self.length_mm

    @property
    def dot_mm(self) -> float:
        """Side of one printed dot."""
        return MM_PER_INCH / self.dpi

    @property
    def print_height_mm(self) -> float:
        """Height of the part that takes print, margins included."""
        return self.height_mm if self.printed_mm is None else self.printed_mm

    @property
    def od_range_mm(self) -> tuple[float, float]:
        """Thinnest and thickest wire or bundle the label goes round; (0, inf) where it takes any.

        For a wrap: at least one turn of the whole height, so that the tail covers the print.
        For a flag: the wrap may take a third of the length, so that both faces stay large enough.
        """
        if self.sleeve is not None:
            return self.sleeve.least_od_mm, self.sleeve.greatest_od_mm
        if self.kind == "wrap":
            return 0.0, (self.height_mm - self.print_height_mm) / math.pi
        if self.kind == "flag":
            return 0.0, self.length_max_mm / (3 * math.pi)
        return 0.0, math.inf

    def at(self, dpi: int) -> Stock:
        """The same stock printed at another resolution; BadValue for one that is not known."""
        if dpi not in RESOLUTIONS_DPI:
            raise BadValue(
                f"stock {self.name}: resolution", f"{dpi} dpi", limit=", ".join(map(str, RESOLUTIONS_DPI))
            )
        return attrs.evolve(self, dpi=dpi)


def load_stocks(extra_dir: Path | None = None) -> Mapping[str, Stock]:
    """All stock by name: what comes with the program, and the person's own TOML files in `extra_dir`.

    A folder that does not exist adds nothing. Raises Faults with every fault of every file.
    """
    stocks, faults = stocks_with(extra_dir)
    if faults:
        raise Faults("label stock", faults, remedy=f"Mend or remove the files in {extra_dir}.")
    return stocks


def stocks_with(extra_dir: Path | None) -> tuple[Mapping[str, Stock], tuple[LoomError, ...]]:
    """As `load_stocks`, without what can't be used; and every fault of every file of the person's own."""
    if extra_dir is None:
        return packaged_stocks(), ()
    found = dict(packaged_stocks())
    faults: list[LoomError] = []
    for path in _own_files(extra_dir, faults):
        try:
            stock = _read_own(path)
        except Faults as error:
            faults.extend(error.faults)
        except LoomError as error:
            faults.append(error)
        else:
            if stock.name in found:
                faults.append(
                    BadValue(
                        path.name,
                        f"the name {stock.name} is taken by a stock of the program",
                        remedy="Rename the file.",
                    )
                )
            else:
                found[stock.name] = stock
    return MappingProxyType(found), tuple(faults)


@lru_cache(maxsize=1)
def packaged_stocks() -> Mapping[str, Stock]:
    """The stock that comes with the program, by name, in the order of the names."""
    found: dict[str, Stock] = {}
    faults: list[LoomError] = []
    for entry in sorted(resources.files("label_templates").iterdir(), key=lambda entry: entry.name):
        if entry.name.endswith(".toml"):
            try:
                stock = stock_from_toml(entry.read_text(encoding="utf-8"), entry.name)
                found[stock.name] = stock
            except Faults as error:
                faults.extend(error.faults)
    if faults:
        raise Faults("label stock of the program", faults, remedy="Install the program anew.")
    return MappingProxyType(found)


def stock_named(stocks: Mapping[str, Stock], name: str) -> Stock:
    """The stock of that name; NotThere with the nearest names."""
    if name in stocks:
        return stocks[name]
    kind = name.split("-")[0]
    near = [other for other in stocks if other.startswith(kind)] or list(stocks)
    raise NotThere(f"stock {shown(name)}", "does not exist", remedy=f"Take one of {', '.join(near)}.")


def _own_files(folder: Path, faults: list[LoomError]) -> list[Path]:
    try:
        if not folder.exists():
            return []
        paths = sorted(path for path in folder.iterdir() if path.suffix == ".toml")
    except OSError as error:
        faults.append(StoreError(shown(str(folder), 120), f"can't be read: {error.strerror or error}"))
        return []
    if len(paths) > FILES_MAX:
        faults.append(StoreError(shown(str(folder), 120), f"{len(paths)} stock files", limit=f"{FILES_MAX}"))
    return paths[:FILES_MAX]


def _read_own(path: Path) -> Stock:
    name = shown(path.name)
    try:
        if not path.is_file():
            raise StoreError(name, "is not a file")
        with path.open("rb") as file:
            data = file.read(FILE_MAX_BYTES + 1)
    except OSError as error:
        raise StoreError(name, f"can't be read: {error.strerror or error}") from error
    if len(data) > FILE_MAX_BYTES:
        raise StoreError(name, f"more than {FILE_MAX_BYTES} bytes", remedy="A stock file is a few lines.")
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        raise StoreError(name, f"is not UTF-8 at byte {error.start}") from error
    return stock_from_toml(text, path.name)


def stock_from_toml(text: str, file_name: str) -> Stock:
    """The stock a TOML text describes; its name is the file's without ".toml". Raises Faults with all."""
    where = shown(file_name)
    try:
        data = tables(text)
    except ValueError as error:  # tomllib's own among them
        raise Faults(where, [BadValue(where, f"is not TOML: {shown(str(error), 120)}")]) from error
    reader = _Reader(where, data)
    name = file_name.removesuffix(".toml")
    if not _NAME.fullmatch(name):
        reader.fault("name", shown(name), "a to z, 0 to 9, - and . in the file name, at most 40 characters")
    stock = _stock(reader, name)
    if reader.faults or stock is None:
        raise Faults(where, reader.faults)
    return stock


class _Reader:
    """Takes typed values out of parsed TOML and gathers what is wrong with them."""

    def __init__(self, where: str, data: dict[str, Any]) -> None:
        self.where = where
        self.data = data
        self.faults: list[LoomError] = []
        self._taken: dict[str, set[str]] = {}

    def fault(self, key: str, found: str, limit: str = "", remedy: str = "") -> None:
        self.faults.append(BadValue(f"{self.where}: {key}", found, limit=limit, remedy=remedy))

    def table(self, name: str, *, needed: bool) -> bool:
        """Whether the table is there; a fault where it has to be, or must not be."""
        present = name in self.data
        if present and not isinstance(self.data[name], dict):
            self.fault(name, "is not a table", f"[{name}]")
            return False
        if needed and not present:
            self.fault(name, "is missing", f"a table [{name}]")
        return present

    def take(self, key: str, default: Any = None) -> tuple[bool, Any]:
        """(whether it is there, value) for a dotted key; marks it as known."""
        table, _, last = key.rpartition(".")
        self._taken.setdefault(table, set()).add(last)
        source = self.data.get(table, {}) if table else self.data
        if isinstance(source, dict) and last in source:
            return True, source[last]
        if default is None:
            self.fault(key, "is missing")
        return False, default

    def number(self, key: str, low: float, high: float, default: float | None = None) -> float:
        """A number from `low` to `high`; NaN where there is a fault, so that no later rule adds another."""
        there, value = self.take(key, default)
        if not there:
            return math.nan if value is None else float(value)
        return self._number(key, value, low, high)

    def _number(self, key: str, value: Any, low: float, high: float) -> float:
        limit = f"{low:g} to {high:g}"
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            self.fault(key, f"{said(value)} is not a number", limit)
        elif not low <= value <= high:
            self.fault(key, f"{said(value)} is out of range", limit)
        else:
            return float(value)
        return math.nan

    def whole(self, key: str, low: int, high: int) -> int:
        """A whole number; 0 where there is a fault."""
        there, value = self.take(key)
        if not there:
            return 0
        if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
            self.fault(key, f"{said(value)} is not right", f"a whole number {low} to {high}")
            return 0
        return value

    def span(self, key: str, low: float, high: float) -> tuple[float, float]:
        """One number, or a list of the least and the most."""
        there, value = self.take(key)
        if not there:
            return math.nan, math.nan
        if not isinstance(value, list):
            number = self._number(key, value, low, high)
            return number, number
        if len(value) != 2:
            self.fault(key, f"a list of {len(value)}", "one number, or [least, most]")
            return math.nan, math.nan
        least, most = (self._number(key, item, low, high) for item in value)
        if least > most:
            self.fault(key, f"least {least:g} is more than most {most:g}")
        return least, most

    def word(self, key: str, choices: tuple[str, ...]) -> str:
        """One of the choices; empty where there is a fault."""
        there, value = self.take(key)
        if there and value not in choices:
            self.fault(key, f"{said(value)} is not known", ", ".join(choices))
        return value if there and value in choices else ""

    def text(self, key: str, limit: int, default: str | None = None) -> str:
        """A line of visible text."""
        there, value = self.take(key, default)
        if not there:
            return value or ""
        if not isinstance(value, str) or not value.isprintable() or len(value) > limit:
            self.fault(key, f"{said(value)} is not a plain text", f"at most {limit} characters")
            return ""
        return value

    def resolutions(self, key: str) -> tuple[int, ...]:
        """A list of known resolutions, each once; empty where there is a fault."""
        there, value = self.take(key)
        if not there:
            return ()
        limit = "a list of " + ", ".join(map(str, RESOLUTIONS_DPI))
        if not isinstance(value, list) or not value or not all(type(dpi) is int for dpi in value):
            self.fault(key, f"{said(value)} is not a list of whole numbers", limit)
        elif unknown := [dpi for dpi in value if dpi not in RESOLUTIONS_DPI]:
            self.fault(key, f"{shown(', '.join(map(said, unknown)))} is not known", limit)
        elif len(set(value)) < len(value):
            self.fault(key, "names one resolution twice")
        else:
            return tuple(value)
        return ()

    def unknown(self) -> None:
        """A fault for each key nothing asked for."""
        tables = set(self._taken) - {""}
        known = self._taken.get("", set()) | tables
        for key, value in self.data.items():
            if key not in known:
                self.fault(shown(key), "is not a field of this kind of stock", ", ".join(sorted(known)))
            elif key in tables and isinstance(value, dict):
                for inner in value:
                    if inner not in self._taken[key]:
                        fields = ", ".join(sorted(self._taken[key]))
                        self.fault(f"{key}.{shown(inner)}", "is not a field of this kind of stock", fields)


def _stock(reader: _Reader, name: str) -> Stock | None:
    there, schema = reader.take("schema")
    if there and (type(schema) is not int or schema != SCHEMA):
        reader.fault("schema", f"{said(schema)} is not known", str(SCHEMA))
    title = reader.text("title", 60)
    note = reader.text("note", 400, "")
    kind = reader.word("kind", KINDS)
    medium = reader.word("medium", MEDIA)
    resolutions = reader.resolutions("resolutions_dpi")
    reader.table("label", needed=True)
    length, length_max = reader.span("label.length_mm", 5, LENGTH_MAX_MM)
    height = reader.number("label.height_mm", 1, LENGTH_MAX_MM)
    margin_x = reader.number("label.margin_x_mm", 0, 50)
    margin_y = reader.number("label.margin_y_mm", 0, 50)
    thickness = reader.number("label.thickness_mm", 0, 2, 0.0)
    printed = None
    if kind == "wrap":
        printed = reader.number("label.printed_mm", 1, LENGTH_MAX_MM)
        if printed >= height:
            reader.fault("label.printed_mm", f"{printed:g} leaves no clear tail of {height:g}")
    sleeve = None
    if kind == "sleeve" and reader.table("sleeve", needed=True):
        sleeve = _sleeve(reader, name, height)
    sheet, carrier, gap = None, None, 0.0
    if medium == "sheet" and reader.table("sheet", needed=True):
        sheet = _sheet(reader, length_max, height)
    elif medium in ("tape", "ladder") and reader.table(medium, needed=True):
        carrier = reader.number(f"{medium}.width_mm", 1, LENGTH_MAX_MM)
        gap = reader.number(f"{medium}.gap_mm", 0, 100)
        if carrier < (length_max if medium == "ladder" else height):
            reader.fault(f"{medium}.width_mm", f"{carrier:g} is less than the label across it")
    if length_max > length and medium != "tape":
        reader.fault("label.length_mm", "a length of choice", "only a tape is cut to length")
    if 2 * margin_x >= length:
        reader.fault("label.margin_x_mm", f"{margin_x:g} on both sides leaves nothing of {length:g}")
    if 2 * margin_y >= (height if printed is None else printed):
        reader.fault("label.margin_y_mm", f"{margin_y:g} on both sides leaves nothing to print on")
    reader.unknown()
    if reader.faults:
        return None
    return Stock(
        name=name,
        title=title,
        note=note,
        kind=cast(StockKind, kind),
        medium=cast(Medium, medium),
        resolutions_dpi=resolutions,
        dpi=resolutions[0],
        length_mm=length,
        length_max_mm=length_max,
        height_mm=height,
        margin_x_mm=margin_x,
        margin_y_mm=margin_y,
        thickness_mm=thickness,
        printed_mm=printed,
        carrier_mm=carrier,
        gap_mm=gap,
        sleeve=sleeve,
        sheet=sheet,
    )


def _sleeve(reader: _Reader, name: str, height: float) -> Sleeve | None:
    expanded = reader.number("sleeve.expanded_mm", 0.5, 60)
    recovered = reader.number("sleeve.recovered_mm", 0.1, 60)
    wall = reader.number("sleeve.wall_mm", 0.05, 5)
    if math.isnan(expanded + recovered + wall + height):
        return None
    if recovered >= expanded:
        reader.fault("sleeve.recovered_mm", f"{recovered:g} is not less than expanded {expanded:g}")
        return None
    ratio = round(expanded / recovered)
    sleeve = Sleeve(name=name, ratio=ratio, expanded_mm=expanded, recovered_mm=recovered, wall_mm=wall)
    if sleeve.least_od_mm > sleeve.greatest_od_mm:
        reader.fault(
            "sleeve.recovered_mm",
            f"{recovered:g} grips no wire that goes into {expanded:g}",
            remedy="Write both inner diameters as the seller gives them.",
        )
    least, most = sleeve.printable_mm - 0.05, sleeve.lay_flat_mm + 0.05
    if not least <= height <= most:
        reader.fault(
            "label.height_mm",
            f"{height:g} is not the flat width of a {expanded:g} mm tube",
            f"{least:.2f} to {most:.2f}: half the circumference, up to two walls more",
        )
    return sleeve


def _sheet(reader: _Reader, length: float, height: float) -> Sheet | None:
    page = reader.word("sheet.page", tuple(PAGES))
    columns = reader.whole("sheet.columns", 1, 100)
    rows = reader.whole("sheet.rows", 1, 200)
    left = reader.number("sheet.left_mm", 0, LENGTH_MAX_MM)
    top = reader.number("sheet.top_mm", 0, LENGTH_MAX_MM)
    gap_x = reader.number("sheet.gap_x_mm", 0, LENGTH_MAX_MM)
    gap_y = reader.number("sheet.gap_y_mm", 0, LENGTH_MAX_MM)
    if not page or not columns or not rows:
        return None
    width_mm, height_mm = PAGES[page]
    for key, start, count, side, gap, room in (
        ("sheet.columns", left, columns, length, gap_x, width_mm),
        ("sheet.rows", top, rows, height, gap_y, height_mm),
    ):
        end = start + count * side + (count - 1) * gap
        if end > room:
            reader.fault(key, f"{count} labels end at {end:g} mm", f"the page ends at {room:g} mm")
    return Sheet(
        page=page,
        width_mm=width_mm,
        height_mm=height_mm,
        columns=columns,
        rows=rows,
        left_mm=left,
        top_mm=top,
        gap_x_mm=gap_x,
        gap_y_mm=gap_y,
    )


def of_kind(stocks: Mapping[str, Stock], kind: StockKind) -> Iterator[Stock]:
    """The stock of one kind, in the order of the names."""
    return (stock for stock in stocks.values() if stock.kind == kind)


def sleeve_stock_for(stocks: Mapping[str, Stock], od_mm: float, like: Stock | None = None) -> Stock | None:
    """The smallest sleeve stock that takes a wire or bundle of `od_mm`; None where none does.

    Of 2:1 if there is one, since 3:1 squeezes the print more. With `like`, of its resolution, and of its
    medium if there is one.
    """
    fitting = [
        stock for stock in of_kind(stocks, "sleeve") if stock.od_range_mm[0] <= od_mm <= stock.od_range_mm[1]
    ]
    if like is not None:
        same = [stock for stock in fitting if stock.medium == like.medium]
        fitting = [stock.at(like.dpi) for stock in same or fitting]
    return min(fitting, key=_sleeve_order, default=None)


def _sleeve_order(stock: Stock) -> tuple[int, float, bool, str]:
    ratio = stock.sleeve.ratio if stock.sleeve else 0
    return ratio, stock.height_mm, stock.medium != "tape", stock.name
