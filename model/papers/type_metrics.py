"""Widths of the papers' two faces, so that a picture is laid out without loading a font.

Measured from Roboto Condensed 3.8 (OFL-1.1), weights 400 and 700, and Roboto Mono 3.1, as
`fontpkg-roboto-condensed` and `fontpkg-roboto-mono` ship them. A tag is set in the mono face: its
characters stand one under the other.
"""

from __future__ import annotations

import unicodedata

SANS, MONO = "Roboto Condensed", "Roboto Mono"
REGULAR, BOLD, MONO_WEIGHT = 400, 700, 600

CAP_EM = 1456 / 2048
"""Height of a capital of either face."""

MONO_EM = 1229 / 2048
"""Width of every character of the mono face."""

_REGULAR = (
    229, 246, 320, 548, 494, 633, 544, 175, 314, 319, 431, 497, 197, 248, 264, 371, 494, 494, 494, 494,
    494, 494, 494, 494, 494, 494, 233, 203, 446, 479, 460, 422, 769, 577, 546, 567, 571, 497, 481, 591,
    620, 250, 483, 545, 476, 755, 620, 601, 554, 601, 531, 519, 521, 562, 561, 762, 551, 525, 523, 250,
    370, 250, 371, 405, 309, 479, 493, 462, 496, 469, 316, 493, 483, 229, 224, 451, 229, 753, 484, 502,
    493, 500, 305, 456, 296, 483, 428, 650, 439, 417, 439, 307, 244, 307, 589,
)  # fmt: skip
_BOLD = (
    230, 261, 321, 528, 505, 638, 579, 162, 323, 324, 454, 476, 245, 361, 291, 332, 505, 505, 505, 505,
    505, 505, 505, 505, 505, 505, 273, 253, 447, 503, 454, 447, 766, 597, 561, 570, 565, 491, 476, 585,
    614, 270, 490, 553, 479, 758, 612, 604, 568, 604, 553, 540, 542, 571, 578, 750, 560, 542, 530, 264,
    381, 264, 391, 400, 331, 471, 495, 460, 496, 479, 328, 503, 492, 252, 245, 478, 252, 742, 492, 498,
    495, 497, 331, 454, 307, 492, 449, 633, 452, 445, 452, 298, 253, 298, 558,
)  # fmt: skip
"""Thousandths of an em from the blank (U+0020) to the tilde (U+007E)."""

_OTHER = 620
"""A letter beyond ASCII, reckoned wide: its mean is 520."""

_WIDE = 1050


def width_mm(text: str, size_mm: float, *, bold: bool = False, mono: bool = False) -> float:
    """Width of a text whose em is `size_mm`; exact for ASCII, a little too much beyond it."""
    if mono:
        return len(text) * MONO_EM * size_mm
    row = _BOLD if bold else _REGULAR
    total = 0
    for sign in text:
        code = ord(sign)
        if 32 <= code < 127:
            total += row[code - 32]
        elif unicodedata.combining(sign):
            continue
        else:
            total += _WIDE if unicodedata.east_asian_width(sign) in "WF" else _OTHER
    return total * size_mm / 1000


def shortened(text: str, room_mm: float, size_mm: float, *, bold: bool = False) -> str:
    """As much of a text as goes into `room_mm`, with dots where it is cut; empty where not even they fit."""
    if width_mm(text, size_mm, bold=bold) <= room_mm:
        return text
    dots = "..."
    room_mm -= width_mm(dots, size_mm, bold=bold)
    kept = ""
    for sign in text:
        if width_mm(kept + sign, size_mm, bold=bold) > room_mm:
            break
        kept += sign
    return f"{kept.rstrip()}{dots}" if kept else ""


def wrapped(text: str, room_mm: float, size_mm: float, *, bold: bool = False) -> list[str]:
    """A text in lines no wider than `room_mm`; a word that is wider is cut. At least one line, which may
    be empty.
    """
    lines: list[str] = []
    line = ""
    for word in text.split():
        wider = f"{line} {word}" if line else word
        if width_mm(wider, size_mm, bold=bold) <= room_mm:
            line = wider
            continue
        if line:
            lines.append(line)
        while width_mm(word, size_mm, bold=bold) > room_mm and len(word) > 1:
            take = next(
                (n for n in range(len(word) - 1, 0, -1) if width_mm(word[:n], size_mm, bold=bold) <= room_mm),
                1,
            )
            lines.append(word[:take])
            word = word[take:]
        line = word
    return [*lines, line] if line or not lines else lines
