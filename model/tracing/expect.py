"""What a meter should say along the way of one wire, worked out from the network as wired."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import attrs

from model.bench import METER_OHM
from model.electrics.circuit import Conductor
from model.electrics.network import end_node
from model.errors import Conflict
from model.harness import Harness
from model.routing.wires import Wire, derive
from model.routing.words import wire_words
from model.tracing.behaviour import NO_FAULT, Simulator
from model.tracing.fault_words import node_words
from model.tracing.faults import lit_lamps
from model.tracing.metered import Span
from model.tracing.trail import trail


@attrs.frozen(kw_only=True)
class ExpectedPoint:
    """One point that a meter can be held to.

    `off_v` and `on_v` are volts to the battery's minus, from the least to the most, with all outputs off,
    and with the one output on; None where no lamp of the wire can light. A point that hangs free floats:
    what a meter of 10 megohm reads there is one of many values. `pin_ohm` is to the wire's pin with the
    battery off, without the meter's own leads.
    """

    node: str
    words: str
    reachable: bool
    off_v: Span | None
    on_v: Span | None
    pin_ohm: float


@attrs.frozen(kw_only=True)
class Expected:
    """The points from the pin to the wire's lamp end. `output` is the one to switch on for `on_v`.

    `wire_ohm` is the wire from end to end, `battery_v` what was taken for the battery.
    """

    tag: str
    words: str
    wire: Wire
    output: int | None
    battery_v: float
    wire_ohm: float
    points: tuple[ExpectedPoint, ...]


def expect(harness: Harness, tag: str, battery_v: float | None = None) -> Expected:
    """What a meter should read at each end of the wire and at each joint and plug on its way to the pin.

    `battery_v` None takes the nominal volts. A meter of 10 megohm is part of what is worked out: where
    everything is off it reads what comes through the LEDs. NotThere for an unknown tag, Conflict for a
    retired one; NotSolved where the network has no working point.
    """
    record = harness.ledger.get(tag)
    if not record.live:
        instead = ", ".join(record.replaced_by)
        raise Conflict(
            f"tag {tag}",
            f"is retired: {record.retired}",
            remedy=f"Look at {instead}." if instead else "Nothing took its place.",
        )
    wire = derive(harness).by_key[record.wire]
    simulator = Simulator(harness, battery_v)
    lit = lit_lamps(harness)
    output = next((lit[lamp] for lamp in wire.lamps if lamp in lit), None)
    nodes = _nodes(harness, wire)
    on = frozenset(() if output is None else (output,))
    ohms = _ohms_from(simulator.base.conductors, nodes[0])
    reach = _reachable(harness)
    points = []
    for node in dict.fromkeys(nodes):
        off_v = on_v = None
        if output is not None:
            off_v = simulator.meter_v(NO_FAULT, node, frozenset())[0]
            on_v = simulator.meter_v(NO_FAULT, node, on)[0]
        points.append(
            ExpectedPoint(
                node=node,
                words=node_words(harness, node).removesuffix(", controller side"),
                reachable=reach.get(node, True),
                off_v=off_v,
                on_v=on_v,
                pin_ohm=ohms.get(node, 0.0),
            )
        )
    return Expected(
        tag=tag,
        words=wire_words(harness, wire),
        wire=wire,
        output=output,
        battery_v=simulator.battery_v,
        wire_ohm=next(one.ohm for one in simulator.base.conductors if one.key == f"wire {wire.key}"),
        points=tuple(points),
    )


def _nodes(harness: Harness, wire: Wire) -> list[str]:
    """From the pin over joints and plugs to the lamp end of the wire; a plug's contact counts once."""
    line = trail(harness, wire).line
    return [
        end_node(line[0].wire, line[0].wire.controller_end),
        *(end_node(branch.wire, branch.wire.lamp_end) for branch in line),
    ]


def _ohms_from(conductors: tuple[Conductor, ...], start: str) -> Mapping[str, float]:
    """Ohm from one node to all others that wires lead to, not through the controller."""
    near: dict[str, list[tuple[str, float]]] = {}
    for one in conductors:
        if not one.key.startswith(("output ", "common ")):
            near.setdefault(one.a, []).append((one.b, one.ohm))
            near.setdefault(one.b, []).append((one.a, one.ohm))
    found = {start: 0.0}
    queue = [start]
    for node in queue:
        for other, ohm in near.get(node, ()):
            if other not in found:
                found[other] = found[node] + ohm
                queue.append(other)
    return found


def _reachable(harness: Harness) -> Mapping[str, bool]:
    points = {point.id: point.reachable for point in harness.waypoints}
    found = {}
    for wire in derive(harness).wires:
        for end in (wire.lamp_end, wire.controller_end):
            found[end_node(wire, end)] = points.get(end.at or "", True)
    return found


FLOATS_V = 0.05
"""A point with a wider span than this floats."""


def expect_text(expected: Expected) -> list[str]:
    """The same as plain lines for a terminal."""
    return list(_lines(expected))


def _lines(expected: Expected) -> Iterator[str]:
    yield f"{expected.tag}: {expected.words}"
    yield f"battery at {expected.battery_v:.1f} V; volts are to the battery's minus, ohm with the battery off"
    rows = [("at", "all off", on_heading(expected), "ohm to the pin")]
    rows += [
        (
            point.words + ("" if point.reachable else " (hard to reach)"),
            volts_cell(point.off_v),
            volts_cell(point.on_v),
            ohm_cell(point.pin_ohm),
        )
        for point in expected.points
    ]
    widths = [max(len(row[place]) for row in rows) for place in range(4)]
    for row in rows:
        cells = [cell.rjust(width) for cell, width in zip(row[1:], widths[1:], strict=True)]
        yield "  ".join([row[0].ljust(widths[0]), *cells]).rstrip()
    leads = f"up to {METER_OHM:g} of the leads"
    yield f"end to end, battery off: beeps, {expected.wire_ohm:.2f} ohm and {leads}"
    if any(point.off_v and point.off_v[1] - point.off_v[0] > FLOATS_V for point in expected.points):
        yield "a span of volts: it floats there, a meter of 10 Mohm may read any of it"
    yield "an output that is off is taken to be open; some controllers hold it"
    if expected.output is None:
        yield "No lamp of this wire can light yet, so there are no volts to expect."


def on_heading(expected: Expected) -> str:
    """The heading of the volts with the output on."""
    return "on" if expected.output is None else f"output {expected.output} on"


def volts_cell(volts: Span | None) -> str:
    """ "6.9 V", or "4.1 to 6.0 V" where the point floats; a dash where nothing is to be expected."""
    if volts is None:
        return "-"
    low, high = (f"{abs(one) if abs(one) < 0.05 else one:.1f}" for one in volts)
    return f"{low} V" if low == high else f"{low} to {high} V"


def ohm_cell(ohm: float) -> str:
    """What a meter shows, its leads among it."""
    return f"under {max(1, round(ohm + METER_OHM + 0.5))}"
