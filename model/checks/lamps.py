"""Rules on the lamp list: what has no output, place or run, and what must not share an output."""

from __future__ import annotations

import re
from collections.abc import Iterator

from model import lengths
from model.checks.naming import same, some, twice
from model.findings import Finding, Severity
from model.harness import Hand, Harness, Lamp
from model.routing.graph import route_graph
from model.routing.measured import LONG_OF_LEGS, SHORT_OF_LEGS, by_legs_mm, measured_is_doubtful
from model.standards.functions import FUNCTIONS
from model.values import counted

_LEFT = re.compile(r"\b(left|port|nearside|lh|l)\b", re.IGNORECASE)
_RIGHT = re.compile(r"\b(right|starboard|offside|rh|r)\b", re.IGNORECASE)
_INDICATOR = re.compile(
    r"\b(indicators?|turn (signal|lamp|light)s?|blinkers?|flashers?|side repeaters?)\b", re.IGNORECASE
)


def side(lamp: Lamp) -> Hand:
    """Which side a lamp is on: as entered, else by its name or place; NONE where they do not say one."""
    if lamp.hand is not Hand.NONE:
        return lamp.hand
    for words in (lamp.name, lamp.place):
        left, right = _LEFT.search(words), _RIGHT.search(words)
        if left and not right:
            return Hand.LEFT
        if right and not left:
            return Hand.RIGHT
    return Hand.NONE


def sides_apart(lamp: Lamp) -> bool:
    """Whether its left and right must work alone: by the lamp's function, or its name if that is "other"."""
    function = FUNCTIONS.get(lamp.function)
    if function is not None and function.name != "other":
        return function.sides_apart
    return bool(_INDICATOR.search(lamp.name) or _INDICATOR.search(lamp.function))


def no_output(harness: Harness) -> Iterator[Finding]:
    """A lamp that no output feeds."""
    for lamp in harness.lamps:
        if lamp.output is None:
            yield Finding(
                subject=lamp.name,
                rule="no output",
                found="is on no output",
                remedy="Choose its output on Lamps.",
                place="lamps",
                ref=lamp.id,
            )


def no_route(harness: Harness) -> Iterator[Finding]:
    """A lamp that can't be walked: no waypoint and no measured length, or no way from its waypoint."""
    reached = route_graph(harness).distance_mm
    for lamp in harness.lamps:
        if lamp.measured_mm is not None:
            continue
        if lamp.at is None:
            yield Finding(
                subject=lamp.name,
                rule="no route",
                found="has no waypoint and no measured length",
                limit="one of the two",
                remedy="Choose its waypoint on Lamps, or type the length of its whole run.",
                place="lamps",
                ref=lamp.id,
            )
        elif lamp.at not in reached:
            at, controller = harness.waypoint(lamp.at).name, harness.waypoint(harness.controller.at).name
            yield Finding(
                subject=lamp.name,
                rule="no route",
                found=f"is at {at}, from where no legs lead to {controller}",
                remedy=f"Add the leg that is missing from {at}, or type the length of the lamp's whole run.",
                place="routes",
                ref=lamp.at,
            )


def measured_far_off(harness: Harness) -> Iterator[Finding]:
    """A run measured as one length that its legs say is wrong; not where the accepted run goes by legs."""
    for lamp in harness.lamps:
        by_legs = by_legs_mm(harness, lamp)
        if (lamp.run is not None and lamp.run.way) or by_legs is None or lamp.measured_mm is None:
            continue
        if measured_is_doubtful(harness, lamp):
            yield Finding(
                subject=lamp.name,
                rule="measured run far off",
                found=f"{lengths.text(lamp.measured_mm)} measured, {lengths.text(by_legs)} by its legs",
                limit=f"{SHORT_OF_LEGS:.0%} to {LONG_OF_LEGS:.0%} of its legs (common practice, no source)",
                remedy="Measure it again to the controller, or take the length away: its legs then count.",
                place="lamps",
                ref=lamp.id,
            )


def not_walked(harness: Harness) -> Iterator[Finding]:
    """Lamps whose run could be walked and is not accepted yet; one finding for all of them."""
    reached = route_graph(harness).distance_mm
    waiting = [
        lamp
        for lamp in harness.lamps
        if lamp.run is None and (lamp.measured_mm is not None or lamp.at in reached)
    ]
    if waiting:
        yield Finding(
            subject=some([lamp.name for lamp in waiting]),
            rule="not walked",
            found=f"{counted(len(waiting), 'run')} of {len(harness.lamps)} not accepted yet",
            remedy="Go on with the walk.",
            severity=Severity.NOTE,
            place="walk",
            ref=waiting[0].id,
        )


