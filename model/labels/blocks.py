"""Fits tag, side signs and lines of one label face into a box, in whole printer dots.

Two ways are tried, lines under the tag and lines beside it, and the better one is kept. Nothing is
cut off: of each line the longest wording that fits is used, and a line that does not fit at all is
left out and reported.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Literal

import attrs

from model.labels import font_metrics
from model.labels.items import Role, Shape

JOIN = "  "
# Shares of a cap height; all common practice, no source.
BAR = 1 / 9  # thickness of the bar under the tag
BAR_GAP = 1 / 8  # between the tag's foot and the bar
ROW_GAP = 0.3  # between rows
COLUMN_GAP = 0.6  # between tag, signs and lines
TAG_OVER_LINES = 1.25  # how much larger than the lines the tag should be
TAG_MOST = 3.5  # how much larger it may be at most
GROWTH = 1.8  # how much larger than usual the lines may become on a large label
TAG_ENOUGH = 2.0  # a tag this many times the usual height is large enough: more is no gain

Wordings = tuple[str, ...]


@attrs.frozen(kw_only=True)
class Piece:
    """One thing in a block, in dots from the block's upper left corner.

    `size` is the cap height of a text, the side of a mark, the thickness of a bar.
    """

    what: Literal["text", "mark", "bar"]
    x: int
    y: int
    size: int
    width: int = 0
    text: str = ""
    role: Role = "line"
    shape: Shape | None = None


@attrs.frozen(kw_only=True)
class Block:
    """What fitted into a box: its size in use, the tag's cap height, lines left out, lines shortened."""

    pieces: tuple[Piece, ...]
    width: int
    height: int
    tag_cap: int
    missing: tuple[Wordings, ...] = ()
    shortened: int = 0


@attrs.frozen(kw_only=True)
class Wanted:
    """What a face has to show, all drawable; each wording longest first.

    Beside the tag stand the mark with its word (which may give way) and the signs, polarity and colour.
    `cap` is the usual cap height and `floor` the least, in dots.
    """

    tag: str
    mark: Shape | None
    mark_words: Wordings
    signs: Wordings
    lines: tuple[Wordings, ...]
    cap: int
    floor: int


