"""The network solver against ngspice: the same circuits with the same diode parameters.

ngspice (Debian package; Berkeley SPICE3f5 and its successors) knows nothing of trees or harnesses: it solves
the nodal equations by its own sparse LU and its own Newton method.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from contextlib import nullcontext
from random import Random

import attrs
import pytest

from model.electrics.circuit import Circuit, Conductor, Light, Solution
from model.electrics.diode import Diode
from model.electrics.network import Conditions, Spread, circuit_of
from model.electrics.solving import solve
from model.electrics.supply import volts
from tests.spice import needs_ngspice, spice
from tests.strategies import harness_from_seed

pytestmark = needs_ngspice

# Two diode models of an open library of parts.
RED = Diode(saturation_a=1e-10, emission_v=4.09 * 0.025852, series_ohm=0.1)
BLUE = Diode(saturation_a=1e-10, emission_v=6.68 * 0.025852, series_ohm=0.1)


SHUNT_A = 1e-7
"""What the shunts of 1e9 ohm at all nodes of an idle output carry together, and so a dark lamp.

From a hundredth of a usual lamp's current on, 0.1 mA, only the share decides.
"""


def agree(circuit: Circuit, *, within: float = 1e-3, by: Callable[[Circuit], Solution] = solve) -> int:
    """Check every lamp's current and every node that hangs on something; returns how many lamps are lit."""
    ours = by(circuit)
    theirs_a, theirs_v = spice(circuit)
    for key, current in theirs_a.items():
        assert ours.light_a[key] == pytest.approx(current, rel=within, abs=SHUNT_A), key
    # An idle source of limited current rests on the few millivolts of its ideal diode there, not here.
    limited = {node for wire in circuit.conductors if wire.limit_a is not None for node in (wire.a, wire.b)}
    for name, voltage in ours.volts.items():
        if not math.isnan(voltage) and name in theirs_v and name not in limited:
            assert voltage == pytest.approx(theirs_v[name], abs=2e-4), name
    return sum(current > 1e-4 for current in theirs_a.values())


@pytest.mark.parametrize(
    ("supply_v", "ohm", "diode", "count", "current_ma", "each_v"),
    [
        (5, 150, RED, 1, 19.852, 2.0222),
        (5, 100, BLUE, 1, 17.232, 3.2768),
        (12, 390, RED, 2, 20.384, 2.0250),
        (12, 560, RED, 1, 17.838, 2.0107),
        (9, 390, RED, 1, 17.920, 2.0112),
        (3.3, 10, BLUE, 1, 10.668, 3.1933),
    ],
)
def test_known_working_points(
    supply_v: float, ohm: float, diode: Diode, count: int, current_ma: float, each_v: float
) -> None:
    lights = [Light(key="0", a="+", b="x0", diode=diode, ohm=ohm)]
    lights += [
        Light(key=str(place), a=f"x{place - 1}", b=f"x{place}", diode=diode, ohm=0.0)
        for place in range(1, count)
    ]
    end = Conductor(key="end", a=f"x{count - 1}", b="-", ohm=0.0)
    circuit = Circuit(rails={"+": supply_v, "-": 0.0}, conductors=(end,), lights=tuple(lights))
    assert 1000 * solve(circuit).light_a["0"] == pytest.approx(current_ma, abs=6e-4)
    assert diode.volts(solve(circuit).light_a["0"]) == pytest.approx(each_v, abs=1e-4)
    agree(circuit, within=1e-5)


@pytest.mark.parametrize(
    ("diode", "row"),
    [
        (RED, (1.7043, 1.7777, 1.8749, 1.9487, 2.0230, 2.0669)),
        (BLUE, (2.7836, 2.9034, 3.0619, 3.1821, 3.3028, 3.3738)),
    ],
)
def test_curves(diode: Diode, row: tuple[float, ...]) -> None:
    for current_ma, voltage in zip((1, 2, 5, 10, 20, 30), row, strict=True):
        assert diode.volts(current_ma / 1000) == pytest.approx(voltage, abs=1.1e-4)


@pytest.mark.parametrize(("share", "noticed"), [(1.0, False), (1.002, True), (0.998, True)])
def test_two_thousandths_in_one_lamp_would_be_noticed(share: float, noticed: bool) -> None:
    def wrong(circuit: Circuit) -> Solution:
        right = solve(circuit)
        light_a = {**right.light_a, "lamp L1": share * right.light_a["lamp L1"]}
        return attrs.evolve(right, light_a=light_a)

    circuit = circuit_of(harness_from_seed(3, lamps=(4, 40), points=(2, 12)))
    with pytest.raises(AssertionError, match="lamp L1") if noticed else nullcontext():
        agree(circuit, by=wrong)


@pytest.mark.parametrize("seed", range(30))
def test_random_harnesses(seed: int) -> None:
    harness = harness_from_seed(seed, lamps=(4, 40), points=(2, 12))
    assert agree(circuit_of(harness)) > 0


@pytest.mark.parametrize("seed", range(30, 40))
def test_outputs_on_and_off_at_any_voltage(seed: int) -> None:
    harness = harness_from_seed(seed, lamps=(8, 30), points=(2, 10))
    numbers = Random(seed)
    outputs = [output.number for _, output in harness.controller.outputs()]
    on = {number for number in outputs if numbers.random() < 0.5}
    for supply_v in volts(harness.supply):
        conditions = Conditions(
            wire_c=numbers.uniform(0, 60),
            joint_milliohm=numbers.uniform(0, 500),
            plug_milliohm=numbers.uniform(0, 500),
            spread=numbers.choice(list(Spread)),
        )
        agree(circuit_of(harness, supply_v=supply_v, on=on, conditions=conditions))


@pytest.mark.parametrize("seed", range(8))
def test_two_hundred_lamps_on_poor_wire(seed: int) -> None:
    """Crossing trees with far too much resistance, so that lamps pull each other down."""
    numbers = Random(seed)
    wires: list[Conductor] = []

    def tree(name: str, rail: str, count: int) -> list[str]:
        nodes = [f"{name} 0"]
        wires.append(Conductor(key=f"{name} pin", a=rail, b=nodes[0], ohm=numbers.uniform(0.02, 1.0)))
        for place in range(1, count):
            above = numbers.choice(nodes[-8:])
            nodes.append(f"{name} {place}")
            wires.append(
                Conductor(key=f"{name} {place}", a=above, b=nodes[-1], ohm=numbers.uniform(0.0, 2.0))
            )
        return nodes

    common = tree("common", "+", 80)
    outputs = [tree(f"output {number}", "-", 12) for number in range(10)]
    lights = [
        Light(
            key=f"lamp {place}",
            a=numbers.choice(common),
            b=numbers.choice(numbers.choice(outputs)),
            diode=numbers.choice((RED, BLUE)),
            ohm=numbers.choice((100.0, 330.0, 560.0)),
        )
        for place in range(200)
    ]
    agree(Circuit(rails={"+": 8.7, "-": 0.0}, conductors=tuple(wires), lights=tuple(lights)))
