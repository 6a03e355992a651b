"""Faults put into whole circuits without the program's own help, worked out by ngspice, and read by a person.

`Case` breaks a harness in its own way: on the parts of the whole circuit, never by `apply_fault`, and with
all lamps in it. Many cases go through one ngspice process; each gives a table of lamp currents for every
output switched on alone, and of volts at the points that a meter is held to.
"""

from __future__ import annotations

import re
import subprocess
from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

import attrs

from model.electrics.circuit import Circuit, Conductor, Light
from model.electrics.diode import THERMAL_V
from model.electrics.network import Spread, circuit_of, conditions_of
from model.electrics.supply import volts
from model.harness import Harness
from model.routing.wires import EndKind, derive
from model.tracing.behaviour import Sight
from model.tracing.faults import Fault, FaultKind, lit_lamps
from tests.spice import NGSPICE

METER_OHM = 1e7
OPEN_OHM = 1e10


@attrs.frozen(kw_only=True, eq=False)
class Case:
    """One harness with one fault in it, at some battery voltage, with LEDs from one end of their spread."""

    harness: Harness
    fault: Fault | None
    size: float
    battery_v: float
    spread: Spread

    def circuit(self) -> Circuit:
        """The whole circuit, all outputs on, with the fault in it."""
        conditions = attrs.evolve(conditions_of(self.harness.settings), spread=self.spread)
        whole = circuit_of(self.harness, supply_v=self.battery_v, conditions=conditions)
        return whole if self.fault is None else _broken(self.harness, whole, self.fault, self.size)


def random_case(harness: Harness, fault: Fault | None, rng: Random) -> Case:
    """A case at a voltage from flat to full; contacts and resistors are as bad as they may be."""
    level = volts(harness.supply)
    kind = fault.kind if fault else None
    size = 0.0
    if kind in (FaultKind.JOINT_RESISTS, FaultKind.PLUG_RESISTS):
        size = 200.0 * 20.0 ** rng.random()
    elif kind is FaultKind.RESISTOR_HIGH:
        size = rng.choice((3.3, 4.7, 10.0, 22.0, 100.0))
    elif kind is FaultKind.RESISTOR_LOW:
        size = rng.choice((0.1, 0.22, 0.33, 0.47))
    return Case(
        harness=harness,
        fault=fault,
        size=size,
        battery_v=round(rng.uniform(level.flat_v, level.full_v), 2),
        spread=rng.choice(list(Spread)),
    )


