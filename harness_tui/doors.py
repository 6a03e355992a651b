"""The screens that there are, and how each is reached."""

from __future__ import annotations

import importlib
from collections.abc import Callable
from typing import cast

import attrs
from textual.screen import Screen


@attrs.frozen(kw_only=True)
class Door:
    """How one of the screens is reached."""

    name: str
    word: str
    key: str
    field_key: str


DOORS = tuple(
    Door(name=word.lower(), word=word, key=key, field_key=field_key)
    for word, key, field_key in (
        ("Lamps", "1", "f2"),
        ("Routes", "2", "f3"),
        ("Outputs", "3", "f4"),
        ("Walk", "4", "f5"),
        ("Bench", "5", "f6"),
        ("Labels", "6", "f7"),
        ("Find", "7", "f8"),
        ("Papers", "8", "f9"),
        ("Setup", "0", "f10"),
    )
)

SIDE_DOORS = tuple(
    Door(name=word.lower(), word=word, key="", field_key="")
    for word in ("Plans", "Spools", "Trace", "Commissioning")
)
"""Screens that are reached from others (Plans and Spools from Routes, Trace from Find, Commissioning from
Bench) and from the palette.
"""

SIDE_NAMES = frozenset(door.name for door in SIDE_DOORS)


def maker(door: Door) -> Callable[[], Screen[object]]:
    """What makes the screen when it is first gone to."""

    def make() -> Screen[object]:
        # A screen's module is read when it is first gone to: the first screen comes up sooner.
        module = importlib.import_module(f"harness_tui.screens.{door.name}")
        return cast("Screen[object]", getattr(module, f"{door.word}Screen")())

    return make
