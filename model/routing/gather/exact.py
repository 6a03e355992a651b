"""The cheapest answer for few starts, by dynamic programming over sets of starts (Dreyfus and Wagner 1971).

A set of starts is a bit mask. For each set and each site it holds what it costs to have the whole set on one
wire that ends in a joint there; as joints take few wires, these are counted off one by one. Of each price
that part is taken off which the rises of an ascent say is owed for the set anyway. What is left, the excess,
only grows on the way to an answer, so that a set whose excess is too large for a known price is left out
(after Hougardy, Silvanus and Vygen 2017).
"""

from __future__ import annotations

from bisect import insort
from collections.abc import Iterator

from model.routing.gather.bound import Ascent
from model.routing.gather.values import EPS, INF, PIN, Gathering, Tree, built_code, load_room


class TooLong(Exception):
    """The tables would take more effort than was allowed."""


def exact_tree(
    problem: Gathering, below: float = INF, ascent: Ascent | None = None, effort: float = INF
) -> tuple[float, Tree] | None:
    """The cheapest allowed answer of less than `below` with its price, or None if there is none.

    Time grows as 3 to the power of the starts, times the sites, less what an ascent of this problem leaves
    out. Raises TooLong once more than `effort` pairs of sets have been looked at.
    """
    if not problem.starts:
        return (0.0, Tree()) if below > 0 else None
    table = _Table(problem, below, ascent)
    table.fill(effort)
    return table.answer()


def _splits(whole: int) -> Iterator[tuple[int, int]]:
    """Every way to part a set in two that are not empty, each half once as the first."""
    part = (whole - 1) & whole
    while part:
        yield part, whole ^ part
        part = (part - 1) & whole


def _parts(whole: int) -> Iterator[int]:
    """Every part of a set, the empty one and the whole among them."""
    part = whole
    while part:
        yield part
        part = (part - 1) & whole
    yield 0


