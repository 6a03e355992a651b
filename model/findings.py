"""A finding: something a check found, with the limit it breaks and the mend."""

from __future__ import annotations

from enum import IntEnum

import attrs


class Severity(IntEnum):
    """How much a finding matters; the larger is the worse."""

    NOTE = 1
    WARNING = 2
    DANGER = 3  # can burn, melt or destroy something


@attrs.frozen(kw_only=True)
class Finding:
    """What one rule found about one subject.

    `subject` is the name a person knows it by; `place` is the screen that mends it
    ("lamps", "routes", "outputs", "walk", "bench", "labels") and `ref` the id to put the
    cursor on there. `rule` is the short name of the rule.
    """

    subject: str
    rule: str
    found: str
    limit: str = ""
    remedy: str = ""
    severity: Severity = Severity.WARNING
    place: str = ""
    ref: str = ""
