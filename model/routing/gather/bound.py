"""A sum that no answer can be below, by dual ascent (Wong 1984), and what that rules out.

The joints of a site are one node; a wire is an arc from where it ends to where it begins, and the price of
opening a site is on the arcs into it. Crowded joints are priced in: with d wires into j joints of one site,
j - 1 is at least (d - room) / (room - 1), so each wire into a site may carry a share of a further joint if
the site is refunded `room` shares. Which share is best for a site differs; a good answer gives a first
guess.
"""

from __future__ import annotations

import heapq
from collections import Counter
from collections.abc import Sequence
from operator import add

import attrs

from model.routing.gather.values import EPS, INF, Gathering, Row, Tree

RIGHTING_TURNS = 20
"""How often shares are set right against each other before each is made to stand alone."""


@attrs.frozen(kw_only=True, eq=False)
class Ascent:
    """The bound and the reduced price of every arc: `into_site[site][tail]`, `into_start[start][tail]`.

    Tails are the sites, then the starts (those with built joints), then the pin. `rise[start]` is what a
    start has added to the bound, `rise_at[start][site]` what of that it added while its cut held the site.
    Whatever is left to be built costs at least the rises of the starts it has still to reach, and of the
    others those at a site from which it has to go on.
    """

    bound: float
    into_site: tuple[Row, ...]
    into_start: tuple[Row, ...]
    rise: Row
    rise_at: tuple[Row, ...]


def best_ascent(problem: Gathering, tree: Tree, trials: int, enough: float = INF) -> Ascent:
    """The best ascent found with so many trials of other shares; ends at a bound of `enough`.

    `tree` is a good answer: where it has several joints at a site, or a full one, further joints are dear.
    """
    if problem.joint_room >= problem.starts:
        return _Ascent(problem, [0.0] * problem.sites).run()
    best, shares = max(
        ((_Ascent(problem, shares).run(), shares) for shares in _guesses(problem, tree)),
        key=lambda pair: pair[0].bound,
    )
    sites = [site for site, _ in Counter(tree.site).most_common()]
    left = trials
    changed = True
    while changed:
        changed = False
        for site in sites:
            for share in (0.0, 0.5, 1.0):
                if left <= 0 or best.bound >= enough - EPS:
                    return best
                if share == shares[site]:
                    continue
                left -= 1
                trial = [*shares[:site], share, *shares[site + 1 :]]
                ascent = _Ascent(problem, trial).run()
                if ascent.bound > best.bound + EPS:
                    best, shares, changed = ascent, trial, True
    return best


def _guesses(problem: Gathering, tree: Tree) -> list[list[float]]:
    """No shares, full ones everywhere, and full ones where the answer has several joints or a full one."""
    joints = Counter(tree.site)
    into = Counter([*tree.start_onto, *tree.joint_onto])
    full = {site for place, site in enumerate(tree.site) if into[place] == problem.joint_room}
    crowded = [1.0 if joints[site] > 1 or site in full else 0.0 for site in range(problem.sites)]
    return [crowded, [1.0] * problem.sites, [0.0] * problem.sites]


