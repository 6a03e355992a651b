"""A table of texts, and how it is written for a terminal and for a spreadsheet."""

from __future__ import annotations

import csv
import io
import re
import textwrap
import unicodedata
from collections.abc import Iterable

import attrs

from model import lengths

TAG_COLUMNS = frozenset({"tag", "now", "in", "on from there"})
"""Columns that hold tags: "7E9" and "001" are no numbers there."""

LENGTH_COLUMNS = frozenset(
    {
        "cut mm", "length mm", "total mm", "scrap mm", "left mm", "wire mm", "cost mm", "least mm",
        "saves mm", "longest run mm", "loop mm", "on the board mm", "plug from mm", "from it mm",
    }
)  # fmt: skip
"""Columns that hold lengths of wire and legs; diameters keep the mm by which they are sold."""

_NUMBER = re.compile(r"[+-]?(\d+(\.\d+)?|\.\d+)")
_PLAIN_NUMBER = re.compile(r"[+-]?(0|[1-9]\d{0,14})(\.\d+)?")
"""A number that comes out of a spreadsheet as it went in."""

_DAY = re.compile(r"\d{4}-\d\d-\d\d")
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\uff1d", "\uff0b", "\uff0d", "\uff20")
"""The wide forms, too: some spreadsheets take them for the plain ones (as in model.lamp_list)."""

_MONTHS = (
    "jan(uary)?|feb(ruary)?|mar(ch)?|apr(il)?|may|june?|july?|aug(ust)?|sept?(ember)?|oct(ober)?"
    "|nov(ember)?|dec(ember)?"
)
_TAKEN_FOR_ANOTHER = re.compile(
    r"[\d ,.]+"  # 001 loses its noughts, 1 002 its gap
    r"|\d+(\.\d*)?e\d+"  # 7E9 becomes 7000000000
    r"|\d+([-/.:]\d+){1,2}"  # 1/2 and 1-2 become days, 1:16 a time
    r"|\d+(:\d+){0,2} ?[ap]m|\d+(:\d+){0,2} [ap]"  # 2 A becomes two in the morning
    rf"|\d{{1,4}}[-/ ]?({_MONTHS})([-/ ]?\d+)?|({_MONTHS})[-/ ]?\d+"  # 3MAR
    r"|true|false",
    re.IGNORECASE,
)
"""What spreadsheets change when they read it, though it is a name (common practice, no source)."""

_GAP = "  "

NOTE_COLUMNS = 100
"""A note is folded to this where no width is said."""


@attrs.frozen(kw_only=True)
class Table:
    """A heading, the names of the columns with their units, and rows of as many texts.

    `by_hand` are the columns that are empty for a pencil to fill. `note` explains a column where its name
    can't; CSV does without.
    """

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    by_hand: tuple[str, ...] = ()
    note: str = ""


def to_read(table: Table) -> Table:
    """The table as a person reads it: lengths in the unit chosen, which the heads say. CSV stays in mm."""
    if lengths.unit() == "mm":
        return table
    places = {place for place, column in enumerate(table.columns) if column in LENGTH_COLUMNS}
    return attrs.evolve(
        table,
        title=table.title.replace("lengths in mm", "lengths in inches"),
        columns=tuple(
            f"{column.removesuffix(' mm')} {lengths.unit()}" if place in places else column
            for place, column in enumerate(table.columns)
        ),
        rows=tuple(
            tuple(
                lengths.figure(float(cell)) if place in places and _NUMBER.fullmatch(cell) else cell
                for place, cell in enumerate(row)
            )
            for row in table.rows
        ),
    )


def as_text(table: Table, width: int | None = None) -> str:
    """Lines for a terminal: heading, columns, rows; numbers to the right, empty columns left out.

    Lengths are in the unit chosen. Where lines are wider than `width`, names of columns and the widest texts
    go on in further lines.
    """
    table = to_read(table)
    used = used_columns(table)
    widths = {
        place: max(map(_width, (table.columns[place], *(row[place] for row in table.rows)))) for place in used
    }
    right = number_columns(table)
    if width is not None and _line_width(widths) > width:
        _narrow(table, widths, right, width)

    def lines(cells: tuple[str, ...]) -> list[str]:
        folded = {place: _folded(cells[place], widths[place]) for place in used}
        height = max(map(len, folded.values()))
        return [
            _GAP.join(
                _pad(folded[place][at] if at < len(folded[place]) else "", widths[place], place in right)
                for place in used
            ).rstrip()
            for at in range(height)
        ]

    body = [line for cells in (table.columns, *table.rows) for line in lines(cells)]
    note = textwrap.wrap(table.note, width or NOTE_COLUMNS) if table.rows else []
    return "\n".join([table.title, *body, *note, ""])


