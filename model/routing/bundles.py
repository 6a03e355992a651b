"""What lies in each leg: the bundle of wires, the sleeve over it, how far it bends, whether it passes the
hole.

Diameters are those of circle packings, which a bundle laid by hand only comes near to
(model.standards.circles).
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable

import attrs

from model.harness import Harness, Leg, Settings
from model.memo import by_identity
from model.routing.graph import route_graph
from model.routing.sleeves import joint_sleeve
from model.routing.wires import Wire, derive
from model.standards.bends import bend_radius_mm
from model.standards.circles import HAND_FACTOR, bundle_diameter_mm
from model.standards.heatshrink import LENGTH_LOSS_PCT, Sleeve, sleeve_for
from model.standards.wire import GAUGES, gauge
from model.values import counted

DRILL_STEP_MM = 0.5
"""Holes are proposed in these steps."""

SLEEVE_BEYOND_MM = 5.0
"""How far a joint's sleeve reaches over the insulation on either side; common practice, no source."""


@attrs.frozen(kw_only=True)
class Bundle:
    """The wires in one leg. Where a plug is on it, `wires` are those on the lamps' side, `behind` the
    others.

    `diameter_mm` is the tightest packing, `by_hand_mm` what it comes to laid by hand; both 0 without wires.
    `held` names the rule of the bend and `bend_mm` is the least radius of it. `sleeve` is None where no size
    takes it.
    """

    leg: Leg
    wires: tuple[Wire, ...]
    behind: tuple[Wire, ...]
    diameter_mm: float
    by_hand_mm: float
    sleeve: Sleeve | None
    held: str
    bend_mm: float

    @property
    def passes(self) -> bool | None:
        """Whether it goes through the leg's hole; None where no hole is known."""
        return None if self.leg.hole_mm is None else self.diameter_mm <= self.leg.hole_mm

    @property
    def tight(self) -> bool:
        """Whether it goes through only if every wire lies as close as can be."""
        return self.leg.hole_mm is not None and self.diameter_mm <= self.leg.hole_mm < self.by_hand_mm

    @property
    def fill(self) -> float | None:
        """Its diameter over that of the hole; None where no hole is known."""
        return None if self.leg.hole_mm is None else self.diameter_mm / self.leg.hole_mm


@by_identity
def bundles(harness: Harness) -> tuple[Bundle, ...]:
    """The bundle in every leg, in the order of the legs; those without wires too."""
    inside: dict[frozenset[str], list[Wire]] = {leg.ends: [] for leg in harness.legs}
    behind: dict[frozenset[str], list[Wire]] = {leg.ends: [] for leg in harness.legs}
    plan = derive(harness)
    for wire in plan.wires:
        for one, other in zip(wire.path, wire.path[1:], strict=False):
            inside[frozenset((one, other))].append(wire)
    for leg in harness.legs:
        # A wire ends at a plug; its two pieces have the leg in neither path.
        for lamp_side, other_side in plan.at_plug(leg.plug) if leg.plug else ():
            inside[leg.ends].append(lamp_side)
            behind[leg.ends].append(other_side)
    return tuple(_bundle(leg, inside[leg.ends], behind[leg.ends]) for leg in harness.legs)


def bundle_of(harness: Harness, leg: Leg) -> Bundle:
    """The bundle in one leg of the harness."""
    return next(bundle for bundle in bundles(harness) if bundle.leg.ends == leg.ends)


def _bundle(leg: Leg, wires: list[Wire], behind: list[Wire]) -> Bundle:
    sizes = _sizes(wires)
    diameter_mm = bundle_diameter_mm(sizes)
    if leg.loop_mm is not None:
        held = "flexing"
    else:
        held = "fixed single wire" if len(wires) == 1 else "fixed bundle"
    return Bundle(
        leg=leg,
        wires=tuple(wires),
        behind=tuple(behind),
        diameter_mm=diameter_mm,
        by_hand_mm=_by_hand_mm(sizes),
        sleeve=_sleeve(diameter_mm) if wires else None,
        held=held,
        bend_mm=bend_radius_mm(diameter_mm, held),
    )


def _sizes(wires: Iterable[Wire]) -> list[float]:
    return [gauge(wire.gauge).od_mm for wire in wires]


def _by_hand_mm(sizes: list[float]) -> float:
    """A rule of cable practice for many wires; one or two lie as they lie."""
    packed = bundle_diameter_mm(sizes)
    return packed if len(sizes) < 3 else max(packed, HAND_FACTOR * math.sqrt(sum(size**2 for size in sizes)))


def _sleeve(od_mm: float) -> Sleeve | None:
    return sleeve_for(od_mm) or sleeve_for(od_mm, ratio=3)


# --- what to do where a bundle does not pass ----------------------------------------------------------------


