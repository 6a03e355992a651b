"""A trail in colour: every wire in its own, its code on a patch of it, the asked one bold."""

from __future__ import annotations

import re
from collections.abc import Iterator

from textual.content import Content

from harness_tui.widgets.wire_paint import chip_style, stroke_style
from model.tracing.lines import draw_trail
from model.tracing.trail import Trail, walk

_STROKES = "\u2501\u2500"


def painted_trail(trail: Trail, width: int, rows: int | None = None) -> Iterator[Content]:
    """The lines of `draw_trail`, painted."""
    wires = {(branch.tag or branch.wire.key): branch for branch in walk(trail.root)}
    names = "|".join(re.escape(name) for name in sorted(wires, key=len, reverse=True))
    pattern = re.compile(
        rf"([{_STROKES}]+ )({names}) ([A-Z]{{2,4}})(?![A-Z])([^{_STROKES}\n]*? [{_STROKES}]+)?"
    )
    for line in draw_trail(trail, width, rows):
        content = Content(line)
        for found in pattern.finditer(line):
            branch = wires[found[2]]
            if found[3] != branch.wire.colour:
                continue
            stroke = stroke_style(branch.wire.colour)
            content = content.stylize(stroke, found.start(1), found.end(1))
            if branch.asked:
                content = content.stylize("bold $accent", found.start(2), found.end(2))
            content = content.stylize(chip_style(branch.wire.colour), found.start(3), found.end(3))
            if found[4]:
                tail = len(found[4].rstrip(_STROKES))
                content = content.stylize(stroke, found.start(4) + tail, found.end(4))
        yield content
