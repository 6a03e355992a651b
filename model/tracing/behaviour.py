"""What each lamp does, and what a meter reads, with one fault or two in the harness.

Only the lamps of the outputs that a fault touches are worked out: with the other outputs off the rest
carries nothing.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from enum import StrEnum
from functools import cached_property

import attrs

from model.electrics.circuit import Circuit
from model.electrics.lamps import all_lamps
from model.electrics.network import circuit_of, end_node
from model.electrics.solving import solve
from model.electrics.supply import volts
from model.errors import BadValue, NotSolved
from model.harness import Harness
from model.memo import by_identity
from model.routing.wires import EndKind, derive
from model.tracing.fault_circuit import apply_fault, outputs_with
from model.tracing.fault_reach import direct_lamps, is_plain, touched_lamps, touched_outputs
from model.tracing.faults import SPANS, Fault, FaultKind, lit_lamps
from model.tracing.metered import Span, as_metered

SHARING = (0.6, 1.6)
"""How far lamps on an output that holds a current or a voltage may divide it otherwise; common practice."""

MOST_BATTERY_V = 60.0
"""Extra-low voltage; more is none of this program's business."""


class Sight(StrEnum):
    """What a lamp does when the outputs are switched on one after the other."""

    LIT = "lit"
    DIM = "dim"
    BRIGHT = "bright"
    FLICKERS = "flickers"
    DARK = "dark"
    WRONG = "wrong output"
    STAYS = "stays on"


_LEVELS = (Sight.DARK, Sight.DIM, Sight.LIT, Sight.BRIGHT)

_BANDS = (
    (0.003, (Sight.DARK,)),
    (0.03, (Sight.DARK, Sight.DIM)),
    (0.55, (Sight.DIM,)),
    (0.85, (Sight.DIM, Sight.LIT)),
    (1.25, (Sight.LIT,)),
    (1.8, (Sight.LIT, Sight.BRIGHT)),
    (math.inf, (Sight.BRIGHT,)),
)
"""What an eye makes of a share of the usual current, doubtful in between; common practice, no source."""

DARK_BELOW = 0.01
"""Below this share nobody calls a lamp lit; common practice, no source."""

LEAST_USUAL_A = 1e-5
"""A lamp with less when all is well is dark anyway: what is seen of it says nothing."""

LEAST_RESISTOR_OHM = 20.0
"""A dead LED on less than this pulls the lamps beside it down; common practice, no source."""

_CROSSING = frozenset((FaultKind.TAGS_SWAPPED, FaultKind.WRONG_OUTPUT, FaultKind.OUTPUT_STUCK))

Faults = tuple[Fault, ...]
"""What is taken to be wrong: nothing, one fault, or two."""

NO_FAULT: Faults = ()


def sights_of_share(share: float) -> frozenset[Sight]:
    """What a lamp with this share of its usual current may be called."""
    return frozenset(next(sights for limit, sights in _BANDS if share < limit))


def check_battery(battery_v: float | None) -> None:
    """BadValue for volts that no battery of a model has; None, the nominal volts, is right."""
    if battery_v is not None and not 0 < battery_v <= MOST_BATTERY_V:
        limit = f"above 0, at most {MOST_BATTERY_V:g} V"
        raise BadValue("battery", f"{battery_v:g} V", limit=limit)


@attrs.frozen(kw_only=True, eq=False)
class _State:
    """One working point: shares of the usual current by lamp, spans of volts by node as a meter reads them.

    `found` is as solved, without a meter; `hanging` are the nodes that no wire leads from to a rail.
    `led_v` are the forward voltages of the lights.
    `solved` is False where the network found no working point: then anything may be seen.
    """

    shares: Mapping[str, float]
    circuit: Circuit
    found: Mapping[str, float]
    led_v: Mapping[str, float]
    solved: bool = True

    @cached_property
    def volts(self) -> Mapping[str, Span]:
        """Worked out only where a meter is held to something. NotSolved where that has no working point."""
        return as_metered(self.circuit, self.found, self.led_v)

    @cached_property
    def hanging(self) -> frozenset[str]:
        return frozenset(node for node, value in self.found.items() if math.isnan(value))


