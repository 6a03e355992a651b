"""What is slid on to a wire before its ends are joined, and whether its insulation has room for it.

All of it lies on the insulation at once while the wire is soldered: the tag sleeves, the joint sleeve where
the wire goes on from a joint, the sleeve over what is soldered at a lamp. Lengths are those before shrinking.
"""

from __future__ import annotations

from enum import StrEnum

import attrs

from model.electrics.lamps import lamp_current
from model.electrics.resistor import ResistorChoice
from model.harness import Build, Harness, Lamp, Polarity
from model.labels.stock import Stock
from model.routing.bundles import joint_sleeve_mm
from model.routing.made import lamps_by_id, made_mm
from model.routing.sleeves import leg_sleeve, splice_sleeve
from model.routing.wires import EndKind, PartKind, Wire
from model.standards.heatshrink import Sleeve
from model.tags import TagRecord

LAMP_SLEEVE_MM = 15.0
RESISTOR_SLEEVE_MM = 25.0
"""Sleeve over a solder point at a lamp, and over resistor and solder point; common practice, no source."""


class Marking(StrEnum):
    """How many tag sleeves a wire has room for: one at each end, one for both ends, or none."""

    BOTH = "both"
    ONE = "one"
    NONE = "none"


@attrs.frozen(kw_only=True)
class WireRoom:
    """The insulated length of a wire and the plain sleeves that lie on it, in mm, with words for each."""

    insulated_mm: float
    plain: tuple[tuple[str, float], ...]

    @property
    def left_mm(self) -> float:
        """What is left for tag sleeves; below zero where the plain ones are longer than the insulation."""
        return self.insulated_mm - sum(mm for _, mm in self.plain)

    def marking(self, stock: Stock) -> Marking:
        """How many tag sleeves of a stock there is room for, each as short as the stock lets it be.

        What is stuck on afterwards needs no room beside the others.
        """
        if stock.kind not in ("sleeve", "strip"):
            return Marking.BOTH
        if 2 * stock.length_mm <= self.left_mm + 1e-6:
            return Marking.BOTH
        return Marking.ONE if stock.length_mm <= self.left_mm + 1e-6 else Marking.NONE


def wire_room(harness: Harness, wire: Wire, record: TagRecord | None = None) -> WireRoom:
    """What lies on a wire, whose length is that of its `record` if it was cut."""
    plain = []
    cover = lamp_sleeve(harness, wire)
    if cover is not None:
        plain.append((f"sleeve over {cover[1]}", lamp_sleeve_mm(cover[1])))
    if wire.lamp_end.kind is EndKind.JOINT:
        joint = wire.lamp_end.ref
        plain.append((f"joint sleeve of {joint}", joint_sleeve_mm(harness.settings)))
    bare_mm = wire.part_mm(PartKind.STRIP) + wire.part_mm(PartKind.JOINT)
    return WireRoom(insulated_mm=made_mm(record, wire) - bare_mm, plain=tuple(plain))


def lamp_sleeve(harness: Harness, wire: Wire) -> tuple[Sleeve | None, str] | None:
    """The sleeve at the lamp (None where no size fits) and what it covers; None where nothing is soldered."""
    if wire.lamp_end.kind is not EndKind.LAMP or wire.own_lead:
        return None
    lamp = lamps_by_id(harness)[wire.lamp_end.ref]
    resistor = resistor_of(harness, lamp) if wire.polarity is Polarity.PLUS else None
    if resistor:
        return leg_sleeve(wire, _body_mm(resistor)), "resistor and solder point"
    if lamp.build is Build.WIRED:
        return splice_sleeve(wire), "the splice at the lamp"
    if lamp.size.isdigit():
        return None  # a chip has pads, not legs
    return leg_sleeve(wire), "the solder point at the lamp"


def lamp_sleeve_mm(covers: str) -> float:
    """The length of the sleeve at a lamp, by what it covers."""
    return RESISTOR_SLEEVE_MM if "resistor" in covers else LAMP_SLEEVE_MM


def resistor_of(harness: Harness, lamp: Lamp) -> ResistorChoice | None:
    """The resistor to solder to a lamp, or None."""
    choice = lamp_current(harness, lamp).choice
    return choice if isinstance(choice, ResistorChoice) else None


def _body_mm(resistor: ResistorChoice) -> float:
    """Diameter of the body that carries the power; 2.5 mm where the table has none."""
    return float(resistor.part.body.partition(" ")[0]) if resistor.part else 2.5