def _broken(harness: Harness, whole: Circuit, fault: Fault, size: float) -> Circuit:
    """The fault done to the list of parts by hand."""
    wires = {one.key: one for one in whole.conductors}
    lights = {one.key: one for one in whole.lights}
    kind, key, lamp = fault.kind, f"wire {fault.wire}", f"lamp {fault.lamp}"
    if kind is FaultKind.BROKEN_LAMP_END:
        wires[key] = attrs.evolve(wires[key], a="loose end")
    elif kind is FaultKind.BROKEN_CONTROLLER_END:
        wires[key] = attrs.evolve(wires[key], b="loose end")
    elif kind is FaultKind.JOINT_OPEN_ONE:
        at_start = wires[key].a == f"joint {fault.ref}"
        wires[key] = attrs.evolve(wires[key], **{"a" if at_start else "b": "loose end"})
    elif kind is FaultKind.JOINT_OPEN_ALL:
        for place, wire in enumerate(derive(harness).into_joint[fault.ref]):
            own = f"wire {wire.key}"
            wires[own] = attrs.evolve(wires[own], b=f"loose end {place}")
    elif kind is FaultKind.JOINT_RESISTS:
        wires[key] = attrs.evolve(wires[key], ohm=wires[key].ohm + size)
    elif kind is FaultKind.PLUG_OPEN:
        del wires[f"plug {fault.ref}"]
    elif kind is FaultKind.PLUG_RESISTS:
        contact = f"plug {fault.ref}"
        wires[contact] = attrs.evolve(wires[contact], ohm=wires[contact].ohm + size)
    elif kind is FaultKind.SHORT:
        wires["touch"] = Conductor(key="touch", a=fault.ref, b=fault.other, ohm=0.05)
    elif kind is FaultKind.LED_REVERSED:
        lights[lamp] = attrs.evolve(lights[lamp], a=lights[lamp].b, b=lights[lamp].a)
    elif kind is FaultKind.LED_OPEN:
        del lights[lamp]
    elif kind is FaultKind.LED_SHORT:
        dead = lights.pop(lamp)
        wires["dead"] = Conductor(key="dead", a=dead.a, b=dead.b, ohm=dead.ohm)
    elif kind in (FaultKind.RESISTOR_HIGH, FaultKind.RESISTOR_LOW):
        lights[lamp] = attrs.evolve(lights[lamp], ohm=lights[lamp].ohm * size)
    elif kind is FaultKind.COMMON_LOST:
        del wires[f"common {fault.ref}"]
    elif kind is FaultKind.WRONG_OUTPUT:
        wires[key] = attrs.evolve(wires[key], b=fault.ref)
    elif kind is FaultKind.TAGS_SWAPPED:
        other = f"wire {fault.other}"
        one, two = wires[key].b, wires[other].b
        wires[key] = attrs.evolve(wires[key], b=two)
        wires[other] = attrs.evolve(wires[other], b=one)
    else:
        assert kind in (FaultKind.OUTPUT_DEAD, FaultKind.OUTPUT_STUCK), kind
    return attrs.evolve(whole, conductors=tuple(wires.values()), lights=tuple(lights.values()))


@attrs.frozen(kw_only=True)
class Ask:
    """One working point: the outputs meant to be on, and the node a meter is held to ("" for none)."""

    on: frozenset[int]
    node: str = ""


@attrs.frozen(kw_only=True)
class Told:
    """Lamp currents in A by id, and the volts at the asked node."""

    lamp_a: Mapping[str, float]
    node_v: float


def ask_ngspice(asked: Sequence[tuple[Case, Sequence[Ask]]]) -> list[dict[Ask, Told]]:
    """All answers of all cases, from one ngspice process."""
    assert NGSPICE is not None
    with TemporaryDirectory() as folder:
        script, readers = ["deck of many"], []
        script.append(".control")
        script.append("set numdgt=9")
        for place, (case, asks) in enumerate(asked):
            deck, reader = _deck(case, place, asks)
            Path(folder, f"c{place}.cir").write_text(deck)
            script += [f"source c{place}.cir", *reader.commands, "remcirc", "destroy all"]
            readers.append(reader)
        script += ["quit", ".endc", ".end"]
        Path(folder, "all.cir").write_text("\n".join(script) + "\n")
        run = subprocess.run(
            [NGSPICE, "-b", "all.cir"], capture_output=True, text=True, timeout=900, check=False, cwd=folder
        )
    blocks = re.split(r"^ask (\S+)$", run.stdout, flags=re.MULTILINE)
    found = dict(zip(blocks[1::2], blocks[2::2], strict=True))
    return [
        {ask: reader.read(found.get(f"{place}_{number}", ""), ask) for number, ask in enumerate(asks)}
        for place, ((_, asks), reader) in enumerate(zip(asked, readers, strict=True))
    ]


@attrs.define
class _Reader:
    commands: list[str]
    vectors: dict[str, str]
    nodes: dict[str, str]

    def read(self, text: str, ask: Ask) -> Told:
        values = {name: float(value) for name, value in re.findall(r"^(\S+) = (\S+)$", text, re.MULTILINE)}
        missing = [vector for vector in self.vectors.values() if vector not in values]
        assert not missing, f"ngspice gave nothing for {missing}: {text[-400:]}"
        node = self.nodes.get(ask.node, "")
        assert not node or f"v({node})" in values, f"ngspice gave nothing at {ask.node}: {text[-400:]}"
        # What no wire leads to any more is not in the circuit: nothing comes to the meter.
        return Told(
            lamp_a={lamp: values[vector] for lamp, vector in self.vectors.items()},
            node_v=values[f"v({node})"] if node else 0.0,
        )


