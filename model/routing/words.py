"""A wire and its ends in words, as the screen, the labels and the papers say them."""

from __future__ import annotations

from model.harness import Harness
from model.routing.wires import End, EndKind, Wire
from model.standards.colours import COLOURS

ANY_NET = -1
"""A pin as such, whatever net has it."""


def pin_words(harness: Harness, ref: str, net: int | None = ANY_NET) -> str:
    """ "output 5, pin A5" or "common pin A7" for a pin reference "A.5"; "no pin yet" for an empty one.

    `net` is that of the wire that ends there (None: the common), in case two have the pin by mistake.
    """
    if not ref:
        return "no pin yet"
    pins = [(one.number, owner, one.pin) for owner, one in harness.controller.outputs()]
    there = [(number, owner.name, pin) for number, owner, pin in pins if f"{owner.name}.{pin}" == ref]
    own = [one for one in there if net in (ANY_NET, one[0])]
    common = any(f"{owner.name}.{one.pin}" == ref for owner, one in harness.controller.commons())
    if own or (there and not common):
        number, block, pin = (own or there)[0]
        return f"output {number}, pin {block}{pin}"
    return f"common pin {ref.replace('.', '', 1)}"


def place_name(harness: Harness, waypoint_id: str | None) -> str:
    """The name of a waypoint, or an empty string."""
    point = harness.find_waypoint(waypoint_id)
    return point.name if point else ""


def end_words(harness: Harness, end: End, wire: Wire) -> str:
    """One end of a wire in words: "Indicator front left minus", "joint J3 at cab floor", "plug P1 contact
    4", "output 5, pin A5".
    """
    if end.kind is EndKind.LAMP:
        lamp = harness.find_lamp(end.ref)
        return f"{lamp.name if lamp else end.ref} {wire.polarity.word}"
    if end.kind is EndKind.JOINT:
        return f"joint {end.ref} at {place_name(harness, end.at) or 'no place'}"
    if end.kind is EndKind.PLUG:
        plug, _, contact = end.ref.rpartition(".")
        return f"plug {plug} contact {contact}"
    return pin_words(harness, end.ref, wire.output)


def wire_words(harness: Harness, wire: Wire) -> str:
    """Both ends in words: "Indicator front left minus to joint J3 at cab floor"."""
    lamp_side = end_words(harness, wire.lamp_end, wire)
    return f"{lamp_side} to {end_words(harness, wire.controller_end, wire)}"


def net_words(harness: Harness, output: int | None) -> str:
    """ "common" or "output 5 (indicators left)"."""
    if output is None:
        return "common"
    found = harness.controller.find_output(output)
    function = found[1].function if found else ""
    return f"output {output} ({function})" if function else f"output {output}"


def colour_words(code: str) -> str:
    """The name of an IEC 60757 colour code."""
    return COLOURS[code].name if code in COLOURS else code
