"""A harness as the text of its file: TOML, one lamp a block, short tables inline, good to compare."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import Any

import tomli_w

from model.harness import Harness
from model.memo import by_identity
from model.store.shape import KEYS, LISTS, PLANS, SCHEMA, SECTIONS, TAG, TAIL

_HEAD = f"schema = {SCHEMA}  # lengths in mm, currents in mA; comments of your own are not kept\n"
_SPREAD = frozenset({"outputs", "commons", "events", "earlier"})
"""Lists of tables that are written one table a line."""


def dumps(harness: Harness) -> str:
    """The text of the harness's file. The same harness always gives the same text; `loads` gives it back."""
    return "\n".join(_sections(harness))


def _sections(harness: Harness) -> Iterator[str]:
    yield _HEAD
    yield f"[project]\nname = {_string(harness.name)}\ncode = {_string(harness.code)}\n"
    for key, (name, _) in SECTIONS.items():
        yield from _section(key, getattr(harness, name))
    for key, (name, _) in LISTS.items():
        for item in getattr(harness, name):
            yield f"[[{key}]]\n{_lines(item)}"
    for key, (name, _) in TAIL.items():
        lines = _lines(getattr(harness, name))
        if lines:
            yield f"[{key}]\n{lines}"
    for record in harness.ledger:
        yield f"[[{TAG}]]\n{_lines(record)}"


def _section(key: str, item: Any) -> Iterator[str]:
    """A table, and after it the arrays of tables inside it that have blocks of their own."""
    yield f"[{key}]\n{_lines(item)}"
    for (cls, name), inner in KEYS.items():
        if cls is type(item):
            for part in getattr(item, name):
                yield f"[[{key}.{inner}]]\n{_lines(part)}"


_Row = tuple[str, str, Any, bool, bool]


def _rows(cls: type[Any]) -> tuple[_Row, ...]:
    """For each field: its name, "key = ", its default, whether always written, whether one table a line."""
    return tuple(
        (field.name, f"{field.key} = ", field.default, field.always, field.name in _SPREAD)
        for field in PLANS[cls]
        if (cls, field.name) not in KEYS
    )


_ROWS = {cls: _rows(cls) for cls in PLANS}


@by_identity
def _lines(item: Any) -> str:
    """The lines of one item; remembered, as one step changes few items and every step is saved."""
    lines: list[str] = []
    for name, key, default, always, spread in _ROWS[type(item)]:
        value = getattr(item, name)
        if value is None or not (always or value != default):
            continue
        if spread:
            lines += [f"{key}[\n", *(f"    {_inline(row)},\n" for row in value), "]\n"]
        else:
            lines.append(f"{key}{_value(value)}\n")
    return "".join(lines)


@lru_cache(maxsize=4096)
def _inline(item: Any) -> str:
    # Remembered by value: most are events of the same day and step, or runs along the same way.
    pairs = [
        f"{key}{_value(value)}"
        for name, key, default, always, _ in _ROWS[type(item)]
        if (value := getattr(item, name)) is not None and (always or value != default)
    ]
    return f"{{ {', '.join(pairs)} }}" if pairs else "{}"


def _value(value: Any) -> str:
    kind = type(value)
    if kind is str:
        return _string(value)
    if kind is tuple:
        return f"[{', '.join(map(_value, value))}]"
    if kind is bool:
        return "true" if value else "false"
    if kind is int:
        return str(value)
    if kind is float:
        # A whole number of mm is written as a person would: 210, not 210.0. It reads back as the same length.
        return str(int(value)) if value.is_integer() and abs(value) < 1e15 else repr(value)
    return _string(str(value)) if isinstance(value, str) else _inline(value)


def _string(text: str) -> str:
    if text.isascii() and text.isprintable() and '"' not in text and "\\" not in text:
        return f'"{text}"'
    return tomli_w.dumps({"v": text})[4:-1]
