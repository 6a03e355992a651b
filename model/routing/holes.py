"""Bundles through their holes: merging closer where the cheapest plan has more wires in a leg than pass.

The nets with several wires in such a leg are planned again with a toll on it. Of what that gives, as few and
as cheap changes are taken as let the bundle through; where no merging does, the plan stays as it is, and the
finding on the leg says what else there is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

import attrs

from model.harness import Harness
from model.routing.bundles import bundles
from model.routing.net_plan import NetPlan, Plan
from model.routing.take_over import apply
from model.routing.tolls import Tolls
from model.standards.circles import bundle_diameter_mm
from model.standards.wire import gauge

TOLLS_MM = (50.0, 400.0)
"""What a wire through a leg that is too full is made to cost, in mm of wire, more where less did not do."""

Holes = Mapping[frozenset[str], float]
"""The diameters of holes, by the two waypoints of their legs."""

Inside = Mapping[frozenset[str], tuple[float, ...]]
"""The diameters of the wires of one net in each leg with a hole, by the leg's two waypoints."""


@attrs.frozen(kw_only=True, eq=False)
class _Option:
    """A plan of one net, and where its wires are."""

    net: NetPlan
    inside: Inside


def through_holes(harness: Harness, plan: Plan, replan: Callable[[int | None, Tolls], NetPlan]) -> Plan:
    """The plan, or one a little dearer whose bundles go through more of the holes; `replan` plans one net."""
    holes = {leg.ends: leg.hole_mm for leg in harness.legs if leg.hole_mm is not None}
    chosen = _options(harness, plan, holes)
    tight = [ends for ends in holes if _over(holes, chosen.values(), ends)]
    offers: list[_Option] = []
    for toll_mm in TOLLS_MM:
        if not tight:
            break
        nets = [option.net.output for option in chosen.values() if _may_give_way(option, tight)]
        tolls = dict.fromkeys(tight, toll_mm)
        again = attrs.evolve(plan, nets=tuple(replan(output, tolls) for output in nets))
        offers += _options(harness, again, holes).values()
        for ends in list(tight):
            found = _let_through(holes, chosen, offers, ends)
            if found is not None:
                chosen = found
                tight.remove(ends)
    return attrs.evolve(plan, nets=tuple(_told(net, chosen[net.output].net) for net in plan.nets))


def _told(least: NetPlan, net: NetPlan) -> NetPlan:
    """A net's plan with what is known of its cheapest one."""
    if net is least:
        return net
    more_mm = max(net.cost_mm - least.cost_mm, 0.0)
    return attrs.evolve(
        net,
        bound_mm=min(least.bound_mm, net.cost_mm),
        exact=least.exact and more_mm < 1e-6,
        for_room_mm=more_mm,
    )


def _options(harness: Harness, plan: Plan, holes: Holes) -> dict[int | None, _Option]:
    """Each net's plan with the wires it has in the legs with holes."""
    if not holes:
        return {net.output: _Option(net=net, inside={}) for net in plan.nets}
    inside: dict[int | None, dict[frozenset[str], list[float]]] = {net.output: {} for net in plan.nets}
    common = harness.controller.common_polarity
    for bundle in bundles(apply(harness, plan)):
        if bundle.leg.ends in holes:
            for wire in bundle.wires:
                output = None if wire.polarity is common else wire.output
                if output in inside:
                    inside[output].setdefault(bundle.leg.ends, []).append(gauge(wire.gauge).od_mm)
    return {
        net.output: _Option(
            net=net, inside={ends: tuple(sizes) for ends, sizes in inside[net.output].items()}
        )
        for net in plan.nets
    }


def _may_give_way(option: _Option, tight: Iterable[frozenset[str]]) -> bool:
    return any(len(option.inside.get(ends, ())) > 1 for ends in tight)


def _over(holes: Holes, options: Iterable[_Option], ends: frozenset[str]) -> int:
    """How many of the wires in a leg do not pass its hole, the thickest left out first."""
    sizes = sorted(size for option in options for size in option.inside.get(ends, ()))
    fits = len(sizes)
    while fits and bundle_diameter_mm(sizes[:fits]) > holes[ends]:
        fits -= 1
    return len(sizes) - fits


def _let_through(
    holes: Holes,
    chosen: Mapping[int | None, _Option],
    offers: Iterable[_Option],
    ends: frozenset[str],
) -> dict[int | None, _Option] | None:
    """The options with the changes that let a leg's bundle through at the least cost for each wire; None
    where they do not.

    No change is made that keeps another bundle from its hole.
    """
    trial = dict(chosen)
    before = {other: _over(holes, chosen.values(), other) for other in holes}

    def wires(option: _Option) -> int:
        return len(option.inside.get(ends, ()))

    while _over(holes, trial.values(), ends):
        changes = []
        for place, offer in enumerate(offers):
            now = trial[offer.net.output]
            fewer = wires(now) - wires(offer)
            changed = {**trial, offer.net.output: offer}
            if fewer > 0 and all(_over(holes, changed.values(), one) <= before[one] for one in holes):
                changes.append(((offer.net.cost_mm - now.net.cost_mm) / fewer, place, offer))
        if not changes:
            return None
        offer = min(changes, key=lambda change: change[:2])[2]
        trial[offer.net.output] = offer
    # What came first may no longer be needed.
    for output in sorted(trial, key=lambda one: chosen[one].net.cost_mm - trial[one].net.cost_mm):
        back = {**trial, output: chosen[output]}
        if all(_over(holes, back.values(), one) <= (0 if one == ends else before[one]) for one in holes):
            trial = back
    return trial
