"""Which faults a harness can have, what they are called, and what they do to a circuit."""

from __future__ import annotations

from random import Random

import pytest

from model.electrics.network import circuit_of
from model.electrics.solving import solve
from model.errors import NotSolved
from model.harness import Harness
from model.routing.wires import EndKind, derive
from model.tracing.behaviour import Sight, Simulator
from model.tracing.fault_circuit import apply_fault, outputs_with
from model.tracing.fault_reach import faults_by_lamp, touched_lamps, touched_outputs
from model.tracing.fault_words import fault_places, fault_tags, fault_words, node_words
from model.tracing.faults import PRIOR, Fault, FaultKind, all_faults
from tests.model.tracing.loom import gritter
from tests.strategies import harness_from_seed


@pytest.fixture(scope="module")
def harness() -> Harness:
    return gritter()


def of_kind(harness: Harness, kind: FaultKind) -> list[str]:
    return [fault_words(harness, fault) for fault in all_faults(harness) if fault.kind is kind]


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        (FaultKind.BROKEN_LAMP_END, "K7L is broken at Indicator front left minus"),
        (FaultKind.BROKEN_CONTROLLER_END, "K7L is broken at joint J1 at cab floor"),
        (FaultKind.JOINT_OPEN_ONE, "K7L is loose in joint J1 at cab floor"),
        (FaultKind.JOINT_OPEN_ONE, "9C9 is loose in joint J1 at cab floor"),
        (FaultKind.JOINT_OPEN_ALL, "joint J1 at cab floor is open for all its wires"),
        (FaultKind.JOINT_RESISTS, "H4E has a bad contact in joint J1 at cab floor"),
        (FaultKind.PLUG_OPEN, "plug P1 contact 2 (82A) does not touch"),
        (FaultKind.PLUG_RESISTS, "plug P1 contact 2 (82A) touches badly"),
        (FaultKind.SHORT, "plus and minus touch at Beacon"),
        (FaultKind.LED_REVERSED, "the LED of Beacon is the wrong way round"),
        (FaultKind.LED_OPEN, "the LED of Beacon is dead, or its resistor open"),
        (FaultKind.LED_SHORT, "the LED of Beacon is dead and shorted"),
        (FaultKind.RESISTOR_HIGH, "the resistor of Beacon is far too high"),
        (FaultKind.RESISTOR_LOW, "the resistor of Beacon is far too low"),
        (FaultKind.OUTPUT_DEAD, "output 5 gives nothing"),
        (FaultKind.OUTPUT_STUCK, "output 2 is stuck on"),
        (FaultKind.COMMON_LOST, "common pin A7 has lost its contact"),
        (FaultKind.TAGS_SWAPPED, "9C9 and N6H are swapped"),
        (FaultKind.WRONG_OUTPUT, "9C9 is on output 2 instead of 5"),
    ],
)
def test_every_kind_in_words(harness: Harness, kind: FaultKind, words: str) -> None:
    assert words in of_kind(harness, kind)


def test_there_is_a_prior_for_every_kind() -> None:
    assert set(PRIOR) == set(FaultKind)
    assert all(weight > 0 for weight in PRIOR.values())


def test_outputs_without_lamps_have_no_faults(harness: Harness) -> None:
    assert of_kind(harness, FaultKind.OUTPUT_DEAD) == ["output 2 gives nothing", "output 5 gives nothing"]


def test_a_short_in_a_plug_lies_between_the_polarities(harness: Harness) -> None:
    between = [words for words in of_kind(harness, FaultKind.SHORT) if "plug" in words]
    assert between == [
        "plug P1 contact 1, lamp side touches plug P1 contact 2, lamp side",
    ]


