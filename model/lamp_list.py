"""Lamp lists: tables as a spreadsheet reads and writes them (RFC 4180), in and out of a harness.

The first line names the columns; only `name` must be there, the order is free.

    name        what the lamp is called, not in use twice
    function    what it is for, as in the program's list or in own words
    place       where it sits, in own words
    side        left, right or nothing (also l, r, port, starboard)
    colour      colour of its light, as in the program's list
    size        3 mm, 5 mm, 0603 ...
    build       bare or ready-wired; nothing means ready-wired where rated_v is given
    current_ma  current it shall have, mA
    rated_v     volts a ready-wired lamp is made for
    rated_ma    mA it draws at them
    lead_mm     length of its own lead, mm
    output      number of its output
    waypoint    name (or id) of the waypoint it hangs on
    spur_mm     how far from there it sits, mm
    run_mm      its whole run as one length, mm, for a person who measured with a string

Function and colour where nothing is given, and the side where the list has no such column, are filled in from
the lamp's name as far as it tells them; any other empty cell is the program's default. Comma, semicolon or
tab separate the cells; where it is not the comma, a number may have a decimal comma. Units may stand behind
numbers ("10 mA"). A column whose name begins with # is passed over, blank lines too. Figures from a lamp's
data sheet, its run and its tags are not part of the list.

A cell that a spreadsheet would take for a formula (it begins with = + - @ or a tab) is written with an
apostrophe before it, which reading takes off again.
"""

from __future__ import annotations

import csv
import difflib
import io
import re
from collections.abc import Callable, Iterator, Mapping
from types import MappingProxyType
from typing import Any, TypeVar

import attrs

from model.editing import add_lamp, add_waypoint
from model.errors import BadValue, Faults, LoomError
from model.harness import Build, Hand, Harness, Lamp, Waypoint
from model.lamp_guess import guess_fields
from model.standards.functions import FUNCTIONS
from model.standards.leds import LED_COLOURS, LED_SIZES
from model.values import counted, shown, unfit_fields

COLUMNS: Mapping[str, str] = MappingProxyType(
    {
        "name": "name",
        "function": "function",
        "place": "place",
        "side": "hand",
        "colour": "colour",
        "size": "size",
        "build": "build",
        "current_ma": "current_ma",
        "rated_v": "rated_v",
        "rated_ma": "rated_ma",
        "lead_mm": "lead_mm",
        "output": "output",
        "waypoint": "at",
        "spur_mm": "spur_mm",
        "run_mm": "measured_mm",
    }
)
"""The columns in the order they are written, each with the field of a lamp it fills."""

ALIASES: Mapping[str, str] = MappingProxyType(
    {
        "lamp": "name",
        "lamp_name": "name",
        "use": "function",
        "purpose": "function",
        "position": "place",
        "location": "place",
        "where": "place",
        "hand": "side",
        "color": "colour",
        "led_colour": "colour",
        "led_color": "colour",
        "led_size": "size",
        "type": "build",
        "kind": "build",
        "current": "current_ma",
        "ma": "current_ma",
        "volts": "rated_v",
        "rated_volts": "rated_v",
        "rated": "rated_v",
        "v": "rated_v",
        "rated_current": "rated_ma",
        "lead": "lead_mm",
        "lead_length": "lead_mm",
        "out": "output",
        "output_number": "output",
        "at": "waypoint",
        "spur": "spur_mm",
        "run": "run_mm",
        "run_length": "run_mm",
        "length": "run_mm",
        "length_mm": "run_mm",
        "measured": "run_mm",
        "measured_mm": "run_mm",
    }
)
"""Other names a column may have; capitals, spaces and brackets make no difference."""

MOST_ROWS = 2000
MOST_COLUMNS = 100
MOST_FAULTS = 100
"""Faults told of one list; what is past that is counted."""

T = TypeVar("T")

