"""From what is seen and measured to what is wrong: every possible fault is held against it.

A `Trace` is a value; each step gives a new one, so that taking a step back is keeping the old one. What
to test next is in model.tracing.proposing.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import StrEnum
from functools import cached_property
from itertools import islice
from types import MappingProxyType

import attrs

from model.electrics.lamps import all_lamps
from model.electrics.network import lamp_node
from model.errors import BadValue, NotThere
from model.harness import Harness, Polarity
from model.memo import by_identity
from model.tracing.behaviour import Faults, Sight, Simulator, sights_of_share
from model.tracing.fault_reach import direct_lamps, faults_by_lamp, is_plain, touched_lamps
from model.tracing.fault_words import fault_places, fault_words
from model.tracing.faults import PRIOR, SPANS, Fault, FaultKind
from model.tracing.ohms import short_to_common, shorted_across

PAIR_SHARE = 0.02
"""How much less likely a second fault at the same time is; common practice, no source."""

METER_TOLERANCE_V = 0.3
METER_TOLERANCE_SHARE = 0.04
"""A reading may be off by so much, for the meter and for LEDs that differ; common practice, no source."""

OUTSIDE_V = 1.0
OUTSIDE_SHARE = 0.05
"""Where nothing fits, a reading so far outside counts for so much; common practice, no source."""

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
_MOST_PAIRS_TRIED = 5000


class ProbeKind(StrEnum):
    """The ways to find out more."""

    SEE = "see"
    SWITCH = "switch"
    VOLTS = "volts"
    DIODE = "diode"
    OHM = "ohm"
    LOOK = "look"


@attrs.frozen(kw_only=True)
class Probe:
    """One test. `ref` is a lamp's id (SEE, SWITCH, DIODE), a node (VOLTS, OHM) or a place (LOOK).

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
    """What is known: how lamps behave, and the answers of tests.

    `refused` are tests that can't be made, `cleared` faults that were looked for and are not there.
    """

    simulator: Simulator = attrs.field(repr=False)
    battery_v: float | None = None
    sights: Mapping[str, Sight] = attrs.field(factory=dict)
    answers: tuple[Answer, ...] = ()
    refused: tuple[Probe, ...] = ()
    cleared: frozenset[Fault] = frozenset()

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
    share: float
    _known: Trace = attrs.field(repr=False, eq=False)

    @cached_property
    def words(self) -> str:
        """What is wrong. Put into words only where it is shown: there may be a thousand suspects."""
        return faults_words(self._known.harness, self.faults)

    @cached_property
    def reason(self) -> str:
        """Why it is a suspect."""
        return _reason(self._known, self.faults)


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


def clear(trace: Trace, faults: Faults) -> Trace:
    """These faults are not there, whatever speaks for them; nothing with one of them is suspected again."""
    return attrs.evolve(trace, cleared=trace.cleared.union(faults))


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
        cleared=trace.cleared if same else frozenset(),
    )


_WIRING = ("supply", "controller", "waypoints", "legs", "lamps", "joints", "contacts", "settings")


# --- what a fault would give ----------------------------------------------------------------------


def fault_code(fault: Fault) -> str:
    """The reading of a look that shows this fault: no two faults have the same."""
    about = (
        fault.wire,
        fault.other,
        fault.lamp,
        fault.ref,
        "" if fault.output is None else f"{fault.output}",
    )
    return " ".join((fault.kind.name, *(part for part in about if part)))


def outcomes(trace: Trace, faults: Faults, probe: Probe) -> frozenset[str]:
    """The readings that a test other than of volts can give with these faults."""
    simulator = trace.simulator
    if probe.kind is ProbeKind.SEE:
        return frozenset(sight.value for sight in simulator.look(faults, probe.ref))
    if probe.kind is ProbeKind.SWITCH:
        found = simulator.lit_by(faults, probe.ref)
        return frozenset(map(str, found)) or frozenset(("none",))
    if probe.kind is ProbeKind.OHM:
        return frozenset((TOUCHING if short_to_common(simulator, faults, probe.ref) else APART,))
    if probe.kind is ProbeKind.DIODE:
        return _diode_outcomes(trace, faults, probe.ref)
    harness = trace.harness
    seen = [fault_code(fault) for fault in faults if probe.ref in fault_places(harness, fault)]
    return frozenset(seen) or frozenset((SOUND,))


