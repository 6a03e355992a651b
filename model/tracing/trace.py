"""From what is seen and measured to what is wrong: every possible fault is held against it.

A `Trace` is a value; each step gives a new one, so that taking a step back is keeping the old one. What
to test next is in model.tracing.proposing.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from enum import StrEnum
from itertools import islice
from types import MappingProxyType

import attrs

from model.errors import BadValue, NotThere
from model.harness import Harness
from model.memo import by_identity
from model.tracing.behaviour import Faults, Sight, Simulator
from model.tracing.fault_reach import faults_by_lamp, touched_lamps
from model.tracing.fault_words import fault_places, fault_words, node_words, place_words
from model.tracing.faults import PRIOR, Fault, FaultKind, all_faults

PAIR_SHARE = 0.02
"""How much less likely a second fault at the same time is; common practice, no source."""

METER_TOLERANCE_V = 0.3
METER_TOLERANCE_SHARE = 0.04
"""A reading may be off by so much, for the meter and for LEDs that differ; common practice, no source."""

SOUND = "sound"
"""Reading of a look at a place where nothing is wrong."""

LOOSE: Mapping[FaultKind, float] = MappingProxyType(
    {
        FaultKind.JOINT_OPEN_ONE: 0.3,
        FaultKind.JOINT_RESISTS: 0.3,
        FaultKind.PLUG_OPEN: 0.3,
        FaultKind.PLUG_RESISTS: 0.3,
        FaultKind.BROKEN_LAMP_END: 0.2,
        FaultKind.BROKEN_CONTROLLER_END: 0.2,
        FaultKind.JOINT_OPEN_ALL: 0.2,
        FaultKind.COMMON_LOST: 0.2,
        FaultKind.SHORT: 0.1,
        FaultKind.LED_OPEN: 0.05,
        FaultKind.OUTPUT_DEAD: 0.02,
    }
)
"""How well a fault of a kind explains a lamp that flickers; common practice, no source."""

_AT_ITS_LAMP = frozenset((FaultKind.SHORT, FaultKind.LED_OPEN, FaultKind.LED_SHORT, FaultKind.LED_REVERSED))
"""Faults with which the lamp they are at is never lit."""

_UNSURE = 0.6
"""Weight of a sight that is one of several a fault may give; common practice, no source."""

_MOST_PAIRS = 200
_PAIRED_OF_A_KIND = 12


class ProbeKind(StrEnum):
    """The ways to find out more."""

    SEE = "see"
    SWITCH = "switch"
    VOLTS = "volts"
    DIODE = "diode"
    LOOK = "look"


@attrs.frozen(kw_only=True)
class Probe:
    """One test. `ref` is a lamp's id (SEE, SWITCH, DIODE), a node (VOLTS) or a place (LOOK).

    `on` is the only output that is switched on, None for none.
    """

    kind: ProbeKind
    ref: str
    on: int | None = None


@attrs.frozen(kw_only=True)
class Answer:
    """What came of a test: volts for a meter, else a code of `outcomes`."""

    probe: Probe
    reading: float | str


@attrs.frozen(kw_only=True, eq=False)
class Trace:
    """What is known: how lamps behave, and the answers of tests. `refused` are tests that can't be made."""

    simulator: Simulator = attrs.field(repr=False)
    battery_v: float | None = None
    sights: Mapping[str, Sight] = attrs.field(factory=dict)
    answers: tuple[Answer, ...] = ()
    refused: tuple[Probe, ...] = ()

    @property
    def harness(self) -> Harness:
        """The harness that is traced."""
        return self.simulator.harness

    @property
    def odd(self) -> tuple[str, ...]:
        """The lamps that do not do as they should."""
        return tuple(lamp for lamp, sight in self.sights.items() if sight is not Sight.LIT)


@attrs.frozen(kw_only=True)
class Suspect:
    """One fault, or two at once, that explains all that is known; `share` of 1 is certainty."""

    faults: Faults
    words: str
    reason: str
    share: float


def begin(harness: Harness, *, battery_v: float | None = None) -> Trace:
    """Nothing seen yet. `battery_v` is what the battery has now; None takes its nominal volts."""
    return Trace(simulator=Simulator(harness, battery_v), battery_v=battery_v)


