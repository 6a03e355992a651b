"""What to test next: the test that tells most for the least effort, and how a trace ends."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from enum import StrEnum

import attrs

from model.electrics.network import end_node, lamp_node
from model.harness import Harness, Polarity
from model.memo import by_identity
from model.routing.wires import EndKind, Wire, derive
from model.tracing.behaviour import Sight
from model.tracing.fault_reach import touched_lamps
from model.tracing.fault_words import fault_places
from model.tracing.faults import FaultKind
from model.tracing.probe_words import reading_words
from model.tracing.trace import (
    APART,
    DIODE_READINGS,
    SOUND,
    TOUCHING,
    Probe,
    ProbeKind,
    Suspect,
    Trace,
    fault_code,
    floats_at,
    outcomes,
    suspects,
    tolerance_v,
    volts_of,
)

EFFORT: Mapping[str, float] = {
    "see": 1.0,
    "switch": 1.2,
    "volts pin": 1.3,
    "volts plug": 1.6,
    "volts lamp": 1.6,
    "volts joint": 3.0,
    "diode lamp": 1.8,
    "ohm pin": 1.5,
    "ohm plug": 1.7,
    "ohm lamp": 1.8,
    "look pin": 1.3,
    "look plug": 1.6,
    "look lamp": 1.5,
    "look joint": 3.0,
}
"""Trouble of a test against a glance at a lamp; a joint has a sleeve to open. Common practice, no source."""

OPENED = 1.3
"""A second test at a joint that is open already."""

HIDDEN_FACTOR = 4.0
"""A place that can't be reached any more has to be broken open; common practice, no source."""

CERTAIN_SHARE = 0.999
"""A suspect with this share counts as found; what is left beside it is still listed."""

_ODD_MEASURED = 4
_WEIGHED_MOST = 60
_WEIGHED_SHARE = 0.98
_LEAST_GAIN = 1e-4
_WIDE_V = 1.0
_EFFORT_POWER = 0.7


@attrs.frozen(kw_only=True)
class Expectation:
    """One reading a test may give, in words, and the suspects that would give it.

    `code` answers the test; for volts it is empty and `low_v` to `high_v` is the reading to expect.
    """

    words: str
    code: str
    suspects: tuple[Suspect, ...]
    low_v: float = math.nan
    high_v: float = math.nan


@attrs.frozen(kw_only=True)
class Proposal:
    """The test to make next, how much trouble it is, and what each reading would mean."""

    probe: Probe
    effort: float
    expectations: tuple[Expectation, ...]


class Standing(StrEnum):
    """How far a trace has come."""

    NOTHING_ODD = "nothing is wrong yet"
    OPEN = "more tests tell more"
    FOUND = "found"
    ALIKE = "can't be told apart"
    UNEXPLAINED = "nothing known explains it"


def standing(trace: Trace) -> Standing:
    """Whether one suspect is left, or several that no test tells apart, or more tests help."""
    if not trace.odd:
        return Standing.NOTHING_ODD
    left = suspects(trace)
    if not left:
        return Standing.UNEXPLAINED
    if len(left) == 1 or left[0].share >= CERTAIN_SHARE:
        return Standing.FOUND
    return Standing.OPEN if next_test(trace) is not None else Standing.ALIKE


@by_identity
def next_test(trace: Trace) -> Proposal | None:
    """The test that tells most for its effort, or None where none tells anything."""
    left = _weighty(suspects(trace))
    if len(left) < 2 or left[0].share >= CERTAIN_SHARE:
        return None
    best: Proposal | None = None
    most = 0.0
    known = {one.probe for one in trace.answers} | set(trace.refused)
    for probe in dict.fromkeys(_probes(trace, left)):
        if probe in known:
            continue
        groups = _groups(trace, probe, left)
        gain = _gain(groups)
        if gain < _LEAST_GAIN:
            continue
        effort = effort_of(trace, probe)
        if gain / effort**_EFFORT_POWER > most * (1 + 1e-9):
            most = gain / effort**_EFFORT_POWER
            best = Proposal(probe=probe, effort=effort, expectations=_expectations(trace, probe, groups))
    return best


