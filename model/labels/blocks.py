"""Fits tag, signs and lines of one label face into a box, in whole printer dots.

Two ways are tried, lines under the tag and lines beside it, in several sizes, and the best is kept.
Nothing is cut off: of each line the longest wording that fits is used, and a line that does not fit
at all is left out and reported.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache
from typing import Literal, NamedTuple

import attrs

from model.labels import font_metrics
from model.labels.items import Role, Shape

JOIN = "  "
# Shares of a cap height; all common practice, no source.
BAR = 1 / 9  # thickness of the bar under the tag
BAR_GAP = 1 / 8  # between the tag's foot and the bar
ROW_GAP = 0.3  # between rows
COLUMN_GAP = 0.6  # between tag, signs and lines
INNER_GAP = 0.35  # between a mark and its word, a tag and the bar at its side
TAG_OVER_LINES = 1.25  # how much larger than the lines the tag should be
TAG_MOST = 3.5  # how much larger it may be at most
GROWTH = 1.8  # how much larger than usual the lines may become on a large label
GROWTH_STEPS = 4  # in which that is tried
TAG_ENOUGH = 2.0  # a tag this many times the usual height is large enough: more is no gain

# What weighs how much when not all is possible; a line cut to nothing weighs 1. Common practice, no source.
COST_TAG = 1.5  # a tag of no height
COST_CAP = 1.0  # lines of no height
COST_TERSE = 0.25  # polarity and end as signs only
COST_OTHER_WAY = 0.3  # lines beside the tag where they belong under it, or the reverse

_EPS = 1e-9

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
    """What fitted into a box: its size in use, the tag's cap height, and the lines left out."""

    pieces: tuple[Piece, ...]
    width: int
    height: int
    tag_cap: int
    missing: tuple[Wordings, ...] = ()


@attrs.frozen(kw_only=True)
class Wanted:
    """What a face has to show, all drawable; each wording longest first.

    Beside the tag stand the mark with its word (which may give way) and the signs, polarity and colour.
    `cap` is the usual cap height and `floor` the least, in dots. Lines that stand `apart` never share a row.
    """

    tag: str
    mark: Shape | None
    mark_words: Wordings
    signs: Wordings
    lines: tuple[Wordings, ...]
    cap: int
    floor: int
    apart: bool = False


class _Beside(NamedTuple):
    """What decides how a tag and its signs can be set: not the tag itself, but its length and depth."""

    signs_in_tag: int
    depth: float
    mark: Shape | None
    mark_words: Wordings
    signs: Wordings
    floor: int


class _Head(NamedTuple):
    """A tag and its signs as they could be set. `lift` is what the signs need over the tag's capitals.

    `terse` (0..1) says how much of the signs is without words.
    """

    tag_cap: int
    cap: int
    lift: int
    width: int
    height: int
    barred: bool
    stacked: bool
    mark_word: str
    sign_word: str
    terse: float


class _Plan(NamedTuple):
    """A whole block as it could be set. `loss` sums over the lines which part of the longest is not used."""

    head: _Head
    under: bool
    texts: tuple[str, ...]
    missing: tuple[Wordings, ...]
    loss: float


