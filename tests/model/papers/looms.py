"""Harnesses for the papers: the demos planned to the end, and one as large as a model gets."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import harness_tui.examples
from model import editing
from model.harness import Hand, Harness
from model.routing.allot import settle
from model.routing.merge_plan import apply, best_plan
from model.store import load

EXAMPLES = Path(harness_tui.examples.__file__).parent


@lru_cache(maxsize=4)
def planned(name: str) -> Harness:
    """A demo with every lamp walked and merged as the best plan has it."""
    harness = settle(load(EXAMPLES / f"{name}.toml"))
    return settle(apply(harness, best_plan(harness)))


@lru_cache(maxsize=4)
def big(lamps: int = 60) -> Harness:
    """A ship: a spine of ten frames with decks up and down, its lamps spread over them, some behind a
    plug.
    """
    harness = editing.new_harness("Salvage ship with everything lit", "SHP")
    harness = editing.add_block(harness, "B", outputs=6, commons=1)
    harness = editing.set_settings(harness, colour_per_output=True)
    places = ["W1"]
    for number in range(1, 11):
        harness = editing.add_waypoint(harness, f"frame {number}")
        here = harness.waypoints[-1].id
        plug = {"plug": "P1", "plug_mm": 30} if number == 6 else {}
        harness = editing.set_leg(harness, places[-1], here, length_mm=70 + 10 * (number % 4), **plug)
        places.append(here)
    frames = places[1:]
    for number, frame in enumerate(frames):
        for deck in ("deck", "mast")[: 1 + number % 2]:
            harness = editing.add_waypoint(harness, f"{deck} {number + 1}", reachable=deck == "deck")
            here = harness.waypoints[-1].id
            loop = {"loop_mm": 40} if number == 3 else {}
            harness = editing.set_leg(harness, frame, here, length_mm=60 + 15 * (number % 3), **loop)
            places.append(here)
    kinds = (("amber", "3 mm"), ("red", "3 mm"), ("white", "1.8 mm"), ("green", "0603"))
    for number in range(lamps):
        colour, size = kinds[number % 4]
        harness = editing.add_lamp(
            harness,
            f"{('Deck lamp', 'Signal', 'Work lamp', 'Marker')[number % 4]} number {number + 1}",
            colour=colour,
            size=size,
            output=1 + number * 12 // lamps,
            at=places[1 + (number * 7) % (len(places) - 1)],
            spur_mm=float((number * 13) % 60),
            hand=(Hand.LEFT, Hand.RIGHT, Hand.NONE)[number % 3],
        )
    harness = settle(harness)
    return settle(apply(harness, best_plan(harness)))
