"""The harness as it is wired: a circuit of every wire, contact, joint and lamp, and its currents.

Wires resist by gauge, cut length and temperature (model.standards.wire); contacts and joints by
`Conditions`. LEDs follow their diode curve (model.electrics.diode).
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from enum import StrEnum
from types import MappingProxyType

import attrs

from model.electrics.circuit import Circuit, Conductor, Light, Solution
from model.electrics.diode import Diode, lamp_diode
from model.electrics.lamps import LampElectrics, all_lamps
from model.electrics.led import LedFigures
from model.electrics.solving import solve
from model.electrics.supply import output_volts, volts
from model.harness import Delivers, Harness, Output, Polarity, Settings
from model.memo import ELECTRICS, of_parts
from model.routing.wires import End, EndKind, PartKind, Wire, derive
from model.standards import contacts
from model.standards.resistor_power import INSIDE_C
from model.standards.wire import gauge, resistance_ohm

PLUS_RAIL, MINUS_RAIL = "+", "-"


class Spread(StrEnum):
    """Which parts are in the lamps: those of lowest, typical or highest forward voltage."""

    LOW = "low"
    TYPICAL = "typical"
    HIGH = "high"


@attrs.frozen(kw_only=True)
class Conditions:
    """Temperature, contacts, parts. Figures are common practice, no source (model.standards.contacts)."""

    wire_c: float = INSIDE_C
    joint_milliohm: float = contacts.JOINT_MILLIOHM
    plug_milliohm: float = contacts.CONTACT_MILLIOHM
    pin_milliohm: float = contacts.CONTACT_MILLIOHM
    switch_milliohm: float = contacts.SWITCH_MILLIOHM
    spread: Spread = Spread.TYPICAL


USUAL = Conditions()


def conditions_of(settings: Settings) -> Conditions:
    """The conditions that a project's settings say, with parts of typical forward voltage."""
    return Conditions(
        wire_c=settings.inside_c,
        joint_milliohm=settings.joint_milliohm,
        plug_milliohm=settings.contact_milliohm,
        pin_milliohm=settings.contact_milliohm,
        switch_milliohm=settings.switch_milliohm,
    )


@attrs.frozen(kw_only=True, eq=False)
class Wired:
    """Currents in mA and voltages of a harness as wired.

    `lamp_v` is across a lamp with its resistor, `lost_mv` what its wires, contacts and joints take of
    the volts it should have. `pin_ma` is by "block.pin", `output_ma` by output number; `total_ma` is
    what the battery gives. `left_out` names the lamps (ids) that are not wired, have no output or no
    resistor that works.
    """

    supply_v: float
    on: frozenset[int]
    circuit: Circuit
    solution: Solution
    lamp_ma: Mapping[str, float]
    lamp_v: Mapping[str, float]
    lost_mv: Mapping[str, float]
    wire_ma: Mapping[str, float]
    wire_drop_mv: Mapping[str, float]
    output_ma: Mapping[int, float]
    pin_ma: Mapping[str, float]
    total_ma: float
    left_out: tuple[str, ...]

    def runtime_h(self, capacity_mah: float) -> float | None:
        """Hours a full pack of this capacity lasts at this current; None where nothing is drawn."""
        return capacity_mah / self.total_ma if self.total_ma > 1e-6 else None


def lamp_node(lamp_id: str, polarity: Polarity) -> str:
    """The node of one of a lamp's terminals."""
    return f"lamp {lamp_id}{polarity}"


def joint_node(joint_id: str) -> str:
    """The node of a joint."""
    return f"joint {joint_id}"


def pin_node(ref: str) -> str:
    """The node of a pin of the controller, given as "block.pin"."""
    return f"pin {ref}"


def end_node(wire: Wire, end: End) -> str:
    """The node that an end of a wire is on. A plug's contact has one on either side."""
    if end.kind is EndKind.LAMP:
        return lamp_node(end.ref, wire.polarity)
    if end.kind is EndKind.JOINT:
        return joint_node(end.ref)
    if end.kind is EndKind.PLUG:
        return plug_node(end.ref, wire.origin, lamp_side=end is wire.controller_end)
    return pin_node(end.ref) if end.ref else f"pin ? of {wire.origin}"


def plug_node(ref: str, origin: str, *, lamp_side: bool) -> str:
    """The node of one side of a plug's contact; contacts not yet given are told apart by their wire."""
    name = f"{ref} of {origin}" if ref.endswith("?") else ref
    return f"plug {name} {'lamp' if lamp_side else 'controller'} side"


def wire_ohm(wire: Wire, conditions: Conditions = USUAL) -> float:
    """Ohm of one wire with the joint it ends in; a lamp's own lead counts as the same gauge."""
    length_mm = sum(part.mm for part in wire.parts if part.kind is not PartKind.LEAD)
    ohm = resistance_ohm(gauge(wire.gauge), length_mm, conditions.wire_c)
    if wire.controller_end.kind is EndKind.JOINT:
        ohm += conditions.joint_milliohm / 1000
    return ohm


