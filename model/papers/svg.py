"""Figures as SVG inside a page: they follow its light or dark ground, and a tag in them leads to its wire."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from html import escape

import attrs

from model.papers.contrast import dark
from model.papers.figure import ACCENT, DIM, FAINT, INK, Box, Chip, Disc, Figure, Item, Stroke, Words
from model.papers.type_metrics import CAP_EM
from model.standards.colours import COLOURS

_CLASS = {INK: "i", DIM: "d", FAINT: "f", ACCENT: "a"}
_EDGED = frozenset({"WH", "YE", "SR", "GD", "PK", "TQ", "BK", "BN"})
"""Wires that would not be seen on one of the grounds: they are drawn with an edge."""


def _hex(code: str) -> str:
    return "#{:02x}{:02x}{:02x}".format(*COLOURS[code].rgb)


def chip(code: str) -> str:
    """A wire's colour with its IEC 60757 code on it, for a line of text."""
    if code not in COLOURS:
        return escape(code)
    ink = "#fff" if dark(COLOURS[code].rgb) else "#000"
    return f'<span class="chip" style="background:{_hex(code)};color:{ink}">{code}</span>'


def figure_svg(figure: Figure, *, known: Collection[str] = (), fit: bool = False) -> str:
    """The figure in a box that scrolls where the screen is narrower, or made to `fit` the screen.

    `known` are the tags that have an anchor.
    """
    inner = "".join(piece for item in figure.items for piece in _item(item, known))
    title = escape(figure.title)
    width = f"width:100%;max-width:{figure.width_mm:.1f}mm" if fit else f"width:{figure.width_mm:.1f}mm"
    box = f'<div class="scroll" role="region" aria-label="{title}" tabindex="0">'
    return (
        f"<figure><figcaption>{title}</figcaption>{box}"
        f'<svg viewBox="0 0 {figure.width_mm:.2f} {figure.height_mm:.2f}" style="{width}" role="img" '
        f'aria-label="{escape(figure.about)}">{inner}</svg></div></figure>'
    )


def lone_svg(figure: Figure) -> str:
    """The figure as a whole SVG file of its own size, black on white."""
    inner = "".join(_lone_items(figure.items))
    wide, high = f"{figure.width_mm:.2f}", f"{figure.height_mm:.2f}"
    return (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<svg xmlns="http://www.w3.org/2000/svg" '
        f'width="{wide}mm" height="{high}mm" viewBox="0 0 {wide} {high}">'
        f"<title>{escape(figure.title)}</title><desc>{escape(figure.about)}</desc><style>{_LONE_STYLE}</style>"
        f'<rect width="{wide}" height="{high}" style="fill:#fff"/>{inner}</svg>\n'
    )


_LONE_STYLE = (
    "svg{stroke:none;fill:none;font-family:'Roboto Condensed','Arial Narrow',"
    "'Liberation Sans Narrow','DejaVu Sans Condensed',sans-serif}"
    ".si{stroke:#161616}.sd{stroke:#5c5c5c}.sf{stroke:#d4d4d4}.sa{stroke:#005496}"
    ".pi{fill:#161616}.pd{fill:#5c5c5c}.pf{fill:#d4d4d4}.pa{fill:#005496}.po{fill:#fff}"
    "text{fill:#161616}.td{fill:#5c5c5c}.tf{fill:#d4d4d4}.ta{fill:#005496}"
    ".b{font-weight:700}.m{font-family:'Roboto Mono',monospace;font-weight:600}"
)
"""The inks of the papers in print; a style sheet of the whole file, as it stands alone."""


def _lone_items(items: Sequence[Item]) -> Iterator[str]:
    """Lines, then the clear ground of words, then words: no word is covered, however wide it comes out."""
    said = [item for item in items if isinstance(item, Words | Chip)]
    for item in items:
        if not isinstance(item, Words | Chip):
            yield from _item(item, ())
    for item in said:
        # Many viewers draw no outline under a text, or draw it over the text.
        if isinstance(item, Words) and item.halo:
            left, top, right, bottom = item.extent
            corner, size = f'x="{left - 0.3:.2f}" y="{top:.2f}"', (right - left + 0.6, bottom - top)
            yield f'<rect {corner} width="{size[0]:.2f}" height="{size[1]:.2f}" style="fill:#fff"/>'
    for item in said:
        yield from _item(attrs.evolve(item, halo=False) if isinstance(item, Words) else item, ())


