"""Sleeves for what the plan asks for: the tag on a wire, the joint, the solder point at a lamp."""

from __future__ import annotations

from model.harness import Harness
from model.routing.wires import Wire, derive
from model.standards.circles import bundle_diameter_mm
from model.standards.heatshrink import Sleeve, sleeve_for
from model.standards.wire import gauge

_LEG_MM = 0.6
"""Across the leg of an LED or of a resistor, over its corners; common practice, no source."""


def tag_sleeve(wire: Wire) -> Sleeve | None:
    """The sleeve that carries a wire's tag; None where the wire is too thin for any, and takes a flag."""
    return _either(gauge(wire.gauge).od_mm)


def joint_sleeve(harness: Harness, joint_id: str) -> Sleeve | None:
    """The sleeve over a joint: it grips the wires of the lamp side together and slides over all that meet.

    None where no size of the tables does both.
    """
    plan = derive(harness)
    lamp_side = [gauge(wire.gauge).od_mm for wire in plan.into_joint.get(joint_id, ())]
    everything = [gauge(wire.gauge).od_mm for wire in plan.at_joint(joint_id)]
    if not lamp_side:
        return None
    return _either(bundle_diameter_mm(lamp_side), bundle_diameter_mm(everything))


def splice_sleeve(wire: Wire) -> Sleeve | None:
    """The sleeve over a wire laid beside a lamp's own lead, taken as thick as the wire."""
    return _either(2 * gauge(wire.gauge).od_mm)


def leg_sleeve(wire: Wire, body_mm: float = 0.0) -> Sleeve | None:
    """The sleeve over a wire soldered to a leg, and over a resistor of diameter `body_mm` beside it."""
    return _either(max(gauge(wire.gauge).od_mm + _LEG_MM, body_mm))


def _either(od_mm: float, over_mm: float | None = None) -> Sleeve | None:
    return sleeve_for(od_mm, over_mm=over_mm) or sleeve_for(od_mm, over_mm=over_mm, ratio=3)