def without(table: Table, column: str) -> Table:
    """The table without one of its columns."""
    place = table.columns.index(column)
    rows = tuple((*row[:place], *row[place + 1 :]) for row in table.rows)
    return attrs.evolve(table, columns=(*table.columns[:place], *table.columns[place + 1 :]), rows=rows)


_LEAST_TEXT = 8
"""Columns that a text keeps at the least."""


def _line_width(widths: dict[int, int]) -> int:
    return sum(widths.values()) + len(_GAP) * (len(widths) - 1)


def _narrow(table: Table, widths: dict[int, int], right: set[int], width: int) -> None:
    """Make columns narrower until a line fits, as far as that goes: names first, then the widest text."""
    for place in widths:
        cells = max((_width(row[place]) for row in table.rows), default=0)
        widths[place] = max(cells, *map(_width, table.columns[place].split()))
    texts = [place for place in widths if place not in right]
    while _line_width(widths) > width and texts:
        widest = max(texts, key=widths.__getitem__)
        if widths[widest] <= _LEAST_TEXT:
            return
        widths[widest] -= 1


def _folded(cell: str, width: int) -> list[str]:
    """A text in lines of at most `width` columns, parted between words where that can be."""
    if _width(cell) <= width:
        return [cell]
    lines = [""]
    for word in cell.split():
        if lines[-1] and _width(lines[-1]) + 1 + _width(word) <= width:
            lines[-1] += f" {word}"
            continue
        if lines[-1]:
            lines.append("")
        for sign in word:
            if _width(lines[-1] + sign) > width and lines[-1]:
                lines.append("")
            lines[-1] += sign
    return lines


def used_columns(table: Table) -> list[int]:
    """The places of the columns that hold anything or are to be filled by hand; all of an empty table."""
    places = range(len(table.columns))
    used = [
        place
        for place in places
        if table.columns[place] in table.by_hand or any(row[place] for row in table.rows)
    ]
    return used or list(places)


def number_columns(table: Table) -> set[int]:
    """The places of the columns that hold numbers only: they are set to the right."""
    return {
        place
        for place in range(len(table.columns))
        if table.columns[place] not in TAG_COLUMNS
        and any(row[place] for row in table.rows)
        and all(not row[place] or _NUMBER.fullmatch(row[place]) for row in table.rows)
    }


def as_csv(tables: Iterable[Table]) -> str:
    """Comma-separated values (RFC 4180), an empty line between tables.

    A text that a spreadsheet would take for a formula, or for a number or day that it is not, gets an
    apostrophe in front: the tags 001 and 7E9, a lamp called 1/2. A number stays one.
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    for place, table in enumerate(tables):
        if place:
            writer.writerow(())
        writer.writerow(table.columns)
        tags = [column in TAG_COLUMNS for column in table.columns]
        writer.writerows(tuple(map(_harmless, row, tags)) for row in table.rows)
    return text.getvalue()


def _harmless(cell: str, is_tag: bool = False) -> str:
    if _DAY.fullmatch(cell) or (_PLAIN_NUMBER.fullmatch(cell) and not is_tag):
        return cell
    changed = cell.startswith(_FORMULA_STARTS) or _TAKEN_FOR_ANOTHER.fullmatch(cell)
    return f"'{cell}" if changed else cell


def _pad(cell: str, width: int, to_right: bool) -> str:
    space = " " * (width - _width(cell))
    return space + cell if to_right else cell + space


def _width(cell: str) -> int:
    """Columns a text takes in a terminal: wide characters two, combining ones none (Unicode UAX 11)."""
    return sum(
        0 if unicodedata.combining(sign) else 2 if unicodedata.east_asian_width(sign) in "WF" else 1
        for sign in cell
    )