@attrs.frozen(kw_only=True)
class WayOut:
    """What would let a bundle through its hole, as far as each is possible.

    `drill_mm` is the hole it would take; `fits` how many of its wires pass as they are. `merge` are the nets
    with several wires in it and how many each has; `merged_passes` whether it would pass with one wire of
    each. `gauge` is a thinner wire that would do and carries what it has to; `round` says that another way
    leads past.
    """

    drill_mm: float
    fits: int
    merge: tuple[tuple[int | None, int], ...]
    merged_passes: bool
    gauge: str | None
    round: bool


def way_out(harness: Harness, bundle: Bundle, load_ma: dict[str, float] | None = None) -> WayOut:
    """What would let this bundle through. `load_ma` has the current of each wire by its key, for a thinner
    gauge.
    """
    hole_mm = bundle.leg.hole_mm or math.inf
    sizes = sorted(_sizes(bundle.wires))
    fits = max(
        (count for count in range(len(sizes) + 1) if bundle_diameter_mm(sizes[:count]) <= hole_mm), default=0
    )
    nets = Counter((wire.output, wire.polarity) for wire in bundle.wires)
    one_each = {(wire.output, wire.polarity): gauge(wire.gauge).od_mm for wire in bundle.wires}
    return WayOut(
        drill_mm=math.ceil(bundle.by_hand_mm / DRILL_STEP_MM - 1e-9) * DRILL_STEP_MM,
        fits=fits,
        merge=tuple((output, count) for (output, _), count in nets.most_common() if count > 1),
        merged_passes=bundle_diameter_mm(one_each.values()) <= hole_mm,
        gauge=_thinner(harness, bundle, hole_mm, load_ma),
        round=_leads_past(harness, bundle.leg),
    )


def _thinner(
    harness: Harness, bundle: Bundle, hole_mm: float, load_ma: dict[str, float] | None
) -> str | None:
    """The thickest gauge of the project's kind that lets the bundle through and carries its currents."""
    kind = harness.settings.gauge.rpartition(" ")[2]
    now = gauge(harness.settings.gauge)
    needed = max((load_ma or {}).get(wire.key, 0.0) for wire in bundle.wires) if bundle.wires else 0.0
    thinner = [one for one in GAUGES.values() if one.name.endswith(kind) and one.area_mm2 < now.area_mm2]
    for one in reversed(thinner):
        passes = bundle_diameter_mm([one.od_mm] * len(bundle.wires)) <= hole_mm
        if passes and one.current_ma >= needed:
            return one.name
    return None


def _leads_past(harness: Harness, leg: Leg) -> bool:
    """Whether the two ends of a leg are connected without it."""
    legs = route_graph(harness).legs
    seen, waiting = {leg.a}, [leg.a]
    while waiting:
        here = waiting.pop()
        for other in legs[here]:
            if {here, other} != leg.ends and other not in seen:
                seen.add(other)
                waiting.append(other)
    return leg.b in seen


def remedy_words(harness: Harness, bundle: Bundle, load_ma: dict[str, float] | None = None) -> str:
    """What to do about a bundle that does not pass, in one or two sentences."""
    out = way_out(harness, bundle, load_ma)
    ways = [f"drill it to {out.drill_mm:g} mm"]
    if out.merged_passes and out.merge:
        output, count = out.merge[0]
        net = "common" if output is None else f"output {output}"
        ways.append(f"merge before it ({net} has {counted(count, 'wire')} there)")
    if out.gauge is not None:
        ways.append(f"use {out.gauge} wire")
    if out.round:
        ways.append(f"lead {len(bundle.wires) - out.fits} of {len(bundle.wires)} wires another way")
    text = ", or ".join([", ".join(ways[:-1]), ways[-1]] if len(ways) > 1 else ways)
    return f"{text[0].upper()}{text[1:]}."


# --- joints -------------------------------------------------------------------------------------------------


@attrs.frozen(kw_only=True)
class JointFit:
    """A joint's sleeve and what it has to fit: the wires of the lamps' side together, and all of them.

    `sleeve_mm` is the length to cut. `sleeve` is None where no size slides over all and grips the lamps'
    side.
    """

    wires: tuple[Wire, ...]
    lamp_side_mm: float
    all_mm: float
    sleeve: Sleeve | None
    sleeve_mm: float


def joint_fit(harness: Harness, joint_id: str) -> JointFit:
    """The sleeve of one joint with its figures. Raises NotThere for a joint that does not exist."""
    harness.joint(joint_id)
    plan = derive(harness)
    wires = plan.at_joint(joint_id)
    return JointFit(
        wires=wires,
        lamp_side_mm=bundle_diameter_mm(_sizes(plan.into_joint.get(joint_id, ()))),
        all_mm=bundle_diameter_mm(_sizes(wires)),
        sleeve=joint_sleeve(harness, joint_id),
        sleeve_mm=joint_sleeve_mm(harness.settings),
    )


def joint_sleeve_mm(settings: Settings) -> float:
    """The length to cut of the sleeve over any joint, in whole mm."""
    length_mm = settings.joint_overlap_mm + 2 * SLEEVE_BEYOND_MM
    return math.ceil(length_mm / (1 - LENGTH_LOSS_PCT / 100))