class _Table:
    def __init__(self, problem: Gathering, below: float, ascent: Ascent | None) -> None:
        self.problem = problem
        self.below = below
        self.full = (1 << problem.starts) - 1
        sites = range(problem.sites)
        self.to_pin: dict[int, float] = {}  # price of the set on one wire that ends on the pin
        self.joined: list[dict[int, float]] = [{} for _ in sites]  # excess of the set in one joint, by site
        # Excess of the set on at most 1, 2 ... wires into one joint, by site. Where joints take all there can
        # be, the second stands for any number.
        self.counts: list[dict[int, list[float]]] = [{} for _ in sites]
        self.counted = problem.joint_room < problem.starts or bool(problem.built)
        self.levels = max(min(problem.joint_room - 1, problem.starts), 1) if self.counted else 2
        self.groups: dict[int | None, tuple[int, ...]] = {}
        for place, built in enumerate(problem.built):
            if built.room:
                self.groups[built.start] = (*self.groups.get(built.start, ()), place)
        self.among: dict[tuple[tuple[int, ...], int], float] = {}
        self.load = self._sums(problem.load)
        self.owed = self._sums(ascent.rise if ascent is not None else (0.0,) * problem.starts)
        # With joints that stand already a wire may end at a site with nothing more to pay.
        self.rise_at = ascent.rise_at if ascent is not None and not problem.built else None
        self.slack = below - self.owed[self.full] - EPS

    def _sums(self, values: tuple[float, ...]) -> list[float]:
        sums = [0.0]
        for value in values:
            sums += [one + value for one in sums]
        return sums

    def due(self, whole: int) -> list[float]:
        """By site: what is owed for a set that has come there, besides what has been paid."""
        owed = self.owed[whole]
        if self.rise_at is None:
            return [owed] * self.problem.sites
        due = [owed] * self.problem.sites
        for start, row in enumerate(self.rise_at):
            if whole >> start & 1:
                due = [one - more for one, more in zip(due, row, strict=True)]
        return due

    # --- filling -------------------------------------------------------------------------------------------

    def fill(self, effort: float) -> None:
        """Work out every set that can be in the answer, each after all that are parts of it."""
        sites = range(self.problem.sites)
        pending: set[int] = set()  # sets of which parts have met somewhere
        live: list[list[tuple[float, int]]] = [[] for _ in sites]
        attachable = any(group is not None for group in self.groups)
        for whole in range(1, self.full + 1):
            single = whole & (whole - 1) == 0
            if not (single or whole in pending or attachable):
                continue
            self._finish(whole, single)
            for site in sites:
                levels = self.counts[site].get(whole)
                if levels is not None:
                    effort -= len(live[site])
                    if effort < 0:
                        raise TooLong
                    if whole != self.full:
                        self._meet(whole, site, levels, live[site], pending)
                    insort(live[site], (levels[-1], whole))

    def _finish(self, whole: int, single: bool) -> None:
        """One wire from where the parts of a set have met, or from a start, to every site and to the pin."""
        problem = self.problem
        due = self.due(whole)
        pin = INF
        arrive = [INF] * problem.sites
        if single:
            start = whole.bit_length() - 1
            arrive = list(problem.start_site[start])
            pin = problem.start_pin[start]
        for site, price in self.joints(whole, due):
            arrive = list(map(min, arrive, (price + wire for wire in problem.site_site[site])))
            pin = min(pin, price + problem.site_pin[site])
        for group, attached in () if single else self.attached(whole):
            arrive = list(map(min, arrive, (attached + wire for wire in problem.start_site[group])))
            pin = min(pin, attached + problem.start_pin[group])
        if pin - self.owed[whole] < self.slack:
            self.to_pin[whole] = pin
        for site, price in enumerate(arrive):
            excess = price - due[site]
            levels = self.counts[site].get(whole)
            if excess >= self.slack and levels is None and (self.counted or whole not in self.joined[site]):
                continue
            excess = excess if excess < self.slack else INF
            if not self.counted:
                joined = self.joined[site].get(whole, INF)
                levels = [excess, min(excess, joined)]
            elif levels is None:
                levels = [excess] * self.levels
            else:
                levels = [excess, *(min(excess, one) for one in levels[1:])]
            if levels[-1] < self.slack:
                self.counts[site][whole] = levels
            else:
                self.counts[site].pop(whole, None)

    def joints(self, whole: int, due: list[float]) -> list[tuple[int, float]]:
        """The sites at which a set can be in a new joint, and its price with the joint."""
        problem = self.problem
        if self.load[whole] > problem.load_max + EPS or problem.joint_room < 2:
            return []
        return [
            (site, excess + due[site] + problem.joint_cost)
            for site, joined in enumerate(self.joined)
            if problem.may_join[site] and (excess := joined.get(whole)) is not None
        ]

    def _meet(
        self, whole: int, site: int, levels: list[float], live: list[tuple[float, int]], pending: set[int]
    ) -> None:
        """Count a set that has come to a site together with every set there that shares no start with it."""
        joined, counts = self.joined[site], self.counts[site]
        arrive, last = levels[0], levels[-1]
        for rest, other in live:
            if last + rest >= self.slack:
                break
            if other & whole:
                continue
            both = whole | other
            theirs = counts[other]
            excess = min(arrive + rest, theirs[0] + last)
            if excess >= self.slack:
                continue
            if excess < joined.get(both, INF):
                joined[both] = excess
                pending.add(both)
            if not self.counted:
                continue
            for level in range(1, self.levels):
                excess = min(arrive + theirs[level - 1], theirs[0] + levels[level - 1])
                if excess < self.slack:
                    known = counts.setdefault(both, [INF] * self.levels)
                    known[level] = min(known[level], excess)
                    pending.add(both)

    def attached(self, whole: int) -> Iterator[tuple[int, float]]:
        """The starts of a set that have built joints, and the price of the rest of the set ending there."""
        for group, places in self.groups.items():
            if group is not None and whole >> group & 1:
                price = self.into(group, places, whole ^ (1 << group))
                if price < INF:
                    yield group, price

    def into(self, group: int | None, places: tuple[int, ...], subset: int) -> float:
        """The price of a set ending in the built joints of one start or of the pin."""
        if self.load[subset] > load_room(self.problem, group) + EPS:
            return INF
        return self.into_all(places, subset)

    def into_all(self, places: tuple[int, ...], subset: int) -> float:
        """The price of a set ending in these built joints, whatever they can carry."""
        if not subset or not places:
            return INF if subset else 0.0
        key = (places, subset)
        if key not in self.among:
            self.among[key] = min(
                self.into_one(places[0], part) + self.into_all(places[1:], subset ^ part)
                for part in _parts(subset)
            )
        return self.among[key]

    def into_one(self, place: int, part: int) -> float:
        """The price of a set ending in one built joint, as many wires as there is room for."""
        if not part:
            return 0.0
        built = self.problem.built[place]
        levels = self.counts[built.site].get(part)
        return INF if levels is None else levels[min(built.room, self.levels) - 1] + self.owed[part]

    # --- the answer ----------------------------------------------------------------------------------------

    def answer(self) -> tuple[float, Tree] | None:
        """The cheapest way to part all starts among the pin's wires and the joints built on to it."""
        places = self.groups.get(None, ())
        states: dict[int, tuple[float, tuple[int, ...]]] = {}
        for part in _parts(self.full) if places else (0,):
            price = self.into(None, places, part) if part else 0.0
            if price < INF:
                states[part] = (price, (part,))
        best = states.get(self.full)
        by_lowest: dict[int, list[int]] = {}
        for subset in self.to_pin:
            by_lowest.setdefault(subset & -subset, []).append(subset)
        for _ in range(min(self.problem.pin_room, self.problem.starts)):
            following: dict[int, tuple[float, tuple[int, ...]]] = {}
            for done, (price, parts) in states.items():
                left = self.full ^ done
                for subset in by_lowest.get(left & -left, ()):
                    if subset & done:
                        continue
                    total = price + self.to_pin[subset]
                    known = following.get(done | subset)
                    if total - self.owed[done | subset] < self.slack and (known is None or total < known[0]):
                        following[done | subset] = (total, (*parts, subset))
            found = following.pop(self.full, None)
            if found is not None and (best is None or found[0] < best[0]):
                best = found
            states = following
        if best is None or best[0] >= self.below - EPS:
            return None
        return best[0], _Layer(self).tree(places, best[1])


