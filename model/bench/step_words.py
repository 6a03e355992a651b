"""What is done to each wire, step by step, in words.

A sleeve always goes on before the end it belongs to is joined. The resistor of a bare LED goes on its
plus leg: it works on either, but always on the same one a fault is found sooner (common practice, no
source).
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import attrs

from model import lengths
from model.bench.order import (
    StepKind,
    all_done,
    is_there,
    joined_words,
    step_kinds,
    tag_of,
    tags_of,
)
from model.electrics.lamps import LampElectrics, Verdict, lamp_current
from model.electrics.resistor import Refused, ResistorChoice
from model.harness import Build, Harness, Lamp, Polarity
from model.labels.batch import stock_for
from model.labels.stock import Stock, packaged_stocks
from model.labels.wire_room import Marking, lamp_sleeve, resistor_of, wire_room
from model.memo import by_identity
from model.routing.made import lamps_by_id, live_records, made_mm
from model.routing.sleeves import joint_sleeve, tag_sleeve
from model.routing.spools import cut_from, spool_for
from model.routing.wires import End, EndKind, PartKind, Wire, derive
from model.routing.words import colour_words, pin_words, place_name
from model.standards.heatshrink import Sleeve
from model.standards.wire import gauge, resistance_ohm
from model.tags import TagRecord

METER_OHM = 0.5
"""What test leads and their contacts add to a reading; common practice, no source."""


NAMED_AT_MOST = 2
"""So many lamps are named in one step; the rest are counted."""


@attrs.frozen(kw_only=True)
class Step:
    """One step of one wire. `id` is what the ledger keeps; `words` say what to do.

    The words of a joint change as its other wires are made, the id never does.
    """

    id: str
    kind: StepKind
    words: str


def steps(harness: Harness, wire: Wire) -> tuple[Step, ...]:
    """What is done to a wire, in order. What is said of a joint depends on which of its wires are there."""
    return tuple(
        Step(id=kind.value, kind=kind, words=_WORDS[kind](harness, wire)) for kind in step_kinds(wire)
    )


def is_made(record: TagRecord | None, steps: Sequence[Step]) -> bool:
    """Whether every step of a wire is done."""
    return record is not None and all(step.id in record.steps for step in steps)


def next_step(harness: Harness, wire: Wire) -> Step | None:
    """The first step of a wire that is not done, or None once it is made."""
    record = live_records(harness).get(wire.key)
    done = record.steps if record else ()
    return next((step for step in steps(harness, wire) if step.id not in done), None)


def _size(sleeve: Sleeve | None) -> str:
    return sleeve.name if sleeve else "of a size to try"


def _cut_words(harness: Harness, wire: Wire) -> str:
    record = live_records(harness).get(wire.key)
    cut_mm = made_mm(record, wire)
    planned = lengths.text(wire.cut_mm)
    other = not math.isclose(cut_mm, wire.cut_mm)
    if not wire.own_lead:
        name = (cut_from(record) if record else "") or spool_for(harness, wire.key)
        spool = f"{colour_words(wire.colour)} {wire.gauge}{f', from {name}' if name else ''}"
        if other:
            return f"cut to {lengths.text(cut_mm)} of {spool}; the plan says {planned}"
        return f"cut {planned} of {spool}"
    lamp = lamps_by_id(harness)[wire.lamp_end.ref]
    lead = f"the lamp's own {wire.polarity.word} lead"
    if other and record is not None and record.cut_mm is not None:
        return f"{lead} was shortened to {lengths.text(cut_mm)}; the plan says {planned}"
    if wire.cut_mm >= lamp.lead_mm:
        return f"leave {lead} as long as it is, {lengths.text(lamp.lead_mm)}"
    return f"shorten {lead} to {planned}"


def _end_name(end: End, controller_side: bool) -> str:
    if end.kind is EndKind.JOINT:
        return f"end at {end.ref}"
    if end.kind is EndKind.PLUG:
        return f"end at plug {end.ref.partition('.')[0]}"
    return "controller end" if controller_side else "lamp end"


def _ends(wire: Wire) -> tuple[tuple[End, str], ...]:
    lamp_end, controller_end = wire.lamp_end, wire.controller_end
    return (lamp_end, _end_name(lamp_end, False)), (controller_end, _end_name(controller_end, True))


def _marking(harness: Harness, wire: Wire) -> Marking:
    """How many tag sleeves go on; none where the wire is too thin for any."""
    if tag_sleeve(wire) is None:
        return Marking.NONE
    record = live_records(harness).get(wire.key)
    return wire_room(harness, wire, record).marking(_tag_stock(harness, wire))


def _sleeve_words(harness: Harness, wire: Wire) -> str:
    tag, marking = tag_of(harness, wire), _marking(harness, wire)
    # A flag is stuck on at the end of the work; nothing has to be threaded.
    on = []
    if marking is Marking.BOTH:
        ends = " and ".join(f"({name})" for _, name in _ends(wire))
        on = [f"tag sleeves {tag} {ends}, {_stock_words(_tag_stock(harness, wire))}"]
    elif marking is Marking.ONE:
        on = [f"one tag sleeve {tag} for both ends, {_stock_words(_tag_stock(harness, wire))}"]
    over_lamp = _lamp_sleeve(harness, wire)
    if over_lamp:
        on.append(over_lamp)
    notes = []
    for end, _ in _ends(wire):
        if end.kind is not EndKind.JOINT:
            continue
        size = _size(joint_sleeve(harness, end.ref))
        if end is wire.lamp_end:
            on.append(f"joint sleeve {size} for {end.ref}")
        else:
            trunk = derive(harness).trunk[end.ref]
            notes.append(f"the joint sleeve {size} of {end.ref} goes on {tag_of(harness, trunk)}")
    if marking is Marking.NONE:
        why = "short" if tag_sleeve(wire) else "thin"
        notes.append(f"tag flags later, the wire is too {why} for a tag sleeve")
    return "; ".join([f"slide on: {', '.join(on)}" if on else "nothing to slide on", *notes])


def _tag_stock(harness: Harness, wire: Wire) -> Stock:
    """What the tag sleeves of a wire are printed on, as the labels have it."""
    od_mm = gauge(wire.gauge).od_mm
    stocks = packaged_stocks()
    chosen = harness.settings.sleeve_stock
    return stock_for(stocks, chosen if chosen in stocks else "", "sleeve", od_mm)


def _stock_words(stock: Stock) -> str:
    """ "sleeve 3:1, 1.5 mm"."""
    # "tape" and "ladder" are the printer's business.
    return ", ".join(stock.title.split(", ")[:2]).replace("Sleeve", "sleeve")


def _lamp_sleeve(harness: Harness, wire: Wire) -> str:
    """The sleeve that covers the solder point at the lamp, or an empty string where none is soldered."""
    found = lamp_sleeve(harness, wire)
    return f"sleeve {_size(found[0])} over {found[1]}" if found else ""


def _strip_words(harness: Harness, wire: Wire) -> str:
    settings = harness.settings
    bare = []
    for end, name in _ends(wire):
        at_lamp = end is wire.lamp_end
        if at_lamp and wire.own_lead:
            continue
        laps = end.kind is EndKind.JOINT or (at_lamp and _splices(wire))
        bare.append((settings.joint_overlap_mm if laps else settings.strip_mm, name))
    if len({length for length, _ in bare}) == 1:
        return f"strip {lengths.text(bare[0][0])} at {'both ends' if len(bare) == 2 else f'the {bare[0][1]}'}"
    return "strip " + " and ".join(f"{lengths.text(length)} at the {name}" for length, name in bare)


def _splices(wire: Wire) -> bool:
    """Whether the wire is laid onto the lamp's own lead, which is too short to reach."""
    return any(part.kind is PartKind.LEAD for part in wire.parts)


