"""Small networks worked out by hand, and what has no solution."""

from __future__ import annotations

import math

import pytest

from model.electrics import solving
from model.electrics.circuit import Circuit, Conductor, Light
from model.electrics.diode import Diode
from model.electrics.solving import solve
from model.errors import BadValue, NotSolved

RED = Diode(saturation_a=1e-10, emission_v=4.09 * 0.025852, series_ohm=0.1)
BLUE = Diode(saturation_a=1e-10, emission_v=6.68 * 0.025852, series_ohm=0.1)
# Nearly a straight line: 1 A through 1 ohm, and a junction that takes next to nothing.
LINE = Diode(saturation_a=1.0, emission_v=1e-7, series_ohm=0.0)


def circuit(*parts: Conductor | Light, volts: float = 9.0, **rails: float) -> Circuit:
    return Circuit(
        rails={"+": volts, "-": 0.0, **rails},
        conductors=tuple(part for part in parts if isinstance(part, Conductor)),
        lights=tuple(part for part in parts if isinstance(part, Light)),
    )


def wire(key: str, a: str, b: str, ohm: float = 0.1, limit_a: float | None = None) -> Conductor:
    return Conductor(key=key, a=a, b=b, ohm=ohm, limit_a=limit_a)


def light(key: str, a: str = "+", b: str = "-", ohm: float = 390.0, diode: Diode = RED) -> Light:
    return Light(key=key, a=a, b=b, diode=diode, ohm=ohm)


def test_nothing_draws_nothing() -> None:
    solution = solve(circuit())
    assert solution.volts == {"+": 9.0, "-": 0.0}
    assert solution.steps == 0


def test_shared_trunk_by_hand() -> None:
    # 10 ohm in front of two lines of 10 ohm each: 15 ohm on 9 V, 0.6 A, half through each.
    solution = solve(
        circuit(
            wire("trunk", "+", "x", 10.0),
            light("1", "x", ohm=10, diode=LINE),
            light("2", "x", ohm=10, diode=LINE),
        )
    )
    assert solution.conductor_a["trunk"] == pytest.approx(0.6, rel=1e-6)
    assert solution.light_a["1"] == pytest.approx(0.3, rel=1e-6)
    assert solution.volts["x"] == pytest.approx(3.0, rel=1e-6)


def test_wires_in_series_and_dead_ends() -> None:
    solution = solve(
        circuit(
            wire("a", "x", "+", 1.0),
            wire("b", "y", "x", 0.0),
            wire("c", "y", "z", 2.0),
            wire("stub", "x", "nowhere", 5.0),
            light("1", "z", ohm=6, diode=LINE),
        )
    )
    assert solution.conductor_a["a"] == pytest.approx(-1.0, rel=1e-6)
    assert solution.conductor_a["b"] == pytest.approx(-1.0, rel=1e-6)
    assert solution.conductor_a["c"] == pytest.approx(1.0, rel=1e-6)
    assert solution.conductor_a["stub"] == 0
    assert solution.volts["nowhere"] == solution.volts["x"] == solution.volts["y"]
    assert solution.volts["z"] == pytest.approx(6.0, rel=1e-6)


def test_an_open_wire_leaves_its_lamps_dark() -> None:
    solution = solve(circuit(light("1"), light("2", "x"), wire("b", "y", "x")))
    assert solution.light_a["1"] > 0.01
    assert solution.light_a["2"] == 0
    assert math.isnan(solution.volts["x"])


def test_a_reversed_lamp_blocks() -> None:
    solution = solve(circuit(light("1", "-", "+")))
    assert solution.light_a["1"] == pytest.approx(-RED.saturation_a, rel=1e-3)


def test_two_trees_that_only_diodes_join() -> None:
    # Two red ones in series through a floating wire: one current, 390.1 ohm for what 9 V leave.
    solution = solve(circuit(light("1", "+", "x"), wire("w", "x", "y"), light("2", "y", "-", ohm=0.0)))
    assert solution.light_a["1"] == pytest.approx(solution.light_a["2"], rel=1e-5)
    expected = (9 - 2 * RED.volts(solution.light_a["1"])) / 390.1
    assert solution.light_a["1"] == pytest.approx(expected, rel=1e-5)


