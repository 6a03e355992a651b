"""What a meter should say along the way of a wire."""

from __future__ import annotations

import pytest

from model.electrics.circuit import Conductor
from model.electrics.network import circuit_of, wire_ohm
from model.errors import BadValue, Conflict, NotThere
from model.routing.wires import derive
from model.tracing.expect import expect, expect_text
from tests.model.tracing.loom import gritter, moved
from tests.spice import needs_ngspice, spice
from tests.strategies import harness_from_seed


def test_from_the_pin_to_the_lamp() -> None:
    harness = gritter()
    found = expect(harness, "K7L")
    assert [point.words for point in found.points] == [
        "output 5, pin A5",
        "joint J1 at cab floor",
        "Indicator front left minus",
    ]
    assert found.output == 5
    assert found.battery_v == pytest.approx(7.2)
    for point in found.points:
        assert point.on_v == pytest.approx((0.0, 0.0), abs=0.05)
        # Through an amber LED of 2.05 V a meter of 10 megohm sees the supply less 1.2 V to that.
        assert point.off_v == pytest.approx((7.2 - 2.05, 7.2 - 1.2), abs=0.2)
    wires = derive(harness).by_key
    lengths = [point.pin_ohm for point in found.points]
    assert lengths == pytest.approx(
        [0, wire_ohm(wires["J1-"]), wire_ohm(wires["J1-"]) + wire_ohm(wires["L1-"])]
    )
    assert found.wire_ohm == pytest.approx(wire_ohm(wires["L1-"]))


def test_the_common_side_has_the_battery_on_it() -> None:
    harness = gritter()
    tag = harness.ledger.live()["L3+"].tag
    found = expect(harness, tag, battery_v=8.1)
    for point in found.points:
        assert point.off_v == pytest.approx((8.1, 8.1), abs=0.02)
        assert point.on_v == pytest.approx((8.1, 8.1), abs=0.02)
    assert any(point.words.startswith("plug P1 contact") for point in found.points)


def test_as_lines() -> None:
    lines = expect_text(expect(gritter(), "82A"))
    assert lines[0] == "82A: Beacon minus to plug P1 contact 2"
    assert "all off" in lines[2]
    assert "output 2 on" in lines[2]
    assert all(len(line) <= 80 for line in lines)
    # A white LED of 3.2 V on 7.2 V: what hangs behind it floats, and the lines say so.
    assert any("4.0 to 6.0 V" in line for line in lines)
    assert any("floats" in line and "10 Mohm" in line for line in lines)


def test_refused() -> None:
    with pytest.raises(NotThere, match="K7N"):
        expect(gritter(), "K7N")
    with pytest.raises(Conflict, match="retired"):
        expect(moved(), "N6H")
    for volts in (0.0, -1.0, 61.0, float("nan")):
        with pytest.raises(BadValue, match="battery"):
            expect(gritter(), "K7L", battery_v=volts)


@needs_ngspice
@pytest.mark.parametrize("seed", [3, 8])
def test_as_ngspice_reads_it(seed: int) -> None:
    """With a meter of 10 megohm in the netlist, at every point of some wires, off and on."""
    harness = harness_from_seed(seed, lamps=(3, 6), points=(2, 5), walked=1.0)
    supply_v = 6.3
    checked = 0
    for record in list(harness.ledger.live().values())[:6]:
        found = expect(harness, record.tag, battery_v=supply_v)
        if found.output is None:
            continue
        for point in found.points[-2:]:
            meter = Conductor(key="meter", a=point.node, b="-", ohm=1e7)
            for on, expected in ((set(), point.off_v), ({found.output}, point.on_v)):
                circuit = circuit_of(harness, supply_v=supply_v, on=on)
                parts = (*circuit.conductors, meter)
                _, read = spice(type(circuit)(rails=circuit.rails, conductors=parts, lights=circuit.lights))
                # The shunts that keep its matrix whole, 1e9 ohm a node, draw some tenths of a microampere.
                assert expected is not None
                assert expected[0] - 0.3 < read[point.node] < expected[1] + 0.3
                assert expected[1] - expected[0] < 3.0
                checked += 1
    assert checked > 6