def _item(item: Item, known: Collection[str]) -> Iterator[str]:
    if isinstance(item, Stroke):
        yield from _stroke(item)
    elif isinstance(item, Words):
        yield _words(item, known)
    elif isinstance(item, Chip):
        yield from _chip(item)
    elif isinstance(item, Disc):
        fill = _CLASS[item.ink] if item.filled else "o"
        yield (
            f'<circle class="s{_CLASS[item.ink]} p{fill}" cx="{item.x_mm:.2f}" cy="{item.y_mm:.2f}" '
            f'r="{item.radius_mm:.2f}" stroke-width="{item.width_mm:g}"/>'
        )
    else:
        yield _box(item)


def _box(item: Box) -> str:
    fill = _CLASS[item.ink] if item.filled else "o"
    return (
        f'<rect class="s{_CLASS[item.ink]} p{fill}" x="{item.x_mm:.2f}" y="{item.y_mm:.2f}" '
        f'width="{item.wide_mm:.2f}" height="{item.high_mm:.2f}" stroke-width="{item.width_mm:g}"/>'
    )


def _stroke(item: Stroke) -> Iterator[str]:
    points = " ".join(f"{x:.2f},{y:.2f}" for x, y in item.points)
    width = item.width_mm
    dash = f' stroke-dasharray="{max(1.2, 2 * width):.2f} {max(0.8, width):.2f}"' if item.dashed else ""
    if item.ink in _CLASS:
        yield f'<polyline class="s{_CLASS[item.ink]}" points="{points}" stroke-width="{width:.2f}"{dash}/>'
        return
    if item.ink in _EDGED:
        yield f'<polyline class="sd" points="{points}" stroke-width="{width + 0.2:.2f}"{dash}/>'
    colour = _hex(item.ink) if item.ink in COLOURS else "currentColor"
    yield f'<polyline points="{points}" stroke="{colour}" stroke-width="{width:.2f}"{dash}/>'


def _words(item: Words, known: Collection[str]) -> str:
    if not item.text:
        return ""
    # Whatever face the phone has, the words keep to the room they were given.
    fit = f' textLength="{item.width_mm:.2f}" lengthAdjust="spacingAndGlyphs"' if item.text.isascii() else ""
    turn = f' transform="rotate({item.turn:.2f} {item.x_mm:.2f} {item.y_mm:.2f})"' if item.turn else ""
    anchor = f' text-anchor="{item.anchor}"' if item.anchor != "start" else ""
    kind = (
        "t"
        + _CLASS[item.ink]
        + (" b" if item.bold else "")
        + (" m" if item.mono else "")
        + (" h" if item.halo else "")
    )
    text = (
        f'<text class="{kind}" x="{item.x_mm:.2f}" y="{item.y_mm:.2f}" font-size="{item.size_mm:g}"'
        f"{fit}{anchor}{turn}>"
        f"{escape(item.text)}</text>"
    )
    return f'<a href="#{escape(item.tag)}">{text}</a>' if item.tag in known else text


def _chip(item: Chip) -> Iterator[str]:
    if item.code not in COLOURS:
        return
    ink = "#fff" if dark(COLOURS[item.code].rgb) else "#000"
    top = item.y_mm - item.high_mm / 2
    yield (
        f'<rect class="sd" x="{item.x_mm:.2f}" y="{top:.2f}" width="{item.width_mm:.2f}" '
        f'height="{item.high_mm:.2f}" rx="0.3" stroke-width="0.12" style="fill:{_hex(item.code)}"/>'
    )
    yield (
        f'<text class="b" style="fill:{ink}" x="{item.x_mm + item.width_mm / 2:.2f}" '
        f'y="{item.y_mm + CAP_EM * item.size_mm / 2:.2f}" font-size="{item.size_mm:g}" '
        f'text-anchor="middle">{item.code}</text>'
    )
