"""What a wire was cut to, and whether the plan still asks for that much."""

from __future__ import annotations

from enum import StrEnum

import attrs

from model.bench.order import StepKind
from model.routing.wires import PartKind, Wire
from model.tags import TagRecord

OWN_LEAD = "of its own lead"
"""Ends the note of a cut where the lamp's own lead was shortened and no wire was cut."""

LONGER_MM = 30.0
LONGER_SHARE = 0.2
"""A wire that is longer than planned by more than both is said to be; common practice, no source."""


class Fit(StrEnum):
    """How a wire that was cut suits the plan of today; TIGHT: it reaches, but without its slack."""

    FITS = "fits"
    TIGHT = "tight"
    SHORT = "short"
    LONG = "long"


@attrs.frozen(kw_only=True)
class CutCheck:
    """What was cut beside what is needed now, in mm.

    `needed_mm` is the plan without rounding up, `least_mm` that without its slack. `own_lead`: what was cut
    is the lamp's own lead.
    """

    cut_mm: float
    planned_mm: float
    needed_mm: float
    least_mm: float
    own_lead: bool

    @property
    def fit(self) -> Fit:
        """How it suits; a hundred thousandth of a mm is nothing."""
        if self.cut_mm < self.least_mm - 1e-5:
            return Fit.SHORT
        if self.cut_mm < self.needed_mm - 1e-5:
            return Fit.TIGHT
        over_mm = self.cut_mm - self.planned_mm
        return Fit.LONG if over_mm > max(LONGER_MM, LONGER_SHARE * self.planned_mm) else Fit.FITS


def cut_note(wire: Wire, cut_mm: float) -> str:
    """What the history says of a cut: "170 mm", "85 mm of its own lead"."""
    return f"{cut_mm:g} mm {OWN_LEAD}" if wire.own_lead else f"{cut_mm:g} mm"


def planned_cut_mm(wire: Wire, lead_mm: float) -> float:
    """What the step "cut" leaves: the length of the plan; of a lamp's own lead at most what there is."""
    return min(wire.cut_mm, lead_mm) if wire.own_lead else wire.cut_mm


def noted_cut(record: TagRecord) -> str:
    """What the history says of the last cut; "" where none stands, or it was taken back."""
    cuts = (event for event in reversed(record.events) if event.what in (StepKind.CUT, f"not {StepKind.CUT}"))
    last = next(cuts, None)
    return last.note if last is not None and last.what == StepKind.CUT else ""


def cut_check(record: TagRecord, wire: Wire) -> CutCheck | None:
    """What was cut beside what the plan asks for; None where no length is known."""
    if record.cut_mm is None:
        return None
    planned_mm, unrounded_mm = wire.cut_mm, wire.cut_mm - wire.part_mm(PartKind.ROUND)
    own_lead = noted_cut(record).endswith(OWN_LEAD)
    if own_lead and not wire.own_lead:
        # Now a wire is to be laid onto the lead, as if it were whole: what was cut is the lead.
        joined = [part.mm for part in wire.parts if part.kind is PartKind.LEAD]
        overlap = [part.mm for part in wire.parts if part.kind is PartKind.JOINT][-1:]
        unrounded_mm -= sum(joined) + (sum(overlap) if joined else 0.0)
        planned_mm = unrounded_mm
    return CutCheck(
        cut_mm=record.cut_mm,
        planned_mm=planned_mm,
        needed_mm=unrounded_mm,
        least_mm=unrounded_mm - wire.part_mm(PartKind.SLACK),
        own_lead=own_lead,
    )