def with_battery(trace: Trace, battery_v: float | None) -> Trace:
    """The same with other volts of the battery. BadValue outside of extra-low voltage."""
    return attrs.evolve(trace, simulator=Simulator(trace.harness, battery_v), battery_v=battery_v)


def see(trace: Trace, lamp_id: str, sight: Sight | None) -> Trace:
    """A lamp behaves so; None takes that back. NotThere for a lamp that can't light as planned."""
    if lamp_id not in trace.simulator.outputs:
        lamp = trace.harness.find_lamp(lamp_id)
        raise NotThere(
            f"lamp {lamp.name if lamp else lamp_id}",
            "is not wired to an output yet",
            remedy="Give it an output and walk its run.",
        )
    sights = dict(trace.sights)
    sights.pop(lamp_id, None)
    if sight is not None:
        sights[lamp_id] = sight
    return attrs.evolve(trace, sights=MappingProxyType(sights))


def see_rest(trace: Trace, sight: Sight = Sight.LIT) -> Trace:
    """All lamps of which nothing is known yet behave so."""
    sights = dict.fromkeys(trace.simulator.outputs, sight) | dict(trace.sights)
    return attrs.evolve(trace, sights=MappingProxyType(sights))


def refuse(trace: Trace, probe: Probe) -> Trace:
    """This test can't be made."""
    return attrs.evolve(trace, refused=(*trace.refused, probe))


def answer(trace: Trace, probe: Probe, reading: float | str) -> Trace:
    """The test gave this: volts, else a sight or a code of `outcomes`. BadValue for what can't be one."""
    if probe.kind is ProbeKind.SEE:
        if not isinstance(reading, str) or reading not in {sight.value for sight in Sight}:
            raise BadValue("what is seen", str(reading), limit=", ".join(Sight))
        return see(trace, probe.ref, Sight(reading))
    if probe.kind is ProbeKind.VOLTS and (isinstance(reading, str) or not math.isfinite(reading)):
        raise BadValue("reading", str(reading), limit="volts, for example 6.9")
    if probe.kind is not ProbeKind.VOLTS and not isinstance(reading, str):
        raise BadValue("what is seen", str(reading), limit="one of the answers proposed")
    return attrs.evolve(trace, answers=(*trace.answers, Answer(probe=probe, reading=reading)))


def carried_over(trace: Trace, harness: Harness) -> Trace:
    """The same trace on a harness that was edited meanwhile.

    What was seen of lamps that still can light is kept; what was measured only where all the wiring is
    as it was.
    """
    old = trace.harness
    if harness is old:
        return trace
    new = begin(harness, battery_v=trace.battery_v)
    sights = {lamp: sight for lamp, sight in trace.sights.items() if lamp in new.simulator.outputs}
    same = all(getattr(old, field) == getattr(harness, field) for field in _WIRING)
    return attrs.evolve(
        new,
        sights=MappingProxyType(sights),
        answers=trace.answers if same else (),
        refused=trace.refused if same else (),
    )


_WIRING = ("supply", "controller", "waypoints", "legs", "lamps", "joints", "contacts", "settings")


# --- what a fault would give ----------------------------------------------------------------------


def fault_code(fault: Fault) -> str:
    """The reading of a look that shows this fault."""
    return f"{fault.kind.name} {fault.wire or fault.lamp or fault.ref}"


def outcomes(trace: Trace, faults: Faults, probe: Probe) -> frozenset[str]:
    """The readings that a test other than of volts can give with these faults."""
    simulator = trace.simulator
    if probe.kind is ProbeKind.SEE:
        return frozenset(sight.value for sight in simulator.look(faults, probe.ref))
    if probe.kind is ProbeKind.SWITCH:
        found = simulator.lit_by(faults, probe.ref)
        return frozenset(map(str, found)) or frozenset(("none",))
    if probe.kind is ProbeKind.DIODE:
        own = {fault.kind for fault in faults if fault.lamp == probe.ref}
        return frozenset((next((_DIODE[kind] for kind in own if kind in _DIODE), "lights"),))
    harness = trace.harness
    seen = [fault_code(fault) for fault in faults if probe.ref in fault_places(harness, fault)]
    return frozenset(seen) or frozenset((SOUND,))


_DIODE = {
    FaultKind.LED_OPEN: "dark both ways",
    FaultKind.LED_SHORT: "shorted",
    FaultKind.SHORT: "shorted",
    FaultKind.LED_REVERSED: "lights the wrong way round",
}