def resistor_words(choice: ResistorChoice) -> str:
    """ "330R (orange orange brown gold)", "330R (marked 331)"; the value alone where it has no marks."""
    return f"{choice.letter_code} ({choice.marks})" if choice.marks else choice.letter_code


def _leg_words(lamp: Lamp, polarity: Polarity) -> str:
    """Where a wire goes on a lamp: long leg is anode is plus, short leg or flat side is cathode is minus."""
    if lamp.build is Build.WIRED:
        return f"the lamp's own {polarity.word} {'lead' if lamp.lead_mm else 'terminal'}"
    if lamp.size.isdigit():
        plus, minus = "the LED's plus pad (anode)", "the LED's minus pad (cathode, the marked side)"
    else:
        plus, minus = "the LED's long leg (plus)", "the LED's short leg (minus, flat side of the body)"
    return plus if polarity is Polarity.PLUS else minus


def _lamp_words(harness: Harness, wire: Wire) -> str:
    if wire.lamp_end.kind is not EndKind.LAMP:
        return _far_words(harness, wire, wire.lamp_end)
    lamp = lamps_by_id(harness)[wire.lamp_end.ref]
    where = _leg_words(lamp, wire.polarity)
    electrics = lamp_current(harness, lamp)
    verb = f"lay {lengths.text(harness.settings.joint_overlap_mm)} onto" if _splices(wire) else "solder to"
    end = ", solder" if _splices(wire) else ""
    if wire.polarity is Polarity.MINUS:
        return f"{verb} {where}{end}"
    if isinstance(electrics.choice, Refused):
        return f"stop: {electrics.choice.reason}. Mend that first. Then solder to {where}"
    if isinstance(electrics.choice, ResistorChoice):
        return f"solder to resistor {resistor_words(electrics.choice)}, its other end to {where}"
    if lamp.build is Build.BARE:
        return f"{verb} {where}; {electrics.text}"
    if lamp.resistor_ohm:
        return f"solder to resistor {lamp.resistor_ohm:g} ohm, its other end to {where}"
    return f"{verb} {where}{end}"


def _join_words(harness: Harness, wire: Wire) -> str:
    return _far_words(harness, wire, wire.controller_end)


def _far_words(harness: Harness, wire: Wire, end: End) -> str:
    if end.kind is EndKind.JOINT:
        return _joint_words(harness, wire, end.ref)
    if end.kind is EndKind.PLUG:
        plug, _, contact = end.ref.rpartition(".")
        half = "lamp" if end is wire.controller_end else "controller"
        return f"crimp on the contact, push it into the {half} half of plug {plug}, contact {contact}"
    if not end.ref:
        common = wire.polarity is harness.controller.common_polarity
        missing = "the controller has no common pin" if common else "its lamp has no output"
        return f"leave the end free: {missing} yet"
    sharing = [other for other in _on_pin(harness).get(end.ref, ()) if other.key != wire.key]
    words = f"crimp on the contact, push it into {pin_words(harness, end.ref, wire.output)}"
    return f"{words}, together with {tags_of(harness, sharing)} in one contact" if sharing else words


@by_identity
def _on_pin(harness: Harness) -> Mapping[str, tuple[Wire, ...]]:
    pins: dict[str, tuple[Wire, ...]] = {}
    for wire in derive(harness).wires:
        if wire.controller_end.kind is EndKind.PIN and wire.controller_end.ref:
            pins[wire.controller_end.ref] = (*pins.get(wire.controller_end.ref, ()), wire)
    return pins


def _joint_words(harness: Harness, wire: Wire, joint_id: str) -> str:
    others = [other for other in derive(harness).at_joint(joint_id) if other.key != wire.key]
    missing = [other for other in others if not is_there(harness, other, joint_id)]
    where = f"joint {joint_id} at {place_name(harness, harness.joint(joint_id).at)}"
    if not missing:
        return f"twist into {where} with {tags_of(harness, others)}, solder, slide the joint sleeve over it"
    here = [other for other in others if other not in missing]
    laid = f" beside {tags_of(harness, here)}" if here else ""
    return f"lay at {where}{laid}; {tags_of(harness, missing)} {'is' if len(missing) == 1 else 'are'} to come"


def _shrink_words(harness: Harness, wire: Wire) -> str:
    marking = _marking(harness, wire)
    what = {Marking.BOTH: ["both tag sleeves"], Marking.ONE: ["the tag sleeve"], Marking.NONE: []}[marking]
    if _lamp_sleeve(harness, wire):
        what.append("the sleeve at the lamp")
    for end, _ in _ends(wire):
        others = derive(harness).at_joint(end.ref) if end.kind is EndKind.JOINT else ()
        if others and all(is_there(harness, other, end.ref) for other in others if other.key != wire.key):
            what.append(f"the joint sleeve of {end.ref}")
    flags = "" if marking is not Marking.NONE else "fold a tag flag round each end"
    return "; ".join(words for words in (f"shrink {joined_words(what)}" if what else "", flags) if words)


@by_identity
def _circuits(harness: Harness) -> Mapping[str, tuple[Wire, ...]]:
    """The wires that a lamp needs to light, by lamp id."""
    circuits: dict[str, list[Wire]] = {}
    for wire in derive(harness).wires:
        for lamp_id in wire.lamps:
            circuits.setdefault(lamp_id, []).append(wire)
    return {lamp_id: tuple(wires) for lamp_id, wires in circuits.items()}


def _test_words(harness: Harness, wire: Wire) -> str:
    words = f"test: under {most_ohm(wire)} ohm from end to end"
    if _behind_resistor(harness, wire):
        # The far point is this side of the resistor: at the LED's leg a meter shows the resistor too.
        words += ", up to its solder point at the resistor"
    lit = [lamp_id for lamp_id in wire.lamps if _complete_with(harness, lamp_id, wire)]
    lamps = [lamp for lamp_id in lit if (lamp := lamps_by_id(harness)[lamp_id]).output is not None]
    expected = [text for lamp in lamps if (text := _expected(lamp, lamp_current(harness, lamp)))]
    more = [f"so do {len(expected) - NAMED_AT_MOST} more"] if len(expected) > NAMED_AT_MOST else []
    return "; ".join([words, *expected[:NAMED_AT_MOST], *more])


def _behind_resistor(harness: Harness, wire: Wire) -> bool:
    """Whether the lamp's resistor is soldered to the lamp end of this wire."""
    if wire.lamp_end.kind is not EndKind.LAMP or wire.polarity is not Polarity.PLUS:
        return False
    lamp = lamps_by_id(harness)[wire.lamp_end.ref]
    return resistor_of(harness, lamp) is not None or bool(lamp.resistor_ohm)


def most_ohm(wire: Wire) -> int:
    """What a meter shows at most from end to end of a good wire, its leads included, in whole ohms."""
    return math.ceil(resistance_ohm(gauge(wire.gauge), wire.cut_mm) + METER_OHM)


def _complete_with(harness: Harness, lamp_id: str, wire: Wire) -> bool:
    """Whether all other wires of a lamp are made, so that this one closes its circuit."""
    others = (other for other in _circuits(harness)[lamp_id] if other.key != wire.key)
    return all(all_done(harness, other, but=StepKind.TEST) for other in others)


def _expected(lamp: Lamp, electrics: LampElectrics) -> str:
    across_v = lit_volts(lamp, electrics)
    if across_v is None:
        return ""
    return f"output {lamp.output} on: {lamp.name} lights, about {across_v:.1f} V across it"


def lit_volts(lamp: Lamp, electrics: LampElectrics) -> float | None:
    """What is across a lamp that is lit, in V; None for one that is not fit to be lit."""
    if electrics.verdict in (Verdict.REFUSED, Verdict.BARE_END, Verdict.WRONG_OUTPUT):
        return None
    bare = lamp.build is Build.BARE or electrics.choice
    return electrics.led.vf_v if bare else electrics.supply.nominal_v


_WORDS = {
    StepKind.CUT: _cut_words,
    StepKind.SLEEVE: _sleeve_words,
    StepKind.STRIP: _strip_words,
    StepKind.LAMP: _lamp_words,
    StepKind.JOIN: _join_words,
    StepKind.SHRINK: _shrink_words,
    StepKind.TEST: _test_words,
}