class Simulator:
    """Works faults out on one harness at one voltage and remembers every answer.

    `battery_v` is what the battery has now; None takes the nominal volts. NotSolved passes through from
    the network of a harness that has no working point even without a fault.
    """

    def __init__(self, harness: Harness, battery_v: float | None = None) -> None:
        check_battery(battery_v)
        self.harness = harness
        self.battery_v = volts(harness.supply).nominal_v if battery_v is None else battery_v
        self.base = circuit_of(harness, supply_v=self.battery_v)
        self.outputs = lit_lamps(harness)
        self._serves = self._served()
        self._states: dict[tuple[Faults, frozenset[int], frozenset[int], float], _State] = {}
        self._looks: dict[tuple[Faults, str], frozenset[Sight]] = {}
        self._led_v = {f"lamp {lamp}": one.led.vf_v for lamp, one in all_lamps(harness).items()}
        self._ohm = {light.key.removeprefix("lamp "): light.ohm for light in self.base.lights}
        self._circuits: dict[tuple[frozenset[int], frozenset[int]], Circuit] = {}
        self.joined: dict[tuple[Faults, str], frozenset[str]] = {}
        """For model.tracing.ohms: the points that wires lead to from one, by it and the faults."""
        self._usual: dict[int, Mapping[str, float]] = {}

    def _served(self) -> Mapping[str, frozenset[int]]:
        """The outputs whose lamps need a conductor, by its key."""
        serves: dict[str, frozenset[int]] = {}
        pins: dict[str, set[int]] = {}
        for wire in derive(self.harness).wires:
            numbers = frozenset(self.outputs[lamp] for lamp in wire.lamps if lamp in self.outputs)
            serves[f"wire {wire.key}"] = numbers
            end = wire.controller_end
            if end.kind is EndKind.PLUG:
                name = f"{end.ref} of {wire.origin}" if end.ref.endswith("?") else end.ref
                serves[f"plug {name}"] = numbers
            elif end.kind is EndKind.PIN:
                pins.setdefault(end_node(wire, end), set()).update(numbers)
        for conductor in self.base.conductors:
            if conductor.key.startswith("common "):
                serves[conductor.key] = frozenset(pins.get(conductor.a, ()))
        return serves

    def _circuit(self, outputs: frozenset[int], on: frozenset[int]) -> Circuit:
        """The part of the circuit that the lamps of `outputs` need, with `on` switched on."""
        known = self._circuits.get((outputs, on))
        if known is not None:
            return known
        kept = []
        for conductor in self.base.conductors:
            kind, _, name = conductor.key.partition(" ")
            if kind == "output":
                if int(name) in on:
                    kept.append(conductor)
            elif self._serves[conductor.key] & outputs:
                kept.append(conductor)
        lights = tuple(
            light
            for light in self.base.lights
            if self.outputs.get(light.key.removeprefix("lamp ")) in outputs
        )
        circuit = attrs.evolve(self.base, conductors=tuple(kept), lights=lights)
        self._circuits[outputs, on] = circuit
        return circuit

    def usual(self, output: int) -> Mapping[str, float]:
        """The current of each lamp of an output when nothing is wrong and it alone is on, in A."""
        known = self._usual.get(output)
        if known is None:
            one = frozenset((output,))
            found = solve(self._circuit(one, one))
            known = {key.removeprefix("lamp "): current for key, current in found.light_a.items()}
            self._usual[output] = known
        return known

    def faulty_circuit(
        self, faults: Faults, on: Iterable[int], outputs: frozenset[int], grade: float = 0.5
    ) -> Circuit:
        """The circuit of the lamps of `outputs` with `faults` in it and `on` meant to be on."""
        really = frozenset(on)
        for fault in faults:
            really = outputs_with(fault, really)
        for fault in faults:
            if fault.kind is FaultKind.OUTPUT_DEAD:
                really = outputs_with(fault, really)
        circuit = self._circuit(outputs, really)
        for fault in faults:
            circuit = apply_fault(circuit, fault, grade)
        return circuit

    def touched(self, faults: Faults) -> frozenset[int]:
        """The outputs whose lamps may behave otherwise."""
        if len(faults) == 1:
            return touched_outputs(self.harness, faults[0])
        return frozenset().union(*(touched_outputs(self.harness, fault) for fault in faults))

    def _involved(self, faults: Faults, needed: frozenset[int]) -> frozenset[int]:
        """The outputs whose lamps have to be worked out for those `needed`: only some faults join outputs.

        With the common and a switched wire swapped, nothing comes through lamps of third outputs: their
        switched sides hang free.
        """
        for fault in faults:
            if fault.kind is FaultKind.SHORT:
                needed |= self._outputs_at(fault.ref, needed) | self._outputs_at(fault.other, needed)
            elif fault.kind in _CROSSING:
                needed |= self._joined(fault, needed)
        return needed

    def _joined(self, fault: Fault, needed: frozenset[int]) -> frozenset[int]:
        """The outputs of the wires that are crossed; of the common's, one that brings it into the circuit."""
        by_key = derive(self.harness).by_key
        wires = [by_key[key] for key in (fault.wire, fault.other) if key]
        numbers = {wire.output for wire in wires} | {fault.output}
        joined = frozenset(number for number in numbers if number is not None)
        for wire in wires:
            behind = sorted({self.outputs[lamp] for lamp in wire.lamps if lamp in self.outputs})
            if wire.output is None and not (needed | joined).intersection(behind):
                joined |= frozenset(behind[:1])
        return joined

    def _state(self, faults: Faults, on: frozenset[int], outputs: frozenset[int], grade: float) -> _State:
        # A wire with a bad contact is the same circuit whichever of its joints has it.
        faults = tuple(
            attrs.evolve(fault, ref="") if fault.kind is FaultKind.JOINT_RESISTS else fault
            for fault in faults
        )
        key = (faults, on, outputs, grade)
        known = self._states.get(key)
        if known is None:
            known = self._work_out(self.faulty_circuit(faults, on, outputs, grade))
            self._states[key] = known
        return known

    def _work_out(self, circuit: Circuit) -> _State:
        try:
            found = solve(circuit)
        except NotSolved:
            return _State(shares={}, circuit=circuit, found={}, led_v={}, solved=False)
        shares = {}
        for key, current in found.light_a.items():
            lamp = key.removeprefix("lamp ")
            usual_a = self.usual(self.outputs[lamp])[lamp]
            shares[lamp] = current / usual_a if usual_a > LEAST_USUAL_A else math.nan
        return _State(shares=shares, circuit=circuit, found=found.volts, led_v=self._led_v)

    def share(self, faults: Faults, lamp_id: str, on: frozenset[int], grade: float = 0.5) -> float:
        """Share of its usual current that a lamp has; NaN for one that has none even when all is well."""
        outputs = self._involved(faults, on | {self.outputs[lamp_id]})
        return self._state(faults, on, outputs, grade).shares.get(lamp_id, 0.0)

    # --- what is seen ---

    def look(self, faults: Faults, lamp: str) -> frozenset[Sight]:
        """What a lamp may be called with these faults, when the outputs are switched on one by one."""
        known = self._looks.get((faults, lamp))
        if known is None:
            known = self._looks[faults, lamp] = self._look(faults, lamp)
        return known

    def quick_look(self, faults: Faults, lamp: str) -> frozenset[Sight] | None:
        """As `look`, but None where the network would have to be worked out for it."""
        known = self._looks.get((faults, lamp))
        if known is not None:
            return known
        output = self.outputs[lamp]
        if not self.usual(output)[lamp] > LEAST_USUAL_A:
            found: frozenset[Sight] | None = frozenset(Sight)
        elif output not in self.touched(faults):
            found = frozenset((Sight.LIT,))
        elif len(faults) == 1:
            found = self._plain_look(faults[0], lamp)
        else:
            found = self._pair_look(faults, lamp)
        if found is not None:
            self._looks[faults, lamp] = found
        return found

    def _look(self, faults: Faults, lamp: str) -> frozenset[Sight]:
        quick = self.quick_look(faults, lamp)
        if quick is not None:
            return quick
        output = self.outputs[lamp]
        touched = self._involved(faults, frozenset((output,)))
        sights: set[Sight] = set()
        for grade in grades(faults):
            state = self._state(faults, frozenset((output,)), touched, grade)
            if not state.solved:
                return frozenset(Sight)
            share = state.shares.get(lamp, 0.0)
            if any(fault.kind is FaultKind.OUTPUT_STUCK for fault in faults):
                idle = self._state(faults, frozenset(), touched, grade).shares.get(lamp, 0.0)
                if idle >= DARK_BELOW:
                    sights.add(Sight.STAYS)
                    continue
            own = sights_of_share(share)
            if not is_plain(self.harness, {output}):
                own = own.union(*(sights_of_share(share * factor) for factor in SHARING))
            if Sight.DARK in own and self._lit_by(faults, lamp, output, touched, grade):
                sights.add(Sight.WRONG)
                own -= {Sight.DARK}
            sights |= own
        if len(grades(faults)) > 1:
            places = [_LEVELS.index(sight) for sight in sights if sight in _LEVELS]
            sights |= set(_LEVELS[min(places) : max(places) + 1]) if places else set()
        return frozenset(sights)

    def _plain_look(self, fault: Fault, lamp: str) -> frozenset[Sight] | None:
        """What follows from the wiring alone; None where it has to be worked out."""
        kind = fault.kind
        if lamp not in direct_lamps(self.harness, fault):
            touched = lamp in touched_lamps(self.harness, fault)
            if touched and kind is FaultKind.TAGS_SWAPPED and not self._moves_between_outputs(fault):
                # Lamps that leave an output which holds its current change what the others get.
                return frozenset((Sight.DIM, Sight.LIT, Sight.BRIGHT))
            if touched or kind is FaultKind.SHORT:
                return None
            small = kind is FaultKind.LED_SHORT and self._ohm[fault.lamp] < LEAST_RESISTOR_OHM
            return None if small else frozenset((Sight.LIT,))
        if kind in (FaultKind.SHORT, *SPANS):
            return None
        if kind is FaultKind.OUTPUT_STUCK:
            return frozenset((Sight.STAYS,)) if is_plain(self.harness, {self.outputs[lamp]}) else None
        if kind is FaultKind.WRONG_OUTPUT:
            return self._moved_look(fault.output)
        if kind is FaultKind.TAGS_SWAPPED:
            return self._swapped_look(fault, lamp)
        return frozenset((Sight.DARK,))

    def _pair_look(self, faults: Faults, lamp: str) -> frozenset[Sight] | None:
        """Where only one of two faults is felt, it alone counts; where one of them darkens, dark it is."""
        felt = [self.look((fault,), lamp) for fault in faults if lamp in touched_lamps(self.harness, fault)]
        if len(felt) < 2:
            return felt[0] if felt else frozenset((Sight.LIT,))
        dark = frozenset((Sight.DARK,))
        return dark if dark in felt else None

    def _moved_look(self, output: int | None) -> frozenset[Sight]:
        """A lamp that hangs on another output; one that regulates may give it too little to be seen."""
        if is_plain(self.harness, {output or 0}):
            return frozenset((Sight.WRONG,))
        return frozenset((Sight.WRONG, Sight.DARK))

    def _swapped_look(self, fault: Fault, lamp: str) -> frozenset[Sight] | None:
        by_key = derive(self.harness).by_key
        one, other = by_key[fault.wire], by_key[fault.other]
        if one.output is not None and other.output is not None:
            return self._moved_look(other.output if lamp in one.lamps else one.output)
        switched = one if one.output is not None else other
        # With its switched side on the common it has no volts. With its common side on an output it has
        # none either, but for what comes back through the other lamps of that output.
        own = self.outputs[lamp]
        alone = set(self._on_output(switched.output)) <= set(switched.lamps)
        if lamp in switched.lamps or own == switched.output or alone:
            return frozenset((Sight.DARK,))
        return None

    def _on_output(self, output: int | None) -> frozenset[str]:
        return frozenset(lamp for lamp, number in self.outputs.items() if number == output)

    def _lit_by(
        self, faults: Faults, lamp: str, own: int, touched: frozenset[int], grade: float
    ) -> frozenset[int]:
        if not any(self._moves_between_outputs(fault) for fault in faults):
            return frozenset()
        found = set()
        for number in touched - {own}:
            share = self._state(faults, frozenset((number,)), touched, grade).shares.get(lamp, 0.0)
            if share >= DARK_BELOW:
                found.add(number)
        return frozenset(found)

    def _moves_between_outputs(self, fault: Fault) -> bool:
        """Whether a lamp may get its switched side from another output. Swapped with the common, none can."""
        if fault.kind is not FaultKind.TAGS_SWAPPED:
            return fault.kind in _CROSSING
        by_key = derive(self.harness).by_key
        return None not in (by_key[fault.wire].output, by_key[fault.other].output)

    def lit_by(self, faults: Faults, lamp: str) -> frozenset[int]:
        """The outputs other than its own that light a lamp, one at a time."""
        return self._lit_by(faults, lamp, self.outputs[lamp], self.touched(faults), 0.5)

    # --- what a meter reads ---

    def meter_v(self, faults: Faults, node: str, on: frozenset[int]) -> tuple[Span, ...]:
        """The volts to the battery's minus that a meter can show at a node: spans from least to most.

        With a short there are two: the output holds some of its volts, as far as its limit lets it; or it,
        or a fuse, has given up.
        """
        faults = self._near(faults, node, on)
        states = self._metered_states(faults, node, on)
        whole = ((0.0, self.battery_v),)
        if not all(state.solved for state in states):
            return whole
        try:
            found = [state.volts.get(node, (0.0, 0.0)) for state in states]
            if not any(fault.kind is FaultKind.SHORT for fault in faults):
                return (_hull(found),)
            idle = self._metered_states(faults, node, frozenset(), on)[0].volts.get(node, (0.0, 0.0))
        except NotSolved:
            return whole
        return _hull((*found, idle)), idle

    def _metered_states(
        self, faults: Faults, node: str, on: frozenset[int], meant: frozenset[int] | None = None
    ) -> list[_State]:
        """One for each grade of the faults, with the outputs `meant` (by default `on`) in the circuit."""
        there = on if meant is None else meant
        outputs = self._involved(faults, there | self._outputs_at(node, there))
        return [self._state(faults, on, outputs, grade) for grade in grades(faults)]

    def floats(self, faults: Faults, node: str, on: frozenset[int]) -> bool:
        """Whether a meter at this node may read what it gets through an LED at most."""
        states = self._metered_states(self._near(faults, node, on), node, on)
        return any(node in state.hanging for state in states)

    def _near(self, faults: Faults, node: str, on: frozenset[int]) -> Faults:
        """Of several faults those that a meter at this node can feel."""
        if len(faults) < 2:
            return faults
        near = on | _outputs_at(self.harness).get(node, frozenset())
        return tuple(fault for fault in faults if touched_outputs(self.harness, fault) & near)

    def _outputs_at(self, node: str, there: frozenset[int]) -> frozenset[int]:
        """An output whose lamps bring the node into the circuit; none where one of `there` does."""
        served = _outputs_at(self.harness).get(node, frozenset())
        return frozenset() if served & there else frozenset(sorted(served)[:1])


def grades(faults: Faults) -> tuple[float, ...]:
    """The grades at which faults are worked out: both ends of the span where there is one."""
    return (0.0, 1.0) if any(fault.kind in SPANS for fault in faults) else (0.5,)


def _hull(spans: Iterable[Span]) -> Span:
    """From the least of all to the most of all."""
    lows, highs = zip(*spans, strict=True)
    return min(lows), max(highs)


@by_identity
def _outputs_at(harness: Harness) -> Mapping[str, frozenset[int]]:
    """The outputs whose lamps are behind each node."""
    found: dict[str, frozenset[int]] = {}
    lit = lit_lamps(harness)
    for wire in derive(harness).wires:
        numbers = frozenset(lit[lamp] for lamp in wire.lamps if lamp in lit)
        for end in (wire.lamp_end, wire.controller_end):
            node = end_node(wire, end)
            found[node] = found.get(node, frozenset()) | numbers
    return found