def _diode_outcomes(trace: Trace, faults: Faults, lamp: str) -> frozenset[str]:
    plus, minus = (lamp_node(lamp, polarity) for polarity in (Polarity.PLUS, Polarity.MINUS))
    felt = any(lamp in touched_lamps(trace.harness, fault) for fault in faults)
    if felt and shorted_across(trace.simulator, faults, plus, minus):
        return frozenset(("shorted",))
    own = {fault.kind for fault in faults if fault.lamp == lamp}
    shows = next((_DIODE[kind] for kind in own if kind in _DIODE), "lights")
    # A meter that has too few volts for the LED leaves a sound one dark.
    mute = shows.startswith("lights") and beyond_diode_test(trace.harness, lamp)
    return frozenset((shows, "dark both ways") if mute else (shows,))


def beyond_diode_test(harness: Harness, lamp: str) -> bool:
    """Whether the LED of a lamp needs more than many meters give in the diode test."""
    return all_lamps(harness)[lamp].led.vf_v > METER_DIODE_V


METER_DIODE_V = 2.4
"""Many meters give no more than 3 V, and less of it to an LED behind its resistor; common practice."""

TOUCHING, APART = "touching", "apart"
"""Readings of ohm between plus and minus."""

_DIODE = {
    FaultKind.LED_OPEN: "dark both ways",
    FaultKind.LED_SHORT: "shorted",
    FaultKind.LED_REVERSED: "lights the wrong way round",
}

DIODE_READINGS = ("lights", *dict.fromkeys(_DIODE.values()))
"""All that a diode test can show."""


def volts_of(trace: Trace, faults: Faults, probe: Probe) -> tuple[tuple[float, float], ...]:
    """The spans of volts that a meter can read with these faults, without its tolerance.

    Those that the readings so far leave: a short's output that has given up holds no volts elsewhere.
    """
    spans = _spans(trace, faults, probe)
    read = _read_volts(trace)
    if len(spans) < 2 or not read:
        return spans
    fits = _state_weights(trace, faults, read)
    return tuple(span for span, fit in zip(spans, fits, strict=False) if fit) or spans


def _spans(trace: Trace, faults: Faults, probe: Probe) -> tuple[tuple[float, float], ...]:
    on = frozenset(() if probe.on is None else (probe.on,))
    return trace.simulator.meter_v(faults, probe.ref, on)


def _read_volts(trace: Trace) -> list[tuple[Probe, float]]:
    return [(one.probe, one.reading) for one in trace.answers if not isinstance(one.reading, str)]


def floats_at(trace: Trace, faults: Faults, probe: Probe) -> bool:
    """Whether a meter there reads, with these faults, what it gets through an LED at most."""
    on = frozenset(() if probe.on is None else (probe.on,))
    return trace.simulator.floats(faults, probe.ref, on)


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
    singles = [(fault,) for fault in _single(trace) if fault not in trace.cleared]
    found = list(_weighed(trace, singles))
    if not found:
        found = list(islice(_weighed(trace, _pairs(trace)), _MOST_PAIRS))
        if _read_volts(trace):
            found += _weighed(trace, singles, slack=True)
    found.sort(key=lambda one: -one[1])
    whole = sum(weight for _, weight in found)
    # A copy: what is remembered of a trace must not hold on to it.
    known = attrs.evolve(trace)
    return tuple(Suspect(faults=faults, share=weight / whole, known=known) for faults, weight in found)


def _weighed(
    trace: Trace, hypotheses: Iterable[Faults], *, slack: bool = False
) -> Iterator[tuple[Faults, float]]:
    for faults in hypotheses:
        weight = _weight(trace, faults, slack=slack)
        if weight:
            yield faults, weight


def faults_words(harness: Harness, faults: Faults) -> str:
    """One fault or two in words."""
    return "; and ".join(fault_words(harness, fault) for fault in faults)


def _single(trace: Trace) -> tuple[Fault, ...]:
    """The single faults that can touch every lamp that is not as it should be."""
    by_lamp = faults_by_lamp(trace.harness)
    lists = sorted((by_lamp.get(lamp, ()) for lamp in trace.odd), key=len)
    others = [frozenset(faults) for faults in lists[1:]]
    return tuple(fault for fault in lists[0] if all(fault in one for one in others))