def volts_of(trace: Trace, faults: Faults, probe: Probe) -> tuple[tuple[float, float], ...]:
    """The spans of volts that a meter can read with these faults, without its tolerance."""
    on = frozenset(() if probe.on is None else (probe.on,))
    return trace.simulator.meter_v(faults, probe.ref, on)


def tolerance_v(trace: Trace) -> float:
    """By how much a reading may differ from what is worked out."""
    return METER_TOLERANCE_V + METER_TOLERANCE_SHARE * trace.simulator.battery_v


# --- suspects -------------------------------------------------------------------------------------


@by_identity
def suspects(trace: Trace) -> tuple[Suspect, ...]:
    """What explains all that is known, likeliest first; pairs only where no single fault does.

    Empty where nothing is seen to be wrong, and where nothing known explains it.
    """
    if not trace.odd:
        return ()
    found = _weighed(trace, ((fault,) for fault in _single(trace))) or _weighed(trace, _pairs(trace))
    whole = sum(weight for _, weight in found)
    return tuple(
        Suspect(
            faults=faults,
            words=faults_words(trace.harness, faults),
            reason=_reason(trace, faults),
            share=weight / whole,
        )
        for faults, weight in found
    )


def _weighed(trace: Trace, hypotheses: Iterable[Faults]) -> list[tuple[Faults, float]]:
    found = [(faults, weight) for faults in hypotheses if (weight := _weight(trace, faults))]
    return sorted(found, key=lambda one: -one[1])


def faults_words(harness: Harness, faults: Faults) -> str:
    """One fault or two in words."""
    return "; and ".join(fault_words(harness, fault) for fault in faults)


def _single(trace: Trace) -> tuple[Fault, ...]:
    """The single faults that can touch every lamp that is not as it should be."""
    by_lamp = faults_by_lamp(trace.harness)
    lists = sorted((by_lamp.get(lamp, ()) for lamp in trace.odd), key=len)
    others = [frozenset(faults) for faults in lists[1:]]
    return tuple(fault for fault in lists[0] if all(fault in one for one in others))


def _weight(trace: Trace, faults: Faults) -> float:
    """How likely these faults are after all that is known; 0 where they contradict it."""
    if any(fault.kind in _AT_ITS_LAMP and trace.sights.get(fault.lamp) is Sight.LIT for fault in faults):
        return 0.0
    weight = PAIR_SHARE ** (len(faults) - 1) * math.prod(PRIOR[fault.kind] for fault in faults)
    felt = [lamp for lamp in _felt(trace, faults) if trace.sights.get(lamp) is Sight.LIT]
    seen = [*trace.odd, *felt]
    # What follows from the wiring alone rules most of them out, at next to no cost.
    quick = [trace.simulator.quick_look(faults, lamp) for lamp in seen]
    for lamp, looks in zip(seen, quick, strict=True):
        if looks is not None and not _sight_weight(trace, faults, lamp, trace.sights[lamp]):
            return 0.0
    for lamp in seen:
        weight *= _sight_weight(trace, faults, lamp, trace.sights[lamp])
        if not weight:
            return 0.0
    for one in trace.answers:
        weight *= _answer_weight(trace, faults, one)
        if not weight:
            return 0.0
    return weight


def _felt(trace: Trace, faults: Faults) -> tuple[str, ...]:
    """The lamps that feel these faults; all others are lit whatever is asked of them."""
    touched = (touched_lamps(trace.harness, fault) for fault in faults)
    return tuple(dict.fromkeys(lamp for lamps in touched for lamp in sorted(lamps)))


def _sight_weight(trace: Trace, faults: Faults, lamp: str, sight: Sight) -> float:
    looks = trace.simulator.look(faults, lamp)
    if sight in looks:
        return 1.0 if len(looks) == 1 else _UNSURE
    if sight is Sight.FLICKERS and looks & {Sight.DARK, Sight.DIM}:
        return max(LOOSE.get(fault.kind, 0.0) for fault in faults)
    if sight is Sight.DARK and any(
        fault.kind is FaultKind.SHORT and lamp in touched_lamps(trace.harness, fault) for fault in faults
    ):
        return 0.3  # the output or a fuse has given up
    return 0.0