def test_what_is_touched(harness: Harness) -> None:
    def named(words: str) -> Fault:
        return next(fault for fault in all_faults(harness) if fault_words(harness, fault) == words)

    trunk = named("9C9 is broken at output 5, pin A5")
    assert touched_lamps(harness, trunk) == {"L1", "L2"}
    assert fault_tags(harness, trunk) == ("9C9",)
    assert fault_places(harness, trunk) == {"pin A.5"}
    joint = named("joint J1 at cab floor is open for all its wires")
    assert set(fault_tags(harness, joint)) == {"K7L", "H4E", "9C9"}
    wrong = named("9C9 is on output 2 instead of 5")
    assert touched_outputs(harness, wrong) == {2, 5}
    assert fault_places(harness, wrong) == {"pin A.5", "pin A.2"}
    dead = named("output 2 gives nothing")
    assert touched_lamps(harness, dead) == {"L3"}
    assert fault_places(harness, dead) == frozenset()
    assert fault_tags(harness, dead) == ("N6H",)
    led = named("the LED of Beacon is dead, or its resistor open")
    assert set(fault_tags(harness, led)) == {"82A", harness.ledger.live()["L3+"].tag}
    assert outputs_with(dead, {2, 5}) == {5}
    assert outputs_with(named("output 2 is stuck on"), {5}) == {2, 5}


def test_a_lamp_feels_what_is_on_its_way(harness: Harness) -> None:
    words = {fault_words(harness, fault) for fault in faults_by_lamp(harness)["L3"]}
    assert "N6H is broken at output 2, pin A2" in words
    assert "the LED of Beacon is the wrong way round" in words
    assert not any("K7L" in one for one in words)


def test_a_broken_wire_carries_nothing_and_the_rest_does(harness: Harness) -> None:
    circuit = circuit_of(harness, on={5})
    fault = Fault(kind=FaultKind.BROKEN_LAMP_END, wire="L1-")
    after = solve(apply_fault(circuit, fault)).light_a
    before = solve(circuit).light_a
    assert after["lamp L1"] == pytest.approx(0, abs=1e-9)
    assert after["lamp L2"] == pytest.approx(before["lamp L2"], rel=1e-3)


def test_a_bad_contact_grows_with_its_grade(harness: Harness) -> None:
    circuit = circuit_of(harness, on={5})
    fault = Fault(kind=FaultKind.JOINT_RESISTS, wire="L1-", ref="J1")
    currents = [solve(apply_fault(circuit, fault, grade)).light_a["lamp L1"] for grade in (0, 0.5, 1)]
    assert currents[0] > currents[1] > currents[2] > 0


@pytest.mark.parametrize("seed", range(6))
def test_what_the_wiring_says_is_what_the_network_says(seed: int) -> None:
    """Most looks follow from the wiring; each must be what the network gives with all lamps in it."""
    harness = harness_from_seed(seed, lamps=(4, 30), points=(2, 10))
    simulator = Simulator(harness)
    numbers = Random(seed)
    checked = 0
    for fault in numbers.sample(all_faults(harness), min(60, len(all_faults(harness)))):
        for lamp in sorted(touched_lamps(harness, fault)):
            quick = simulator.quick_look((fault,), lamp)
            if quick is None or len(quick) > 1:
                continue
            try:
                whole = _by_the_whole_network(simulator, fault, lamp)
            except NotSolved:
                continue
            assert whole & quick, (fault_words(harness, fault), lamp, quick, whole)
            checked += 1
    assert checked > 30


def _by_the_whole_network(simulator: Simulator, fault: Fault, lamp: str) -> set[Sight]:
    """What a lamp does with every lamp and wire of the harness in the circuit."""
    every = frozenset(simulator.outputs.values())
    own = simulator.outputs[lamp]
    numbers = [output.number for _, output in simulator.harness.controller.outputs()]

    def share(on: set[int]) -> float:
        circuit = simulator.faulty_circuit((fault,), on, every)
        return solve(circuit).light_a.get(f"lamp {lamp}", 0.0) / simulator.usual(own)[lamp]

    if simulator.usual(own)[lamp] < 1e-5:
        return set(Sight)
    if share(set()) > 0.01:
        return {Sight.STAYS}
    if share({own}) > 0.01:
        mild = share({own})
        return {Sight.LIT} if 0.85 <= mild <= 1.25 else {Sight.DIM} if mild < 0.55 else {Sight.BRIGHT}
    lit = any(share({number}) > 0.01 for number in numbers if number != own)
    return {Sight.WRONG} if lit else {Sight.DARK}


