"""The harness as wired: its circuit, its currents, and the laws they keep."""

from __future__ import annotations

import math
from collections import defaultdict
from random import Random

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from model import editing
from model.editing import Merge, RunChoice, accept_run
from model.electrics.lamps import all_lamps
from model.electrics.led import led_figures
from model.electrics.network import (
    Conditions,
    Spread,
    Wired,
    as_wired,
    circuit_of,
    conditions_of,
    usual_case,
    wire_ohm,
    worst_case,
)
from model.electrics.resistor import ResistorChoice
from model.electrics.solving import solve
from model.electrics.supply import volts
from model.harness import Build, Delivers, Harness, Supply, Switched
from model.routing.allot import settle
from model.routing.wires import derive
from model.standards.wire import gauge
from tests.strategies import harness_from_seed, harnesses


def bench(lamps: int = 2, *, plug: str = "", merged: bool = False, **lamp: object) -> Harness:
    """Amber lamps on output 1 at the far end of 1 m, with or without a merge at the end."""
    harness = editing.new_harness("Bench", "BEN")
    harness = editing.add_waypoint(harness, "far end")
    harness = editing.set_leg(harness, "W1", "W2", length_mm=1000, plug=plug, plug_mm=400 if plug else 0)
    for number in range(lamps):
        harness = editing.add_lamp(harness, f"lamp {number}", colour="amber", output=1, at="W2", **lamp)
    for place, one in enumerate(harness.lamps):
        merge = None
        if merged and place:
            merge = Merge(at="W2", into="J1") if place > 1 else Merge(at="W2", gather=("L1",))
        choice = RunChoice(way=("W2", "W1"), plus=merge, minus=None)
        harness = settle(accept_run(harness, one.id, choice))
    return harness


def kirchhoff_a(wired: Wired) -> dict[str, float]:
    """What is left at each node when every current is worked out anew from the node voltages."""
    left: dict[str, float] = defaultdict(float)
    volts = wired.solution.volts
    for wire in wired.circuit.conductors:
        if wire.ohm == 0 or wire.limit_a is not None or math.isnan(volts[wire.a]):
            current = wired.solution.conductor_a[wire.key]
        else:
            current = (volts[wire.a] - volts[wire.b]) / wire.ohm
        left[wire.a] -= current
        left[wire.b] += current
    for light in wired.circuit.lights:
        current = wired.solution.light_a[light.key]
        left[light.a] -= current
        left[light.b] += current
    return {node: current for node, current in left.items() if node not in wired.circuit.rails}


def test_one_lamp_is_a_series_circuit() -> None:
    harness = bench(1)
    wired = worst_case(harness)
    current_a = wired.lamp_ma["L1"] / 1000
    wires = {wire.key: wire for wire in derive(harness).wires}
    # Wire at 40 C, both ways, and 20 + 20 + 100 milliohm at the pins.
    way_ohm = (
        sum(wire.cut_mm for wire in wires.values()) * 1e-6 * gauge("28 AWG").ohm_per_km * (1 + 0.00393 * 20)
    )
    assert wired.lost_mv["L1"] == pytest.approx(1000 * current_a * (way_ohm + 0.140))
    assert wired.wire_drop_mv["L1+"] == pytest.approx(1000 * current_a * wire_ohm(wires["L1+"]))
    assert wired.lamp_v["L1"] == pytest.approx(8.7 - wired.lost_mv["L1"] / 1000)
    assert wired.output_ma == {1: wired.lamp_ma["L1"], 2: 0, 3: 0, 4: 0, 5: 0, 6: 0}
    assert wired.total_ma == pytest.approx(wired.lamp_ma["L1"])
    assert wired.left_out == ()
    # The sum with constant 2.1 V is 11.8 mA; the curve lets a little more through below its test current.
    assert 11.7 < wired.lamp_ma["L1"] < 12.2


def test_currents_add_up_in_trunk_and_pins() -> None:
    harness = bench(3, merged=True)
    wired = worst_case(harness)
    assert wired.wire_ma["J1+"] == pytest.approx(sum(wired.lamp_ma.values()))
    assert wired.pin_ma["A.7"] == pytest.approx(wired.wire_ma["J1+"])
    assert wired.output_ma[1] == pytest.approx(sum(wired.lamp_ma.values()))
    assert wired.pin_ma["A.1"] == pytest.approx(wired.output_ma[1])


def test_a_plug_adds_its_contacts() -> None:
    harness = bench(1, plug="P1")
    keys = {part.key for part in circuit_of(harness).conductors}
    assert {"plug P1.1", "plug P1.2", "wire L1+", "wire L1+.2"} <= keys
    poor = as_wired(harness, conditions=Conditions(plug_milliohm=50_000))
    assert poor.lamp_ma["L1"] < 0.9 * worst_case(harness).lamp_ma["L1"]


