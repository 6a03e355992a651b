"""Colour names of wires: the letter codes of IEC 60757 (2021, as quoted), with a colour to draw them in.

Polarity: red and black are the habit of hobby and vehicle wiring (common practice, no source);
IEC 60445 prefers red for positive and white for negative of a d.c. circuit.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

import attrs

from model.errors import BadValue

Rgb = tuple[int, int, int]


@attrs.frozen(kw_only=True)
class Colour:
    """A wire colour: IEC 60757 code, its name, and red-green-blue (0..255) for drawing.

    `second_rgb` is the stripe of a two-coloured wire, else None.
    """

    code: str
    name: str
    rgb: Rgb
    second_rgb: Rgb | None = None


# The order is that of IEC 60757, in which the codes of a two-coloured wire are joined.
_SINGLE: tuple[tuple[str, str, Rgb], ...] = (
    ("BK", "black", (30, 30, 30)),
    ("BN", "brown", (128, 78, 38)),
    ("RD", "red", (214, 40, 40)),
    ("OG", "orange", (240, 130, 20)),
    ("YE", "yellow", (240, 210, 30)),
    ("GN", "green", (40, 150, 70)),
    ("BU", "blue", (40, 100, 210)),
    ("VT", "violet", (140, 70, 180)),
    ("GY", "grey", (140, 140, 140)),
    ("WH", "white", (245, 245, 245)),
    ("PK", "pink", (245, 150, 180)),
    ("GD", "gold", (200, 165, 60)),
    ("TQ", "turquoise", (50, 190, 190)),
    ("SR", "silver", (192, 192, 200)),
)

COLOURS: Mapping[str, Colour] = MappingProxyType(
    {code: Colour(code=code, name=name, rgb=rgb) for code, name, rgb in _SINGLE}
)
"""The single colours by code, in the order of the standard."""

GREEN_AND_YELLOW = Colour(
    code="GNYE",
    name="green and yellow",
    rgb=COLOURS["GN"].rgb,
    second_rgb=COLOURS["YE"].rgb,
)

DEFAULT_POSITIVE = "RD"
DEFAULT_NEGATIVE = "BK"

OUTPUT_COLOURS: tuple[str, ...] = ("YE", "GN", "BU", "VT", "GY", "WH", "OG", "BN", "PK", "TQ")
"""Colours for switched wires, one an output, red and black left out (common practice, no source)."""

_ORDER = {code: index for index, code in enumerate(COLOURS)}
_BY_NAME = {colour.name: colour for colour in COLOURS.values()}


def colour(code: str) -> Colour:
    """The colour of an IEC 60757 code, single ("RD") or joined ("RDBU"). BadValue if there is none.

    Codes are joined in the order of the standard; green and yellow go only together with each
    other, as GNYE, which is kept for protective earth.
    """
    if code in COLOURS:
        return COLOURS[code]
    if code == GREEN_AND_YELLOW.code:
        return GREEN_AND_YELLOW
    parts = (code[:2], code[2:])
    if len(code) != 4 or any(part not in COLOURS for part in parts):
        raise BadValue(
            f"colour {code!r}",
            "is no IEC 60757 code",
            limit=" ".join(COLOURS),
            remedy=_hint(code),
        )
    first, second = parts
    if {first, second} == {"GN", "YE"}:
        raise BadValue(f"colour {code!r}", "joins two colours in the wrong order", remedy="Write GNYE.")
    if first == second:
        raise BadValue(f"colour {code!r}", "names one colour twice", remedy=f"Write {first}.")
    if _ORDER[first] > _ORDER[second]:
        raise BadValue(
            f"colour {code!r}",
            "joins two colours in the wrong order",
            limit="IEC 60757",
            remedy=f"Write {second}{first}.",
        )
    if {"GN", "YE"} & {first, second}:
        raise BadValue(
            f"colour {code!r}",
            "joins green or yellow with another colour",
            limit="IEC 60757 keeps both for GNYE, protective earth",
            remedy="Take another pair.",
        )
    return Colour(
        code=code,
        name=f"{COLOURS[first].name} and {COLOURS[second].name}",
        rgb=COLOURS[first].rgb,
        second_rgb=COLOURS[second].rgb,
    )


def _hint(text: str) -> str:
    """What was probably meant: a code in lower case, or a colour's name."""
    upper = text.strip().upper()
    if upper in COLOURS or upper == GREEN_AND_YELLOW.code:
        return f"Write {upper}."
    named = _BY_NAME.get(text.strip().lower().replace("gray", "grey"))
    return f"Write {named.code}." if named else "Take one of the codes listed."
