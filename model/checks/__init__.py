"""Findings over a whole harness: what would burn, what would not work, what is still open.

One function a rule, grouped by what it looks at; those on volts and currents are in
model.electrics.findings, those on bundles in model.routing.findings. Each yields its findings in the order
of the lists.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from model.checks import lamps, making, outputs, routes, wires
from model.electrics import findings as electrics
from model.findings import Finding, Severity
from model.harness import Harness
from model.memo import DECISIONS, of_parts
from model.routing import findings as bundling

Rule = Callable[[Harness], Iterator[Finding]]

RULES: tuple[Rule, ...] = (
    *lamps.RULES,
    *outputs.RULES,
    *electrics.RULES,
    *routes.RULES,
    *bundling.RULES,
    *wires.RULES,
    *making.RULES,
)
"""Every rule, in the order of the work."""


@of_parts(*DECISIONS)
def check(harness: Harness) -> tuple[Finding, ...]:
    """All findings, the worst first; those as bad in the order of the rules and of the lists."""
    found = [finding for rule in RULES for finding in rule(harness)]
    return tuple(sorted(found, key=lambda finding: -finding.severity))


def problems(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """The findings that are more than a note on what is still to do."""
    return tuple(finding for finding in findings if finding.severity > Severity.NOTE)