@by_identity
def confirming_look(trace: Trace) -> Proposal | None:
    """Where one fault is left and nobody has seen it: the look that shows it, at the place of least trouble.

    None before that, and for what can't be seen from outside.
    """
    left = suspects(trace)
    if standing(trace) is not Standing.FOUND or len(left[0].faults) > 1:
        return None
    fault = left[0].faults[0]
    code = fault_code(fault)
    looks = [
        Probe(kind=ProbeKind.LOOK, ref=place)
        for place in sorted(fault_places(trace.harness, fault))
        if Probe(kind=ProbeKind.LOOK, ref=place) not in trace.refused
    ]
    if not looks or any(one.reading == code for one in trace.answers):
        return None
    probe = min(looks, key=lambda look: effort_of(trace, look))
    shown = Expectation(words=reading_words(trace, probe, code), code=code, suspects=left[:1])
    return Proposal(probe=probe, effort=effort_of(trace, probe), expectations=(shown,))


def _weighty(left: Sequence[Suspect]) -> Sequence[Suspect]:
    """The suspects to choose a test by: those that make up nearly all, and not too many."""
    whole = 0.0
    for place, suspect in enumerate(left[:_WEIGHED_MOST]):
        whole += suspect.share
        if whole >= _WEIGHED_SHARE:
            return left[: max(place + 1, 2)]
    return left[:_WEIGHED_MOST]


def effort_of(trace: Trace, probe: Probe) -> float:
    """The trouble of a test, with what is open already and what can't be reached."""
    if probe.kind in (ProbeKind.SEE, ProbeKind.SWITCH):
        return EFFORT[probe.kind.value]
    kind, _, ref = probe.ref.partition(" ")
    if probe.kind is ProbeKind.DIODE:
        kind, ref = "lamp", probe.ref
    effort = EFFORT[f"{probe.kind} {kind}"]
    if kind == "joint" and any(one.probe.ref == probe.ref for one in trace.answers):
        return OPENED
    return effort * (HIDDEN_FACTOR if _hidden(trace.harness, kind, ref) else 1.0)


def _hidden(harness: Harness, kind: str, ref: str) -> bool:
    if kind == "joint":
        joint = harness.find_joint(ref)
        point = harness.find_waypoint(joint.at) if joint else None
    elif kind == "lamp":
        lamp = harness.find_lamp(ref.rstrip("+-"))
        point = harness.find_waypoint(lamp.at) if lamp else None
    else:
        return False
    return point is not None and not point.reachable


# --- which tests there are ------------------------------------------------------------------------


def _probes(trace: Trace, left: Sequence[Suspect]) -> Iterator[Probe]:
    """All that could be tried, the least trouble first."""
    harness = trace.harness
    faults = [fault for suspect in left for fault in suspect.faults]
    unseen: dict[str, None] = {}
    for fault in faults:
        for lamp in sorted(touched_lamps(harness, fault)):
            if lamp not in trace.sights:
                unseen[lamp] = None
    for lamp in unseen:
        yield Probe(kind=ProbeKind.SEE, ref=lamp)
    for lamp in trace.odd:
        if trace.sights[lamp] is Sight.WRONG:
            yield Probe(kind=ProbeKind.SWITCH, ref=lamp)
    for lamp in trace.odd[:_ODD_MEASURED]:
        on = trace.simulator.outputs[lamp]
        for node in _nodes(harness).get(lamp, ()):
            yield Probe(kind=ProbeKind.VOLTS, ref=node, on=on)
            if trace.sights[lamp] is Sight.STAYS:
                yield Probe(kind=ProbeKind.VOLTS, ref=node)
    if any(fault.kind is FaultKind.SHORT for fault in faults):
        firsts = {trace.simulator.outputs[lamp]: lamp for lamp in reversed(trace.odd)}
        for lamp in firsts.values():
            for node in _switched_nodes(harness).get(lamp, ()):
                yield Probe(kind=ProbeKind.OHM, ref=node)
    for lamp in dict.fromkeys(fault.lamp for fault in faults if fault.lamp):
        yield Probe(kind=ProbeKind.DIODE, ref=lamp)
    for place in dict.fromkeys(place for fault in faults for place in sorted(fault_places(harness, fault))):
        yield Probe(kind=ProbeKind.LOOK, ref=place)


