"""The text a person would read on the screen."""

from __future__ import annotations

from textual.app import App


def screen_text(app: App[object]) -> str:
    """All rows of the screen that is up, without trailing blanks."""
    size = app.size
    lines = app.screen._compositor.render_strips(size)
    return "\n".join("".join(segment.text for segment in strip).rstrip() for strip in lines)
