"""Plans side by side: each lamp its own pair, the best one, and the harness as it stands."""

from __future__ import annotations

import attrs

from model.harness import Harness, Leg
from model.routing.bundles import Bundle, bundle_of, bundles
from model.routing.merge_plan import Plan, PlannedJoint, Report, apply, best_plan, own_pairs
from model.routing.wires import EndKind, PartKind, derive


@attrs.frozen(kw_only=True, eq=False)
class PlanFigures:
    """One of the plans: the harness it makes, not yet settled, and its figures.

    `cost_mm` is wire and joints at their price. `longest_mm` is the longest way that current takes from a
    lamp to its pin. `tight_wires` counts the wires in the tightest leg. `lamps` are in it; `open_lamps` have
    no run in it. `stuck` counts the bundles that do not go through their legs' holes.
    """

    name: str
    harness: Harness
    wire_mm: float
    joint_count: int
    cost_mm: float
    longest_mm: float
    tight_wires: int
    lamps: int
    open_lamps: int
    stuck: int


@attrs.frozen(kw_only=True, eq=False)
class Comparison:
    """The three plans, the plan behind the best one, and the leg that is called the tightest (None: no
    wires).
    """

    own_pairs: PlanFigures
    best: PlanFigures
    standing: PlanFigures
    plan: Plan
    tightest: Leg | None

    @property
    def columns(self) -> tuple[PlanFigures, PlanFigures, PlanFigures]:
        """The three, from most wire to as it stands."""
        return self.own_pairs, self.best, self.standing


def compare(harness: Harness, progress: Report | None = None) -> Comparison:
    """The three plans with their figures. The tightest leg is that of the pairs, so that all are counted at
    one place.
    """
    plan = best_plan(harness, progress)
    pairs = apply(harness, own_pairs(harness))
    tightest = _tightest(pairs)
    return Comparison(
        own_pairs=_figures("own pairs", pairs, tightest),
        best=_figures("best", apply(harness, plan), tightest),
        standing=_figures("as it stands", harness, tightest),
        plan=plan,
        tightest=tightest,
    )


def _tightest(harness: Harness) -> Leg | None:
    """The leg whose hole is fullest, or without known holes the one with most wires."""
    used = [bundle for bundle in bundles(harness) if bundle.wires]

    def tightness(bundle: Bundle) -> tuple[float, int]:
        return bundle.fill or 0.0, len(bundle.wires)

    return max(used, key=tightness).leg if used else None


def _figures(name: str, harness: Harness, tightest: Leg | None) -> PlanFigures:
    plan = derive(harness)
    walked = sum(lamp.run is not None for lamp in harness.lamps)
    return PlanFigures(
        name=name,
        harness=harness,
        wire_mm=plan.spool_mm,
        joint_count=len(harness.joints),
        cost_mm=plan.spool_mm + harness.settings.joint_cost_mm * len(harness.joints),
        longest_mm=longest_mm(harness),
        tight_wires=len(bundle_of(harness, tightest).wires) if tightest is not None else 0,
        lamps=walked,
        open_lamps=len(harness.lamps) - walked,
        stuck=sum(bundle.passes is False for bundle in bundles(harness)),
    )


def stands_already(harness: Harness, joint: PlannedJoint) -> bool:
    """Whether a merge of the plan is as the harness has it: place, wires, and where its trunk ends."""
    now = harness.find_joint(joint.key)
    if now is None or (now.at, now.onto) != (joint.at, joint.onto):
        return False
    fed = {wire.origin[:-1] for wire in derive(harness).into_joint.get(joint.key, ())}
    return fed == set(joint.feeds)


def longest_mm(harness: Harness) -> float:
    """The longest way from a lamp to its pin along the wires as cut, a lamp's own lead counted; 0 without
    wires.
    """
    plan = derive(harness)
    onward: dict[str, float] = {}
    longest = 0.0
    # From the pins outwards: a joint's trunk is known before what ends in the joint.
    ends: dict[str, list[tuple[str, float]]] = {"": []}
    for origin, (target, length_mm) in _chains(harness).items():
        ends.setdefault(target, []).append((origin, length_mm))
    waiting = [("", 0.0)]
    while waiting:
        target, far = waiting.pop()
        for origin, length_mm in ends.get(target, ()):
            onward[origin] = far + length_mm
            longest = max(longest, onward[origin])
            waiting.append((origin[:-1], onward[origin]))
    assert len(onward) == len({wire.origin for wire in plan.wires}), "every chain leads to a pin"
    return longest


def _chains(harness: Harness) -> dict[str, tuple[str, float]]:
    """The joint ("": a pin) in which each chain of wires ends, and its length."""
    chains: dict[str, tuple[str, float]] = {}
    for wire in derive(harness).wires:
        end = wire.controller_end
        far = chains.get(wire.origin, ("", 0.0))[1] + wire.cut_mm - wire.part_mm(PartKind.LEAD)
        chains[wire.origin] = (end.ref if end.kind is EndKind.JOINT else "", far)
    return chains


def labels_lost(before: Harness, settled: Harness) -> tuple[str, ...]:
    """The tags on printed labels or begun wires of `before` that a settled change of it has retired."""
    gone = {record.tag for record in settled.ledger if not record.live}
    return tuple(
        record.tag for record in before.ledger if record.live and record.issued and record.tag in gone
    )