@by_identity
def _switched_nodes(harness: Harness) -> Mapping[str, tuple[str, ...]]:
    """The ends of the switched wires of each lamp at a pin, a plug or the lamp; joints lie under sleeves."""
    found: dict[str, dict[str, None]] = {}
    for wire in derive(harness).wires:
        for end in (wire.controller_end, wire.lamp_end):
            if wire.output is not None and end.kind is not EndKind.JOINT:
                for lamp in wire.lamps:
                    found.setdefault(lamp, {})[end_node(wire, end)] = None
    return {lamp: tuple(nodes) for lamp, nodes in found.items()}


@by_identity
def _nodes(harness: Harness) -> Mapping[str, tuple[str, ...]]:
    """The points that a meter can be held to on the ways of each lamp, the controller's first."""
    found: dict[str, dict[str, None]] = {}
    rank = {EndKind.PIN: 0, EndKind.PLUG: 1, EndKind.LAMP: 2, EndKind.JOINT: 3}
    ends: dict[str, list[tuple[int, str]]] = {}

    def add(wire: Wire) -> None:
        for lamp in wire.lamps:
            for end in (wire.controller_end, wire.lamp_end):
                ends.setdefault(lamp, []).append((rank[end.kind], end_node(wire, end)))

    for wire in derive(harness).wires:
        add(wire)
    for lamp, places in ends.items():
        nodes = dict.fromkeys(node for _, node in sorted(places, key=lambda one: one[0]))
        nodes.setdefault(lamp_node(lamp, Polarity.PLUS))
        found[lamp] = nodes
    return {lamp: tuple(nodes) for lamp, nodes in found.items()}


# --- what they tell -------------------------------------------------------------------------------


@attrs.frozen(kw_only=True)
class _Group:
    """Suspects that give one reading, each with the part of its share that does."""

    code: str
    members: tuple[tuple[Suspect, float], ...]
    low_v: float = math.nan
    high_v: float = math.nan
    floats: bool = False


def _groups(trace: Trace, probe: Probe, left: Sequence[Suspect]) -> list[_Group]:
    if probe.kind is ProbeKind.VOLTS:
        return _volt_groups(trace, probe, left)
    by_code: dict[str, list[tuple[Suspect, float]]] = {}
    for suspect in left:
        codes = _codes(trace, suspect, probe)
        for code in sorted(codes):
            by_code.setdefault(code, []).append((suspect, suspect.share / len(codes)))
    return [_Group(code=code, members=tuple(members)) for code, members in by_code.items()]


def _codes(trace: Trace, suspect: Suspect, probe: Probe) -> frozenset[str]:
    """The readings to reckon with. How a lamp glows through crossed wires is not worked out to choose by."""
    crossed = any(fault.kind is FaultKind.TAGS_SWAPPED for fault in suspect.faults)
    if probe.kind is ProbeKind.SEE and crossed:
        looks = trace.simulator.quick_look(suspect.faults, probe.ref)
        return frozenset(_GLOWING if looks is None else looks)
    return outcomes(trace, suspect.faults, probe)


_GLOWING = (Sight.DARK, Sight.DIM, Sight.LIT)