def _deck(case: Case, number: int, asks: Sequence[Ask]) -> tuple[str, _Reader]:
    """A netlist with a switchable resistor for each output and for the meter at each node asked for."""
    circuit = case.circuit()
    nodes: dict[str, str] = {}

    def node(name: str) -> str:
        return nodes.setdefault(name, f"n{len(nodes) + 1}")

    lines = [f"case {number}"]
    lines.append(".options temp=26.85 tnom=26.85 reltol=1e-5 abstol=1e-12 vntol=1e-7")
    lines.append(".options gmin=1e-13 rshunt=3e9 pivtol=1e-15")
    for place, (name, rail_v) in enumerate(circuit.rails.items()):
        lines.append(f"v{place} {node(name)} 0 {rail_v!r}")
    switches: dict[int, str] = {}
    for place, wire in enumerate(circuit.conductors):
        if not wire.key.startswith("output "):
            lines.append(f"r{place} {node(wire.a)} {node(wire.b)} {max(wire.ohm, 1e-3)!r}")
            continue
        switches[int(wire.key.removeprefix("output "))] = f"rs{place}"
        if wire.limit_a is None:
            lines.append(f"rs{place} {node(wire.a)} {node(wire.b)} {OPEN_OHM!r}")
            continue
        rail, pin = (wire.a, wire.b) if wire.a in circuit.rails else (wire.b, wire.a)
        sinks = circuit.rails[rail] <= min(circuit.rails.values())
        high, low = (f"i{place}n", node(rail)) if sinks else (node(rail), f"i{place}n")
        lines += [
            f"rs{place} {node(pin)} i{place}n {OPEN_OHM!r}",
            f"i{place} {high} {low} {wire.limit_a!r}",
            f"dl{place} {low} {high} idle",
        ]
    lines.append(".model idle d(is=1e-9 n=0.01)")
    vectors: dict[str, str] = {}
    for place, light in enumerate(circuit.lights):
        lines += _diode(place, light, node)
        vectors[light.key.removeprefix("lamp ")] = f"@d{place}[id]"
    on_ohm = {number: _on_ohm(circuit, number) for number in switches}
    meters: dict[str, str] = {}
    for place, name in enumerate(dict.fromkeys(ask.node for ask in asks if ask.node in nodes)):
        meters[name] = f"rm{place}"
        lines.append(f"rm{place} {nodes[name]} 0 {OPEN_OHM!r}")
    lines.append(".end")
    commands: list[str] = []
    state: dict[str, float] = {}

    def alter(part: str, ohm: float) -> None:
        if state.get(part, OPEN_OHM) != ohm:
            commands.append(f"alter {part} = {ohm!r}")
            state[part] = ohm

    for place, ask in enumerate(asks):
        really = set(ask.on)
        if case.fault is not None and case.fault.kind is FaultKind.OUTPUT_STUCK:
            really.add(case.fault.output or 0)
        if case.fault is not None and case.fault.kind is FaultKind.OUTPUT_DEAD:
            really.discard(case.fault.output or 0)
        for output, switch in switches.items():
            alter(switch, on_ohm[output] if output in really else OPEN_OHM)
        for name, meter in meters.items():
            alter(meter, METER_OHM if name == ask.node else OPEN_OHM)
        commands += ["op", f"echo ask {number}_{place}"]
        commands += [f"print {vector}" for vector in vectors.values()]
        if ask.node in nodes:
            commands.append(f"print v({nodes[ask.node]})")
    return "\n".join(lines) + "\n", _Reader(commands, vectors, nodes)


def _on_ohm(circuit: Circuit, output: int) -> float:
    return next(one.ohm for one in circuit.conductors if one.key == f"output {output}")


