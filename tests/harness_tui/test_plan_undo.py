"""Taking plans and undoing them, as the session does it: every decision and every living tag is as before."""

from __future__ import annotations

import pytest

from harness_tui.session import Session
from model.harness import Harness
from model.routing.merge_plan import apply, best_plan, own_pairs, take_merge
from tests.strategies import harness_from_seed


def decided(harness: Harness) -> tuple[object, ...]:
    live = {(one.tag, one.wire, one.lamp_end, one.controller_end) for one in harness.ledger if one.live}
    return harness.lamps, harness.joints, harness.contacts, harness.legs, harness.settings, live


def first_merge(harness: Harness) -> Harness:
    plan = best_plan(harness)
    merges = [(net.output, joint.key) for net in plan.nets for joint in net.joints]
    return take_merge(harness, plan, *merges[0]) if merges else harness


@pytest.mark.parametrize("first", [0, 20])
def test_undoing_gives_back_what_was(first: int) -> None:
    changed = 0
    for seed in range(first, first + 20):
        session = Session(harness_from_seed(seed, points=(1, 6), lamps=(1, 8), world=True))
        stages = [decided(session.harness)]
        for edit in (first_merge, lambda h: apply(h, best_plan(h)), lambda h: apply(h, own_pairs(h))):
            if edit(session.harness) is not session.harness:
                session.apply(edit, "plan")
                stages.append(decided(session.harness))
        changed += len(stages) - 1
        while len(stages) > 1:
            stages.pop()
            assert session.undo()
            assert decided(session.harness) == stages[-1], seed
    assert changed > 10
