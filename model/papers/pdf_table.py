"""Tables on the pages of a PDF: widths, breaks, and lines to write on."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import attrs

from model.papers.figure import DIM, FAINT, INK
from model.papers.pdf_canvas import BODY_MM, FOOT_MM, HEAD_MM, MARGIN_MM, Canvas
from model.papers.table import TAG_COLUMNS, Table, number_columns, used_columns
from model.papers.type_metrics import CAP_EM, width_mm, wrapped
from model.standards.colours import COLOURS

LINE_MM = 3.7
HAND_MM = 6.4
GAP_MM = 3.0
HAND_COLUMN_MM = 19.0
COLUMN_MOST_MM = 62.0
STRIP_GAP_MM = 9.0
SHORT_MM = 110.0
"""A table that is no higher stays in one strip where there is room for it."""

NAME_MM = 2.4
NAME_LINE_MM = 3.0
TITLE_MM = 5.8
"""Height of a table's heading."""

LEAST_ROWS = 5
"""No page is begun for fewer rows, and none is left with fewer, where there are as many."""

MOST_LINES = 36
"""A row of more would not go onto one page."""

_AIR = (0.9, 0.45)
"""Between rows; the smaller one where that saves a page."""

Strip = tuple[int, int]
"""The rows from one place to before another, one below the other."""


@attrs.frozen(kw_only=True)
class _Row:
    """The lines of each cell by column, and the row's height without air."""

    cells: dict[int, list[str]]
    high_mm: float


def set_table(canvas: Canvas, table: Table) -> None:
    """A table with its heading; the heading of the columns comes again on every page.

    A narrow one stands in strips side by side where that saves height. Wide texts take the room that is
    left over.
    """
    used = used_columns(table)
    widths = _fitted(table, used, canvas.room, canvas.clean)
    right = number_columns(table)
    rows = [_row(canvas, table, used, widths, row) for row in table.rows]
    head = _head_mm(table, used, widths)
    title_mm = _title_mm(canvas, table, canvas.room)
    whole = canvas.bottom - HEAD_MM - 4 - head
    first = canvas.bottom - canvas.y - title_mm - head
    # A short table is not parted at all.
    whole_here = rows if len(rows) < 2 * LEAST_ROWS else rows[:LEAST_ROWS]
    least = sum(row.high_mm + _AIR[0] for row in whole_here)
    if first < min(least, whole - title_mm):
        canvas.page(across=canvas.across)
        first = whole - title_mm
    canvas.say(table.title, 3.4, bold=True)
    if table.note and rows:
        canvas.say(table.note, ink=DIM)
    canvas.y += 1.2
    if not rows:
        canvas.say("Nothing yet.", ink=DIM)
        return
    beside = _strips(table, widths, [row.high_mm + _AIR[0] for row in rows], canvas.room, first)
    spread = [_pages([row.high_mm + air for row in rows], first, whole, beside) for air in _AIR]
    air, pages = (_AIR[1], spread[1]) if len(spread[1]) < len(spread[0]) else (_AIR[0], spread[0])
    for number, strips in enumerate(pages):
        if number:
            canvas.page(across=canvas.across)
        top = low = canvas.y
        for place, (begin, end) in enumerate(strips):
            canvas.y = top
            x = MARGIN_MM + place * (_total(widths) + STRIP_GAP_MM)
            _columns(canvas, table, used, widths, right, x)
            for row in rows[begin:end]:
                _set_row(canvas, table, used, widths, right, row.cells, x)
                canvas.y += row.high_mm + air
                y = canvas.y - 2.9 + (_AIR[0] - air) / 2
                canvas.line((x, y), (x + _total(widths), y), 0.1, FAINT)
            low = max(low, canvas.y)
        canvas.y = low
    canvas.y += 1


def _title_mm(canvas: Canvas, table: Table, room: float) -> float:
    """Height of a table's heading and of its note."""
    lines = len(wrapped(canvas.clean(table.note), room, BODY_MM)) if table.note else 0
    return TITLE_MM + lines * BODY_MM * 1.35


def fits_below(canvas: Canvas, table: Table) -> bool:
    """Whether a table goes onto what is left of the page."""
    return len(_planned(canvas, [table], canvas.room, canvas.bottom - canvas.y, canvas.bottom)) == 1


