"""Findings on legs: a bundle that does not pass its hole or can't bend where it moves, and a loop of legs."""

from __future__ import annotations

import math
from collections.abc import Iterator

from model import lengths
from model.electrics.lamps import all_lamps
from model.findings import Finding, Severity
from model.harness import Harness, Leg
from model.routing.bundles import Bundle, bundles, remedy_words
from model.routing.tree import waypoint_tree
from model.routing.wires import derive


def route_findings(harness: Harness) -> tuple[Finding, ...]:
    """All findings of this module, leg by leg."""
    return tuple(finding for rule in RULES for finding in rule(harness))


def hole_too_small(harness: Harness) -> Iterator[Finding]:
    """A bundle that does not go through its leg's hole, or only just."""
    for bundle in bundles(harness):
        if bundle.passes is None or not bundle.wires or (bundle.passes and not bundle.tight):
            continue
        if bundle.passes:
            found = f"{len(bundle.wires)} wires are {bundle.diameter_mm:.1f} mm at best"
            found += f", {bundle.by_hand_mm:.1f} mm laid by hand"
        else:
            found = f"{len(bundle.wires)} wires make a bundle of {bundle.diameter_mm:.1f} mm"
        yield Finding(
            subject=_name(harness, bundle.leg),
            rule="hole too small" if not bundle.passes else "hole only just large enough",
            found=found,
            limit=f"hole of {bundle.leg.hole_mm:g} mm",
            remedy=remedy_words(harness, bundle, _loads(harness)),
            severity=Severity.NOTE if bundle.passes else Severity.WARNING,
            place="routes",
            ref=_ref(bundle.leg),
        )


def bend_too_tight(harness: Harness) -> Iterator[Finding]:
    """A leg that moves and is too short for half a turn at the least radius of its bundle.

    How a hinge bends its wires is not known; half a turn is what a lid opened flat asks for (common
    practice, no source). The radius is that of a bundle which flexes, ten times its diameter.
    """
    for bundle in bundles(harness):
        if bundle.leg.loop_mm is None or not bundle.wires:
            continue
        have_mm = bundle.leg.length_mm + bundle.leg.loop_mm
        turn_mm = math.pi * bundle.bend_mm
        if turn_mm > have_mm:
            need = f"{len(bundle.wires)} wires need {lengths.text(round(turn_mm))} for half a turn"
            yield Finding(
                subject=_name(harness, bundle.leg),
                rule="bend too tight",
                found=f"{need}, it has {lengths.text(have_mm)}",
                limit=f"radius {bundle.bend_mm:.0f} mm, 10 times the bundle of {bundle.diameter_mm:.1f} mm",
                remedy=_bend_remedy(bundle, turn_mm, have_mm),
                severity=Severity.NOTE,
                place="routes",
                ref=_ref(bundle.leg),
            )


def loop_of_legs(harness: Harness) -> Iterator[Finding]:
    """A leg that is on no shortest way, as its two ends are connected without it."""
    for branch in waypoint_tree(harness):
        if branch.second and branch.leg is not None and branch.connected:
            wires = f"{branch.wires or 'no'} wire{'' if branch.wires == 1 else 's'}"
            yield Finding(
                subject=_name(harness, branch.leg),
                rule="loop of legs",
                found=f"closes a loop, a second way round, with {wires} in it",
                remedy="Take it off on Routes if it is not there; if it is, all is well.",
                severity=Severity.NOTE,
                place="routes",
                ref=_ref(branch.leg),
            )


def _bend_remedy(bundle: Bundle, turn_mm: float, have_mm: float) -> str:
    more_mm = math.ceil((turn_mm - have_mm) / 5) * 5
    loop = lengths.text((bundle.leg.loop_mm or 0.0) + more_mm)
    if len(bundle.wires) > 1:
        return f"Give it a loop of {loop}, or let its wires lie side by side, not as one bundle."
    return f"Give it a loop of {loop}."


def _loads(harness: Harness) -> dict[str, float]:
    """What each wire carries on a full battery, in mA."""
    drawn = all_lamps(harness)
    return {
        wire.key: sum(drawn[lamp].current.full_ma for lamp in wire.lamps) for wire in derive(harness).wires
    }


def _name(harness: Harness, leg: Leg) -> str:
    return f"leg {harness.waypoint(leg.a).name} to {harness.waypoint(leg.b).name}"


def _ref(leg: Leg) -> str:
    return f"{leg.a}-{leg.b}"


RULES = (hole_too_small, bend_too_tight, loop_of_legs)
"""Every rule, each from a harness to its findings."""
