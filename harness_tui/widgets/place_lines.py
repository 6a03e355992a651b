"""A waypoint and the leg it hangs on, as a row, in words, and as a panel of what is there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from textual.content import Content

from harness_tui.widgets.columns import fitted
from harness_tui.widgets.lines import clip
from model import lengths
from model.harness import Harness, Leg, Waypoint
from model.routing.bundles import Bundle, bundle_of
from model.routing.tree import Branch, plug_from_mm
from model.values import counted

COLUMNS = ("waypoint", "   leg", " loop", " to ctl", "wires", "thick", "there")
LEAST = (22, 6, 5, 7, 5, 5, 14)
SHARE = (2, 0, 0, 0, 0, 0, 1)
_RIGHT = (False, True, True, True, True, True, False)


def mm_text(value: float | None) -> str:
    """A length to a tenth of a mm in the person's unit, empty for None."""
    return "" if value is None else lengths.figure(round(value, 1))


def place_cells(branch: Branch, thick_mm: float | None, widths: Sequence[int]) -> tuple[str, ...]:
    """The row of a line of the tree; `thick_mm` is the bundle in its leg."""
    name = branch.point.name
    if branch.second and branch.parent is not None:
        name = f"leg to {branch.parent.name}"
    rails = "".join("\u2502 " if more else "  " for more in branch.rails[:-1])
    if branch.rails:
        rails += "\u251c\u2500" if branch.rails[-1] else "\u2514\u2500"
        rails += "\u00b7 " if branch.second else " "
    leg = branch.leg
    cells = (
        rails + name,
        mm_text(leg.length_mm) if leg else "",
        f"+{mm_text(leg.loop_mm)}" if leg and leg.loop_mm is not None else "",
        "" if branch.second else mm_text(branch.distance_mm),
        str(branch.wires) if branch.wires else "",
        "" if thick_mm is None else f"{round(thick_mm, 1):g}",
        " ".join(_there(branch)),
    )
    return tuple(
        fitted(cell, width, right=right) for cell, width, right in zip(cells, widths, _RIGHT, strict=True)
    )


def _there(branch: Branch) -> Iterator[str]:
    if not branch.second and not branch.point.reachable:
        yield "closed"
    if branch.leg is not None and branch.leg.plug:
        yield f"plug {branch.leg.plug}"
    if branch.lamps:
        yield counted(len(branch.lamps), "lamp")
    if len(branch.joints) > 2:
        yield f"J\u00d7{len(branch.joints)}" if branch.lamps else f"{len(branch.joints)} joints"
    else:
        yield from branch.joints


def place_words(harness: Harness, branch: Branch) -> Iterator[str]:
    """The leg, the bundle in it, and what is at the place, a line each."""
    if branch.leg is not None and branch.parent is not None:
        yield _leg_words(branch.leg, branch.parent)
        yield _bundle_words(bundle_of(harness, branch.leg))
    elif branch.point.id == harness.controller.at:
        yield f"{harness.controller.name} sits here: every way ends here"
    if branch.second:
        return
    here = [harness.lamp(lamp).name for lamp in branch.lamps] + [f"joint {joint}" for joint in branch.joints]
    yield f"here: {', '.join(here)}" if here else "no lamp and no joint here"


def _leg_words(leg: Leg, parent: Waypoint) -> str:
    words = f"{mm_text(leg.length_mm)} {lengths.unit()} from {parent.name}"
    if leg.loop_mm is not None:
        words += f", it moves: {mm_text(leg.loop_mm)} {lengths.unit()} more"
    if leg.plug:
        words += f", plug {leg.plug} {mm_text(plug_from_mm(leg, parent.id))} {lengths.unit()} along"
    return words


def _bundle_words(bundle: Bundle) -> str:
    """What lies in a leg: its wires, how thick they are, what they need."""
    count = len(bundle.wires)
    hole = bundle.leg.hole_mm
    if not count:
        return "no wires in it yet" + ("" if hole is None else f", hole of {hole:g} mm")
    thick, by_hand = f"{bundle.diameter_mm:.1f}", f"{bundle.by_hand_mm:.1f}"
    words = f"{counted(count, 'wire')} {thick} mm"
    if by_hand != thick:
        words += f" ({by_hand} by hand)"
    if hole is not None:
        fits = "too thick for" if not bundle.passes else "just passes" if bundle.tight else "passes"
        words += f", {fits} {hole:g} mm hole"
    words += f", sleeve {bundle.sleeve.name}" if bundle.sleeve else ", no sleeve fits"
    return f"{words}, bend {bundle.bend_mm:.0f} mm"


def place_panel(harness: Harness, branch: Branch) -> Iterator[Content]:
    """Lamps and joints at the place, a line each, for a panel of 35 columns."""
    yield Content.styled(clip(branch.point.name, 35), "bold")
    for lamp_id in branch.lamps:
        lamp = harness.lamp(lamp_id)
        mark = "\u2713" if lamp.run else " "
        spur = f"{mm_text(lamp.spur_mm)} {lengths.unit()}" if lamp.spur_mm else ""
        yield Content(f"{mark} {fitted(lamp.name, 24)} {fitted(spur, 8, right=True)}")
    for joint_id in branch.joints:
        joint = harness.joint(joint_id)
        net = "common" if joint.output is None else f"output {joint.output}"
        yield Content(f"  {fitted(f'joint {joint_id}', 22)} {fitted(net, 10, right=True)}")
    if not branch.lamps and not branch.joints:
        yield Content.styled("no lamp and no joint here", "dim")
