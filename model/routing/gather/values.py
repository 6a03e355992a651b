"""What is to be gathered, and an answer to it.

Wires begin at starts and all lead to one pin (or a few that stand for one). At a site some of them may meet
in a joint, from which one trunk goes on. Each wire has its price from each start and site to each site and
to the pin, whatever it is made of; a joint has a price of its own. The least sum is wanted: a Steiner tree
with priced and crowded nodes. With free joints of any size it is the plain one.
"""

from __future__ import annotations

import math
from collections import Counter

import attrs

INF = math.inf

EPS = 1e-7
"""Sums that differ by less are the same."""

PIN = -1
"""Where a wire goes that ends on the pin. Joints are 0, 1, 2 ..., joints that stand already -2, -3 ..."""

Row = tuple[float, ...]


def built_code(place: int) -> int:
    """How a wire's end names the built joint at this place of `Gathering.built`; it is its own inverse."""
    return -2 - place


@attrs.frozen(kw_only=True)
class Built:
    """A joint that stands already and takes `room` more wires.

    What it gathers goes on with the trunk of start `start`, or is connected to the pin already (None). Its
    trunk carries at most `load_room` more. Those with one start share that room, and so do those at the pin.
    """

    site: int
    room: int
    start: int | None = None
    load_room: float = INF


@attrs.frozen(kw_only=True, eq=False)
class Gathering:
    """Prices of every wire there can be: `start_site[start][site]`, `start_pin[start]`,
    `site_site[from][to]`, `site_pin[from]`.

    `site_site[v][v]` joins two joints at one site. A price may be infinite, for a wire that can't be.
    `may_join[site]`: a new joint can be made there. `joint_room` is how many wires go into a joint beside
    its trunk, `pin_room` how many end on the pin. A trunk carries at most `load_max`. All prices are
    multiples of `grain` where it is above 0.
    """

    start_site: tuple[Row, ...]
    start_pin: Row
    site_site: tuple[Row, ...]
    site_pin: Row
    may_join: tuple[bool, ...]
    joint_cost: float
    joint_room: int
    pin_room: int
    load: Row
    load_max: float = INF
    built: tuple[Built, ...] = ()
    grain: float = 0.0

    @property
    def starts(self) -> int:
        """How many starts there are."""
        return len(self.start_pin)

    @property
    def sites(self) -> int:
        """How many sites there are."""
        return len(self.site_pin)

    def load_binds(self) -> bool:
        """Whether the load can be too much for a trunk at all."""
        return sum(self.load) > self.load_max + EPS


@attrs.frozen(kw_only=True)
class Tree:
    """An answer: the site of each new joint, where each joint's trunk ends and where each start's wire ends.

    Ends are PIN, the number of a new joint, or the code of a built one.
    """

    site: tuple[int, ...] = ()
    joint_onto: tuple[int, ...] = ()
    start_onto: tuple[int, ...] = ()


def end_price(problem: Gathering, tree: Tree, from_site: int | None, start: int | None, onto: int) -> float:
    """Price of the wire from a start or a site to where it ends."""
    if onto == PIN:
        return problem.start_pin[start] if start is not None else problem.site_pin[from_site or 0]
    site = tree.site[onto] if onto >= 0 else problem.built[built_code(onto)].site
    return problem.start_site[start][site] if start is not None else problem.site_site[from_site or 0][site]


def tree_cost(problem: Gathering, tree: Tree) -> float:
    """All wires and joints of an answer added up; it does not ask whether the answer is allowed."""
    total = problem.joint_cost * len(tree.site)
    total += sum(end_price(problem, tree, None, start, onto) for start, onto in enumerate(tree.start_onto))
    total += sum(
        end_price(problem, tree, site, None, onto)
        for site, onto in zip(tree.site, tree.joint_onto, strict=True)
    )
    return total


def tree_faults(problem: Gathering, tree: Tree) -> tuple[str, ...]:
    """Everything that an answer may not do, in words; empty if it is allowed. An overfull pin is one of
    them.
    """
    faults = []
    into = Counter([*tree.start_onto, *tree.joint_onto])
    if len(tree.start_onto) != problem.starts:
        faults.append("not every start has a wire")
    faults += [f"joint {place} has {into[place]} wires" for place in range(len(tree.site)) if into[place] < 2]
    faults += [
        f"joint {place} is overfull" for place in range(len(tree.site)) if into[place] > problem.joint_room
    ]
    faults += [f"no joint may be at site {site}" for site in tree.site if not problem.may_join[site]]
    faults += [
        f"built joint {place} is overfull"
        for place, built in enumerate(problem.built)
        if into[built_code(place)] > built.room
    ]
    if into[PIN] > problem.pin_room:
        faults.append("the pin is overfull")
    if not math.isfinite(tree_cost(problem, tree)):
        faults.append("a wire can't be")
    return (*faults, *_load_faults(problem, tree))


def _load_faults(problem: Gathering, tree: Tree) -> list[str]:
    joint_load = [0.0] * len(tree.site)
    group_load: dict[int | None, float] = {}
    for start in range(len(tree.start_onto)):
        onto, passed = tree.start_onto[start], 0
        while onto != PIN:
            passed += 1
            if passed > len(tree.site) + problem.starts:
                return [f"start {start} goes round in a circle"]
            if onto >= 0:
                joint_load[onto] += problem.load[start]
                onto = tree.joint_onto[onto]
                continue
            group = problem.built[built_code(onto)].start
            group_load[group] = group_load.get(group, 0.0) + problem.load[start]
            onto = PIN if group is None else tree.start_onto[group]
    faults = [
        f"joint {place} carries {load:g}"
        for place, load in enumerate(joint_load)
        if load > problem.load_max + EPS
    ]
    for group, load in group_load.items():
        if load > load_room(problem, group) + EPS:
            faults.append(f"the built joints of start {group} carry {load:g} more")
    return faults


def load_room(problem: Gathering, group: int | None) -> float:
    """How much more load the built joints of one start (or at the pin) take together."""
    return min((built.load_room for built in problem.built if built.start == group), default=0.0)
