"""Whether the length of a run that was measured with a string can be right, by the legs of its way."""

from __future__ import annotations

from model import lengths
from model.harness import Harness, Lamp
from model.routing.graph import route_graph

SHORT_OF_LEGS = 0.6
LONG_OF_LEGS = 2.5
"""Shares of the shortest way by legs outside which a measured run is questioned: a string may cut a corner
or go round, but not by so much. Common practice, no source.
"""


def by_legs_mm(harness: Harness, lamp: Lamp) -> float | None:
    """The shortest way from the lamp to the controller by its legs, in mm, with what moving joints take; None
    where no legs lead there.
    """
    reached = route_graph(harness).distance_mm
    return None if lamp.at is None or lamp.at not in reached else reached[lamp.at] + lamp.spur_mm


def measured_is_doubtful(harness: Harness, lamp: Lamp) -> bool:
    """Whether the measured run is much shorter or longer than the way by legs."""
    by_legs = by_legs_mm(harness, lamp)
    if lamp.measured_mm is None or not by_legs:
        return False
    return not SHORT_OF_LEGS * by_legs <= lamp.measured_mm <= LONG_OF_LEGS * by_legs


def measured_doubt(harness: Harness, lamp: Lamp) -> str:
    """Both figures in a sentence where the measured run is doubtful, else an empty string."""
    if not measured_is_doubtful(harness, lamp):
        return ""
    assert lamp.measured_mm is not None
    by_legs = by_legs_mm(harness, lamp) or 0.0
    return f"{lengths.text(lamp.measured_mm)} measured, but {lengths.text(by_legs)} by its legs: is it right?"
