"""A trace followed to its end on the answers of ngspice, and the table of how it went."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from random import Random

import attrs
import networkx as nx

from model.electrics.network import end_node
from model.harness import Harness
from model.routing.wires import derive
from model.tracing.behaviour import Sight
from model.tracing.faults import FaultKind, all_faults, lit_lamps
from model.tracing.proposing import next_test
from model.tracing.trace import (
    APART,
    SOUND,
    TOUCHING,
    Probe,
    ProbeKind,
    answer,
    begin,
    fault_code,
    refuse,
    see,
    suspects,
)
from tests.model.tracing.fault_cases import (
    Ask,
    Case,
    Told,
    ask_ngspice,
    chosen_faults,
    random_case,
    seen,
    states,
    where_seen,
)

MOST_TESTS = 60


@attrs.frozen(kw_only=True)
class Followed:
    """How a trace ended. `rank` is the place of the true fault among those left, ties counted as first."""

    case: Case
    visible: bool
    kept: bool = False
    rank: int = 0
    left: int = 0
    first: int = 0
    tests: int = 0
    lost_at: str = ""


def follow(
    cases: Sequence[Case],
    well: Mapping[int, Mapping[Ask, Told]],
    *,
    shown: float = 1.0,
    looking: bool = True,
    rng: Random | None = None,
) -> list[Followed]:
    """Trace every case. `well` are the answers of the sound harnesses by their place in `cases`.

    A person looks at the share `shown` of the lamps that are right before the first question; all that
    are wrong are entered. Readings are rounded to 10 mV. Not `looking`: every test that opens a place and
    looks at it is refused, so that only lamps and meter speak.
    """
    rng = rng or Random(1)
    ills = ask_ngspice([(case, states(case.harness)) for case in cases])
    sights = [
        seen(case.harness, well[place], ill)
        for place, (case, ill) in enumerate(zip(cases, ills, strict=True))
    ]
    meters = [_meter_asks(case, found) for case, found in zip(cases, sights, strict=True)]
    metered = ask_ngspice(list(zip(cases, meters, strict=True)))
    return [
        _follow(case, found, ill, meter, shown, looking, rng)
        for case, found, ill, meter in zip(cases, sights, ills, metered, strict=True)
    ]


def _meter_asks(case: Case, found: Mapping[str, Sight]) -> list[Ask]:
    """Every point on the way of the first odd lamps, with their output on, and off where one stays lit."""
    odd = [lamp for lamp, sight in found.items() if sight is not Sight.LIT]
    lit = lit_lamps(case.harness)
    asks: dict[Ask, None] = {}
    for lamp in odd[:4]:
        for wire in derive(case.harness).wires:
            if lamp in wire.lamps:
                for end in (wire.lamp_end, wire.controller_end):
                    node = end_node(wire, end)
                    asks[Ask(on=frozenset((lit[lamp],)), node=node)] = None
                    if found[lamp] is Sight.STAYS:
                        asks[Ask(on=frozenset(), node=node)] = None
    return list(asks)


def _follow(
    case: Case,
    found: Mapping[str, Sight],
    ill: Mapping[Ask, Told],
    meter: Mapping[Ask, Told],
    shown: float,
    looking: bool,
    rng: Random,
) -> Followed:
    assert case.fault is not None
    true = (case.fault,)
    trace = begin(case.harness, battery_v=case.battery_v)
    for lamp, sight in found.items():
        if sight is not Sight.LIT or rng.random() < shown:
            trace = see(trace, lamp, sight)
    if not trace.odd:
        return Followed(case=case, visible=False)
    first = len(suspects(trace))
    tests = 0
    lost_at = "" if true in [one.faults for one in suspects(trace)] else "what was seen"
    while not lost_at and tests < MOST_TESTS:
        proposal = next_test(trace)
        if proposal is None:
            break
        asked = proposal.probe
        # Of a lamp that is too weak to be seen even when all is well, a person has nothing to say.
        mute = asked.kind is ProbeKind.SEE and asked.ref not in found
        if mute or (asked.kind is ProbeKind.LOOK and not looking):
            trace = refuse(trace, asked)
            continue
        reading = _reading(case, proposal.probe, found, ill, meter)
        trace = answer(trace, proposal.probe, reading)
        tests += 1
        if true not in [one.faults for one in suspects(trace)]:
            lost_at = f"{proposal.probe} gave {reading}"
    left = suspects(trace)
    share = next((one.share for one in left if one.faults == true), 0.0)
    return Followed(
        case=case,
        visible=True,
        kept=not lost_at,
        rank=1 + sum(one.share > share * (1 + 1e-9) for one in left),
        left=len(left),
        first=first,
        tests=tests,
        lost_at=lost_at,
    )


def _reading(
    case: Case,
    probe: Probe,
    found: Mapping[str, Sight],
    ill: Mapping[Ask, Told],
    meter: Mapping[Ask, Told],
) -> float | str:
    """What a person would see, or read from the meter."""
    fault = case.fault
    assert fault is not None
    if probe.kind is ProbeKind.SEE:
        return found[probe.ref].value
    if probe.kind is ProbeKind.VOLTS:
        on = frozenset(() if probe.on is None else (probe.on,))
        return round(meter[Ask(on=on, node=probe.ref)].node_v, 2)
    if probe.kind is ProbeKind.SWITCH:
        own = lit_lamps(case.harness)[probe.ref]
        lights = {
            number
            for ask, told in ill.items()
            for number in ask.on
            if number != own and told.lamp_a.get(probe.ref, 0.0) > 1e-4
        }
        return str(min(lights)) if lights else "none"
    if probe.kind is ProbeKind.DIODE:
        own_kind = fault.kind if fault.lamp == probe.ref else None
        if _touch(case, f"lamp {probe.ref}+", f"lamp {probe.ref}-"):
            return "shorted"
        return {
            FaultKind.LED_OPEN: "dark both ways",
            FaultKind.LED_SHORT: "shorted",
            FaultKind.LED_REVERSED: "lights the wrong way round",
        }.get(own_kind, "lights")  # type: ignore[arg-type]
    if probe.kind is ProbeKind.OHM:
        return TOUCHING if _touch(case, probe.ref, case.harness.controller.common_polarity.value) else APART
    return fault_code(fault) if probe.ref in where_seen(case.harness, fault) else SOUND


def _touch(case: Case, one: str, other: str) -> bool:
    """Whether less than 10 ohm of wires lies between two points of the whole circuit, all outputs off."""
    graph = nx.Graph()
    for part in case.circuit().conductors:
        if not part.key.startswith("output ") and (part.a != part.b):
            known = graph.get_edge_data(part.a, part.b, {}).get("ohm", float("inf"))
            graph.add_edge(part.a, part.b, ohm=min(part.ohm, known))
    try:
        return float(nx.shortest_path_length(graph, one, other, weight="ohm")) < 10.0
    except (nx.NetworkXNoPath, nx.NodeNotFound):
        return False


def follow_harnesses(
    harnesses: Iterable[Harness],
    rng: Random,
    *,
    shown: float = 1.0,
    looking: bool = True,
    batch: int = 120,
) -> list[Followed]:
    """One fault of every kind in every harness, a batch of cases at a time."""
    found: list[Followed] = []
    pending: list[tuple[Case, Case]] = []
    for harness in harnesses:
        for fault in chosen_faults(all_faults(harness), rng):
            ill = random_case(harness, fault, rng)
            pending.append((ill, attrs.evolve(ill, fault=None)))
        if len(pending) >= batch:
            found += _batch(pending, shown, looking, rng)
            pending = []
    return found + (_batch(pending, shown, looking, rng) if pending else [])


def _batch(pending: Sequence[tuple[Case, Case]], shown: float, looking: bool, rng: Random) -> list[Followed]:
    sound = ask_ngspice([(well, states(well.harness)) for _, well in pending])
    return follow([ill for ill, _ in pending], dict(enumerate(sound)), shown=shown, looking=looking, rng=rng)


def table(found: Sequence[Followed]) -> str:
    """By kind: cases, invisible ones, true fault kept, ranked first, left at the end, tests."""
    rows: dict[str, list[Followed]] = defaultdict(list)
    for one in found:
        assert one.case.fault is not None
        rows[one.case.fault.kind.value].append(one)
    lines = [
        f"{'kind':<28}{'cases':>6}{'unseen':>7}{'kept':>6}{'first':>6}{'left':>6}{'suspects':>9}{'tests':>7}"
    ]
    for name, ones in [*sorted(rows.items()), ("all", list(found))]:
        open_to_see = [one for one in ones if one.visible]
        count = max(len(open_to_see), 1)
        first = sum(one.kept and one.rank == 1 for one in open_to_see)
        lines.append(
            f"{name:<28}{len(ones):>6}{len(ones) - len(open_to_see):>7}"
            f"{sum(one.kept for one in open_to_see):>6}{first:>6}"
            f"{sum(one.left for one in open_to_see) / count:>6.2f}"
            f"{sum(one.first for one in open_to_see) / count:>9.1f}"
            f"{sum(one.tests for one in open_to_see) / count:>7.2f}"
        )
    return "\n".join(lines)
