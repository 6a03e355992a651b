"""A wire's colour on the screen: painted, and always with its two-letter code."""

from __future__ import annotations

from textual.content import Content

from model.standards.colours import COLOURS


def wire_chip(code: str) -> Content:
    """The IEC 60757 code on its colour, as " RD "; plain text for an unknown code."""
    colour = COLOURS.get(code)
    if colour is None:
        return Content(code)
    red, green, blue = colour.rgb
    ink = "#ffffff" if colour.is_dark else "#000000"
    return Content.styled(f" {code} ", f"{ink} on rgb({red},{green},{blue})")