class _Ascent:
    """One dual ascent, with the share of a further joint (0 to 1) at each site."""

    def __init__(self, problem: Gathering, shares: Sequence[float]) -> None:
        self.problem = problem
        self.rise = [0.0] * problem.starts
        self.rise_at = [[0.0] * problem.sites for _ in range(problem.starts)]
        self.sites = problem.sites
        self.nodes = problem.sites + problem.starts
        self.pin = self.nodes
        at_pin = [built.site for built in problem.built if built.start is None and built.room]
        groups: dict[int, list[int]] = {}
        for built in problem.built:
            if built.start is not None and built.room:
                groups.setdefault(built.start, []).append(built.site)
        self.in_price: list[list[float]] = []
        for site in range(self.sites):
            if problem.may_join[site]:
                price = self._row(problem.site_site[site], problem.site_pin[site], at_pin, groups, skip=site)
                self.in_price.append([one + problem.joint_cost for one in price])
            else:
                self.in_price.append([INF] * (self.nodes + 1))
        for start in range(problem.starts):
            row, pin = problem.start_site[start], problem.start_pin[start]
            self.in_price.append(self._row(row, pin, at_pin, groups, skip=problem.sites + start))
        self._share_out(shares)

    def _row(
        self, row: Row, pin: float, at_pin: Sequence[int], groups: dict[int, list[int]], *, skip: int
    ) -> list[float]:
        problem = self.problem
        price = [one if may else INF for one, may in zip(row, problem.may_join, strict=True)]
        price += [INF] * problem.starts
        for start, sites in groups.items():
            price[self.sites + start] = min(row[site] for site in sites)
        price.append(min([pin, *(row[site] for site in at_pin)]))
        price[skip] = INF
        return price

    def _share_out(self, wanted: Sequence[float]) -> None:
        """Put a share of a further joint on the arcs out of each site, and the refund on those into it."""
        problem = self.problem
        room = problem.joint_room
        if room < 2:
            return
        shares = [
            wanted[site] * (problem.joint_cost + problem.site_site[site][site]) / (room - 1) if may else 0.0
            for site, may in enumerate(problem.may_join)
        ]
        self._refundable(shares, room)
        for node, row in enumerate(self.in_price):
            refund = room * shares[node] if node < self.sites else 0.0
            more = [*shares, *([0.0] * (self.nodes + 1 - self.sites))]
            self.in_price[node] = [
                max(one + share - refund, 0.0) for one, share in zip(row, more, strict=True)
            ]

    def _refundable(self, shares: list[float], room: int) -> None:
        """Lower the shares until no arc is refunded more than it costs with the share that it carries
        itself.
        """
        lowered = True
        for turn in range(RIGHTING_TURNS + 1):
            if not lowered:
                return
            lowered = False
            for site, row in enumerate(self.in_price[: self.sites]):
                # In the last turn no help from the others is counted on, so that it comes to an end.
                carried = shares if turn < RIGHTING_TURNS else [0.0] * self.sites
                least = min(min(map(add, row, carried)), row[self.pin], *row[self.sites :])
                if shares[site] * room > least + EPS:
                    shares[site] = least / room
                    lowered = True

    def run(self) -> Ascent:
        """Raise the starts' prices, the one with the smallest cut first, until each is tied to the pin."""
        tails = [[tail for tail, price in enumerate(row) if price < INF] for row in self.in_price]
        tied = [
            [tail for tail in there if row[tail] <= EPS]
            for there, row in zip(tails, self.in_price, strict=True)
        ]
        bound = 0.0
        queue = [(1, self.sites + start) for start in range(self.problem.starts)]
        heapq.heapify(queue)
        while queue:
            size, start = heapq.heappop(queue)
            reached = [False] * (self.nodes + 1)
            inside = self._reached(start, tied, reached)
            if reached[self.pin]:
                continue
            if len(inside) > size and queue and len(inside) > queue[0][0]:
                heapq.heappush(queue, (len(inside), start))
                continue
            cut = [(node, [tail for tail in tails[node] if not reached[tail]]) for node in inside]
            rise = min((self.in_price[node][tail] for node, there in cut for tail in there), default=INF)
            if rise == INF:
                break  # this start can't be connected: no sum is too high
            bound += rise
            self.rise[start - self.sites] += rise
            for node, there in cut:
                if node < self.sites:
                    self.rise_at[start - self.sites][node] += rise
                row = self.in_price[node]
                for tail in there:
                    price = row[tail] - rise
                    if price <= EPS:
                        price = 0.0
                        tied[node].append(tail)
                    row[tail] = price
            heapq.heappush(queue, (len(inside), start))
        rows = tuple(tuple(row) for row in self.in_price)
        return Ascent(
            bound=bound,
            into_site=rows[: self.sites],
            into_start=rows[self.sites :],
            rise=tuple(self.rise),
            rise_at=tuple(tuple(row) for row in self.rise_at),
        )

    def _reached(self, start: int, tied: list[list[int]], reached: list[bool]) -> list[int]:
        """Every node that can reach `start` by arcs without price left; marks them in `reached`."""
        inside = [start]
        reached[start] = True
        for node in inside:
            for tail in tied[node]:
                if not reached[tail]:
                    reached[tail] = True
                    if tail == self.pin:
                        return inside
                    inside.append(tail)
        return inside


def sifted(problem: Gathering, ascent: Ascent, below: float) -> tuple[Gathering, tuple[int, ...]]:
    """The problem without the sites and wires that no answer of less than `below` can have, and the sites
    kept.

    An arc can be in such an answer only if the bound, its reduced price, and the reduced prices of the
    cheapest way from the pin to it and on from it come to less.
    """
    starts = range(problem.starts)
    slack = below - ascent.bound
    spent = _from_pin(ascent, problem.sites, problem.starts)
    onward = _to_starts(ascent, problem.sites)
    stands = {built.site for built in problem.built}
    keep = [
        site
        for site in range(problem.sites)
        if site in stands or (problem.may_join[site] and spent[site] + onward[site] < slack)
    ]
    place = {old: new for new, old in enumerate(keep)}

    def allowed(start: int, site: int) -> float:
        reduced = ascent.into_start[start][site]
        return problem.start_site[start][site] if site in stands or spent[site] + reduced < slack else INF

    smaller = attrs.evolve(
        problem,
        start_site=tuple(tuple(allowed(start, site) for site in keep) for start in starts),
        site_site=tuple(tuple(problem.site_site[site][other] for other in keep) for site in keep),
        site_pin=tuple(problem.site_pin[site] for site in keep),
        may_join=tuple(problem.may_join[site] for site in keep),
        built=tuple(attrs.evolve(built, site=place[built.site]) for built in problem.built),
    )
    return smaller, tuple(keep)


def narrowed(ascent: Ascent, keep: Sequence[int]) -> Ascent:
    """The ascent of a sifted problem: its rises at the sites kept. It can't be sifted with again."""
    rise_at = tuple(tuple(row[site] for site in keep) for row in ascent.rise_at)
    return attrs.evolve(ascent, into_site=(), into_start=(), rise_at=rise_at)


def _from_pin(ascent: Ascent, sites: int, starts: int) -> list[float]:
    """The reduced price of the cheapest way from the pin to each site (Dijkstra on a full matrix)."""
    # A start with built joints may stand between: it is passed as a node of its own.
    nodes = sites + starts
    rows = (*ascent.into_site, *ascent.into_start)
    spent = [row[nodes] for row in rows]
    waiting = set(range(nodes))
    while waiting:
        near = min(waiting, key=spent.__getitem__)
        if spent[near] == INF:
            break
        waiting.discard(near)
        for node in waiting:
            through = spent[near] + rows[node][near]
            if through < spent[node]:
                spent[node] = through
    return spent


def _to_starts(ascent: Ascent, sites: int) -> list[float]:
    """The reduced price of the cheapest way on from each site to any start."""
    best = [min((row[site] for row in ascent.into_start), default=INF) for site in range(sites)]
    waiting = set(range(sites))
    while waiting:
        near = min(waiting, key=best.__getitem__)
        waiting.discard(near)
        for site in waiting:
            through = best[near] + ascent.into_site[near][site]
            if through < best[site]:
                best[site] = through
    return best