def test_limited_current_is_shared() -> None:
    solution = solve(
        circuit(
            wire("lim", "x", "-", 0.1, limit_a=0.020),
            light("1", "+", "x", ohm=0.0),
            light("2", "+", "x", ohm=0.0),
            light("3", "+", "x", ohm=0.0, diode=BLUE),
        )
    )
    assert solution.conductor_a["lim"] == pytest.approx(0.020, rel=1e-4)
    assert solution.light_a["1"] == pytest.approx(solution.light_a["2"])
    assert solution.light_a["3"] < 1e-4 * solution.light_a["1"] * 10
    assert solution.volts["x"] == pytest.approx(9 - RED.volts(solution.light_a["1"]), abs=1e-6)


def test_below_its_limit_a_limiter_is_a_wire() -> None:
    limited = solve(circuit(wire("lim", "x", "-", 0.1, limit_a=0.5), light("1", "+", "x")))
    plain = solve(circuit(wire("lim", "x", "-", 0.1), light("1", "+", "x")))
    assert limited.light_a["1"] == pytest.approx(plain.light_a["1"], rel=1e-12)


def test_a_short_takes_the_current_from_the_lamp() -> None:
    solution = solve(
        circuit(
            wire("plus", "+", "x", 0.5),
            wire("minus", "-", "y", 0.4),
            light("1", "x", "y"),
            wire("short", "x", "y", 0.1),
        )
    )
    assert solution.conductor_a["short"] == pytest.approx(9.0, rel=1e-4)
    assert solution.light_a["1"] < 1e-5
    assert solution.volts["x"] - solution.volts["y"] == pytest.approx(0.9, rel=1e-4)


def test_a_meter_on_an_output_that_is_off() -> None:
    # Ten megohm to minus pull a microampere or less through the lamp; the pin reads a little below plus.
    solution = solve(
        circuit(wire("w", "pin", "lamp"), light("1", "+", "lamp"), wire("meter", "pin", "-", 1e7))
    )
    reading = solution.volts["pin"]
    assert solution.conductor_a["meter"] == pytest.approx(reading / 1e7)
    assert reading == pytest.approx(9 - RED.volts(solution.light_a["1"]), abs=1e-3)
    assert 7.5 < reading < 8.7


def test_three_rails() -> None:
    solution = solve(circuit(light("1", "+", "held", ohm=4.0, diode=LINE), held=5.0))
    assert solution.light_a["1"] == pytest.approx(1.0, rel=1e-6)


def test_a_dead_short_of_the_rails_is_an_error() -> None:
    with pytest.raises(NotSolved, match="short circuit") as caught:
        solve(circuit(wire("one", "+", "x", 0.0), wire("two", "x", "-", 0.0)))
    assert caught.value.subject in {"one", "two"}


@pytest.mark.parametrize(
    "parts",
    [
        (wire("w", "+", "x", -1.0),),
        (wire("w", "+", "x", float("nan")),),
        (wire("w", "+", "x", float("inf")),),
        (wire("w", "x", "y", 1.0, limit_a=0.02),),
        (wire("w", "+", "-", 1.0, limit_a=0.02),),
        (wire("w", "+", "x", 1.0, limit_a=0.0),),
        (wire("w", "+", "x", 1.0, limit_a=0.02), wire("v", "-", "x", 1.0, limit_a=0.02)),
        (light("1", ohm=float("nan")),),
        (light("1", ohm=-5.0),),
        (light("1", diode=Diode(saturation_a=float("nan"), emission_v=0.1, series_ohm=0.1)),),
        (light("1", diode=Diode(saturation_a=1e-10, emission_v=0.0, series_ohm=0.1)),),
    ],
)
def test_impossible_parts(parts: tuple[Conductor | Light, ...]) -> None:
    with pytest.raises(BadValue):
        solve(circuit(*parts))


def test_impossible_rails() -> None:
    with pytest.raises(BadValue):
        solve(circuit(volts=float("nan")))
    with pytest.raises(BadValue):
        solve(Circuit(rails={}, conductors=(), lights=()))


def test_no_number_without_convergence(monkeypatch: pytest.MonkeyPatch) -> None:
    network = circuit(wire("trunk", "+", "x", 100.0), light("1", "x"), light("2", "x", diode=BLUE))
    assert solve(network).steps > 1
    monkeypatch.setattr(solving, "_MOST_STEPS", 1)
    with pytest.raises(NotSolved) as caught:
        solve(network)
    assert caught.value.subject in {"1", "2"}
    assert "V apart" in caught.value.found
