"""A table of texts, and how it is written for a terminal and for a spreadsheet."""

from __future__ import annotations

import csv
import io
import re
import unicodedata
from collections.abc import Iterable

import attrs

_NUMBER = re.compile(r"[+-]?\d+(\.\d+)?")
_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
_GAP = "  "


@attrs.frozen(kw_only=True)
class Table:
    """A heading, the names of the columns with their units, and rows of as many texts.

    `by_hand` are the columns that are empty for a pencil to fill.
    """

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    by_hand: tuple[str, ...] = ()


def as_text(table: Table) -> str:
    """Lines for a terminal: heading, columns, rows; numbers to the right, empty columns left out."""
    used = used_columns(table)
    widths = {
        place: max(map(_width, (table.columns[place], *(row[place] for row in table.rows)))) for place in used
    }
    right = number_columns(table)

    def line(cells: tuple[str, ...]) -> str:
        padded = (_pad(cells[place], widths[place], to_right=place in right) for place in used)
        return _GAP.join(padded).rstrip()

    return "\n".join([table.title, line(table.columns), *map(line, table.rows), ""])


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
        if any(row[place] for row in table.rows)
        and all(not row[place] or _NUMBER.fullmatch(row[place]) for row in table.rows)
    }


def as_csv(tables: Iterable[Table]) -> str:
    """Comma-separated values (RFC 4180), an empty line between tables.

    A text that a spreadsheet would take for a formula gets an apostrophe in front; a number stays one.
    """
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    for place, table in enumerate(tables):
        if place:
            writer.writerow(())
        writer.writerow(table.columns)
        writer.writerows(tuple(map(_harmless, row)) for row in table.rows)
    return text.getvalue()


def _harmless(cell: str) -> str:
    return f"'{cell}" if cell.startswith(_FORMULA_STARTS) and not _NUMBER.fullmatch(cell) else cell


def _pad(cell: str, width: int, *, to_right: bool) -> str:
    space = " " * (width - _width(cell))
    return space + cell if to_right else cell + space


def _width(cell: str) -> int:
    """Columns a text takes in a terminal: wide characters two, combining ones none (Unicode UAX 11)."""
    return sum(
        0 if unicodedata.combining(sign) else 2 if unicodedata.east_asian_width(sign) in "WF" else 1
        for sign in cell
    )
