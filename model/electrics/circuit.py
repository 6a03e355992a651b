"""A direct current network of wires and LEDs: its parts and what comes out of it."""

from __future__ import annotations

import math
from collections.abc import Mapping

import attrs

from model.electrics.diode import Diode
from model.errors import BadValue

LIMITER_OHM = 1e7
"""Rise of a limited-current output past its limit: 5 V over it are half a microampere."""


@attrs.frozen(kw_only=True)
class Conductor:
    """A resistance between nodes `a` and `b`; 0 ohm is allowed. Its current counts from `a` to `b`.

    `limit_a` makes it a source of limited current; one of its nodes must be a rail.
    """

    key: str
    a: str
    b: str
    ohm: float
    limit_a: float | None = None

    def drop_v(self, flow_a: float) -> float:
        """Volts lost along it at a current, of the current's sign."""
        drop = self.ohm * flow_a
        if self.limit_a is not None and abs(flow_a) > self.limit_a:
            drop += math.copysign(LIMITER_OHM * (abs(flow_a) - self.limit_a), flow_a)
        return drop


@attrs.frozen(kw_only=True)
class Light:
    """A diode with `ohm` in series, its anode towards node `a`."""

    key: str
    a: str
    b: str
    diode: Diode
    ohm: float


@attrs.frozen(kw_only=True)
class Circuit:
    """Rails are nodes held at a voltage, in V against the battery's minus."""

    rails: Mapping[str, float]
    conductors: tuple[Conductor, ...]
    lights: tuple[Light, ...]


@attrs.frozen(kw_only=True)
class Solution:
    """Volts of every node against the battery's minus, NaN where a node hangs on nothing; currents in A.

    `light_a` and `conductor_a` hold a current for every part, by key. `steps` counts Newton's steps and
    `residual_v` the greatest mismatch left at any lamp.
    """

    volts: Mapping[str, float]
    light_a: Mapping[str, float]
    conductor_a: Mapping[str, float]
    steps: int
    residual_v: float


def check(circuit: Circuit) -> None:
    """Raise BadValue for a part that no network can hold."""
    if not circuit.rails:
        raise BadValue("circuit", "has no rail", limit="a battery with two ends")
    for conductor in circuit.conductors:
        if not (math.isfinite(conductor.ohm) and conductor.ohm >= 0):
            raise BadValue(conductor.key, f"{conductor.ohm:g} ohm", limit="0 ohm or more")
        if conductor.limit_a is not None:
            if not (math.isfinite(conductor.limit_a) and conductor.limit_a > 0):
                raise BadValue(conductor.key, f"{conductor.limit_a:g} A", limit="above 0 A")
            if (conductor.a in circuit.rails) == (conductor.b in circuit.rails):
                raise BadValue(conductor.key, "limits current away from a rail", limit="one end on a rail")
    for light in circuit.lights:
        curve = light.diode
        if not (0 < curve.saturation_a < math.inf and 0 < curve.emission_v < math.inf):
            raise BadValue(light.key, f"a diode of {curve.saturation_a:g} A and {curve.emission_v:g} V")
        if not (math.isfinite(light.ohm) and light.ohm + light.diode.series_ohm > 0):
            raise BadValue(light.key, f"{light.ohm:g} ohm in series", limit="above 0 ohm with its LED")
    for name, volts in circuit.rails.items():
        if not math.isfinite(volts):
            raise BadValue(f"rail {name}", f"{volts:g} V", limit="a finite voltage")