def test_nodes_in_words(harness: Harness) -> None:
    ends = {
        node_words(harness, node)
        for wire in derive(harness).wires
        for node in (f"lamp {wire.lamps[0]}{wire.polarity}",)
    }
    assert "Beacon minus" in ends
    assert node_words(harness, "pin A.5") == "output 5, pin A5"
    assert node_words(harness, "joint J1") == "joint J1 at cab floor"
    assert node_words(harness, "plug P1.2 lamp side") == "plug P1 contact 2, lamp side"


@pytest.mark.parametrize("seed", range(6))
def test_no_place_is_left_out(seed: int) -> None:
    """The places of faults counted anew, end by end, as somebody with the model in hand would."""
    harness = harness_from_seed(100 + seed, lamps=(3, 20), points=(2, 8), walked=1.0)
    lamps = set(Simulator(harness).outputs)
    wires = [wire for wire in derive(harness).wires if lamps & set(wire.lamps)]
    ends = [(wire, end) for wire in wires for end in (wire.lamp_end, wire.controller_end)]
    at_joint: dict[str, set[str]] = {}
    for wire, end in ends:
        if end.kind is EndKind.JOINT:
            at_joint.setdefault(end.ref, set()).add(wire.key)
    on_pin = [wire for wire in wires if wire.controller_end.kind is EndKind.PIN]
    numbers = {output.number for _, output in harness.controller.outputs()}

    def of(kind: FaultKind) -> list[tuple[object, ...]]:
        found = [fault for fault in all_faults(harness) if fault.kind is kind]
        return [(fault.wire, fault.ref, fault.lamp, fault.output) for fault in found]

    broken = {(wire.key, "", "", None) for wire in wires}
    assert set(of(FaultKind.BROKEN_LAMP_END)) == set(of(FaultKind.BROKEN_CONTROLLER_END)) == broken
    loose = {(key, joint, "", None) for joint, keys in at_joint.items() for key in keys}
    assert set(of(FaultKind.JOINT_OPEN_ONE)) == set(of(FaultKind.JOINT_RESISTS)) == loose
    assert {ref for _, ref, _, _ in of(FaultKind.JOINT_OPEN_ALL)} == {
        joint for joint, keys in at_joint.items() if len(keys) > 2
    }
    plugged = {(wire.key, end.ref, "", None) for wire, end in ends if end.kind is EndKind.PLUG}
    contacts = {(key, ref, "", None) for key, ref, _, _ in plugged if end_side(harness, key, ref)}
    assert set(of(FaultKind.PLUG_OPEN)) == set(of(FaultKind.PLUG_RESISTS)) == contacts
    for kind in (FaultKind.LED_OPEN, FaultKind.LED_SHORT, FaultKind.LED_REVERSED):
        assert set(of(kind)) == {("", "", lamp, None) for lamp in lamps}
    assert {lamp for _, _, lamp, _ in of(FaultKind.SHORT)} - {""} == lamps
    used = {harness.lamp(lamp).output for lamp in lamps}
    assert {number for *_, number in of(FaultKind.OUTPUT_DEAD)} == used
    assert {number for *_, number in of(FaultKind.OUTPUT_STUCK)} == used
    commons = {wire.controller_end.ref for wire in on_pin if wire.output is None}
    assert {ref for _, ref, _, _ in of(FaultKind.COMMON_LOST)} == commons
    wrong = {
        (wire.key, number) for wire in on_pin if wire.output is not None for number in numbers - {wire.output}
    }
    assert wrong <= {(key, number) for key, _, _, number in of(FaultKind.WRONG_OUTPUT)}


def end_side(harness: Harness, key: str, ref: str) -> bool:
    """Whether this is the lamp side's wire of a contact: each contact counts once."""
    return derive(harness).by_key[key].controller_end.ref == ref
