"""Bench cards: what is done to each wire, in the order of the work, and what meets in each joint."""

from __future__ import annotations

import attrs

from model.bench import bench_order, joint_card, steps
from model.harness import Harness
from model.papers.table import Table
from model.routing.words import colour_words, end_words, net_words

STEP_COLUMNS = ("tag", "step", "what to do", "done")
JOINT_COLUMNS = ("joint", "at", "net", "in", "on from there", "sleeve", "lamps")


@attrs.frozen(kw_only=True)
class WireCard:
    """One wire on a card. `steps` are what to do and whether it is done; `cut_mm` is what it was cut to,
    else the plan.
    """

    number: int
    tag: str
    colour: str
    colour_name: str
    gauge: str
    cut_mm: float
    lamp_end: str
    controller_end: str
    net: str
    steps: tuple[tuple[str, bool], ...]


def wire_cards(harness: Harness) -> tuple[WireCard, ...]:
    """A card for every wire, in the order of the work."""
    live = harness.ledger.live()
    cards = []
    for number, wire in enumerate(bench_order(harness), 1):
        record = live.get(wire.key)
        done = record.steps if record else ()
        cards.append(
            WireCard(
                number=number,
                tag=record.tag if record else "",
                colour=wire.colour,
                colour_name=colour_words(wire.colour),
                gauge=wire.gauge,
                cut_mm=wire.cut_mm if record is None or record.cut_mm is None else record.cut_mm,
                lamp_end=end_words(harness, wire.lamp_end, wire),
                controller_end=end_words(harness, wire.controller_end, wire),
                net=net_words(harness, wire.output),
                steps=tuple((step.words, step.id in done) for step in steps(harness, wire)),
            )
        )
    return tuple(cards)


def bench_tables(harness: Harness) -> tuple[Table, Table]:
    """Every step of every wire, and every joint."""
    rows = [
        (card.tag, str(number), words, "done" if done else "")
        for card in wire_cards(harness)
        for number, (words, done) in enumerate(card.steps, 1)
    ]
    return Table(title="Steps", columns=STEP_COLUMNS, rows=tuple(rows)), joint_table(harness)


def joint_table(harness: Harness) -> Table:
    """One row a joint: the tags that come in, the one that goes on, the sleeve."""
    rows = []
    for joint in harness.joints:
        card = joint_card(harness, joint.id)
        trunk = [one.tag for one in card.wires if one.trunk]
        lamps = {lamp: None for one in card.wires for lamp in one.lamps}
        rows.append(
            (
                joint.id,
                card.place,
                net_words(harness, card.net),
                " ".join(one.tag for one in card.wires if not one.trunk),
                " ".join(trunk),
                card.sleeve.name if card.sleeve else "to try",
                ", ".join(lamps),
            )
        )
    return Table(title="Joints", columns=JOINT_COLUMNS, rows=tuple(rows))