def test_the_settings_say_contacts_and_temperature() -> None:
    harness = bench(1, plug="P1")
    poor = editing.set_settings(harness, contact_milliohm=5000.0)
    # One contact of the plug and one pin on each side: 20 ohm in all beside some 560.
    share = worst_case(poor).lamp_ma["L1"] / worst_case(harness).lamp_ma["L1"]
    assert share == pytest.approx(560 / 580, rel=0.01)
    warm = editing.set_settings(harness, inside_c=80.0)
    ratio = worst_case(warm).wire_drop_mv["L1+"] / worst_case(harness).wire_drop_mv["L1+"]
    assert ratio == pytest.approx((1 + 0.00393 * 60) / (1 + 0.00393 * 20), rel=1e-3)
    switch = editing.set_settings(harness, switch_milliohm=1100.0)
    more_mv = worst_case(switch).lost_mv["L1"] - worst_case(harness).lost_mv["L1"]
    assert more_mv == pytest.approx(worst_case(harness).lamp_ma["L1"], rel=0.01)  # one ohm more
    joint = editing.set_settings(bench(2, merged=True), joint_milliohm=501.0)
    wire = next(wire for wire in derive(joint).wires if wire.key == "L1+")
    assert wire_ohm(wire, conditions_of(joint.settings)) - wire_ohm(wire) == pytest.approx(0.5)


def test_a_trunk_shared_makes_a_difference() -> None:
    conditions = Conditions(pin_milliohm=20_000)
    both = as_wired(bench(2), conditions=conditions)
    alone = as_wired(bench(1), conditions=conditions)
    assert both.lamp_ma["L1"] < alone.lamp_ma["L1"]


def test_outputs_that_are_off() -> None:
    harness = settle(editing.edit_lamp(bench(2), "L2", output=2))
    harness = settle(accept_run(harness, "L2", RunChoice(way=("W2", "W1"), plus=None, minus=None)))
    wired = as_wired(harness, on={2})
    assert wired.on == {2}
    assert wired.lamp_ma["L1"] == 0
    assert wired.lamp_ma["L2"] > 10
    assert wired.lost_mv.keys() == {"L2"}
    dark = as_wired(harness, on=())
    assert dark.total_ma == 0
    assert dark.runtime_h(3000) is None


def test_runtime() -> None:
    wired = usual_case(bench(2))
    assert wired.supply_v == 7.2
    assert wired.runtime_h(1000 * wired.total_ma) == pytest.approx(1000)


@pytest.mark.parametrize("switched", list(Switched))
def test_either_side_may_be_switched(switched: Switched) -> None:
    harness = editing.set_switched(bench(1), switched)
    harness = settle(accept_run(harness, "L1", RunChoice(way=("W2", "W1"), plus=None, minus=None)))
    assert worst_case(harness).lamp_ma["L1"] == pytest.approx(worst_case(bench(1)).lamp_ma["L1"])


@pytest.mark.parametrize("switched", list(Switched))
def test_an_output_may_hold_its_own_voltage(switched: Switched) -> None:
    harness = editing.set_switched(bench(1), switched)
    harness = editing.edit_output(harness, 1, delivers=Delivers.REGULATED, delivers_v=5.0)
    harness = settle(accept_run(harness, "L1", RunChoice(way=("W2", "W1"), plus=None, minus=None)))
    wired = worst_case(harness)
    assert wired.lamp_v["L1"] + wired.lost_mv["L1"] / 1000 == pytest.approx(5.0)
    assert wired.lamp_ma["L1"] == pytest.approx((5.0 - 2.1) / 0.330, rel=0.05)


def test_an_output_of_limited_current_shares_it() -> None:
    harness = editing.edit_output(bench(2), 1, delivers=Delivers.CURRENT, delivers_ma=20.0)
    wired = worst_case(harness)
    assert wired.output_ma[1] == pytest.approx(20.0, rel=1e-4)
    assert wired.lamp_ma["L1"] == pytest.approx(10.0, rel=0.01)


def test_who_is_left_out() -> None:
    harness = editing.add_lamp(bench(1), "not walked", output=1)
    harness = editing.add_lamp(harness, "no output")
    assert worst_case(harness).left_out == ("L2", "L3")
    blue = editing.edit_lamp(bench(1), "L1", colour="blue")
    assert as_wired(editing.set_supply(blue, Supply(chemistry="regulated", nominal_v=3.3))).left_out == (
        "L1",
    )


def test_a_lead_of_its_own_counts_as_wire() -> None:
    harness = bench(1, build=Build.WIRED, rated_v=9.0, lead_mm=400.0)
    wire = derive(harness).by_key["L1+"]
    length_mm = wire.cut_mm + 400
    assert wire_ohm(wire) == pytest.approx(
        length_mm * 1e-6 * gauge("28 AWG").ohm_per_km * (1 + 0.00393 * 20), rel=1e-9
    )