def fill(wanted: Wanted, width: int, height: int, *, prefer_under: bool) -> Block | None:
    """The best block for a box of `width` by `height` dots; None if not even the tag fits."""
    ample = _ample(wanted, height)
    for step in range(GROWTH_STEPS, 0, -1) if ample > wanted.cap else ():
        # larger lines than usual, if nothing suffers for it
        cap = wanted.cap + (ample - wanted.cap) * step // GROWTH_STEPS
        for plan in _plans(wanted, width, height, cap, under=prefer_under):
            whole = plan.head.sign_word == next(iter(wanted.signs), "")
            if whole and not plan.missing and _cost(wanted, plan, preferred=True) < _EPS:
                return _built(wanted, plan)
    best: _Plan | None = None
    least: tuple[float, ...] = ()
    for under in (prefer_under, not prefer_under):
        for cap in dict.fromkeys((wanted.cap, (wanted.cap + wanted.floor) // 2, wanted.floor)):
            for plan in _plans(wanted, width, height, cap, under=under):
                key = (
                    bool(wanted.lines) and wanted.lines[:1] == plan.missing[:1],
                    bool(wanted.lines) and plan.head.tag_cap < TAG_OVER_LINES * cap,
                    len(plan.missing),
                    _cost(wanted, plan, preferred=under == prefer_under),
                )
                if best is None or key < least:
                    best, least = plan, key
            if best is not None and not any(least[:3]) and least[3] < _EPS:
                return _built(wanted, best)
        if best is not None and not any(least[:3]) and least[3] < COST_OTHER_WAY:
            break
    return None if best is None else _built(wanted, best)


def text_width(text: str, cap: int) -> int:
    """Width of a text in dots."""
    return math.ceil(font_metrics.ADVANCE * len(text) * cap)


@lru_cache(maxsize=8192)
def row_extents(text: str, cap: int) -> tuple[int, int]:
    """Dots that a row of text needs over its capitals and under its base line."""
    top, depth = font_metrics.extents(text)
    return math.ceil((top - 1) * cap), math.ceil(depth * cap)


def _ample(wanted: Wanted, height: int) -> int:
    """Cap height of lines on a label with height to spare, the usual one elsewhere."""
    tag = TAG_MOST * (1 + BAR + BAR_GAP)
    share = height / (tag + (1 + 2 * ROW_GAP) * len(wanted.lines))
    return max(wanted.cap, min(round(GROWTH * wanted.cap), int(share)))


def _cost(wanted: Wanted, plan: _Plan, *, preferred: bool) -> float:
    """What is less than wished: cut words, a small tag, small lines, signs without words, the other way."""
    enough = TAG_ENOUGH * wanted.cap
    return (
        plan.loss
        + COST_TAG * max(0.0, 1 - plan.head.tag_cap / enough)
        + COST_CAP * max(0.0, 1 - plan.head.cap / wanted.cap)
        + COST_TERSE * plan.head.terse
        + COST_OTHER_WAY * (not preferred)
    )


# plans


def _plans(wanted: Wanted, width: int, height: int, cap: int, *, under: bool) -> Iterator[_Plan]:
    return (_under if under else _beside)(wanted, width, height, cap)


def _under(wanted: Wanted, width: int, height: int, cap: int) -> Iterator[_Plan]:
    """Lines under the tag, on as many rows as there are lines and on fewer."""
    beside = _what_is_beside(wanted)
    gap = _dots(ROW_GAP, cap)
    limits = (height, round(TAG_ENOUGH * wanted.cap))
    for rows in range(len(wanted.lines), -1, -1):
        texts, missing, loss = _pack(wanted.lines, rows, _room(width, cap), wanted.apart)
        below = gap + _tall(texts, cap) if texts else 0
        for limit in limits:
            head = _head(beside, width, height - below, cap, limit, True)
            if head is not None:
                yield _Plan(head, True, texts, missing, loss)
            if head is None or head.tag_cap <= limits[1] or not head.terse:
                break


def _beside(wanted: Wanted, width: int, height: int, cap: int) -> Iterator[_Plan]:
    """Lines beside the tag, for tags from as high as the box down to the least height."""
    beside = _what_is_beside(wanted)
    least = min(height, round(TAG_OVER_LINES * cap))
    enough = min(height, round(TAG_ENOUGH * wanted.cap))
    shares = (height, height * 3 // 4, height // 2, enough, least)
    gap = _dots(ROW_GAP, cap)
    most = min(len(wanted.lines), max(1, (height + gap) // (cap + gap)))
    seen: set[_Head] = set()
    for limit in sorted({max(wanted.floor, share) for share in shares}, reverse=True):
        head = _head(beside, width, height, cap, limit, False)
        if head is None or head in seen:
            continue
        seen.add(head)
        room = _room(width - head.width - _dots(COLUMN_GAP, cap), cap)
        for rows in range(most, -1, -1):
            texts, missing, loss = _pack(wanted.lines, rows, room, wanted.apart)
            # By the room, not by the letters of this name: all labels of a stock are then set alike.
            if _tall(("g",) * len(texts), cap) > height or _tall(texts, cap) > height:
                texts = tuple(_capitals(text) for text in texts)
                if _tall(texts, cap) > height or any(len(text) > room for text in texts):
                    continue
            yield _Plan(head, False, texts, missing, loss)


def _tall(texts: tuple[str, ...], cap: int) -> int:
    """Height of rows one under the other."""
    if not texts:
        return 0
    ends = row_extents(texts[0], cap)[0] + row_extents(texts[-1], cap)[1]
    return ends + cap + (len(texts) - 1) * _pitch(texts, cap)


def _pitch(texts: tuple[str, ...], cap: int) -> int:
    """From base line to base line, the same for all rows: the deepest row over the highest, and a gap."""
    under = max((row_extents(text, cap)[1] for text in texts[:-1]), default=0)
    over = max((row_extents(text, cap)[0] for text in texts[1:]), default=0)
    return under + _dots(ROW_GAP, cap) + over + cap


def _capitals(text: str) -> str:
    """In capitals, which need no room under the line, where the font has them all."""
    upper = text.upper()
    return upper if all(sign in font_metrics.EXTENTS for sign in upper) else text


@lru_cache(maxsize=4096)
def _pack(
    lines: tuple[Wordings, ...], rows: int, room: int, apart: bool = False
) -> tuple[tuple[str, ...], tuple[Wordings, ...], float]:
    """Lines onto rows of `room` characters, in order: (rows, lines that did not fit, loss as in `_Plan`).

    Where there are fewer rows than lines, lines share a row, unless they are to stand `apart`. First
    all are taken at their shortest; then each in turn, the most important first, becomes as long as its
    row lets it.
    """
    placed: list[list[int]] = [[] for _ in range(rows)]
    chosen: dict[int, int] = {}
    missing: list[Wordings] = []
    used = [0] * rows
    row = 0
    alone = apart or len(lines) <= rows
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
    rows_of = ([lines[index][chosen[index]] for index in members] for members in placed if members)
    texts = tuple(JOIN.join(wordings) for wordings in rows_of)
    loss = sum(1 - len(lines[index][step]) / len(lines[index][0]) for index, step in chosen.items())
    return texts, tuple(missing), loss


# heads


def _what_is_beside(wanted: Wanted) -> _Beside:
    depth = font_metrics.extents(wanted.tag)[1]
    return _Beside(len(wanted.tag), depth, wanted.mark, wanted.mark_words, wanted.signs, wanted.floor)


@lru_cache(maxsize=8192)
def _head(wanted: _Beside, width: int, height: int, cap: int, tag_limit: int, wordy: bool) -> _Head | None:
    """Tag with its bar and the signs beside it; None if they don't fit at the least height.

    The bar goes under the tag if it can, else to its right, at the foot; the signs in two rows if they can.
    `wordy` lets signs in one row take the room there is.
    """
    best: _Head | None = None
    for barred in (True, False):
        for stacked in (True, False):
            head = _head_as(wanted, width, height, cap, tag_limit, wordy, stacked=stacked, barred=barred)
            if head is not None and (best is None or head.tag_cap > best.tag_cap * 1.1):
                best = head
        if best is not None:
            break
    return best


def _head_as(
    wanted: _Beside,
    width: int,
    height: int,
    cap: int,
    tag_limit: int,
    wordy: bool,
    *,
    stacked: bool,
    barred: bool,
) -> _Head | None:
    both = wanted.mark is not None and bool(wanted.signs)
    if stacked and not both:
        return None
    gap, inner = _dots(COLUMN_GAP, cap), _dots(INNER_GAP, cap)
    side = _side_width(wanted, cap, stacked=stacked)
    lift, drop, least = _side_heights(wanted, cap, stacked=stacked)
    tail = 0 if barred else inner + cap
    room = width - (gap + side if side else 0) - tail
    tag_cap = min(
        height - lift - drop,
        tag_limit,
        max(wanted.floor, round(TAG_MOST * cap)),
        int(room / (font_metrics.ADVANCE * wanted.signs_in_tag)),
    )
    while tag_cap >= wanted.floor and lift + tag_cap + _below(wanted.depth, tag_cap, barred=barred) > height:
        tag_cap -= 1
    if tag_cap < max(wanted.floor, least):
        return None
    end = math.ceil(font_metrics.ADVANCE * wanted.signs_in_tag * tag_cap) + tail
    mark_word, sign_word = "", wanted.signs[-1] if wanted.signs else ""
    terse = float(both)
    if stacked:
        start = end + gap
        mark_word = _longest(wanted.mark_words, width - start - cap - inner, cap)
        sign_word = _longest(wanted.signs, width - start, cap)
        terse = 0.5 * (not mark_word) + 0.5 * (sign_word == wanted.signs[-1] and len(wanted.signs) > 1)
        word = inner + text_width(mark_word, cap) if mark_word else 0
        end = start + max(cap + word, text_width(sign_word, cap))
    elif side:
        start = end + gap + (cap if wanted.mark else 0) + (inner if both else 0)
        if wordy and wanted.signs:
            over, under = lift + tag_cap - cap, height - lift - tag_cap
            sign_word = next(
                (
                    word
                    for word in wanted.signs
                    if start + text_width(word, cap) <= width
                    and row_extents(word, cap)[0] <= over
                    and row_extents(word, cap)[1] <= under
                ),
                sign_word,
            )
            drop = max(drop, row_extents(sign_word, cap)[1])
        end = start + text_width(sign_word, cap)
    used = lift + tag_cap + max(drop, _below(wanted.depth, tag_cap, barred=barred))
    return _Head(tag_cap, cap, lift, end, used, barred, stacked, mark_word, sign_word, terse)


def _dots(share: float, cap: int) -> int:
    """A share of a cap height, at least one dot."""
    return max(1, round(share * cap))


def _foot(depth: float, cap: int) -> int:
    """Dots under a tag for its descenders, of which only odd tags have any, and its bar."""
    return math.ceil(depth * cap) + _dots(BAR_GAP, cap) + _dots(BAR, cap)


def _below(depth: float, cap: int, *, barred: bool) -> int:
    return _foot(depth, cap) if barred else math.ceil(depth * cap)


def _side_width(wanted: _Beside, cap: int, *, stacked: bool) -> int:
    """Least width of the mark and the signs."""
    mark = cap if wanted.mark is not None else 0
    signs = text_width(wanted.signs[-1], cap) if wanted.signs else 0
    if stacked:
        return max(mark, signs)
    return mark + signs + (_dots(INNER_GAP, cap) if mark and signs else 0)


def _side_heights(wanted: _Beside, cap: int, *, stacked: bool) -> tuple[int, int, int]:
    """Dots the signs need over the tag's capitals and under its foot, and the least tag they go beside."""
    over, under = _worst_extents(wanted.signs if stacked else wanted.signs[-1:], cap)
    if not stacked:
        return over, under, cap if wanted.mark or wanted.signs else 0
    mark_over, mark_under = _worst_extents(wanted.mark_words, cap)
    return mark_over, under, 2 * cap + mark_under + over + max(1, cap // 8)


@lru_cache(maxsize=1024)
def _worst_extents(wordings: Wordings, cap: int) -> tuple[int, int]:
    pairs = [row_extents(wording, cap) for wording in wordings]
    return max((over for over, _ in pairs), default=0), max((under for _, under in pairs), default=0)


def _room(width: int, cap: int) -> int:
    """How many characters of this cap height go into `width` dots."""
    return max(0, int(width / (font_metrics.ADVANCE * cap)))


def _longest(wordings: Wordings, width: int, cap: int) -> str:
    """The longest wording that fits, or an empty text."""
    room = _room(width, cap)
    return next((wording for wording in wordings if len(wording) <= room), "")


# the block that was chosen


def _built(wanted: Wanted, plan: _Plan) -> Block:
    head, cap = plan.head, plan.head.cap
    gap = _dots(ROW_GAP, cap)
    tall, pitch = _tall(plan.texts, cap), _pitch(plan.texts, cap)
    down = 0
    if plan.under:
        x, y = 0, head.height + gap
        total = head.height + (gap + tall if plan.texts else 0)
    else:
        x = head.width + _dots(COLUMN_GAP, cap)
        down, y, total = _aligned(plan, tall)
    pieces = _head_pieces(wanted, head, down)
    end = head.width
    y += row_extents(plan.texts[0], cap)[0] if plan.texts else 0
    for row, text in enumerate(plan.texts):
        wide = text_width(text, cap)
        pieces.append(Piece(what="text", x=x, y=y + row * pitch, size=cap, width=wide, text=text))
        end = max(end, x + wide)
    return Block(pieces=tuple(pieces), width=end, height=total, tag_cap=head.tag_cap, missing=plan.missing)


def _aligned(plan: _Plan, tall: int) -> tuple[int, int, int]:
    """How far head and rows are moved down to stand side by side, and the height of both.

    One row stands on the tag's base line if that needs no more height; else the lower is centred.
    """
    head, cap = plan.head, plan.head.cap
    total = max(head.height, tall)
    if len(plan.texts) == 1:
        over, under = row_extents(plan.texts[0], cap)
        y = head.lift + head.tag_cap - cap - over
        down = max(0, -y)
        if max(head.height + down, y + down + over + cap + under) <= total:
            return down, y + down, total
    return (total - head.height) // 2, (total - tall) // 2, total


def _head_pieces(wanted: Wanted, head: _Head, down: int) -> list[Piece]:
    tag_cap, cap, upper = head.tag_cap, head.cap, head.lift + down
    inner = _dots(INNER_GAP, cap)
    bar = _dots(BAR, tag_cap)
    x = text_width(wanted.tag, tag_cap)
    pieces = [Piece(what="text", x=0, y=upper, size=tag_cap, width=x, text=wanted.tag, role="tag")]
    if head.barred:
        foot = upper + tag_cap + _foot(font_metrics.extents(wanted.tag)[1], tag_cap)
        pieces.append(Piece(what="bar", x=0, y=foot - bar, size=bar, width=x))
    else:
        pieces.append(Piece(what="bar", x=x + inner, y=upper + tag_cap - bar, size=bar, width=cap))
        x += inner + cap
    x += _dots(COLUMN_GAP, cap)
    start, low = x, upper + tag_cap - cap
    if wanted.mark is not None:
        y = upper if head.stacked else low
        pieces.append(Piece(what="mark", x=x, y=y, size=cap, width=cap, shape=wanted.mark))
        x += cap + inner
        if head.mark_word:
            pieces.append(_side_text(head.mark_word, x, y, cap))
    if head.sign_word:
        pieces.append(_side_text(head.sign_word, start if head.stacked else x, low, cap))
    return pieces


def _side_text(text: str, x: int, y: int, cap: int) -> Piece:
    return Piece(what="text", x=x, y=y, size=cap, width=text_width(text, cap), text=text, role="side")
