"""What meets in a joint, as the bench shows it while one of its wires is made."""

from __future__ import annotations

from collections.abc import Iterator

from textual.content import Content

from harness_tui.widgets.lines import clip
from harness_tui.widgets.wire_paint import wire_chip
from model.bench import JointWire, joint_card
from model.harness import Harness
from model.routing.wires import Wire
from model.routing.words import net_words


def joint_lines(harness: Harness, joint: str, wire: Wire, width: int) -> Iterator[Content]:
    """What meets in a joint, line by line: what is there, what is to come; `wire` is the one in hand."""
    card = joint_card(harness, joint)
    reach = "" if card.reachable else ", hard to reach"
    yield Content("")
    yield Content.styled(f"  joint {card.joint_id} at {card.place or 'no place'}{reach}", "bold")
    size = card.sleeve.name if card.sleeve else "of a size to try"
    net = net_words(harness, card.net)
    yield Content(f"  {net}, sleeve {size}, over the trunk before the joint is made")
    yield Content("")
    for one in card.wires:
        yield _joint_wire(one, one.wire.key == wire.key, width)
    yield Content("")
    if card.complete:
        said = "  All are here: twist, solder, slide the sleeve over and shrink it."
        yield Content.styled(said, "bold $accent")
    else:
        tags = ", ".join(one.tag for one in card.missing)
        count = len(card.wires)
        yield Content(f"  {count - len(card.missing)} of {count} are here. Still to come: {tags}.")
    yield Content.styled("  v goes on, Escape back to the steps", "dim")


def _joint_wire(one: JointWire, in_hand: bool, width: int) -> Content:
    state = "here   " if one.there else "to come"
    lamps = one.lamps[0] if len(one.lamps) == 1 else f"{len(one.lamps)} lamps"
    where = f"trunk of {lamps} to the controller" if one.trunk else lamps
    style = "bold $accent" if in_hand else "" if one.there else "dim"
    words = clip(f" {where}{', in hand' if in_hand else ''}", width - 20)
    return Content.styled(f"  {state}  {one.tag:<4} ", style) + wire_chip(one.colour) + Content(words)
