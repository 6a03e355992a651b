"""Rules on the controller and the supply: pins, commons, colours of outputs, volts."""

from __future__ import annotations

from collections.abc import Iterator

from model.checks.naming import same, some
from model.electrics.supply import volts
from model.findings import Finding, Severity
from model.harness import Block, Harness
from model.routing.words import colour_words

ELV_V = 60.0
"""Extra-low voltage d.c. that is safe to touch when dry: IEC 60364-4-41 (from memory)."""


def pin_twice(harness: Harness) -> Iterator[Finding]:
    """Two outputs or commons of a block on one pin."""
    for block in harness.controller.blocks:
        users: dict[str, list[tuple[str, str]]] = {}
        for name, ref, pin in _pins(block):
            users.setdefault(same(pin), []).append((name, ref))
        for pin, names in users.items():
            if len(names) > 1:
                yield Finding(
                    subject=f"pin {block.name}{pin.upper()}",
                    rule="pin used twice",
                    found=f"is that of {some([name for name, _ in names])}",
                    limit="1 output or common a pin",
                    remedy="Look at the controller and correct the pin on Outputs.",
                    place="outputs",
                    ref=names[1][1],
                )


def _pins(block: Block) -> Iterator[tuple[str, str, str]]:
    """Name, id and pin of every output and common of a block."""
    for output in block.outputs:
        yield f"output {output.number}", str(output.number), output.pin
    for place, common in enumerate(block.commons, 1):
        yield f"common {place}", f"{block.name}.{common.pin}", common.pin


def pins_read_alike(harness: Harness) -> Iterator[Finding]:
    """Pins of different blocks that are written alike on a label: block A pin 11 and block A1 pin 1."""
    read: dict[str, tuple[str, str]] = {}
    for block in harness.controller.blocks:
        for name, ref, pin in _pins(block):
            written = same(f"{block.name}{pin}")
            first = read.setdefault(written, (block.name, name))
            if first[0] != block.name:
                yield Finding(
                    subject=name,
                    rule="pins read alike",
                    found=f"its pin is written {written.upper()}, as is {first[1]} of block {first[0]}",
                    limit="every pin written in its own way",
                    remedy="Give one of the two blocks another name.",
                    place="outputs",
                    ref=ref,
                )


def dotted_block(harness: Harness) -> Iterator[Finding]:
    """A block with a dot in its name, as older files may hold: its pins are not told from another's."""
    for block in harness.controller.blocks:
        if "." in block.name:
            yield Finding(
                subject=f"block {block.name}",
                rule="dot in a name",
                found=f"pin {block.name}.1 could be another block's as well",
                limit="no dot: it stands before the pin",
                remedy="Give the block another name on Outputs; its wires follow.",
                place="outputs",
                ref=next((ref for _, ref, _ in _pins(block)), ""),
            )


def no_common(harness: Harness) -> Iterator[Finding]:
    """Lamps, but no common pin for their current to come back through."""
    if harness.lamps and not any(True for _ in harness.controller.commons()):
        yield Finding(
            subject=harness.controller.name,
            rule="no common pin",
            found="has no common pin",
            limit="at least 1",
            remedy="Add the common pins on Outputs.",
            place="outputs",
        )


def colour_of_common(harness: Harness) -> Iterator[Finding]:
    """An output with wires of the common's colour, or settings with one colour for both polarities."""
    settings = harness.settings
    if settings.plus_colour == settings.minus_colour:
        yield Finding(
            subject="wire colours",
            rule="one colour for both",
            found=f"{colour_words(settings.plus_colour)} for plus and for minus",
            limit="a colour each",
            remedy="Choose another colour for one of them.",
            place="outputs",
        )
    common = settings.colour(harness.controller.common_polarity)
    for _, output in harness.controller.outputs():
        if settings.colour_per_output and output.colour == common:
            yield Finding(
                subject=f"output {output.number}",
                rule="one colour for both",
                found=f"its wires are {colour_words(common)}, as those of the common",
                limit="a colour that the common does not have",
                remedy="Choose another colour for the output.",
                place="outputs",
                ref=str(output.number),
            )


def supply_high(harness: Harness) -> Iterator[Finding]:
    """A supply above extra-low voltage."""
    full_v = volts(harness.supply).full_v
    if full_v > ELV_V:
        yield Finding(
            subject="supply",
            rule="voltage too high",
            found=f"{full_v:.1f} V when full",
            limit=f"{ELV_V:g} V d.c.",
            remedy="Use fewer cells. Anything higher is work for licensed people.",
            severity=Severity.DANGER,
            place="outputs",
        )


RULES = (supply_high, no_common, pin_twice, pins_read_alike, dotted_block, colour_of_common)