def circuit_of(
    harness: Harness,
    *,
    supply_v: float | None = None,
    on: Collection[int] | None = None,
    conditions: Conditions | None = None,
) -> Circuit:
    """The circuit at `supply_v` (by default full) with the outputs in `on` (by default all) switched on.

    `conditions` are by default those of the settings.
    Keys: "wire L3-", "plug P1.4", "output 5", "common A.7", "lamp L3". Lamps that have no run, no
    output or no resistor that works are left out. An output that is off hangs free.
    """
    if supply_v is None:
        supply_v = volts(harness.supply).full_v
    rails = {PLUS_RAIL: supply_v, MINUS_RAIL: 0.0}
    usual = conditions_of(harness.settings)
    if conditions is None:
        conditions = usual
    wiring, lights = _usual_parts(harness) if conditions == usual else _parts(harness, conditions)
    outputs = tuple(_outputs(harness, rails, supply_v, on, conditions))
    return Circuit(rails=MappingProxyType(rails), conductors=wiring + outputs, lights=lights)


_Parts = tuple[tuple[Conductor, ...], tuple[Light, ...]]


@of_parts(*ELECTRICS)
def _usual_parts(harness: Harness) -> _Parts:
    return _parts(harness, conditions_of(harness.settings))


def _parts(harness: Harness, conditions: Conditions) -> _Parts:
    """What does not hang on the supply and the outputs: wires, plugs, common pins; and the lamps."""
    wires = derive(harness).wires
    parts: list[Conductor] = []
    for wire in wires:
        parts.append(
            Conductor(
                key=f"wire {wire.key}",
                a=end_node(wire, wire.lamp_end),
                b=end_node(wire, wire.controller_end),
                ohm=wire_ohm(wire, conditions),
            )
        )
        if wire.controller_end.kind is EndKind.PLUG:
            ref = wire.controller_end.ref
            name = f"{ref} of {wire.origin}" if ref.endswith("?") else ref
            parts.append(
                Conductor(
                    key=f"plug {name}",
                    a=plug_node(ref, wire.origin, lamp_side=True),
                    b=plug_node(ref, wire.origin, lamp_side=False),
                    ohm=conditions.plug_milliohm / 1000,
                )
            )
    parts += _commons(harness, wires, conditions)
    return tuple(parts), tuple(_lights(harness, conditions))


def as_wired(
    harness: Harness,
    *,
    supply_v: float | None = None,
    on: Collection[int] | None = None,
    conditions: Conditions | None = None,
) -> Wired:
    """Currents and voltages at `supply_v` (full volts by default) with the outputs `on` (all by default).

    NotSolved with its cause where there is no working point.
    """
    circuit = circuit_of(harness, supply_v=supply_v, on=on, conditions=conditions)
    return read_out(harness, circuit, solve(circuit), on)


@of_parts(*ELECTRICS)
def worst_case(harness: Harness) -> Wired:
    """As wired, all outputs on, on a full battery."""
    return as_wired(harness)


@of_parts(*ELECTRICS)
def usual_case(harness: Harness) -> Wired:
    """As wired, all outputs on, at nominal volts: for how long a pack lasts."""
    return as_wired(harness, supply_v=volts(harness.supply).nominal_v)


def read_out(
    harness: Harness, circuit: Circuit, solution: Solution, on: Collection[int] | None = None
) -> Wired:
    """The solution of the harness's circuit in terms of the harness."""
    lamp_ma = {
        light.key.removeprefix("lamp "): 1000 * solution.light_a[light.key] for light in circuit.lights
    }
    lamp_v = {
        light.key.removeprefix("lamp "): solution.volts[light.a] - solution.volts[light.b]
        for light in circuit.lights
    }
    wire_ma, wire_drop_mv, output_ma, pin_ma = _currents(harness, circuit, solution)
    switched_on = frozenset(output_ma)
    nets = {lamp.id: lamp.output for lamp in harness.lamps}
    supply_v = circuit.rails[PLUS_RAIL] - circuit.rails[MINUS_RAIL]
    lost_mv = {
        lamp_id: 1000 * (_net_volts(circuit, harness, nets[lamp_id], supply_v) - lamp_v[lamp_id])
        for lamp_id in lamp_ma
        if nets[lamp_id] in switched_on
    }
    return Wired(
        supply_v=supply_v,
        on=switched_on,
        circuit=circuit,
        solution=solution,
        lamp_ma=MappingProxyType(lamp_ma),
        lamp_v=MappingProxyType(lamp_v),
        lost_mv=MappingProxyType(lost_mv),
        wire_ma=MappingProxyType(wire_ma),
        wire_drop_mv=MappingProxyType(wire_drop_mv),
        output_ma=MappingProxyType(output_ma),
        pin_ma=MappingProxyType(pin_ma),
        total_ma=sum(output_ma.values()),
        left_out=tuple(lamp.id for lamp in harness.lamps if lamp.id not in lamp_ma),
    )


