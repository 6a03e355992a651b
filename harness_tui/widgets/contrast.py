"""Colours that can be read on their ground."""

from __future__ import annotations

from textual.color import Color

LEAST_CONTRAST = 4.5
"""Of print to its ground: WCAG 2.1, success criterion 1.4.3, level AA."""


def contrast(one: Color, other: Color) -> float:
    """The contrast ratio of two colours, 1 to 21 (WCAG 2.1, definition of contrast ratio)."""
    darker, lighter = sorted((_luminance(one), _luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def readable(colour: str, ground: str) -> str:
    """The colour, as much darker or lighter as it takes to be read on `ground`; both as "#rrggbb"."""
    print_colour, below = Color.parse(colour), Color.parse(ground)
    towards = Color(0, 0, 0) if _luminance(below) > 0.18 else Color(255, 255, 255)
    for step in range(21):
        tried = print_colour.blend(towards, step / 20)
        if contrast(tried, below) >= LEAST_CONTRAST:
            break
    return tried.hex


def _luminance(colour: Color) -> float:
    red, green, blue = (
        part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4
        for part in (colour.r / 255, colour.g / 255, colour.b / 255)
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue
