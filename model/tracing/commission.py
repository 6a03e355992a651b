"""The first power-on: what to check before, what each output should then do, and the record of it.

Results are events of the ledger: of a lamp on its switched wire, of an output on the wires at its pin.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping

import attrs

from model import editing
from model.bench import progress
from model.electrics.circuit import Circuit
from model.electrics.network import (
    MINUS_RAIL,
    PLUS_RAIL,
    Spread,
    as_wired,
    conditions_of,
    pin_node,
)
from model.electrics.outputs import output_loads
from model.electrics.solving import solve
from model.electrics.supply import source_word, volts
from model.errors import BadValue
from model.harness import Harness
from model.papers.table import Table
from model.routing.wires import EndKind, Wire, derive, origin_name
from model.routing.words import net_words, pin_words
from model.standards.fuses import fuse_for
from model.tracing.behaviour import Faults, Sight, Simulator
from model.tracing.fault_reach import touched_outputs
from model.tracing.fault_words import fault_tags, fault_words
from model.tracing.faults import SHORT_BELOW_OHM, FaultKind, all_faults, lit_lamps
from model.tracing.trace import TOUCHING, Probe, ProbeKind, Trace, answer, begin, see
from model.values import parse_number

CHECKED = "checked"
"""What the record says of a check before the first power-on."""

TESTED, MEASURED, REPAIRED, TEST_AGAIN = "tested", "measured", "repaired", "test again"
"""What happened to a wire, as its history says it; `TEST_AGAIN` where its lamp was put out by another's."""

RECORDED = (TESTED, MEASURED, REPAIRED, TEST_AGAIN)

_SAYS_NOTHING_MORE = (REPAIRED, TEST_AGAIN)
"""After these what was seen and measured before counts no more."""

METER_TEST_V = 0.5
"""What a meter puts on a resistance it measures; common practice, no source."""

MOST_OHM = 1e6
"""Above this a meter's reading says more about fingers and flux; common practice, no source."""

CURRENT_TOLERANCE = 0.10
"""Resistors, meter and battery together, beside the spread of the LEDs; common practice, no source."""


@attrs.frozen(kw_only=True)
class CheckItem:
    """One thing to do before power is put on, in words and in fewer of them; `id` is stable."""

    id: str
    short: str
    words: str


@attrs.frozen(kw_only=True)
class Isolation:
    """The resistance to expect between the common and an output's pin, battery off, controller unplugged.

    `least_ohm` is what the lamps let through at a meter's half volt, where no LED leads; half of it is taken
    for right. Under `SHORT_BELOW_OHM` is a short circuit.
    """

    output: int
    ref: str
    words: str
    least_ohm: float

    @property
    def limit_ohm(self) -> float:
        """Less than this is not right."""
        return min(self.least_ohm, MOST_OHM) / 2


@attrs.frozen(kw_only=True)
class LampTest:
    """One lamp that should light with an output, and the tag its result is written to."""

    lamp_id: str
    name: str
    tag: str


@attrs.frozen(kw_only=True)
class OutputTest:
    """What should light with one output alone, and the current it should draw, in mA at `battery_v`.

    `tags` are those of the wires on its pin.
    """

    output: int
    words: str
    lamps: tuple[LampTest, ...]
    tags: tuple[str, ...]
    battery_v: float
    usual_ma: float
    least_ma: float
    most_ma: float


# --- before the battery goes on -------------------------------------------------------------------


def checklist(harness: Harness) -> tuple[CheckItem, ...]:
    """What to look at, in order, before the battery is connected for the first time."""
    return tuple(CheckItem(id=name, short=short, words=words) for name, short, words in _checks(harness))


def _checks(harness: Harness) -> Iterator[tuple[str, str, str]]:
    source = source_word(harness.supply)
    yield (
        "battery",
        f"{source} off, harness unplugged",
        f"{source} disconnected, and the harness unplugged from the controller",
    )
    left = unmade(harness)
    yield (
        "wires",
        f"wires: {left}" if left else "every wire made and tested",
        f"every wire made and tested at the bench: {left or 'all are made'}",
    )
    yield (
        "bare",
        "no bare spot, no loose strand",
        "no bare spot, no strand sticking out; every joint under its sleeve",
    )
    if harness.joints:
        count = len(harness.joints)
        each = "the joint" if count == 1 else f"each of the {count} joints"
        yield "joints", f"{each} holds when pulled", f"{each} holds when pulled gently"
    plugs = sorted({leg.plug for leg in harness.legs if leg.plug})
    if plugs:
        names = f"plug {plugs[0]}" if len(plugs) == 1 else f"plugs {', '.join(plugs)}"
        yield "plugs", "plugs seated, no contact pushed out", f"{names} seated, no contact pushed out"
    yield (
        "shorts",
        "ohm from the common to each pin: below",
        "ohm between the common and each output's pin: see the list",
    )
    rating = fuse_for(output_loads(harness).total_ma)
    size = f"{rating / 1000:g} A" if rating is not None else "one for each of several leads"
    yield (
        "fuse",
        f"fuse in the positive lead: {size}",
        f"fuse in the positive lead, close to the {source}: {size}",
    )
    yield (
        "polarity",
        f"plus to plus at the {source} plug",
        f"plus to plus: the colour and the meter agree at the {source} plug",
    )
    yield (
        "eyes",
        "no look into bright LEDs",
        f"do not look into bright LEDs; one hand on the {source} plug when power goes on",
    )


def unmade(harness: Harness) -> str:
    """How many wires are not made yet, in words; "" where all are."""
    made, total = progress(harness)
    left = total - made
    return f"{left} of {total} {'is' if left == 1 else 'are'} not made yet" if left else ""


def isolation(harness: Harness) -> tuple[Isolation, ...]:
    """The resistances to expect at every output that carries lamps; all for one polarity of the meter."""
    simulator = Simulator(harness)
    found = []
    for block, output in harness.controller.outputs():
        if output.number not in set(simulator.outputs.values()):
            continue
        ref = f"{block.name}.{output.pin}"
        found.append(
            Isolation(
                output=output.number,
                ref=ref,
                words=f"common to {pin_words(harness, ref, output.number)}",
                least_ohm=min(_meter_ohm(harness, simulator, output.number, ref), MOST_OHM),
            )
        )
    return tuple(found)


def _meter_ohm(harness: Harness, simulator: Simulator, output: int, ref: str) -> float:
    """What a meter reads from the common to a pin: the lamps of the output in parallel, at half a volt."""
    one = frozenset((output,))
    circuit = simulator.faulty_circuit((), (), one)
    high = harness.controller.switched_polarity.value == "-"
    rails: dict[str, float] = {
        (PLUS_RAIL if high else MINUS_RAIL): METER_TEST_V if high else 0.0,
        pin_node(ref): 0.0 if high else METER_TEST_V,
    }
    # The battery is off: its rails are just wire ends.
    probe = Circuit(rails=rails, conductors=circuit.conductors, lights=circuit.lights)
    current = sum(solve(probe).light_a.values())
    return METER_TEST_V / current if current > 0 else math.inf


def isolation_verdict(one: Isolation, ohm: float | None) -> str:
    """ "" where a reading is right (None: over the meter's range), else what it means."""
    if ohm is None or ohm >= one.limit_ohm:
        return ""
    if ohm < SHORT_BELOW_OHM:
        return f"{one.words}: {ohm_words(ohm)} is a short circuit. Do not connect the power."
    right = f"over {ohm_words(one.limit_ohm)} is right"
    return f"{one.words}: {ohm_words(ohm)} where {right}. Look for a wrong joint or flux."


def ohm_words(ohm: float | None) -> str:
    """A resistance as people write it: "4.7 ohm", "700 kohm", "2 Mohm"; None and infinity are over range."""
    if ohm is None or math.isinf(ohm):
        return "over range"
    if ohm >= 1e6:
        return f"{ohm / 1e6:g} Mohm"
    return f"{ohm / 1e3:g} kohm" if ohm >= 1e3 else f"{ohm:g} ohm"


def parse_ohm(text: str) -> float | None:
    """A resistance as a meter shows it: "4", "12k", "2.2 Mohm"; None for nothing and for "OL", over range.

    BadValue for what is no number.
    """
    plain = text.strip().removesuffix("ohm").removesuffix("\u2126").removesuffix("\u03a9").strip()
    if plain.upper() in ("", "OL"):
        return None
    factor = {"k": 1e3, "K": 1e3, "M": 1e6}.get(plain[-1], 1.0) if len(plain) > 1 else 1.0
    value = parse_number(plain if factor == 1.0 else plain[:-1], "resistance", "ohm")
    return None if value is None else value * factor


def short_places(harness: Harness, one: Isolation) -> tuple[str, ...]:
    """Where plus and minus of an output lie close enough to touch: names of lamps, else in words."""
    shorts = (fault for fault in all_faults(harness) if fault.kind is FaultKind.SHORT)
    return tuple(
        harness.lamp(fault.lamp).name if fault.lamp else fault_words(harness, fault)
        for fault in shorts
        if one.output in touched_outputs(harness, fault)
    )


# --- output by output -----------------------------------------------------------------------------


def output_tests(harness: Harness, battery_v: float | None = None) -> tuple[OutputTest, ...]:
    """One test for each output that carries lamps, in the order of the blocks, at nominal volts by default.

    The span of current is that of LEDs of the lowest and highest forward voltage and `CURRENT_TOLERANCE`.
    NotSolved where the network has no working point.
    """
    if battery_v is None:
        battery_v = volts(harness.supply).nominal_v
    lit = lit_lamps(harness)
    tags = {key: record.tag for key, record in harness.ledger.live().items()}
    polarity = harness.controller.switched_polarity
    usual = conditions_of(harness.settings)
    found = []
    for block, output in harness.controller.outputs():
        lamps = [lamp for lamp in harness.lamps if lit.get(lamp.id) == output.number]
        if not lamps:
            continue
        drawn = [
            as_wired(
                harness,
                supply_v=battery_v,
                on=(output.number,),
                conditions=attrs.evolve(usual, spread=spread),
            ).output_ma[output.number]
            for spread in (Spread.HIGH, Spread.TYPICAL, Spread.LOW)
        ]
        ref = f"{block.name}.{output.pin}"
        found.append(
            OutputTest(
                output=output.number,
                words=net_words(harness, output.number),
                lamps=tuple(
                    LampTest(
                        lamp_id=lamp.id, name=lamp.name, tag=tags.get(origin_name(lamp.id, polarity), "")
                    )
                    for lamp in lamps
                ),
                tags=tuple(tags[wire.key] for wire in _on_pin(harness, ref) if wire.key in tags),
                battery_v=battery_v,
                usual_ma=drawn[1],
                least_ma=min(drawn) * (1 - CURRENT_TOLERANCE),
                most_ma=max(drawn) * (1 + CURRENT_TOLERANCE),
            )
        )
    return tuple(found)


def _on_pin(harness: Harness, ref: str) -> tuple[Wire, ...]:
    return tuple(
        wire
        for wire in derive(harness).wires
        if wire.controller_end.kind is EndKind.PIN and wire.controller_end.ref == ref
    )


def current_verdict(test: OutputTest, current_ma: float) -> str:
    """ "" where a current is within its span, else what is wrong with it. BadValue below 0."""
    if not (math.isfinite(current_ma) and current_ma >= 0):
        raise BadValue("current", f"{current_ma:g} mA", limit="0 mA or more")
    span = f"{test.least_ma:.0f} to {test.most_ma:.0f} mA is right"
    if current_ma > test.most_ma:
        return f"output {test.output}: {current_ma:g} mA is too much, {span}"
    if current_ma < test.least_ma:
        return f"output {test.output}: {current_ma:g} mA is too little, {span}"
    return ""


# --- the record -----------------------------------------------------------------------------------


def log_lamp(harness: Harness, test: OutputTest, lamp_id: str, sight: Sight, day: str) -> Harness:
    """What a lamp did with its output on, in the history of its switched wire. NotThere without a tag."""
    one = next(lamp for lamp in test.lamps if lamp.lamp_id == lamp_id)
    return editing.log_event(harness, one.tag, TESTED, f"{sight.value} with output {test.output}", day)


def log_all_lit(harness: Harness, test: OutputTest, day: str) -> Harness:
    """All lamps of an output light as they should."""
    for lamp in test.lamps:
        harness = log_lamp(harness, test, lamp.lamp_id, Sight.LIT, day)
    return harness


def log_current(harness: Harness, test: OutputTest, current_ma: float, day: str) -> Harness:
    """The current of an output, in the history of the wires on its pin. BadValue below 0."""
    verdict = "right" if not current_verdict(test, current_ma) else "wrong"
    span = f"{test.least_ma:.0f} to {test.most_ma:.0f} mA"
    note = f"output {test.output}: {current_ma:g} mA, {verdict} ({span})"
    for tag in test.tags:
        harness = editing.log_event(harness, tag, MEASURED, note, day)
    return harness


def log_isolation(harness: Harness, one: Isolation, ohm: float | None, day: str) -> Harness:
    """The resistance from the common to an output's pin; None for over the meter's range."""
    tags = {key: record.tag for key, record in harness.ledger.live().items()}
    verdict = "wrong" if isolation_verdict(one, ohm) else "right"
    for wire in _on_pin(harness, one.ref):
        if wire.key in tags:
            note = f"common to its pin: {ohm_words(ohm)}, {verdict}"
            harness = editing.log_event(harness, tags[wire.key], MEASURED, note, day)
    return harness


def log_repair(harness: Harness, trace: Trace, faults: Faults, note: str, day: str) -> Harness:
    """What was found and mended, in the history of the wires it was on.

    The lamps that it put out are to be tested again: their switched wires say so.
    """
    polarity = harness.controller.switched_polarity
    live = harness.ledger.live()
    tags = dict.fromkeys(tag for fault in faults for tag in fault_tags(harness, fault))
    odd = dict.fromkeys(live[key].tag for lamp in trace.odd if (key := origin_name(lamp, polarity)) in live)
    for tag in tags:
        harness = editing.log_event(harness, tag, REPAIRED, note, day)
    mended = f"{', '.join(list(tags)[:3])}{f' and {len(tags) - 3} more' if len(tags) > 3 else ''} mended"
    for tag in odd:
        if tag not in tags:
            harness = editing.log_event(harness, tag, TEST_AGAIN, mended, day)
    return harness


def is_repair_logged(harness: Harness, faults: Faults, note: str) -> bool:
    """Whether the histories of the wires say this of a repair already."""
    tags = [tag for fault in faults for tag in fault_tags(harness, fault)]
    return bool(tags) and all(
        any((event.what, event.note) == (REPAIRED, note) for event in harness.ledger.get(tag).events)
        for tag in tags
    )


def last_sights(harness: Harness) -> Mapping[str, tuple[str, Sight]]:
    """The day and outcome of the last test of every lamp that was tested, by lamp id."""
    polarity = harness.controller.switched_polarity
    live = harness.ledger.live()
    found: dict[str, tuple[str, Sight]] = {}
    for lamp in harness.lamps:
        record = live.get(origin_name(lamp.id, polarity))
        for event in record.events if record else ():
            sight = _sight_of(event.note) if event.what == TESTED else None
            if sight is not None:
                found[lamp.id] = (event.day, sight)
            elif event.what in _SAYS_NOTHING_MORE:
                found.pop(lamp.id, None)  # what was seen before says nothing any more
    return found


@attrs.frozen(kw_only=True)
class Readings:
    """The last readings in the histories: ohm from the common by pin (inf over range), mA by output.

    `ohm_days` and `current_days` are the days of the same; `current_words` says what was right for a current.
    """

    ohms: Mapping[str, float]
    currents_ma: Mapping[int, float]
    ohm_days: Mapping[str, str]
    current_days: Mapping[int, str]
    current_words: Mapping[int, str]