def _diode(place: int, light: Light, node: object) -> list[str]:
    curve = light.diode
    law = f"is={curve.saturation_a!r} n={curve.emission_v / THERMAL_V!r} rs={curve.series_ohm!r}"
    return [
        f"rd{place} {node(light.a)} m{place} {max(light.ohm, 1e-3)!r}",  # type: ignore[operator]
        f"d{place} m{place} {node(light.b)} led{place}",  # type: ignore[operator]
        f".model led{place} d({law})",
    ]


# --- what a person sees ---------------------------------------------------------------------------


def states(harness: Harness) -> list[Ask]:
    """Nothing on, then each output alone, also those that should carry no lamp."""
    numbers = [output.number for _, output in harness.controller.outputs()]
    return [Ask(on=frozenset()), *(Ask(on=frozenset((number,))) for number in numbers)]


def seen(harness: Harness, well: Mapping[Ask, Told], ill: Mapping[Ask, Told]) -> dict[str, Sight]:
    """What each lamp does, against what it does when all is well; lamps that never light are left out."""
    found = {}
    for lamp, output in lit_lamps(harness).items():
        own = Ask(on=frozenset((output,)))
        usual = well[own].lamp_a[lamp]
        if usual < 1e-5:
            continue
        share = {ask: told.lamp_a.get(lamp, 0.0) / usual for ask, told in ill.items() if not ask.node}
        if share[Ask(on=frozenset())] >= 0.01:
            found[lamp] = Sight.STAYS
        elif share[own] < 0.01 and any(value >= 0.01 for value in share.values()):
            found[lamp] = Sight.WRONG
        else:
            found[lamp] = called(share[own])
    return found


def called(share: float) -> Sight:
    """What an eye makes of a share of the usual current."""
    if share < 0.01:
        return Sight.DARK
    if share < 0.7:
        return Sight.DIM
    return Sight.LIT if share < 1.45 else Sight.BRIGHT


def where_seen(harness: Harness, fault: Fault) -> set[str]:
    """The places at which a look shows the fault, said once more."""
    plan = derive(harness).by_key

    def end_place(key: str, *, lamp_side: bool) -> str:
        wire = plan[key]
        end = wire.lamp_end if lamp_side else wire.controller_end
        if end.kind is EndKind.PLUG:
            return f"plug {end.ref.rpartition('.')[0]}"
        return f"{end.kind} {end.ref}"

    kind = fault.kind
    if kind in (FaultKind.LED_REVERSED, FaultKind.RESISTOR_HIGH, FaultKind.RESISTOR_LOW):
        return {f"lamp {fault.lamp}"}
    if kind.name.startswith("JOINT"):
        return {f"joint {fault.ref}"}
    if kind is FaultKind.COMMON_LOST:
        return {f"pin {fault.ref}"}
    if kind is FaultKind.BROKEN_LAMP_END:
        return {end_place(fault.wire, lamp_side=True)}
    if kind is FaultKind.SHORT:
        return {_of_node(fault.ref), _of_node(fault.other)}
    if kind is FaultKind.WRONG_OUTPUT:
        return {end_place(fault.wire, lamp_side=False), _of_node(fault.ref)}
    if kind is FaultKind.TAGS_SWAPPED:
        return {end_place(fault.wire, lamp_side=False), end_place(fault.other, lamp_side=False)}
    if kind in (FaultKind.BROKEN_CONTROLLER_END, FaultKind.PLUG_OPEN, FaultKind.PLUG_RESISTS):
        return {end_place(fault.wire, lamp_side=False)}
    return set()


def _of_node(node: str) -> str:
    if node.startswith("lamp "):
        return node[:-1]
    if node.startswith("plug "):
        return node.split(" ")[0] + " " + node.split(" ")[1].rpartition(".")[0]
    return node


def chosen_faults(all_of_them: Iterable[Fault], rng: Random) -> list[Fault]:
    """One fault of every kind that the harness can have."""
    by_kind: dict[FaultKind, list[Fault]] = {}
    for fault in all_of_them:
        by_kind.setdefault(fault.kind, []).append(fault)
    return [rng.choice(faults) for faults in by_kind.values()]