def fill(wanted: Wanted, width: int, height: int, *, prefer_under: bool) -> Block | None:
    """The best block for a box of `width` by `height` dots; None if not even the tag fits."""
    best: Block | None = None
    best_key: tuple[int, ...] | None = None
    step = max(1, wanted.cap // 4)
    ample = _ample(wanted, height)
    for cap in dict.fromkeys((ample, wanted.cap, (wanted.cap + wanted.floor) // 2, wanted.floor)):
        for under in (prefer_under, not prefer_under):
            for block in (_under if under else _beside)(wanted, width, height, cap):
                enough = min(block.tag_cap, round(TAG_ENOUGH * wanted.cap))
                key = (
                    int(wanted.lines[:1] == block.missing[:1] and bool(wanted.lines)),
                    int(block.tag_cap < TAG_OVER_LINES * cap and bool(wanted.lines)),
                    len(block.missing),
                    int(under != prefer_under),
                    -(enough // step),
                    block.shortened,
                )
                if best_key is None or key < best_key:
                    best, best_key = block, key
            if best_key is not None and not any(best_key[:4]) and (cap == wanted.cap or not best_key[5]):
                return best
        if cap > wanted.cap:
            best, best_key = None, None  # larger than usual only if nothing had to be shortened for it
    return best


def _ample(wanted: Wanted, height: int) -> int:
    """Cap height of lines on a label with height to spare, the usual one elsewhere."""
    tag = TAG_MOST * (1 + BAR + BAR_GAP)
    share = height / (tag + (1 + 2 * ROW_GAP) * len(wanted.lines))
    return max(wanted.cap, min(round(GROWTH * wanted.cap), int(share)))


def text_width(text: str, cap: int) -> int:
    """Width of a text in dots."""
    return math.ceil(font_metrics.width(text) * cap)


def row_extents(text: str, cap: int) -> tuple[int, int]:
    """Dots that a row of text needs over its capitals and under its base line."""
    top, depth = font_metrics.extents(text)
    return math.ceil((top - 1) * cap), math.ceil(depth * cap)


def _room(width: int, cap: int) -> int:
    """How many characters of this cap height go into `width` dots."""
    return max(0, int(width / (font_metrics.ADVANCE * cap)))


def _pack(lines: Sequence[Wordings], rows: int, room: int) -> tuple[list[str], list[Wordings], int]:
    """Lines onto rows of `room` characters, in order: (rows, lines that did not fit, how many are shortened).

    Where there are fewer rows than lines, lines share a row. First all are taken at their shortest;
    then each in turn, the most important first, becomes as long as its row lets it.
    """
    placed: list[list[int]] = [[] for _ in range(rows)]
    chosen: dict[int, int] = {}
    missing: list[Wordings] = []
    used = [0] * rows
    row = 0
    alone = len(lines) <= rows
    for index, line in enumerate(lines):
        need = len(line[-1])
        if need > room:
            missing.append(line)
            continue
        while row < rows and used[row] and (alone or used[row] + len(JOIN) + need > room):
            row += 1
        if row == rows:
            missing.append(line)
            continue
        used[row] += need + (len(JOIN) if used[row] else 0)
        placed[row].append(index)
        chosen[index] = len(line) - 1
    for row, members in enumerate(placed):
        for index in members:
            line = lines[index]
            spare = room - used[row] + len(line[-1])
            chosen[index] = next(step for step, wording in enumerate(line) if len(wording) <= spare)
            used[row] += len(line[chosen[index]]) - len(line[-1])
    texts = [JOIN.join(lines[index][chosen[index]] for index in members) for members in placed if members]
    return texts, missing, sum(step > 0 for step in chosen.values())


def _gap(cap: int) -> int:
    return max(1, round(COLUMN_GAP * cap))


def _foot(tag: str, cap: int) -> int:
    """Dots under a tag for its descenders, of which only odd tags have any, and its bar."""
    return row_extents(tag, cap)[1] + max(1, round(BAR_GAP * cap)) + _bar(cap)


def _bar(cap: int) -> int:
    return max(1, round(BAR * cap))


def _head(wanted: Wanted, width: int, height: int, cap: int, tag_limit: int | None = None) -> Block | None:
    """Tag with its bar and the signs beside it; None if they don't fit at the least height.

    The bar goes under the tag if it can, else to its right, at the foot; the signs in two rows if they can.
    """
    best: Block | None = None
    for barred in (True, False):
        for stacked in (True, False):
            block = _head_as(wanted, width, height, cap, tag_limit, stacked=stacked, barred=barred)
            if block is not None and (best is None or block.tag_cap > best.tag_cap * 1.1):
                best = block
        if best is not None:
            break
    return best


def _head_as(
    wanted: Wanted, width: int, height: int, cap: int, tag_limit: int | None, *, stacked: bool, barred: bool
) -> Block | None:
    tag = wanted.tag
    if stacked and (wanted.mark is None or not wanted.signs):
        return None
    gap, inner = _gap(cap), _inner(cap)
    side = _side_width(wanted, cap, stacked=stacked)
    lift, drop, least = _side_heights(wanted, cap, stacked=stacked)
    room = width - (gap + side if side else 0) - (0 if barred else inner + cap)
    tag_cap = min(
        height - lift - drop,
        height if tag_limit is None else tag_limit,
        max(wanted.floor, round(TAG_MOST * cap)),
        int(room / (font_metrics.ADVANCE * len(tag))),
    )
    while tag_cap >= wanted.floor and lift + tag_cap + _below(tag, tag_cap, barred=barred) > height:
        tag_cap -= 1
    if tag_cap < max(wanted.floor, least):
        return None
    wide = text_width(tag, tag_cap)
    bar = _bar(tag_cap)
    pieces = [Piece(what="text", x=0, y=lift, size=tag_cap, width=wide, text=tag, role="tag")]
    if barred:
        foot = lift + tag_cap + _foot(tag, tag_cap)
        pieces.append(Piece(what="bar", x=0, y=foot - bar, size=bar, width=wide))
        end = wide
    else:
        pieces.append(Piece(what="bar", x=wide + inner, y=lift + tag_cap - bar, size=bar, width=cap))
        end = wide + inner + cap
    if side:
        beside, end = _side(wanted, cap, end + gap, width, lift, lift + tag_cap - cap, stacked=stacked)
        pieces += beside
    used = lift + tag_cap + max(drop, _below(tag, tag_cap, barred=barred))
    return Block(pieces=tuple(pieces), width=end, height=used, tag_cap=tag_cap)


def _inner(cap: int) -> int:
    """Between a mark and its word, a tag and the bar at its side."""
    return max(1, round(0.35 * cap))


def _below(tag: str, cap: int, *, barred: bool) -> int:
    return _foot(tag, cap) if barred else row_extents(tag, cap)[1]


def _side_heights(wanted: Wanted, cap: int, *, stacked: bool) -> tuple[int, int, int]:
    """Dots the signs need over the tag's capitals and under its foot, and the least tag they go beside."""
    signs = wanted.signs if stacked else wanted.signs[-1:]
    over, under = _worst_extents(signs, cap)
    if not stacked:
        return over, under, cap if wanted.mark or signs else 0
    mark_over, mark_under = _worst_extents(wanted.mark_words, cap)
    return mark_over, under, 2 * cap + mark_under + over + max(1, cap // 8)


def _worst_extents(wordings: Wordings, cap: int) -> tuple[int, int]:
    pairs = [row_extents(wording, cap) for wording in wordings]
    return max((over for over, _ in pairs), default=0), max((under for _, under in pairs), default=0)


def _side(
    wanted: Wanted, cap: int, x: int, width: int, first: int, last: int, *, stacked: bool
) -> tuple[list[Piece], int]:
    """Mark and signs from `x` on, in rows at `first` and `last` or all at `last`: (pieces, their end)."""
    pieces: list[Piece] = []
    inner = _inner(cap)
    at = end = x
    if wanted.mark is not None:
        y = first if stacked else last
        pieces.append(Piece(what="mark", x=at, y=y, size=cap, width=cap, shape=wanted.mark))
        at += cap + inner
        end = at - inner
        word = _longest(wanted.mark_words, width - at, cap) if stacked else ""
        if word:
            wide = text_width(word, cap)
            pieces.append(Piece(what="text", x=at, y=y, size=cap, width=wide, text=word, role="side"))
            end = at + wide
    if wanted.signs:
        at = x if stacked else at
        word = _longest(wanted.signs, width - at, cap) if stacked else wanted.signs[-1]
        wide = text_width(word, cap)
        pieces.append(Piece(what="text", x=at, y=last, size=cap, width=wide, text=word, role="side"))
        end = max(end, at + wide)
    return pieces, end


def _side_width(wanted: Wanted, cap: int, *, stacked: bool) -> int:
    """Least width of the mark and the signs."""
    mark = cap if wanted.mark is not None else 0
    signs = text_width(wanted.signs[-1], cap) if wanted.signs else 0
    if stacked:
        return max(mark, signs)
    return mark + signs + (_inner(cap) if mark and signs else 0)


def _longest(wordings: Wordings, width: int, cap: int) -> str:
    """The longest wording that fits, or an empty text."""
    room = _room(width, cap)
    return next((wording for wording in wordings if len(wording) <= room), "")


def _under(wanted: Wanted, width: int, height: int, cap: int) -> Iterator[Block]:
    """Blocks with the lines under the tag, on as many rows as there are lines and on fewer."""
    for rows in range(len(wanted.lines), -1, -1):
        texts, missing, shortened = _pack(wanted.lines, rows, _room(width, cap))
        extents = [row_extents(text, cap) for text in texts]
        gap = max(1, round(ROW_GAP * cap))
        below = sum(gap + above + cap + under for above, under in extents)
        head = _head(wanted, width, height - below, cap)
        if head is None:
            continue
        pieces = list(head.pieces)
        y = head.height
        end = head.width
        for text, (above, under) in zip(texts, extents, strict=True):
            wide = text_width(text, cap)
            pieces.append(Piece(what="text", x=0, y=y + gap + above, size=cap, width=wide, text=text))
            y += gap + above + cap + under
            end = max(end, wide)
        yield Block(
            pieces=tuple(pieces), width=end, height=y, tag_cap=head.tag_cap,
            missing=tuple(missing), shortened=shortened,
        )


def _beside(wanted: Wanted, width: int, height: int, cap: int) -> Iterator[Block]:
    """Blocks with the lines beside the tag, for tags from as high as the box down to the least height."""
    least = max(wanted.floor, min(height, round(TAG_OVER_LINES * cap)))
    enough = min(height, round(TAG_ENOUGH * wanted.cap))
    shares = (height, height * 3 // 4, height // 2, enough, least)
    caps = sorted({max(wanted.floor, share) for share in shares}, reverse=True)
    gap = max(1, round(ROW_GAP * cap))
    column = _gap(cap)
    for limit in caps:
        head = _head(wanted, width, height, cap, limit)
        if head is None:
            continue
        room = _room(width - head.width - column, cap)
        most = min(len(wanted.lines), max(1, (height + gap) // (cap + gap)))
        for rows in range(most, -1, -1):
            texts, missing, shortened = _pack(wanted.lines, rows, room)
            extents = [row_extents(text, cap) for text in texts]
            tall = sum(above + cap + under for above, under in extents) + gap * max(0, len(texts) - 1)
            if tall > height:
                texts = [_capitals(text) for text in texts]
                extents = [row_extents(text, cap) for text in texts]
                tall = sum(above + cap + under for above, under in extents) + gap * max(0, len(texts) - 1)
                if tall > height or max(map(len, texts), default=0) > room:
                    continue
            yield _joined(head, texts, extents, cap, gap, head.width + column, tall, missing, shortened)


def _capitals(text: str) -> str:
    """In capitals, which need no room under the line, where the font has them all."""
    upper = text.upper()
    return upper if all(sign in font_metrics.EXTENTS for sign in upper) else text


def _joined(
    head: Block, texts: list[str], extents: list[tuple[int, int]], cap: int, gap: int, x: int, tall: int,
    missing: list[Wordings], shortened: int,
) -> Block:
    """Head and a column of rows side by side, the lower one centred on the higher."""
    total = max(head.height, tall)
    down = (total - head.height) // 2
    y = (total - tall) // 2
    if len(texts) == 1:  # on the tag's base line
        above, under = extents[0]
        y = head.pieces[0].y + head.tag_cap - cap - above
        down = max(0, -y)
        y += down
        total = max(head.height + down, y + above + cap + under)
        if total > max(head.height, tall):
            down, total = 0, max(head.height, tall)
            y = (total - tall) // 2
    pieces = [attrs.evolve(piece, y=piece.y + down) for piece in head.pieces]
    end = head.width
    for text, (above, under) in zip(texts, extents, strict=True):
        wide = text_width(text, cap)
        pieces.append(Piece(what="text", x=x, y=y + above, size=cap, width=wide, text=text))
        y += above + cap + under + gap
        end = max(end, x + wide)
    return Block(
        pieces=tuple(pieces), width=end, height=total, tag_cap=head.tag_cap,
        missing=tuple(missing), shortened=shortened,
    )
