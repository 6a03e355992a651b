"""A trail as lines of text: the way from pin to lamp as one line, what hangs beside it underneath.

The asked wire is drawn heavy, everything else light, so that it is found without colour.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence

import attrs

from model.lengths import text as length_text
from model.tracing.trail import Branch, Point, PointKind, Trail
from model.values import counted

MARKS = {
    PointKind.PIN: "\u25a0",
    PointKind.JOINT: "\u25c6",
    PointKind.PLUG: "\u25a3",
    PointKind.LAMP: "\u25cb",
}
"""Pin, joint, plug and lamp."""

LEAST_NAME = 8
"""A name is not cut shorter than this many columns, if there is any other way."""

TREE_ROOM = 30
"""Columns that branches under a point need to be of use."""

GOES_ON = "\u2026 "

_FORMS = ((False, True), (True, True), (True, False))
"""Ways to write a wire and its point, each shorter than the one before: points in short, with lengths."""


def cells(text: str) -> int:
    """Columns of a terminal that a text takes: two a wide sign, none a combining one (Unicode annex 11)."""
    return sum(_sign_cells(sign) for sign in text)


def _sign_cells(sign: str) -> int:
    if unicodedata.combining(sign) or sign in "\u200d\ufe0f":
        return 0
    return 2 if unicodedata.east_asian_width(sign) in "WF" else 1


def cut(text: str, width: int) -> str:
    """`text` in at most `width` columns, with a mark at the end where it was cut."""
    if cells(text) <= width:
        return text
    kept, used = "", 1
    for sign in text:
        used += _sign_cells(sign)
        if used > width:
            break
        kept += sign
    return f"{kept.rstrip()}\u2026" if width > 0 else ""


def draw_trail(trail: Trail, width: int = 80, rows: int | None = None) -> list[str]:
    """The trail in lines of at most `width` columns (40 or more), and at most `rows` of them (5 or more).

    What does not fit is shortened in this order: points in fewer words, no lengths, names cut and
    marked as cut, and at last the line goes on in a next row. Where there are more lines than `rows`, the
    asked wire and its way stay, and the wires left out are counted.
    """
    width = max(width, 40)
    blocks = [
        _row_lines(row, width, first=place == 0) for place, row in enumerate(_rows(_parts(trail), width))
    ]
    lines = [line for block in blocks for line in (*block.head, *block.tree)]
    if rows is not None and len(lines) > max(rows, 5):
        lines = _fewer(blocks, max(rows, 5))
    return [line.text for line in lines]


@attrs.frozen(kw_only=True, eq=False)
class _Line:
    """One line, and how many wires it names."""

    text: str
    wires: int = 0


@attrs.frozen(kw_only=True)
class _Block:
    """A row of the way, perhaps with the places above it, and what hangs underneath."""

    head: tuple[_Line, ...]
    tree: tuple[_Line, ...]


def _fewer(blocks: Sequence[_Block], rows: int) -> list[_Line]:
    """The lines that matter most, in their order: the asked wire's own row, the pin's, those between, the
    places, then what hangs nearest to the asked wire.
    """
    back = [blocks[-1], blocks[0], *blocks[-2:0:-1]] if len(blocks) > 1 else [blocks[0]]
    ranked = [block.head[-1] for block in back]
    ranked += [line for block in back for line in block.head[:-1]]
    ranked += [line for block in reversed(blocks) for line in block.tree]
    kept = {id(line) for line in ranked[:rows]}
    left_out = sum(line.wires for line in ranked[rows:])
    if left_out:
        kept.remove(id(ranked[rows - 1]))
        left_out += ranked[rows - 1].wires
    lines = [line for block in blocks for line in (*block.head, *block.tree) if id(line) in kept]
    if left_out:
        lines.append(_Line(text=f"\u2026 and {counted(left_out, 'wire')} more"))
    return lines


@attrs.frozen(kw_only=True)
class _Part:
    """A point of the line, and the wire that led to it (None at the pin). `hanging` are drawn underneath."""

    branch: Branch | None
    point: Point
    hanging: tuple[Branch, ...]
    deep: bool


def _parts(trail: Trail) -> list[_Part]:
    line = trail.line
    points = [trail.root, *(branch.to for branch in line)]
    parts = []
    for place, point in enumerate(points):
        last = place == len(points) - 1
        hanging = point.branches if last else tuple(branch for branch in point.branches if not branch.on_way)
        parts.append(
            _Part(branch=line[place - 1] if place else None, point=point, hanging=hanging, deep=last)
        )
    return parts


def _wire_text(branch: Branch, lengths: bool) -> str:
    length = f" {length_text(round(branch.cut_mm))}" if lengths else ""
    return f"{branch.tag or branch.wire.key} {branch.wire.colour}{length}"


def _span(branch: Branch, lengths: bool) -> str:
    stroke = "\u2501" if branch.asked else "\u2500"
    return f"{stroke * 2} {_wire_text(branch, lengths)} {stroke * 2}"


def _point_text(point: Point, short: bool = False) -> str:
    return f"{MARKS[point.kind]} {point.short if short else point.words}"


_Row = list[tuple[_Part, str, str]]
"""Parts with the text of the wire before them and of the point itself."""


def _rows(parts: Sequence[_Part], width: int) -> list[_Row]:
    for short, lengths in _FORMS:
        row = [
            (part, _span(part.branch, lengths) if part.branch else "", _point_text(part.point, short))
            for part in parts
        ]
        if _fits(row, width):
            return [row]
    # Names are cut before the line is broken, as long as enough of them is left.
    fixed = _row_cells(row) - sum(cells(text) for _, _, text in row)
    if fixed + sum(min(cells(text), LEAST_NAME + 2) for _, _, text in row) <= width:
        cut_row = _with_cut_names(row, width - fixed)
        if _fits(cut_row, width):
            return [cut_row]
    return _broken(row, width)


def _fits(row: _Row, width: int) -> bool:
    """Whether a row keeps to the width, with room under each point for what hangs on it."""
    return _row_cells(row) <= width and all(
        column <= width - TREE_ROOM
        for (part, _, _), column in zip(row, _columns(row, ""), strict=True)
        if part.hanging
    )


def _columns(row: _Row, start: str) -> list[int]:
    """Where each point of a row stands."""
    columns: list[int] = []
    text = start
    for place, (_, span, point) in enumerate(row):
        text += _before(span, place)
        columns.append(cells(text))
        text += point
    return columns


def _before(span: str, place: int) -> str:
    if not span:
        return ""
    return f" {span} " if place else f"{span} "


def _row_cells(row: _Row) -> int:
    return sum(cells(span) + cells(text) + (2 if span else 0) for _, span, text in row)


def _with_cut_names(row: _Row, room: int) -> _Row:
    wanted = [cells(text) for _, _, text in row]
    while sum(wanted) > room:
        longest = max(range(len(wanted)), key=lambda place: wanted[place])
        wanted[longest] -= 1
    return [(part, span, cut(text, most)) for (part, span, text), most in zip(row, wanted, strict=True)]


def _broken(row: _Row, width: int) -> list[_Row]:
    rows: list[_Row] = [[]]
    used = 0
    for part, span, text in row:
        before = cells(_before(span, len(rows[-1])))
        too_long = used + before + cells(text) > width
        no_room = bool(part.hanging) and used + before > width - TREE_ROOM
        if rows[-1] and (too_long or no_room):
            rows.append([])
            used, before = cells(GOES_ON), cells(_before(span, 0))
        text = cut(text, width - used - before)
        rows[-1].append((part, span, text))
        used += before + cells(text)
    return rows


def _row_lines(row: _Row, width: int, *, first: bool) -> _Block:
    start = "" if first else GOES_ON
    columns = _columns(row, start)
    text = start + "".join(f"{_before(span, place)}{point}" for place, (_, span, point) in enumerate(row))
    places = _place_line(row, columns, width)
    way = _Line(text=text, wires=sum(part.branch is not None for part, _, _ in row))
    # The rightmost point's branches come first; the others' stems run down beside them.
    tree: list[str] = []
    for number in reversed(range(len(row))):
        part = row[number][0]
        if part.hanging:
            stems = [columns[left] for left in range(number) if row[left][0].hanging]
            tree += _tree(part.hanging, _prefix(stems, columns[number]), width, part.deep)
    return _Block(
        head=(_Line(text=places), way) if places.strip() else (way,),
        tree=tuple(_Line(text=line, wires=1) for line in tree),
    )


def _place_line(row: _Row, columns: Sequence[int], width: int) -> str:
    """The waypoints above their points, each left out where it would run into the next."""
    line = ""
    for number, (part, _, _) in enumerate(row):
        if not part.point.place:
            continue
        right = columns[number + 1] - 1 if number + 1 < len(row) else width
        start = max(columns[number], cells(line) + 1 if line else 0)
        room = right - start
        if room >= min(LEAST_NAME, cells(part.point.place)):
            line += " " * (start - cells(line)) + cut(part.point.place, room)
    return line


def _prefix(stems: Sequence[int], column: int) -> str:
    prefix = ""
    for stem in stems:
        prefix += " " * (stem - cells(prefix)) + "\u2502"
    return prefix + " " * (column - cells(prefix))


def _tree(branches: Sequence[Branch], prefix: str, width: int, deep: bool) -> list[str]:
    lines = []
    for number, branch in enumerate(branches):
        last = number == len(branches) - 1
        opened = deep and bool(branch.to.branches) and cells(prefix) + 3 <= width - TREE_ROOM
        tail = f": {_count(branch.to.lamps)}" if branch.to.branches and not opened else ""
        corner = "\u2514" if last else "\u251c"
        forms = [
            f"{prefix}{corner}{_span(branch, lengths)} {_point_text(branch.to, short)}{tail}"
            for short, lengths in _FORMS
        ]
        lines.append(next((form for form in forms if cells(form) <= width), cut(forms[-1], width)))
        if opened:
            lines += _tree(branch.to.branches, prefix + ("   " if last else "\u2502  "), width, deep)
    return lines


def _count(lamps: Sequence[str]) -> str:
    return lamps[0] if len(lamps) == 1 else f"{len(lamps)} lamps"