def _answer_weight(trace: Trace, faults: Faults, one: Answer) -> float:
    if isinstance(one.reading, str):
        found = outcomes(trace, faults, one.probe)
        return 1.0 / len(found) if one.reading in found else 0.0
    spans = volts_of(trace, faults, one.probe)
    off = tolerance_v(trace)
    # A fault that may give anything explains a reading less well than one that must give just this.
    return sum(
        1.0 / (1.0 + (high - low)) / len(spans)
        for low, high in spans
        if low - off <= one.reading <= high + off
    )


def _pairs(trace: Trace) -> Iterable[Faults]:
    """Two faults at once that together touch all that is odd, the likeliest first, not more than some."""
    by_lamp = faults_by_lamp(trace.harness)
    odd = trace.odd
    explains: dict[Fault, frozenset[str]] = {}
    for lamp in odd:
        for fault in by_lamp.get(lamp, ()):
            if fault in explains:
                continue
            if all(
                _sight_weight(trace, (fault,), other, Sight.LIT)
                for other in _felt(trace, (fault,))
                if trace.sights.get(other) is Sight.LIT
            ):
                ones = [one for one in odd if _sight_weight(trace, (fault,), one, trace.sights[one])]
                if ones:
                    explains[fault] = frozenset(ones)
    groups: dict[frozenset[str], list[Fault]] = {}
    for fault in sorted(explains, key=lambda fault: -PRIOR[fault.kind]):
        group = groups.setdefault(explains[fault], [])
        if len(group) < _PAIRED_OF_A_KIND:
            group.append(fault)
    whole = frozenset(odd)
    sets = list(groups)
    found = [
        (one, other)
        for place, first in enumerate(sets)
        for second in sets[place:]
        if first | second == whole
        for one in groups[first]
        for other in groups[second]
        if one != other
    ]
    found.sort(key=lambda pair: -PRIOR[pair[0].kind] * PRIOR[pair[1].kind])
    return islice(found, _MOST_PAIRS)


def _reason(trace: Trace, faults: Faults) -> str:
    count = len(trace.odd)
    words = "explains it" if count == 1 else f"explains all {count}"
    if len(faults) > 1:
        words += ", but two faults at once are unlikely"
    unseen = [
        trace.harness.lamp(lamp).name
        for lamp in _felt(trace, faults)
        if lamp not in trace.sights
        and (looks := trace.simulator.quick_look(faults, lamp)) is not None
        and Sight.LIT not in looks
    ]
    if unseen:
        more = f" and {len(unseen) - 2} more" if len(unseen) > 2 else ""
        words += f"; then {', '.join(unseen[:2])}{more} can't be right either"
    if trace.answers:
        readings = len(trace.answers)
        words += f"; the {'reading fits' if readings == 1 else f'{readings} readings fit'}"
    return words


# --- words ----------------------------------------------------------------------------------------


def probe_words(harness: Harness, probe: Probe) -> str:
    """The test as one would tell somebody to do it."""
    if probe.kind is ProbeKind.SEE:
        return f"look at {harness.lamp(probe.ref).name}, output {harness.lamp(probe.ref).output} on"
    if probe.kind is ProbeKind.SWITCH:
        return f"switch the outputs on one by one: which lights {harness.lamp(probe.ref).name}?"
    if probe.kind is ProbeKind.VOLTS:
        state = "all outputs off" if probe.on is None else f"output {probe.on} on"
        return f"meter from battery minus to {node_words(harness, probe.ref)}, {state}"
    if probe.kind is ProbeKind.DIODE:
        name = harness.lamp(probe.ref).name
        return f"battery off, diode test across {name}: does it light?"
    kind = probe.ref.partition(" ")[0]
    verb = {"joint": "open", "plug": "pull"}.get(kind, "go to")
    return f"{verb} {place_words(harness, probe.ref)}, look and wiggle"


def reading_words(trace: Trace, probe: Probe, code: str) -> str:
    """A reading that is no number, in words."""
    if probe.kind is ProbeKind.SWITCH:
        return "no output" if code == "none" else f"output {code}"
    if probe.kind is not ProbeKind.LOOK:
        return code
    if code == SOUND:
        return "all sound there"
    shown = next((one for one in all_faults(trace.harness) if fault_code(one) == code), None)
    return fault_words(trace.harness, shown) if shown else code