def both_sides(harness: Harness) -> Iterator[Finding]:
    """Left and right of a direction indicator on one output (UN R48: one side flashes alone)."""
    for _, output in harness.controller.outputs():
        sided = [lamp for lamp in harness.lamps if lamp.output == output.number and sides_apart(lamp)]
        left = [lamp for lamp in sided if side(lamp) is Hand.LEFT]
        right = [lamp for lamp in sided if side(lamp) is Hand.RIGHT]
        if left and right:
            few, many = sorted((right, left), key=len)
            for lamp in few:
                other = "left" if many is left else "right"
                yield Finding(
                    subject=lamp.name,
                    rule="left and right together",
                    found=f"is on output {output.number} with {some([one.name for one in many])}",
                    limit=f"{side(lamp)} and {other} indicators each on an output of their own",
                    remedy=f"Put the {side(lamp)} indicators on another output.",
                    place="lamps",
                    ref=lamp.id,
                )
        elif len(sided) > 1:
            for lamp in sided:
                if side(lamp) is Hand.NONE:
                    yield Finding(
                        subject=lamp.name,
                        rule="side not known",
                        found=f"shares output {output.number} with other indicators; its side is not known",
                        remedy="Say left or right on Lamps.",
                        severity=Severity.NOTE,
                        place="lamps",
                        ref=lamp.id,
                    )


def flashes_along(harness: Harness) -> Iterator[Finding]:
    """A lamp on the output of a direction indicator: it flashes with it, and the indicator works with it."""
    for _, output in harness.controller.outputs():
        there = [lamp for lamp in harness.lamps if lamp.output == output.number]
        indicators = [lamp for lamp in there if sides_apart(lamp)]
        for lamp in there if indicators else ():
            if not sides_apart(lamp):
                yield Finding(
                    subject=lamp.name,
                    rule="flashes along",
                    found=f"is on output {output.number} with {some([one.name for one in indicators])}",
                    limit="an indicator's output carries indicators of its side only",
                    remedy="Put it on another output, or give it the function of an indicator.",
                    place="lamps",
                    ref=lamp.id,
                )


def double_names(harness: Harness) -> Iterator[Finding]:
    """Lamps of one name: neither a label nor a look-up could tell them apart."""
    doubled = twice(lamp.name for lamp in harness.lamps)
    seen: set[str] = set()
    for lamp in harness.lamps:
        name = same(lamp.name)
        if name in doubled and name in seen:
            yield Finding(
                subject=lamp.name,
                rule="name used twice",
                found=f"is the name of {counted(doubled[name], 'lamp')}",
                limit="1 lamp a name",
                remedy="Give this one another name, such as where it sits.",
                place="lamps",
                ref=lamp.id,
            )
        seen.add(name)


_ALIKE = ({"white", "warm white"}, {"amber", "yellow", "orange"}, {"green", "yellow-green"})
_ALLOWED = {
    "headlamp": {"yellow"},
    "main beam": {"yellow"},
    "dipped beam": {"yellow"},
    "front fog lamp": {"yellow"},
    "marker lamp": {"white", "red"},  # white ahead, red to the rear
}
"""Other colours that are seen in these places as well (UN R48, from memory)."""

_LEGAL = ("UN R48", "COLREGs")


def unusual_colour(harness: Harness) -> Iterator[Finding]:
    """A lamp whose colour is not the one its function has on the road (UN R48) or on the water (COLREGs)."""
    for lamp in harness.lamps:
        function = FUNCTIONS.get(lamp.function)
        if function is None or function.source not in _LEGAL:
            continue
        usual = function.usual_colour
        if lamp.colour == usual or lamp.colour in _ALLOWED.get(function.name, ()):
            continue
        if any({lamp.colour, usual} <= alike for alike in _ALIKE):
            continue
        yield Finding(
            subject=lamp.name,
            rule="unusual colour",
            found=f"is {lamp.colour}",
            limit=f"{function.name}: {usual} ({function.source})",
            remedy="Check its colour on Lamps.",
            severity=Severity.NOTE,
            place="lamps",
            ref=lamp.id,
        )


RULES = (
    no_output,
    no_route,
    measured_far_off,
    both_sides,
    flashes_along,
    double_names,
    not_walked,
    unusual_colour,
)