_RISKY = ("=", "+", "-", "@", "\t", "\r", "'", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""First characters that make a formula of a cell, wide forms too, and the apostrophe that guards them."""

_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)", re.ASCII)
_UNITS = {"ma": "mA", "v": "V", "mm": "mm"}


def write_lamps(harness: Harness) -> str:
    """All lamps as a comma separated list with every column; lines end in CR LF as RFC 4180 has it."""
    text = io.StringIO(newline="")
    rows = csv.writer(text)
    rows.writerow(COLUMNS)
    names = [point.name.strip().casefold() for point in harness.waypoints]
    ids = {point.id.casefold() for point in harness.waypoints}
    points = {
        point.id: point.id if names.count(name) > 1 or name in ids else point.name
        for point, name in zip(harness.waypoints, names, strict=True)
    }
    for lamp in harness.lamps:
        cells = (getattr(lamp, field) for field in COLUMNS.values())
        rows.writerow(
            guarded(_cell(points.get(cell or "", "") if column == "waypoint" else cell))
            for column, cell in zip(COLUMNS, cells, strict=True)
        )
    return text.getvalue()


def _cell(value: Any) -> str:
    if value is None or (isinstance(value, float) and value == 0):
        return ""
    if isinstance(value, float):
        return str(int(value)) if value.is_integer() else repr(value)
    return str(value)


def guarded(text: str) -> str:
    """A cell that no spreadsheet takes for a formula; `unguarded` gives the text back."""
    return f"'{text}" if text.lstrip(" ").startswith(_RISKY) else text


def unguarded(text: str) -> str:
    """The text of a cell that `guarded` wrote."""
    return text[1:] if text.startswith("'") and text[1:].lstrip(" ").startswith(_RISKY) else text


# --- reading ------------------------------------------------------------------------------------------------


def read_lamps(
    text: str, harness: Harness, source: str = "list", *, create_waypoints: bool = False
) -> Harness:
    """A harness with the lamps of a list behind its own; all of them or none.

    Raises Faults with every bad cell and its line. `source` names the list in messages. A waypoint that
    does not exist is a fault, or with `create_waypoints` is added, without legs.
    """
    faults: list[LoomError] = []
    rows = _rows(text, source, faults)
    columns = _columns(rows[0][1], source, rows[0][0], faults) if rows else []
    if not rows:
        faults.append(BadValue(source, "is empty", remedy=_HEADER))
    if faults:
        raise Faults(source, faults, remedy=_NOTHING_TAKEN)
    reader = _Reader(
        source=source,
        harness=harness,
        decimal_comma=_separator(text) != ",",
        create_waypoints=create_waypoints,
    )
    found = []
    for line, cells in rows[1:]:
        fields, wrong = reader.lamp(line, cells, columns)
        faults += wrong
        found.append(fields)
    if not found:
        faults.append(
            BadValue(source, "names no lamps", remedy="Write one lamp a line below the column names.")
        )
    if faults:
        past = len(faults) - MOST_FAULTS
        told = [*faults[:MOST_FAULTS], BadValue(source, f"has {past} faults more")] if past > 0 else faults
        raise Faults(source, told, remedy=_NOTHING_TAKEN)
    for name in reader.new_points:
        harness = add_waypoint(harness, name)
    points = _points(harness)
    # The first gets its id from the harness, the others count on from there: asking each time is slow.
    for fields in found:
        if "at" in fields:
            fields["at"] = points[fields["at"]][0]
    harness = add_lamp(harness, **found[0])
    first = int(harness.lamps[-1].id[1:])
    others = (Lamp(id=f"L{number}", **fields) for number, fields in enumerate(found[1:], first + 1))
    return attrs.evolve(harness, lamps=(*harness.lamps, *others))


_HEADER = f"The first line names the columns: {', '.join(COLUMNS)}. Only name must be there."
_NOTHING_TAKEN = "Mend the list and import it again; nothing was taken from it."


def _separator(text: str) -> str:
    """The separator under which the first line names most columns; a comma where they are equal."""
    first = next((line for line in text.removeprefix("\ufeff").splitlines() if line.strip(" \t,;")), "")

    def known(separator: str) -> int:
        return sum(_column(cell) in COLUMNS for cell in first.split(separator))

    return max((",", ";", "\t"), key=known)


def _rows(text: str, source: str, faults: list[LoomError]) -> list[tuple[int, list[str]]]:
    """The rows that hold something, each with the number of its first line."""
    text = text.removeprefix("\ufeff")
    if "\0" in text:
        faults.append(
            BadValue(source, "holds zero characters", remedy="It is no text; save it as CSV, UTF-8.")
        )
        return []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_separator(text), strict=True)
    rows: list[tuple[int, list[str]]] = []
    line = 1
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                rows.append((line, cells))
            if len(cells) > MOST_COLUMNS:
                faults.append(
                    _at(source, line, f"has {counted(len(cells), 'cell')}", f"at most {MOST_COLUMNS}")
                )
                break
            if len(rows) > MOST_ROWS + 1:
                faults.append(_at(source, line, "is one line too many", f"at most {MOST_ROWS} lamps"))
                break
            line = reader.line_num + 1
    except csv.Error as error:
        faults.append(
            _at(
                source,
                line,
                f"can't be read: {shown(str(error), 80)}",
                remedy="Look for a quote that is not closed.",
            )
        )
    return rows


def _at(source: str, line: int, found: str, limit: str = "", remedy: str = "") -> BadValue:
    return BadValue(f"{source} line {line}", found, limit=limit, remedy=remedy)


def _column(cell: str) -> str:
    """The column a header cell means, or the cell made plain where it means none."""
    plain = re.sub(r"[^a-z0-9#]+", "_", unguarded(cell.strip()).casefold()).strip("_")
    return ALIASES.get(plain, plain)


def _columns(header: list[str], source: str, line: int, faults: list[LoomError]) -> list[str]:
    """The column of each cell of a row: its name, "#" where it is passed over, "" where it has none."""
    columns: list[str] = []
    for place, cell in enumerate(header, 1):
        column = _column(cell)
        if column.startswith("#"):
            column = "#"
        elif column and column not in COLUMNS:
            near = difflib.get_close_matches(column[:40], [*COLUMNS, *ALIASES], n=1)
            remedy = (
                f"Did you mean {ALIASES.get(near[0], near[0])}?"
                if near
                else "Put # before it to pass it over."
            )
            faults.append(_at(source, line, f"column {place}, {shown(cell)}, is not known", remedy=remedy))
        elif column in columns and column:
            faults.append(_at(source, line, f"column {column} stands twice", remedy="Take one of them out."))
        columns.append(column)
    if "name" not in columns:
        faults.append(_at(source, line, "has no column name", remedy=_HEADER))
    return columns


def _points(harness: Harness) -> dict[str, list[str]]:
    """Waypoint ids by what a list may call them."""
    points: dict[str, list[str]] = {}
    for point in harness.waypoints:
        points.setdefault(point.name.strip().casefold(), []).append(point.id)
    for point in harness.waypoints:
        points[point.id.casefold()] = [point.id]
    return points


class _Reader:
    """Reads row after row, remembering the names and waypoints met on the way."""

    def __init__(self, *, source: str, harness: Harness, decimal_comma: bool, create_waypoints: bool) -> None:
        self.source = source
        self.decimal_comma = decimal_comma
        self.create_waypoints = create_waypoints
        self.points = _points(harness)
        self.new_points: list[str] = []
        self.outputs = [output.number for _, output in harness.controller.outputs()]
        self.names = {lamp.name.strip().casefold(): "of a lamp of the project" for lamp in harness.lamps}

    def lamp(self, line: int, cells: list[str], columns: list[str]) -> tuple[dict[str, Any], list[LoomError]]:
        """The fields of the lamp in a row, and every fault of the row."""
        named = {column for column in columns if column in COLUMNS}
        told = {
            column: unguarded(cell.strip())
            for column, cell in zip(columns, cells, strict=False)
            if column in named
        }
        name = told.get("name", "")
        subject = f"{self.source} line {line}" + (f", {shown(name)}" if name else "")
        faults: list[LoomError] = []
        for place, cell in enumerate(cells, 1):
            if cell.strip() and (place > len(columns) or not columns[place - 1]):
                remedy = "Put a text that has a separator in it in double quotes."
                faults.append(BadValue(subject, f"cell {place}, {shown(cell)}, has no column", remedy=remedy))
        fields = _guessed(name, told.get("function", ""), named)
        for column, cell in told.items():
            try:
                value = self._value(column, cell, line)
            except BadValue as fault:
                faults.append(_in_column(subject, column, fault))
            else:
                if value is not None:
                    fields[COLUMNS[column]] = value
        if "build" not in fields and "rated_v" in fields:
            fields["build"] = Build.WIRED
        faults += self._unfit(subject, fields)
        return fields, faults

    def _unfit(self, subject: str, fields: dict[str, Any]) -> Iterator[LoomError]:
        """What the fields are refused for as a lamp; its waypoint was looked up already."""
        # A missing name was told already and the waypoint looked up; a stand-in does for both.
        fields = {"name": "lamp", **fields, "id": "L1", "at": None}
        by_field = {field: column for column, field in COLUMNS.items()}
        unfit = unfit_fields(Lamp, fields)
        for field, fault in unfit:
            yield _in_column(subject, by_field[field], fault)
        if not unfit:
            try:
                Lamp(**fields)
            except BadValue as fault:
                about = fault.subject.rpartition(": ")[2]
                yield BadValue(f"{subject}: {about}", fault.found, limit=fault.limit, remedy=fault.remedy)

    def _value(self, column: str, cell: str, line: int) -> Any:
        """The value of a cell, None for the default; raises BadValue without a subject."""
        if column == "name":
            return self._name(cell, line)
        if not cell:
            return None
        if column == "waypoint":
            return self._waypoint(cell)
        if column == "output":
            return self._output(cell)
        if column in _WORDS:
            return _WORDS[column](cell)
        return self._number(cell, column.rpartition("_")[2])

    def _name(self, name: str, line: int) -> str:
        key = name.casefold()
        if not name:
            raise BadValue("", "is missing", remedy="Every lamp needs a name.")
        if key in self.names:
            raise BadValue("", f"{shown(name)} is the name {self.names[key]}", remedy="Choose another name.")
        self.names[key] = f"on line {line} already"
        return name

    def _waypoint(self, name: str) -> str:
        """What `_points` will know the waypoint by."""
        key = name.casefold()
        ids = self.points.get(key)
        if ids is None and self.create_waypoints:
            unfit = unfit_fields(Waypoint, {"name": name})
            if unfit:
                raise unfit[0][1]
            self.new_points.append(name)
            self.points[key] = [""]
        elif ids is None:
            near = difflib.get_close_matches(key[:60], self.points, n=1)
            remedy = (
                f"Did you mean {near[0]}?" if near else "Add the waypoint first, or have the import add it."
            )
            raise BadValue("", f"{shown(name)} is no waypoint", remedy=remedy)
        elif len(ids) > 1:
            raise BadValue(
                "", f"{shown(name)} is the name of {len(ids)} waypoints", remedy=f"Write {' or '.join(ids)}."
            )
        return key

    def _output(self, cell: str) -> int:
        if not re.fullmatch(r"\d{1,9}", cell, re.ASCII):
            raise BadValue(
                "", f"{shown(cell)} is not a whole number", remedy="Write the number of the output."
            )
        number = int(cell)
        if number not in self.outputs:
            have = ", ".join(map(str, self.outputs)) or "none yet"
            raise BadValue(
                "", f"output {number} does not exist", limit=f"there are {have}", remedy="Add it first."
            )
        return number

    def _number(self, cell: str, unit: str) -> float:
        plain = re.sub(rf"\s*{unit}$", "", cell, flags=re.IGNORECASE)
        if self.decimal_comma and plain.count(",") == 1 and "." not in plain:
            plain = plain.replace(",", ".")
        if not _NUMBER.fullmatch(plain):
            hint = "Write a point before its decimals." if "," in plain and not self.decimal_comma else ""
            raise BadValue("", f"{shown(cell)} is not a number", limit=f"in {_UNITS[unit]}", remedy=hint)
        return float(plain)


def _in_column(subject: str, column: str, fault: LoomError) -> BadValue:
    return BadValue(f"{subject}: {column}", fault.found, limit=fault.limit, remedy=fault.remedy)


def _guessed(name: str, function: str, named: set[str]) -> dict[str, Any]:
    """What the name and the function tell of function, colour and side."""
    guess = guess_fields(f"{name}, {function}")
    return {field: value for field, value in guess.items() if field != "hand" or "side" not in named}


_FUNCTIONS = {function.casefold(): function for function in FUNCTIONS}
_COLOURS = {re.sub(r"[\s_-]+", " ", colour.casefold()): colour for colour in LED_COLOURS}
_SIZES = {size.replace(" mm", ""): size for size in LED_SIZES} | {
    size.lstrip("0"): size for size in LED_SIZES
}
_HANDS = {
    "left": Hand.LEFT, "l": Hand.LEFT, "port": Hand.LEFT,
    "right": Hand.RIGHT, "r": Hand.RIGHT, "starboard": Hand.RIGHT,
    "none": Hand.NONE, "-": Hand.NONE, "centre": Hand.NONE, "center": Hand.NONE, "middle": Hand.NONE,
}  # fmt: skip
_BUILDS = {
    "bare": Build.BARE, "bare led": Build.BARE, "led": Build.BARE,
    "ready wired": Build.WIRED, "wired": Build.WIRED, "prewired": Build.WIRED, "pre wired": Build.WIRED,
}  # fmt: skip


def _plain(cell: str) -> str:
    return re.sub(r"[\s_-]+", " ", cell.casefold()).strip() or cell


def _size(cell: str) -> str:
    plain = re.sub(r"\s*mm$", "", cell.casefold()).replace(",", ".")
    # Spreadsheets eat the zero before 603, and write 3 as 3.0.
    return _SIZES.get(plain, _SIZES.get(plain.removesuffix(".0"), cell))


def _hand(cell: str) -> Hand:
    return _one_of(_HANDS, cell, "left, right or nothing")


def _build(cell: str) -> Build:
    return _one_of(_BUILDS, cell, "bare, ready-wired")


def _one_of(known: Mapping[str, T], cell: str, limit: str) -> T:
    value = known.get(_plain(cell))
    if value is None:
        raise BadValue("", f"{shown(cell)} is not known", limit=limit)
    return value


_WORDS: Mapping[str, Callable[[str], Any]] = MappingProxyType(
    {
        "function": lambda cell: _FUNCTIONS.get(cell.casefold(), cell),
        "place": str,
        "side": _hand,
        "colour": lambda cell: _COLOURS.get(_plain(cell), cell),
        "size": _size,
        "build": _build,
    }
)
"""How the cells of words become values; what is not known is left for the lamp to refuse."""
