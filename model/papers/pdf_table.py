"""Tables on the pages of a PDF: widths, breaks, and lines to write on."""

from __future__ import annotations

from collections.abc import Callable

from model.papers.figure import DIM, FAINT, INK
from model.papers.pdf_canvas import BODY_MM, MARGIN_MM, Canvas
from model.papers.table import Table, number_columns, used_columns
from model.papers.type_metrics import CAP_EM, width_mm, wrapped
from model.standards.colours import COLOURS

LINE_MM = 3.7
HAND_MM = 6.4
GAP_MM = 3.0
HAND_COLUMN_MM = 19.0
COLUMN_MOST_MM = 62.0

TAG_COLUMNS = frozenset({"tag", "now", "in", "on from there"})
"""Columns that hold tags."""


def set_table(canvas: Canvas, table: Table) -> None:
    """A table with its heading; the heading of the columns comes again on every page."""
    used = used_columns(table)
    widths = _fitted(table, used, canvas.room, canvas.clean)
    right = number_columns(table)
    canvas.say(table.title, 3.4, bold=True)
    canvas.y += 1.2
    if not table.rows:
        canvas.say("Nothing yet.", ink=DIM)
        return
    _columns(canvas, table, used, widths, right)
    for row in table.rows:
        cells = {place: wrapped(canvas.clean(row[place]), widths[place], BODY_MM) for place in used}
        lines = max(map(len, cells.values()))
        high = max(lines * LINE_MM + 0.9, HAND_MM if table.by_hand else 0.0)
        if canvas.y + high > canvas.bottom:
            canvas.page(across=canvas.across)
            _columns(canvas, table, used, widths, right)
        _row(canvas, table, used, widths, right, cells)
        canvas.y += high
        canvas.line((MARGIN_MM, canvas.y - 2.9), (MARGIN_MM + _total(widths), canvas.y - 2.9), 0.1, FAINT)
    canvas.y += 1


def _columns(
    canvas: Canvas, table: Table, used: list[int], widths: dict[int, float], right: set[int]
) -> None:
    names = {place: wrapped(table.columns[place], widths[place], 2.4, bold=True) for place in used}
    most = max(map(len, names.values()))
    x = MARGIN_MM
    for place in used:
        lines = names[place]
        for number, line in enumerate(lines):
            y = canvas.y + (most - len(lines) + number) * 3.0
            if place in right:
                canvas.text(x + widths[place], y, line, 2.4, ink=DIM, bold=True, anchor="end")
            else:
                canvas.text(x, y, line, 2.4, ink=DIM, bold=True)
        x += widths[place] + GAP_MM
    canvas.y += most * 3.0 + 0.6
    canvas.line((MARGIN_MM, canvas.y - 2.5), (MARGIN_MM + _total(widths), canvas.y - 2.5), 0.25, INK)
    canvas.y += 1.6


def _row(
    canvas: Canvas,
    table: Table,
    used: list[int],
    widths: dict[int, float],
    right: set[int],
    cells: dict[int, list[str]],
) -> None:
    x = MARGIN_MM
    drop = (HAND_MM - LINE_MM) / 2 if table.by_hand else 0.0
    for place in used:
        column = table.columns[place]
        for number, line in enumerate(cells[place]):
            y = canvas.y + number * LINE_MM + drop
            if column == "colour" and line in COLOURS:
                canvas.chip(x, y - CAP_EM * BODY_MM / 2, line, 2.4)
            elif place in right:
                canvas.text(x + widths[place], y, line, BODY_MM, anchor="end")
            elif column in TAG_COLUMNS:
                canvas.text(x, y, line, BODY_MM, mono=True)
            else:
                canvas.text(x, y, line, BODY_MM)
        if column in table.by_hand:
            canvas.line((x, canvas.y + 2.2), (x + widths[place], canvas.y + 2.2), 0.15, DIM)
        x += widths[place] + GAP_MM


def _total(widths: dict[int, float]) -> float:
    return sum(widths.values()) + GAP_MM * (len(widths) - 1)


def _wants(table: Table, place: int, clean: Callable[[str], str]) -> float:
    """The width a column takes without a break, within limits."""
    name = table.columns[place]
    if name in table.by_hand:
        return HAND_COLUMN_MM
    mono = name in TAG_COLUMNS
    longest = max((width_mm(clean(row[place]), BODY_MM, mono=mono) for row in table.rows), default=0.0)
    head = max(width_mm(word, 2.4, bold=True) for word in name.split() or [""])
    return min(max(longest, head), COLUMN_MOST_MM) + 0.2


def natural_width_mm(table: Table, clean: Callable[[str], str]) -> float:
    """How wide a table would be without a break in its cells, within limits."""
    used = used_columns(table)
    return sum(_wants(table, place, clean) for place in used) + GAP_MM * (len(used) - 1)


def _fitted(table: Table, used: list[int], room: float, clean: Callable[[str], str]) -> dict[int, float]:
    """Widths that go into the room: the widest columns give way, columns for the hand take what is left."""
    widths = {place: _wants(table, place, clean) for place in used}
    least = {
        place: max(
            (width_mm(word, BODY_MM) for row in table.rows for word in clean(row[place]).split()),
            default=8.0,
        )
        + 0.2
        for place in used
    }
    while _total(widths) > room + 1e-6:
        widest = max(used, key=lambda place: widths[place] - min(least[place], 24.0))
        if widths[widest] <= 9:
            break
        widths[widest] -= min(1.0, _total(widths) - room)
    spare = room - _total(widths)
    hands = [place for place in used if table.columns[place] in table.by_hand]
    for place in hands:
        widths[place] += max(min(spare / len(hands), 22.0), 0.0)
    return widths