def best_across(canvas: Canvas, tables: Sequence[Table]) -> bool:
    """Whether the first of some tables wants pages across: it is too wide for upright ones, or it and what
    follows take fewer of them.
    """
    short, long = sorted(canvas.size)
    if natural_width_mm(tables[0], canvas.clean) > short - 2 * MARGIN_MM:
        return True
    strips = [_beside(canvas, tables[0], side - 2 * MARGIN_MM) for side in (short, long)]
    if strips[1] <= strips[0]:
        return False
    upright, across = (
        len(_planned(canvas, tables, wide - 2 * MARGIN_MM, high - HEAD_MM - FOOT_MM - 5, high))
        for wide, high in ((short, long), (long, short))
    )
    return across < upright


def _beside(canvas: Canvas, table: Table, room: float) -> int:
    widths = _fitted(table, used_columns(table), room, canvas.clean)
    return _strips(table, widths, [LINE_MM + _AIR[0]] * len(table.rows), room, 0.0)


def _planned(canvas: Canvas, tables: Sequence[Table], room: float, left: float, high: float) -> list[float]:
    """Pages that tables take one below the other where `left` mm are left of the first, with the height
    that is used of each.
    """
    pages = [0.0]
    whole = high - HEAD_MM - FOOT_MM - 5
    for table in tables:
        used = used_columns(table)
        widths = _fitted(table, used, room, canvas.clean)
        rows = [_row(canvas, table, used, widths, row).high_mm for row in table.rows]
        head = _head_mm(table, used, widths)
        title_mm = _title_mm(canvas, table, room)
        free = (left if len(pages) == 1 else whole) - pages[-1] - title_mm - head
        if free < sum(rows[:LEAST_ROWS]):
            pages.append(0.0)
            free = whole - title_mm - head
        beside = _strips(table, widths, [row + _AIR[0] for row in rows], room, free)
        tries = [_pages([row + air for row in rows], free, whole - head, beside) for air in _AIR]
        air, found = min(zip(_AIR, tries, strict=True), key=lambda pair: len(pair[1]))
        if not found:
            continue
        low = max(sum(row + air for row in rows[begin:end]) for begin, end in found[-1])
        if len(found) == 1:
            pages[-1] += title_mm + head + low + 6
        else:
            pages += [whole] * (len(found) - 2) + [head + low + 6]
    return pages


def _row(
    canvas: Canvas, table: Table, used: Sequence[int], widths: dict[int, float], row: Sequence[str]
) -> _Row:
    cells = {place: wrapped(canvas.clean(row[place]), widths[place], BODY_MM) for place in used}
    for lines in cells.values():
        if len(lines) > MOST_LINES:
            lines[MOST_LINES - 1 :] = ["... (whole in the CSV)"]
    high = max(map(len, cells.values())) * LINE_MM
    if table.by_hand:
        high = max(high + (HAND_MM - LINE_MM) / 2, HAND_MM - _AIR[0])
    return _Row(cells=cells, high_mm=high)


