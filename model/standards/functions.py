"""What a lamp can be for, with its usual colour.

Road: colours and the rule on indicators from UN Regulation 48 (from memory; the flash rate of
60 to 120 a minute as quoted). Water: rules 21 and 23 to 30 of the COLREGs (1972; rule 21 seen,
the others from memory). Rail, building and work lamps are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

import attrs

from model.errors import BadValue

_R48 = "UN R48"
_COLREGS = "COLREGs"
_PRACTICE = "common practice, no source"


@attrs.frozen(kw_only=True)
class LampFunction:
    """A use of a lamp.

    `sides_apart` says that left and right must work alone and never share an output.
    `flashes` marks those that blink by themselves; `source` is the rule they come from.
    """

    name: str
    usual_colour: str
    scene: str  # "road", "water", "building" or "any"
    sides_apart: bool = False
    flashes: bool = False
    source: str = _PRACTICE


def _table(scene: str, source: str, rows: tuple[tuple[str, str], ...]) -> tuple[LampFunction, ...]:
    return tuple(
        LampFunction(name=name, usual_colour=colour, scene=scene, source=source) for name, colour in rows
    )


_ROAD = (
    *_table(
        "road",
        _R48,
        (
            ("headlamp", "white"),
            ("main beam", "white"),
            ("dipped beam", "white"),
            ("daytime lamp", "white"),
            ("side lamp", "white"),
            ("tail lamp", "red"),
            ("brake lamp", "red"),
            ("reversing lamp", "white"),
        ),
    ),
    LampFunction(
        name="indicator",
        usual_colour="amber",
        scene="road",
        sides_apart=True,
        flashes=True,
        source=_R48,
    ),
    *_table(
        "road",
        _R48,
        (
            ("front fog lamp", "white"),
            ("rear fog lamp", "red"),
            ("marker lamp", "amber"),
            ("number plate lamp", "white"),
        ),
    ),
    LampFunction(name="beacon", usual_colour="amber", scene="road", flashes=True),
    *_table("road", _PRACTICE, (("plough lamp", "white"), ("roof lamp", "white"))),
)

_WATER = _table(
    "water",
    _COLREGS,
    (
        ("masthead light", "white"),
        ("port sidelight", "red"),
        ("starboard sidelight", "green"),
        ("stern light", "white"),
        ("towing light", "yellow"),
        ("anchor light", "white"),
        ("all-round white", "white"),
        ("all-round red", "red"),
        ("all-round green", "green"),
    ),
) + _table("water", _PRACTICE, (("deck light", "warm white"), ("searchlight", "white")))

_BUILDING = _table(
    "building",
    _PRACTICE,
    (
        ("room light", "warm white"),
        ("street lamp", "warm white"),
        ("porch light", "warm white"),
        ("lighthouse lamp", "white"),
        ("signal", "red"),
        ("fire glow", "orange"),
    ),
)

_ANY = _table(
    "any",
    _PRACTICE,
    (
        ("work lamp", "white"),
        ("interior lamp", "warm white"),
        ("instrument lamp", "green"),
        ("warning lamp", "red"),
        ("other", "white"),
    ),
)

FUNCTIONS: Mapping[str, LampFunction] = MappingProxyType(
    {function.name: function for function in (*_ROAD, *_WATER, *_BUILDING, *_ANY)}
)
"""Functions by name, in the order they are offered."""

OTHER = "other"


def function(name: str) -> LampFunction:
    """The function of this name. BadValue lists those known."""
    found = FUNCTIONS.get(name)
    if found is None:
        raise BadValue(
            f"lamp function {name!r}",
            "is not in the list",
            limit=", ".join(FUNCTIONS),
            remedy=f'Take the nearest, or "{OTHER}".',
        )
    return found