def _currents(
    harness: Harness, circuit: Circuit, solution: Solution
) -> tuple[dict[str, float], dict[str, float], dict[int, float], dict[str, float]]:
    """Current and drop by wire, current by output and by pin."""
    refs = {output.number: f"{block.name}.{output.pin}" for block, output in harness.controller.outputs()}
    wire_ma: dict[str, float] = {}
    wire_drop_mv: dict[str, float] = {}
    output_ma: dict[int, float] = {}
    pin_ma: dict[str, float] = {}
    for part in circuit.conductors:
        kind, _, name = part.key.partition(" ")
        current_ma = abs(1000 * solution.conductor_a[part.key])
        if kind == "wire":
            wire_ma[name] = current_ma
            wire_drop_mv[name] = current_ma * part.ohm
        elif kind == "output":
            output_ma[int(name)] = current_ma
            pin_ma[refs[int(name)]] = pin_ma.get(refs[int(name)], 0.0) + current_ma
        elif kind == "common":
            pin_ma[name] = pin_ma.get(name, 0.0) + current_ma
    return wire_ma, wire_drop_mv, output_ma, pin_ma


def _net_volts(circuit: Circuit, harness: Harness, output: int | None, supply_v: float) -> float:
    """Volts between the rails that feed the lamps of an output."""
    held = circuit.rails.get(_own_rail(output))
    if held is None:
        return supply_v
    return held if harness.controller.switched_polarity is Polarity.PLUS else supply_v - held


def _own_rail(output: int | None) -> str:
    return f"held by output {output}"


def _commons(harness: Harness, wires: tuple[Wire, ...], conditions: Conditions) -> Iterator[Conductor]:
    rail = PLUS_RAIL if harness.controller.common_polarity is Polarity.PLUS else MINUS_RAIL
    seen: set[str] = set()
    for wire in wires:
        end = wire.controller_end
        if wire.output is not None or end.kind is not EndKind.PIN or wire.polarity is not _common(harness):
            continue
        node = end_node(wire, end)
        if node not in seen:
            seen.add(node)
            yield Conductor(
                key=f"common {end.ref or '? of ' + wire.origin}",
                a=node,
                b=rail,
                ohm=conditions.pin_milliohm / 1000,
            )


def _common(harness: Harness) -> Polarity:
    return harness.controller.common_polarity


def _outputs(
    harness: Harness,
    rails: dict[str, float],
    supply_v: float,
    on: Collection[int] | None,
    conditions: Conditions,
) -> Iterator[Conductor]:
    """The outputs that are on, each with its switch; adds a rail for each one that regulates."""
    switches_plus = harness.controller.switched_polarity is Polarity.PLUS
    for block, output in harness.controller.outputs():
        if on is not None and output.number not in on:
            continue
        yield Conductor(
            key=f"output {output.number}",
            a=pin_node(f"{block.name}.{output.pin}"),
            b=_rail(harness, output, rails, supply_v, switches_plus),
            ohm=(conditions.pin_milliohm + conditions.switch_milliohm) / 1000,
            limit_a=(output.delivers_ma or 0.0) / 1000 if output.delivers is Delivers.CURRENT else None,
        )


def _rail(
    harness: Harness, output: Output, rails: dict[str, float], supply_v: float, switches_plus: bool
) -> str:
    if output.delivers is not Delivers.REGULATED:
        return PLUS_RAIL if switches_plus else MINUS_RAIL
    held_v = output_volts(harness.supply, output).nominal_v
    name = _own_rail(output.number)
    rails[name] = held_v if switches_plus else supply_v - held_v
    return name


def _lights(harness: Harness, conditions: Conditions) -> Iterator[Light]:
    figures = all_lamps(harness)
    curves: dict[tuple[LedFigures, float], Diode] = {}
    for lamp in harness.lamps:
        one: LampElectrics = figures[lamp.id]
        if lamp.run is None or lamp.output is None or one.series_ohm is None:
            continue
        vf_v = {
            Spread.LOW: one.led.vf_low_v,
            Spread.TYPICAL: one.led.vf_v,
            Spread.HIGH: one.led.vf_high_v,
        }[conditions.spread]
        curve = curves.get((one.led, vf_v))
        if curve is None:
            curve = curves[one.led, vf_v] = lamp_diode(one.led, vf_v)
        yield Light(
            key=f"lamp {lamp.id}",
            a=lamp_node(lamp.id, Polarity.PLUS),
            b=lamp_node(lamp.id, Polarity.MINUS),
            diode=curve,
            ohm=one.series_ohm,
        )
