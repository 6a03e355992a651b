"""Every rule of the electrics, in the order a person should see what they find."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from model.electrics import lamp_findings, output_findings, wiring_findings
from model.findings import Finding
from model.harness import Harness

RULES: tuple[Callable[[Harness], Iterator[Finding]], ...] = (
    lamp_findings.no_resistor_holds,
    lamp_findings.over_current,
    lamp_findings.much_wanted,
    lamp_findings.under_current,
    lamp_findings.wrong_output,
    lamp_findings.shared_resistor,
    lamp_findings.series_chain,
    lamp_findings.resistor_power,
    wiring_findings.not_solved,
    output_findings.output_limit,
    output_findings.common_limit,
    output_findings.step_up,
    output_findings.shared_current,
    wiring_findings.wire_current,
    wiring_findings.voltage_drop,
    wiring_findings.uneven,
    output_findings.fuse,
)


def electrics_findings(harness: Harness) -> tuple[Finding, ...]:
    """All findings of all rules, in the order of the rules."""
    return tuple(finding for rule in RULES for finding in rule(harness))