def _strips(table: Table, widths: dict[int, float], highs: Sequence[float], room: float, first: float) -> int:
    """How many strips of a table stand side by side, where `first` mm are left of the page."""
    if table.by_hand or sum(highs) <= min(first, SHORT_MM):
        return 1
    fit = int((room + STRIP_GAP_MM) / (_total(widths) + STRIP_GAP_MM))
    return max(1, min(fit, 3, len(highs) // LEAST_ROWS))


def _pages(highs: Sequence[float], first: float, whole: float, beside: int) -> list[list[Strip]]:
    """The rows by page and strip: every page full but the last, whose strips are made equal."""
    pages: list[list[Strip]] = []
    begin = 0
    while begin < len(highs):
        room = whole if pages else first
        strips = _filled(highs, begin, room, beside)
        if strips[-1][1] == len(highs) and beside > 1:
            low = sum(highs[begin:]) / beside
            while (even := _filled(highs, begin, low, beside))[-1][1] < len(highs):
                low += 1.0
            strips = even
        pages.append(strips)
        begin = strips[-1][1]
    if beside == 1 and len(pages) > 1:
        # The last rows are not left alone.
        (start, middle), (_, end) = pages[-2][0], pages[-1][0]
        more = min(LEAST_ROWS - (end - middle), middle - start - LEAST_ROWS)
        if more > 0:
            pages[-2:] = [[(start, middle - more)], [(middle - more, end)]]
    return pages


def _filled(highs: Sequence[float], begin: int, room: float, beside: int) -> list[Strip]:
    """One page: at least a row in each strip."""
    strips: list[Strip] = []
    for _ in range(beside):
        if begin == len(highs):
            break
        end, left = begin + 1, room - highs[begin]
        while end < len(highs) and highs[end] <= left:
            left -= highs[end]
            end += 1
        strips.append((begin, end))
        begin = end
    return strips


def _names(table: Table, used: Sequence[int], widths: dict[int, float]) -> dict[int, list[str]]:
    return {place: wrapped(table.columns[place], widths[place], NAME_MM, bold=True) for place in used}


def _head_mm(table: Table, used: Sequence[int], widths: dict[int, float]) -> float:
    most = max(map(len, _names(table, used, widths).values()))
    return most * NAME_LINE_MM + 2.2


def _columns(
    canvas: Canvas, table: Table, used: list[int], widths: dict[int, float], right: set[int], left_mm: float
) -> None:
    names = _names(table, used, widths)
    most = max(map(len, names.values()))
    x = left_mm
    for place in used:
        lines = names[place]
        for number, line in enumerate(lines):
            y = canvas.y + (most - len(lines) + number) * NAME_LINE_MM
            if place in right:
                canvas.text(x + widths[place], y, line, NAME_MM, ink=DIM, bold=True, anchor="end")
            else:
                canvas.text(x, y, line, NAME_MM, ink=DIM, bold=True)
        x += widths[place] + GAP_MM
    canvas.y += most * NAME_LINE_MM + 0.6
    canvas.line((left_mm, canvas.y - 2.5), (left_mm + _total(widths), canvas.y - 2.5), 0.25, INK)
    canvas.y += 1.6


def _set_row(
    canvas: Canvas,
    table: Table,
    used: list[int],
    widths: dict[int, float],
    right: set[int],
    cells: dict[int, list[str]],
    left_mm: float,
) -> None:
    x = left_mm
    drop = (HAND_MM - LINE_MM) / 2 if table.by_hand else 0.0
    for place in used:
        column = table.columns[place]
        for number, line in enumerate(cells[place]):
            y = canvas.y + number * LINE_MM + drop
            if column == "colour" and line in COLOURS:
                canvas.chip(x, y - CAP_EM * BODY_MM / 2, line, 2.4)
            elif place in right:
                # A negative margin is a limit passed.
                canvas.text(x + widths[place], y, line, BODY_MM, anchor="end", bold=line.startswith("-"))
            elif column in TAG_COLUMNS:
                canvas.text(x, y, line, BODY_MM, mono=True)
            else:
                canvas.text(x, y, line, BODY_MM)
        if column in table.by_hand:
            canvas.line((x, canvas.y + 2.2), (x + widths[place], canvas.y + 2.2), 0.15, DIM)
        x += widths[place] + GAP_MM


def _total(widths: dict[int, float]) -> float:
    return sum(widths.values()) + GAP_MM * (len(widths) - 1)


def _longest(table: Table, place: int, clean: Callable[[str], str]) -> float:
    """The width a column takes without a break."""
    mono = table.columns[place] in TAG_COLUMNS
    longest = max((width_mm(clean(row[place]), BODY_MM, mono=mono) for row in table.rows), default=0.0)
    head = max(width_mm(word, NAME_MM, bold=True) for word in table.columns[place].split() or [""])
    return max(longest, head) + 0.2


def _wants(table: Table, place: int, clean: Callable[[str], str]) -> float:
    """The same within limits."""
    if table.columns[place] in table.by_hand:
        return HAND_COLUMN_MM
    return min(_longest(table, place, clean), COLUMN_MOST_MM + 0.2)


def natural_width_mm(table: Table, clean: Callable[[str], str]) -> float:
    """How wide a table would be without a break in its cells, within limits."""
    used = used_columns(table)
    return sum(_wants(table, place, clean) for place in used) + GAP_MM * (len(used) - 1)


def _fitted(table: Table, used: list[int], room: float, clean: Callable[[str], str]) -> dict[int, float]:
    """Widths that go into the room: the widest columns give way; what is left goes to the columns for the
    hand, else to those whose texts are broken.
    """
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
    if not hands:
        whole = {place: _longest(table, place, clean) for place in used}
        for place in sorted(used, key=lambda place: whole[place] - widths[place]):
            more = min(max(whole[place] - widths[place], 0.0), max(room - _total(widths), 0.0))
            widths[place] += more
    return widths