def _volt_groups(trace: Trace, probe: Probe, left: Sequence[Suspect]) -> list[_Group]:
    """Readings that run into one another make one group; a suspect of a wide span stands in several."""
    spans = [
        (suspect, low, high, suspect.share / len(given))
        for suspect in left
        for given in (volts_of(trace, suspect.faults, probe),)
        for low, high in given
    ]
    off = tolerance_v(trace)
    # What floats has a span of its own however wide that is: nothing between is likelier than the rest.
    floating = {id(suspect) for suspect in left if floats_at(trace, suspect.faults, probe)}
    clear = [one[2] - one[1] <= _WIDE_V or id(one[0]) in floating for one in spans]
    narrow = sorted((one for one, so in zip(spans, clear, strict=True) if so), key=lambda one: one[1])
    wide = [one for one, so in zip(spans, clear, strict=True) if not so]
    found: list[tuple[float, float, list[tuple[Suspect, float]]]] = []
    for suspect, low, high, share in narrow:
        if found and low - off <= found[-1][1]:
            members = found[-1][2]
            found[-1] = (found[-1][0], max(found[-1][1], high), members)
        else:
            members = []
            found.append((low, high, members))
        members.append((suspect, share))
    between: list[tuple[Suspect, float]] = []
    span_low, span_high = math.inf, -math.inf
    for suspect, low, high, share in wide:
        hit = [group for group in found if group[0] - off <= high and group[1] + off >= low]
        covered = sum(
            max(0.0, min(group[1] + off, high) - max(group[0] - off, low)) / (high - low) for group in hit
        )
        free = max(0.0, 1.0 - covered)
        for group in hit:
            group[2].append((suspect, share * (1.0 - free) / len(hit)))
        if free > 0.0:
            between.append((suspect, share * free))
            span_low, span_high = min(span_low, low), max(span_high, high)
    groups = [
        _Group(
            code="",
            members=tuple(members),
            low_v=low,
            high_v=high,
            floats=low > off and any(id(suspect) in floating for suspect, _ in members),
        )
        for low, high, members in found
    ]
    if between:
        groups.append(_Group(code="between", members=tuple(between), low_v=span_low, high_v=span_high))
    return groups


def _gain(groups: Sequence[_Group]) -> float:
    """Bits that the test is expected to tell."""
    masses = [sum(part for _, part in group.members) for group in groups]
    whole = sum(masses)
    if len(groups) < 2 or whole <= 0.0:
        return 0.0
    before: dict[int, float] = {}
    after = 0.0
    for group, mass in zip(groups, masses, strict=True):
        if mass <= 0.0:
            continue
        within: dict[int, float] = {}
        for suspect, part in group.members:
            within[id(suspect)] = within.get(id(suspect), 0.0) + part
            before[id(suspect)] = before.get(id(suspect), 0.0) + part
        after += mass * _entropy([part / mass for part in within.values()])
    return _entropy([part / whole for part in before.values()]) - after / whole


def _entropy(parts: Sequence[float]) -> float:
    return -sum(part * math.log2(part) for part in parts if part > 0.0)


def _expectations(trace: Trace, probe: Probe, groups: Sequence[_Group]) -> tuple[Expectation, ...]:
    rows = []
    for group in sorted(groups, key=lambda group: -sum(part for _, part in group.members)):
        if probe.kind is ProbeKind.VOLTS:
            words = volts_words(group.low_v, group.high_v)
            if group.floats:
                words = f"about {words}, it floats"
            if group.code:
                words = f"else, {words}"
        else:
            words = reading_words(trace, probe, group.code)
        rows.append(
            Expectation(
                words=words,
                code="" if probe.kind is ProbeKind.VOLTS else group.code,
                suspects=tuple(dict.fromkeys(suspect for suspect, _ in group.members)),
                low_v=group.low_v,
                high_v=group.high_v,
            )
        )
    return tuple(rows)


def unexpected(trace: Trace, proposal: Proposal) -> tuple[Expectation, ...]:
    """What a person may see instead of all that is expected: the fault may be none of those suspected."""
    probe = proposal.probe
    possible: tuple[str, ...] = ()
    if probe.kind is ProbeKind.SEE:
        possible = tuple(Sight)
    elif probe.kind is ProbeKind.SWITCH:
        numbers = sorted({*trace.simulator.outputs.values()} - {trace.simulator.outputs[probe.ref]})
        possible = ("none", *map(str, numbers))
    elif probe.kind is ProbeKind.DIODE:
        possible = DIODE_READINGS
    elif probe.kind is ProbeKind.OHM:
        possible = (TOUCHING, APART)
    elif probe.kind is ProbeKind.LOOK:
        possible = (SOUND,)
    known = {one.code for one in proposal.expectations}
    return tuple(
        Expectation(words=reading_words(trace, probe, code), code=str(code), suspects=())
        for code in possible
        if code not in known
    )


def volts_words(low_v: float, high_v: float) -> str:
    """ "6.9 V" or "0.1 to 3.0 V"."""
    low, high = f"{max(low_v, 0.0):.1f}", f"{max(high_v, 0.0):.1f}"
    return f"{low} V" if low == high else f"{low} to {high} V"
