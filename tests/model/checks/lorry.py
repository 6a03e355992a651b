"""A small sound harness, and the edits that put faults into it."""

from __future__ import annotations

from collections.abc import Callable

import attrs

from model import editing
from model.checks import check, making
from model.editing import RunChoice
from model.findings import Finding
from model.harness import Contact, Harness
from model.labels.content import said, wire_label
from model.routing.allot import settle
from model.routing.wires import PartKind, derive
from tests.strategies import walk

DAY = "2026-03-03"

Edit = Callable[[Harness], Harness]


def lorry() -> Harness:
    """Two headlamps on output 1, indicators on 2 and 3, all at the bumper and walked with merges."""
    harness = editing.new_harness("Lorry", "GRT")
    harness = editing.add_waypoint(harness, "cab floor")
    harness = editing.add_waypoint(harness, "bumper")
    harness = editing.set_leg(harness, "W1", "W2", length_mm=210)
    harness = editing.set_leg(harness, "W2", "W3", length_mm=120)
    for name, function, colour, output in (
        ("Headlamp left", "headlamp", "white", 1),
        ("Headlamp right", "headlamp", "white", 1),
        ("Indicator left", "indicator", "amber", 2),
        ("Indicator right", "indicator", "amber", 3),
    ):
        harness = editing.add_lamp(
            harness, name, function=function, colour=colour, output=output, at="W3", spur_mm=20
        )
    return walk(harness)


def found(harness: Harness, rule: str) -> list[Finding]:
    return [finding for finding in check(harness) if finding.rule == rule]


def tag(harness: Harness, key: str) -> str:
    return harness.ledger.live()[key].tag


def lamp(lamp_id: str, **changes: object) -> Edit:
    return lambda harness: settle(editing.edit_lamp(harness, lamp_id, **changes))


def setting(**changes: object) -> Edit:
    return lambda harness: settle(editing.set_settings(harness, **changes))


def leg(**changes: object) -> Edit:
    return lambda harness: settle(editing.set_leg(harness, "W2", "W3", **changes))


def extra_lamp(**fields: object) -> Edit:
    return lambda harness: editing.add_lamp(harness, "Extra", **fields)


def same(harness: Harness) -> Harness:
    return harness


def roof(harness: Harness) -> Harness:
    return editing.add_waypoint(harness, "roof")


def both(*edits: Edit) -> Edit:
    def all_of_them(harness: Harness) -> Harness:
        for edit in edits:
            harness = edit(harness)
        return harness

    return all_of_them


def coloured(plus: str | None = None, minus: str | None = None) -> Edit:
    """Headlamp left walked anew on its own, with colours of its own."""

    def recolour(harness: Harness) -> Harness:
        way = ("W3", "W2", "W1")
        choice = RunChoice(way=way, plus_colour=plus, minus_colour=minus)
        return settle(editing.accept_run(harness, "L1", choice))

    return recolour


def unmerged(harness: Harness) -> Harness:
    for one in harness.lamps:
        harness = settle(editing.accept_run(harness, one.id, RunChoice(way=("W3", "W2", "W1"))))
    return harness


def each_output_blue(harness: Harness) -> Harness:
    for _, output in harness.controller.outputs():
        harness = editing.edit_output(harness, output.number, colour="BU")
    return settle(editing.set_settings(harness, colour_per_output=True))


def one_output_red(harness: Harness) -> Harness:
    return editing.edit_output(each_output_blue(harness), 4, colour="RD")


def contact_shared(harness: Harness) -> Harness:
    harness = leg(plug="P1", plug_mm=40)(harness)
    first = harness.contacts[0]
    return attrs.evolve(
        harness, contacts=(*harness.contacts, Contact(plug="P1", number=first.number, origin="L9+"))
    )


def alike_blocks(harness: Harness) -> Harness:
    harness = editing.edit_output(harness, 6, pin="11")
    return editing.edit_output(editing.add_block(harness, "A1", outputs=1), 7, pin="1")


def dotted(harness: Harness) -> Harness:
    """The block called A.1, as a file may have it."""
    harness = editing.rename_block(harness, "A", "A1")
    (block,) = harness.controller.blocks
    controller = attrs.evolve(harness.controller, blocks=(attrs.evolve(block, name="A.1"),))
    lamps = tuple(attrs.evolve(one, run=None) for one in harness.lamps)
    return walk(attrs.evolve(harness, controller=controller, lamps=lamps, joints=()))


def dotted_plug(harness: Harness) -> Harness:
    """The plug called P.1, as a file may have it."""
    legs = tuple(attrs.evolve(one, plug="P.1") if "W3" in one.ends else one for one in harness.legs)
    return settle(attrs.evolve(harness, legs=legs))


def cut(length_over_need_mm: float) -> Edit:
    """The common wire of headlamp left cut so much longer than it needs before rounding up."""

    def cut_it(harness: Harness) -> Harness:
        wire = derive(harness).by_key["L1+"]
        needed_mm = wire.cut_mm - wire.part_mm(PartKind.ROUND)
        return editing.set_cut(harness, tag(harness, "L1+"), needed_mm + length_over_need_mm, DAY)

    return cut_it


def steps(*done: str) -> Edit:
    def do(harness: Harness) -> Harness:
        for step in done:
            harness = editing.do_step(harness, tag(harness, "L1-"), step, DAY)
        return harness

    return do


def printed(*ends: str) -> Edit:
    return lambda harness: editing.mark_printed(harness, [(tag(harness, "L1-"), end) for end in ends], DAY)


def said_at_lamp(harness: Harness) -> Harness:
    """The lamp end's label of headlamp left's switched wire is printed, with what it says."""
    text = wire_label(harness, derive(harness).by_key["L1-"], tag(harness, "L1-"), "L")
    return editing.mark_printed(harness, [(text.tag, "L")], DAY, said={(text.tag, "L"): said(text)})


def retired(harness: Harness) -> Harness:
    """The label of headlamp left's switched wire is printed, then the lamp goes to another output."""
    return lamp("L1", output=5)(printed("L", "C")(harness))


def retired_and_off(harness: Harness) -> Harness:
    old = tag(harness, "L1-")
    return editing.log_event(retired(harness), old, making.TAKEN_OFF, "", DAY)
