"""Wires in their colour. The two-letter code always stands with it: colour alone says nothing."""

from __future__ import annotations

from functools import lru_cache

from textual.color import Color
from textual.content import Content
from textual.style import Style

from harness_tui.widgets.contrast import contrast
from model.errors import BadValue
from model.standards.colours import Colour, colour

_LIGHT, _DARK = "#ffffff", "#000000"
"""One of the two always has a contrast of 4.58 or more, whatever the colour (square root of 21)."""


def _hex(rgb: tuple[int, int, int]) -> str:
    return "#{:02x}{:02x}{:02x}".format(*rgb)


def _known(code: str) -> Colour | None:
    try:
        return colour(code)
    except BadValue:
        return None


@lru_cache(maxsize=64)
def wire_chip(code: str) -> Content:
    """The IEC 60757 code on a patch of its colour, a blank on each side: four columns for a single colour."""
    return Content.styled(f" {code} ", chip_style(code))


@lru_cache(maxsize=64)
def chip_style(code: str) -> Style:
    """Light or dark ink on the wire's colour; plain for a code that is not known."""
    known = _known(code)
    if known is None:
        return Style.parse("bold")
    light = contrast(Color(*known.rgb), Color(255, 255, 255)) > contrast(Color(*known.rgb), Color(0, 0, 0))
    ink = _LIGHT if light else _DARK
    return Style.parse(f"bold {ink} on {_hex(known.rgb)}")


@lru_cache(maxsize=256)
def wire_stroke(code: str, columns: int = 3, sign: str = "\u2501") -> Content:
    """A stretch of wire in its colour. Black is drawn in the terminal's dim ink, seen on any ground."""
    return Content.styled(sign * columns, stroke_style(code))


@lru_cache(maxsize=64)
def stroke_style(code: str) -> Style:
    """The ink a wire is drawn in."""
    known = _known(code)
    if known is None or code == "BK":
        return Style.parse("dim")
    return Style.parse(_hex(known.rgb))


def wire_words(code: str) -> Content:
    """The chip and the colour's name: " BK  black"."""
    known = _known(code)
    return wire_chip(code) + Content(f" {known.name}" if known else "")