def _weight(trace: Trace, faults: Faults, *, slack: bool = False) -> float:
    """How likely these faults are after all that is known; 0 where they contradict it."""
    if any(fault.kind in _AT_ITS_LAMP and trace.sights.get(fault.lamp) is Sight.LIT for fault in faults):
        return 0.0
    weight = PAIR_SHARE ** (len(faults) - 1) * math.prod(PRIOR[fault.kind] for fault in faults)
    felt = [lamp for lamp in _felt(trace, faults) if trace.sights.get(lamp) is Sight.LIT]
    seen = [*trace.odd, *felt]
    # What follows from the wiring alone rules most of them out, at next to no cost.
    for lamp in seen:
        looks = trace.simulator.quick_look(faults, lamp)
        if looks is not None and not _sight_weight(trace, faults, lamp, trace.sights[lamp]):
            return 0.0
    for lamp in seen:
        weight *= _sight_weight(trace, faults, lamp, trace.sights[lamp])
        if not weight:
            return 0.0
    if len(faults) == 1 and faults[0].kind in SPANS and len(seen) > 1:
        weight *= _one_size_share(trace, faults, seen)
    for one in trace.answers:
        if isinstance(one.reading, str):
            found = outcomes(trace, faults, one.probe)
            weight *= 1.0 / len(found) if one.reading in found else 0.0
            if not weight:
                return 0.0
    read = _read_volts(trace)
    if read:
        fits = _state_weights(trace, faults, read, slack=slack)
        weight *= sum(fits) / len(fits)
    return weight


def _one_size_share(trace: Trace, faults: Faults, seen: Sequence[str]) -> float:
    """The share of the sizes a fault may have that give all lamps at once what is seen of them."""
    simulator = trace.simulator
    if not is_plain(trace.harness, {simulator.outputs[lamp] for lamp in seen}):
        return 1.0

    def gives(lamp: str, grade: float) -> bool:
        share = simulator.share(faults, lamp, frozenset((simulator.outputs[lamp],)), grade)
        return trace.sights[lamp] is Sight.FLICKERS or trace.sights[lamp] in sights_of_share(share)

    fitting = sum(all(gives(lamp, grade) for lamp in seen) for grade in _SIZES)
    return max(fitting / len(_SIZES), _BETWEEN_SIZES)


_SIZES = (0.0, 0.25, 0.5, 0.75, 1.0)
_BETWEEN_SIZES = 0.05
"""What fits at none of the sizes tried may still do so between two."""


def _felt(trace: Trace, faults: Faults) -> tuple[str, ...]:
    """The lamps that feel these faults, those on whose own way they are first.

    All others are lit whatever is asked of them.
    """
    both = [reach(trace.harness, fault) for reach in (direct_lamps, touched_lamps) for fault in faults]
    return tuple(dict.fromkeys(lamp for lamps in both for lamp in sorted(lamps)))


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


def _state_weights(
    trace: Trace, faults: Faults, read: Sequence[tuple[Probe, float]], *, slack: bool = False
) -> list[float]:
    """How well all readings of volts fit: one weight for each state that an output may be in.

    With `slack` readings a little outside of what is worked out count as well, but for less.
    """
    off = tolerance_v(trace)
    given = [_spans(trace, faults, probe) for probe, _ in read]
    weights = [1.0] * max(map(len, given))
    for spans, (_, reading) in zip(given, read, strict=True):
        for state in range(len(weights)):
            low, high = spans[min(state, len(spans) - 1)]
            # A fault that may give anything explains a reading less well than one that must give just this.
            fit = 1.0 / (1.0 + (high - low))
            beyond = max(low - reading, reading - high) - off
            if beyond > 0:
                fit *= OUTSIDE_SHARE if slack and beyond <= OUTSIDE_V else 0.0
            weights[state] *= fit
    return weights


def _pairs(trace: Trace) -> Iterable[Faults]:
    """Two faults at once that together explain all that is odd, the likeliest first, not more than some."""
    by_lamp = faults_by_lamp(trace.harness)
    odd = trace.odd
    explains: dict[Fault, frozenset[str]] = {}
    for lamp in odd:
        for fault in by_lamp.get(lamp, ()):
            if fault in explains or fault in trace.cleared:
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
    for fault in explains:
        groups.setdefault(explains[fault], []).append(fault)
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
    return found[:_MOST_PAIRS_TRIED]


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
    read = _read_volts(trace)
    if read and not any(_state_weights(trace, faults, read)):
        words += "; but a reading lies a little outside of what it should give"
    elif trace.answers:
        readings = len(trace.answers)
        words += f"; the {'reading fits' if readings == 1 else f'{readings} readings fit'}"
    return words