class _Layer:
    """Lays the wires of an answer from the table: for each price it asks what it was made of."""

    def __init__(self, table: _Table) -> None:
        self.table = table
        self.problem = table.problem
        self.site: list[int] = []
        self.joint_onto: list[int] = []
        self.start_onto = [PIN] * table.problem.starts

    def tree(self, places: tuple[int, ...], parts: tuple[int, ...]) -> Tree:
        self._lay_into(places, parts[0])
        for subset in parts[1:]:
            self._lay(subset, PIN, None)
        return Tree(
            site=tuple(self.site), joint_onto=tuple(self.joint_onto), start_onto=tuple(self.start_onto)
        )

    def _lay(self, whole: int, onto: int, site: int | None) -> None:
        """Lay a set on one wire that ends at `onto`, which is at `site` (None: the pin)."""
        table, problem = self.table, self.problem
        if whole & (whole - 1) == 0:
            self.start_onto[whole.bit_length() - 1] = onto
            return
        due = table.due(whole)
        options: list[tuple[float, int | None, int]] = []
        for at, price in table.joints(whole, due):
            wire = problem.site_pin[at] if site is None else problem.site_site[at][site]
            options.append((price + wire, None, at))
        for group, attached in table.attached(whole):
            wire = problem.start_pin[group] if site is None else problem.start_site[group][site]
            options.append((attached + wire, group, 0))
        _, top, at = min(options, key=lambda option: option[0])
        if top is not None:
            self.start_onto[top] = onto
            self._lay_into(table.groups[top], whole ^ (1 << top))
            return
        self.site.append(at)
        self.joint_onto.append(onto)
        joint = len(self.site) - 1
        counts = table.counts[at]
        wanted = table.joined[at][whole] + EPS
        for one, other in _splits(whole):
            if one in counts and other in counts and counts[one][0] + counts[other][-1] <= wanted:
                self._lay(one, joint, at)
                self._lay_some(other, table.levels - 1, joint, at)
                return
        raise AssertionError("a price without parts")

    def _lay_some(self, whole: int, level: int, onto: int, site: int) -> None:
        """Lay a set on at most `level` + 1 wires into the joint `onto` at `site`."""
        counts = self.table.counts[site]
        levels = counts[whole]
        if levels[0] <= levels[level] + EPS:
            self._lay(whole, onto, site)
            return
        lower = level - 1 if self.table.counted else level
        for one, other in _splits(whole):
            if (
                one in counts
                and other in counts
                and counts[one][0] + counts[other][lower] <= levels[level] + EPS
            ):
                self._lay(one, onto, site)
                self._lay_some(other, lower, onto, site)
                return
        raise AssertionError("a price without parts")

    def _lay_into(self, places: tuple[int, ...], subset: int) -> None:
        """Lay a set into the first of these built joints and those behind it."""
        table = self.table
        if not subset:
            return
        price = table.into_all(places, subset)
        for part in _parts(subset):
            own = table.into_one(places[0], part)
            if own + table.into_all(places[1:], subset ^ part) <= price + EPS:
                if part:
                    built = self.problem.built[places[0]]
                    level = min(built.room, table.levels) - 1
                    self._lay_some(part, level, built_code(places[0]), built.site)
                self._lay_into(places[1:], subset ^ part)
                return
        raise AssertionError("a price without parts")
