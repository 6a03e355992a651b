"""A label as plain text, for screens without pictures. Needs no Pillow."""

from __future__ import annotations

from collections.abc import Iterable

from model.labels.items import Layout, Mark
from model.labels.layout import MARKS

WIDTH = 14


def text_preview(layout: Layout, width: int = WIDTH) -> list[str]:
    """The label as a box of `width` columns (at least 9): the tag with its signs, then its lines.

    Three rows or more. A line wider than the box ends with a mark that it goes on. What was not placed on the
    label is not shown here either.
    """
    inner = max(9, width) - 4
    tag = next((text.text for text in layout.texts if text.role == "tag"), "no room")
    sides = _once(text.text for text in layout.texts if text.role == "side")
    lines = _once(text.text for text in layout.texts if text.role == "line")
    words = MARKS.get(layout.text.at, ("", ("",)))[1]
    signs = [side for side in sides if side not in words]
    head = "  ".join([tag, *signs])
    if len(head) > inner:
        head = "  ".join(part for part in (tag, layout.text.polarity) if part)
    marked = any(isinstance(item, Mark) for item in layout.items)
    body = [head, *([words[0].lower()] if marked else []), *lines]
    frame = "─" * (inner + 2)
    return [f"┌{frame}┐", *(f"│ {_fit(row, inner)} │" for row in body), f"└{frame}┘"]


def _once(texts: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(texts))


def _fit(text: str, width: int) -> str:
    return text.ljust(width) if len(text) <= width else text[: width - 1] + "…"