def last_readings(harness: Harness) -> Readings:
    """What was measured last at every pin and of every output, since the last repair there."""
    ohms: dict[str, float] = {}
    currents: dict[int, float] = {}
    ohm_days: dict[str, str] = {}
    current_days: dict[int, str] = {}
    current_words: dict[int, str] = {}
    live = harness.ledger.live()
    for wire in derive(harness).wires:
        if wire.output is None or wire.controller_end.kind is not EndKind.PIN or wire.key not in live:
            continue
        for event in live[wire.key].events:
            ohm, current = _OHM_NOTE.match(event.note), _CURRENT_NOTE.match(event.note)
            if event.what in _SAYS_NOTHING_MORE:
                ohms.pop(wire.controller_end.ref, None)
                currents.pop(wire.output, None)
            elif event.what == MEASURED and ohm:
                ohms[wire.controller_end.ref] = _ohm_of(ohm)
                ohm_days[wire.controller_end.ref] = event.day
            elif event.what == MEASURED and current and int(current[1]) == wire.output:
                currents[wire.output] = float(current[2])
                current_days[wire.output] = event.day
                current_words[wire.output] = event.note.partition(": ")[2]
    return Readings(
        ohms=ohms,
        currents_ma=currents,
        ohm_days=ohm_days,
        current_days=current_days,
        current_words=current_words,
    )


_OHM_NOTE = re.compile(r"common to its pin: (?:over range|([0-9.e+-]+) ([kM]?)ohm), ")
_FACTORS = {"": 1.0, "k": 1e3, "M": 1e6}


def _ohm_of(note: re.Match[str]) -> float:
    return float(note[1]) * _FACTORS[note[2]] if note[1] else math.inf


_CURRENT_NOTE = re.compile(r"output (\d+): ([0-9.e+-]+) mA, ")


def _sight_of(note: str) -> Sight | None:
    words, _, _ = note.partition(" with output ")
    return next((sight for sight in Sight if sight.value == words), None)


def trace_of_tests(harness: Harness, battery_v: float | None = None) -> Trace:
    """A trace with what the last test of every lamp showed, and the pins at which a meter found a short."""
    trace = begin(harness, battery_v=battery_v)
    for ref, ohm in last_readings(harness).ohms.items():
        if ohm < SHORT_BELOW_OHM:
            trace = answer(trace, Probe(kind=ProbeKind.OHM, ref=pin_node(ref)), TOUCHING)
    for lamp, (_, sight) in last_sights(harness).items():
        if lamp in trace.simulator.outputs:
            trace = see(trace, lamp, sight)
    return trace


def record_table(harness: Harness) -> Table:
    """Every check, test, reading and repair, by day: the dated record for paper.

    Histories keep days and no hours: within a day it is the order of the work, checks first, then the
    resistances, then what was tested output by output, and of one wire as it happened.
    """
    words = {item.id: item.words for item in checklist(harness)}
    rows: list[tuple[tuple[str, int, int], tuple[str, ...]]] = [
        ((one.day, 0, 0), (one.day, "", CHECKED, words[one.id], ""))
        for one in harness.checked
        if one.id in words
    ]
    for record in harness.ledger:
        day, stage, place = "", 1, 0
        meaning = record.meaning if record.live else f"{record.meaning} (retired)"
        for event in record.events:
            if event.what not in RECORDED:
                continue
            ohm = _OHM_NOTE.match(event.note)
            if event.day != day:
                day, stage, place = event.day, 1, 0
            stage, place = max(stage, 1 if ohm else 2), place + 1
            note = event.note
            if ohm:  # as it is written now, also where it was written before
                note = f"common to its pin: {ohm_words(_ohm_of(ohm))}, {note[ohm.end() :]}"
            rows.append(((event.day, stage, place), (event.day, record.tag, event.what, note, meaning)))
    rows.sort(key=lambda row: row[0])
    return Table(
        title="Tests, readings and repairs so far",
        columns=("day", "tag", "what", "result", "wire"),
        rows=tuple(row for _, row in rows),
    )
