"""The merge plan: for the common and each output's net the joints that need least wire.

What is weighed is wire as it would really be cut, and a price for each joint (a setting, in mm of wire).
Joints are only made at waypoints that can be reached, hold no more wires than the settings say, and no more
wires end on a pin. A trunk that carries too much for the project's gauge is planned in a thicker one. Wires
begun at the bench stay. Trunks take the shortest way, lamps the shortest or the measured one; a lamp keeps
a way that needs no more wire, and the one of a wire that stays. Where bundles would not go through a hole
that closer merging lets them through, the plan is the one that does.
"""

from __future__ import annotations

from collections.abc import Callable

from model.harness import Harness
from model.routing.gather import EXACT_UP_TO, Gathered, tree_cost
from model.routing.holes import through_holes
from model.routing.net_plan import NetPlan, Plan, PlannedJoint, net_plan_of, plan_net
from model.routing.nets import Layout, build_net, nets, why_left_out
from model.routing.take_over import apply, joint_names, take_merge
from model.routing.tolls import Tolls

__all__ = [
    "NetPlan",
    "Plan",
    "PlannedJoint",
    "Report",
    "apply",
    "best_plan",
    "joint_names",
    "own_pairs",
    "plan_net",
    "take_merge",
]

Report = Callable[[float], object]
"""Called with the share of the work that is done, 0 to 1; what it raises ends the work."""

EFFORT = 12_000
"""Lamps times waypoints of the nets too large for a proof; beyond that each is searched less."""

FIRST = 0.7
"""The share of the work that is done before the holes are looked at."""


def best_plan(harness: Harness, progress: Report | None = None) -> Plan:
    """The cheapest plan found for every net. Lamps that were not walked yet are in it, on their shortest
    way.

    Exact for nets of up to twelve lamps. Where the harness is already as cheap its joints are left as they
    are.
    """
    report = progress or (lambda share: None)
    wanted = nets(harness)
    if not wanted:
        return Plan(nets=(), left_out=_left_out(harness))
    effort, sizes = _effort(harness, wanted)
    holes = any(leg.hole_mm is not None for leg in harness.legs)
    first = FIRST if holes else 1.0
    done = 0.0
    plans = []
    for output, size in zip(wanted, sizes, strict=True):
        # Within a net the end is not known beforehand; the bar creeps towards it.
        steps = _Steps(report, first * done / sum(sizes), first * size / sum(sizes))
        plans.append(plan_net(harness, output, steps.step, effort=effort))
        done += size
        report(first * done / sum(sizes))
    plan = Plan(nets=tuple(plans), left_out=_left_out(harness))
    if not holes:
        return plan
    steps = _Steps(report, first, 1 - first)

    def replan(output: int | None, tolls: Tolls) -> NetPlan:
        return plan_net(harness, output, steps.step, effort=effort / 4, tolls=tolls)

    plan = through_holes(harness, plan, replan)
    report(1.0)
    return plan


def _effort(harness: Harness, wanted: tuple[int | None, ...]) -> tuple[float, list[float]]:
    """The share of the usual search that all nets together leave each of them, and how much work each is."""
    starts = [build_net(harness, output).problem.starts for output in wanted]
    sites = len(harness.waypoints)
    hard = sum(count * sites for count in starts if count > EXACT_UP_TO)
    return min(1.0, EFFORT / max(hard, 1)), [float(max(count, 1)) for count in starts]


class _Steps:
    def __init__(self, report: Report, begin: float, share: float) -> None:
        self.report, self.begin, self.share, self.left = report, begin, share, 1.0

    def step(self) -> None:
        self.left *= 0.9
        self.report(self.begin + self.share * (1 - self.left))


def _left_out(harness: Harness) -> tuple[tuple[str, str], ...]:
    return tuple((lamp.id, why) for lamp in harness.lamps if (why := why_left_out(harness, lamp)))


def own_pairs(harness: Harness) -> Plan:
    """The plan in which each lamp has its own pair of wires; what stands at the bench stays."""
    plans = []
    for output in nets(harness):
        net = build_net(harness, output)
        layout = Layout(ends=dict.fromkeys(net.items), at={})
        tree = net.tree(layout)
        assert tree is not None
        cost = tree_cost(net.problem, tree)
        crowded = len(layout.ends) > net.problem.pin_room
        gathered = Gathered(tree=tree, cost=cost, bound=0.0, exact=False, crowded=crowded)
        plans.append(net_plan_of(harness, net, layout, gathered, False))
    return Plan(nets=tuple(plans), left_out=_left_out(harness))
