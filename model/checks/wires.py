"""Rules on the planned wires: their colours, and how many end in one pin."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from model.checks.naming import some
from model.findings import Finding
from model.harness import Harness, Lamp, Polarity
from model.routing.offers import may_merge
from model.routing.wires import EndKind, Wire, derive
from model.routing.words import colour_words, net_words, pin_words
from model.values import counted


def _tags(harness: Harness, wires: Sequence[Wire]) -> str:
    live = harness.ledger.live()
    return some([live[wire.key].tag if wire.key in live else wire.key for wire in wires])


def two_colours(harness: Harness) -> Iterator[Finding]:
    """Wires that are not of the colour of their polarity, or of their output where each has its own."""
    settings = harness.settings
    for polarity in (harness.controller.common_polarity, harness.controller.switched_polarity):
        groups: dict[tuple[int | None, str], list[Wire]] = {}
        apart = settings.colour_per_output and polarity is harness.controller.switched_polarity
        for wire in derive(harness).wires:
            if wire.polarity is polarity and wire.colour != _scheme(harness, wire):
                groups.setdefault((wire.output if apart else None, wire.colour), []).append(wire)
        for (output, colour), wires in groups.items():
            scheme = _scheme(harness, wires[0])
            whose = net_words(harness, output) if apart else polarity.word
            are = "is" if len(wires) == 1 else "are"
            yield Finding(
                subject=f"{whose} wires",
                rule="two colours of one polarity",
                found=f"{_tags(harness, wires)} {are} {colour_words(colour)} ({colour})",
                limit=f"one colour, {colour_words(scheme)} ({scheme})",
                remedy="Change the colour back on Walk, or change the colour of all in the settings.",
                place="walk",
                ref=wires[0].lamps[0] if wires[0].lamps else "",
            )


def _scheme(harness: Harness, wire: Wire) -> str:
    """The colour that a wire has unless it was given one of its own."""
    if harness.settings.colour_per_output and wire.output is not None:
        found = harness.controller.find_output(wire.output)
        if found is not None and found[1].colour is not None:
            return found[1].colour
    return harness.settings.colour(wire.polarity)


def one_colour(harness: Harness) -> Iterator[Finding]:
    """Plus and minus wires of one colour."""
    by_colour: dict[str, dict[Polarity, list[Wire]]] = {}
    for wire in derive(harness).wires:
        by_colour.setdefault(wire.colour, {}).setdefault(wire.polarity, []).append(wire)
    for colour, sides in by_colour.items():
        if len(sides) == 2:
            few = min(sides.values(), key=len)
            polarity, many = few[0].polarity, counted(len(sides[few[0].polarity.other]), "wire")
            yield Finding(
                subject=f"{colour_words(colour)} wires",
                rule="one colour for both",
                found=f"{many} {polarity.other.word}, but {polarity.word} {_tags(harness, few)}",
                limit="a colour stands for one polarity",
                remedy=f"Give the {polarity.word} wires another colour.",
                place="walk",
                ref=few[0].lamps[0] if few[0].lamps else "",
            )


def pin_crowded(harness: Harness) -> Iterator[Finding]:
    """More wires in a pin of the controller than the settings allow."""
    most = harness.settings.pin_max_wires
    pins: dict[str, list[Wire]] = {}
    for wire in derive(harness).wires:
        if wire.controller_end.kind is EndKind.PIN and wire.controller_end.ref:
            pins.setdefault(wire.controller_end.ref, []).append(wire)
    for ref, wires in pins.items():
        if len(wires) > most:
            helped = _who_helps(harness, wires)
            if helped is not None:
                remedy = f"Merge them in a joint: walk {helped.name} again with another merge."
            elif wires[0].output is None:
                remedy = "Add a common pin on Outputs, or allow more wires a pin in Setup."
            else:
                remedy = "Put one of its lamps on another output, or allow more wires a pin in Setup."
            yield Finding(
                subject=pin_words(harness, ref, wires[0].output),
                rule="pin too full",
                found=f"{counted(len(wires), 'wire')} end in it: {_tags(harness, wires)}",
                limit=f"{counted(most, 'wire')} (common practice; a setting)",
                remedy=remedy,
                place="outputs" if helped is None else "walk",
                ref=(ref if wires[0].output is None else str(wires[0].output))
                if helped is None
                else helped.id,
            )


def _who_helps(harness: Harness, wires: Sequence[Wire]) -> Lamp | None:
    """The lamp whose own wire ends in a full pin and may go into a joint instead, the last in the list first.
    None where there is none.
    """
    own = {wire.lamps[0] for wire in wires if wire.origin[:-1] in wire.lamps}
    for lamp in reversed(harness.lamps):
        if lamp.id in own and may_merge(harness, lamp.id, wires[0].polarity):
            return lamp
    return None


RULES = (two_colours, one_colour, pin_crowded)