PACKS = [Supply(chemistry="LiPo", cells=cells) for cells in (1, 2)]
PACKS += [Supply(chemistry="NiMH", cells=cells) for cells in (3, 4, 6, 8)]


@given(
    harnesses(lamps=(1, 20), points=(1, 6)),
    st.sampled_from(PACKS),
    st.just(1.0) | st.floats(0, 1),
    st.just(-1.0) | st.floats(-1, 1),
)
@settings(deadline=None, max_examples=60)
def test_no_led_is_over_its_limit_as_wired(harness: Harness, pack: Supply, at: float, off: float) -> None:
    """Parts of the lowest forward voltage, resistors anywhere in their tolerance, any voltage of the battery.

    The network knows nothing of the sums by which the resistors were chosen.
    """
    harness = editing.set_supply(harness, pack)
    for lamp in harness.lamps:  # as much as they stand, so that nothing but the proof keeps them safe
        most_ma = led_figures(lamp).max_ma
        bare = {"build": Build.BARE, "resistor_ohm": None}
        harness = editing.edit_lamp(harness, lamp.id, current_ma=most_ma, **bare)
    level = volts(harness.supply)
    low = attrs.evolve(conditions_of(harness.settings), spread=Spread.LOW)
    supply_v = level.flat_v + at * (level.full_v - level.flat_v)
    circuit = circuit_of(harness, supply_v=supply_v, conditions=low)
    share = 1 + off * harness.settings.resistor_tolerance_pct / 100
    lights = tuple(attrs.evolve(light, ohm=light.ohm * share) for light in circuit.lights)
    solution = solve(attrs.evolve(circuit, lights=lights))
    for lamp_id, one in all_lamps(harness).items():
        if f"lamp {lamp_id}" in solution.light_a and isinstance(one.choice, ResistorChoice):
            assert 1000 * solution.light_a[f"lamp {lamp_id}"] <= one.led.max_ma * (1 + 1e-6)


@given(harnesses(lamps=(1, 25), points=(1, 8)))
@settings(deadline=None, max_examples=40)
def test_kirchhoffs_current_law(harness: Harness) -> None:
    wired = worst_case(harness)
    assert all(abs(current) < 1e-9 for current in kirchhoff_a(wired).values())
    for light in wired.circuit.lights:
        voltage = wired.solution.volts[light.a] - wired.solution.volts[light.b]
        current = wired.solution.light_a[light.key]
        if current > 1e-9:
            assert light.diode.volts(current) + current * light.ohm == pytest.approx(voltage, abs=1e-6)


@given(harnesses(lamps=(1, 25), points=(1, 8), merges=0.9), st.floats(1, 30), st.floats(1.001, 2))
@settings(deadline=None, max_examples=40)
def test_a_higher_supply_never_gives_less(harness: Harness, supply_v: float, more: float) -> None:
    # Lamps on an output of limited current only share it differently; they are put on the supply.
    for _, output in harness.controller.outputs():
        harness = editing.edit_output(harness, output.number, delivers=Delivers.SUPPLY)
    lower = as_wired(harness, supply_v=supply_v)
    higher = as_wired(harness, supply_v=supply_v * more)
    assert higher.total_ma >= lower.total_ma - 1e-6
    for lamp_id, current_ma in lower.lamp_ma.items():
        assert higher.lamp_ma[lamp_id] >= current_ma - 1e-6


@given(harnesses(lamps=(1, 20), points=(1, 6)), st.randoms(use_true_random=False))
@settings(deadline=None, max_examples=40)
def test_drops_are_never_negative_and_currents_add_up(harness: Harness, numbers: Random) -> None:
    outputs = [output.number for _, output in harness.controller.outputs()]
    wired = as_wired(harness, on={number for number in outputs if numbers.random() < 0.6})
    assert all(drop >= -1e-6 for drop in (*wired.wire_drop_mv.values(), *wired.lost_mv.values()))
    assert wired.total_ma == pytest.approx(sum(wired.lamp_ma.values()), abs=1e-6)
    commons = {f"{block.name}.{pin.pin}" for block, pin in harness.controller.commons()}
    common_ma = sum(current for ref, current in wired.pin_ma.items() if ref in commons)
    assert common_ma == pytest.approx(wired.total_ma, abs=1e-6)


def test_solution_does_not_hang_on_the_order_of_parts() -> None:
    harness = harness_from_seed(11, lamps=(20, 20), points=(6, 6))
    circuit = circuit_of(harness)
    shuffled = attrs.evolve(circuit, conductors=circuit.conductors[::-1], lights=circuit.lights[::-1])
    one, other = solve(circuit), solve(shuffled)
    for key, current in one.light_a.items():
        assert other.light_a[key] == pytest.approx(current, rel=1e-9)
