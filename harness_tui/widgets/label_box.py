"""Labels as boxes of text, several side by side."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

from textual.content import Content

from model.harness import Harness
from model.labels.content import wire_labels
from model.labels.layout import Rules, chosen_rules, lay_out
from model.labels.preview import text_preview
from model.labels.stock import packaged_stocks, sleeve_stock_for
from model.labels.text import LabelText
from model.routing.wires import Wire


@lru_cache(maxsize=512)
def _box(text: LabelText, width: int, rules: Rules) -> tuple[str, ...]:
    stocks = packaged_stocks()
    stock = sleeve_stock_for(stocks, text.wire_od_mm) or next(iter(stocks.values()))
    return tuple(text_preview(lay_out(stock, text, rules), width))


def label_boxes(harness: Harness, wires: Sequence[Wire], width: int) -> list[tuple[str, ...]]:
    """The labels of both ends of each wire, each as rows of `width` columns."""
    return [_box(text, width, chosen_rules()) for text in wire_labels(harness, wires)]


def side_by_side(boxes: Iterable[Sequence[str]], width: int) -> Iterator[Content]:
    """Boxes in one row as far as `width` goes, then in the next."""
    row: list[Sequence[str]] = []
    used = 0
    for box in boxes:
        if row and used + len(box[0]) + 1 > width:
            yield from _row(row)
            row, used = [], 0
        row.append(box)
        used += len(box[0]) + 1
    if row:
        yield from _row(row)


def _row(boxes: Sequence[Sequence[str]]) -> Iterator[Content]:
    for line in range(max(len(box) for box in boxes)):
        yield Content(" ".join(box[line] if line < len(box) else " " * len(box[0]) for box in boxes))
