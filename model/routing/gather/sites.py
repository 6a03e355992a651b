"""Which sites to open: a first answer that leaves out of account how many wires a joint takes.

With a set of open sites the best tree is easy: each start goes to the nearest end, the open sites are
connected like towns by the shortest roads (Prim 1957). Sites are opened, closed and exchanged as long as
that makes it cheaper.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from model.routing.gather.values import EPS, INF, PIN, Gathering, Tree, built_code
from model.routing.gather.working import Working

EXCHANGE_WITHIN = 3.0
"""A site is tried in another's place only if opening it costs no more than so many joints."""


def _least(rows: list[list[float]]) -> list[float]:
    return rows[0] if len(rows) == 1 else list(map(min, *rows))


class SiteSearch:
    """Open sites and the price of the best tree over them."""

    def __init__(self, problem: Gathering) -> None:
        self.problem = problem
        self.groups = sorted({one.start for one in problem.built if one.start is not None and one.room})
        self.leaves = [start for start in range(problem.starts) if start not in self.groups]
        self.columns = [
            [problem.start_site[start][site] for start in self.leaves] for site in range(problem.sites)
        ]
        self.at_pin = [one.site for one in problem.built if one.start is None and one.room]
        self.group_sites = {
            group: [one.site for one in problem.built if one.start == group and one.room]
            for group in self.groups
        }
        standing = [*self.at_pin, *(site for sites in self.group_sites.values() for site in sites)]
        self.unopened = _least(
            [[problem.start_pin[start] for start in self.leaves], *(self.columns[site] for site in standing)]
        )

    def price(self, opened: Sequence[int]) -> float:
        """What the best tree over these open sites costs, crowded or not."""
        leaves = _least([self.unopened, *(self.columns[site] for site in opened)])
        return sum(leaves) + self.roads(opened)[0]

    def roads(self, opened: Sequence[int]) -> tuple[float, dict[int, int]]:
        """Price of the trunks of the open sites and groups, and where each ends.

        Sites are named by their number, group starts by -1 minus their number; the dictionary holds the site
        or group that a trunk ends at, or None's stand-in `problem.sites` for the pin.
        """
        problem = self.problem
        pin = problem.sites
        waiting: dict[int, float] = {}
        ends: dict[int, int] = {}
        for node in [*opened, *(-1 - group for group in self.groups)]:
            row, to_pin = self._prices(node)
            waiting[node] = min([to_pin, *(row[site] for site in self.at_pin)])
            ends[node] = pin
        total = problem.joint_cost * len(opened)
        while waiting:
            node = min(waiting, key=waiting.__getitem__)
            total += waiting.pop(node)
            here = self.group_sites[-1 - node] if node < 0 else [node]
            for other, known in waiting.items():
                row = self._prices(other)[0]
                price = min([row[site] for site in here]) if len(here) > 1 else row[here[0]]
                if price < known:
                    waiting[other] = price
                    ends[other] = node
        return total, ends

    def _prices(self, node: int) -> tuple[Sequence[float], float]:
        problem = self.problem
        if node < 0:
            return problem.start_site[-1 - node], problem.start_pin[-1 - node]
        return problem.site_site[node], problem.site_pin[node]

    def improve(self, opened: Iterable[int]) -> tuple[float, list[int]]:
        """Open, close and exchange sites until nothing makes it cheaper; the price and the open sites."""
        problem = self.problem
        current = list(opened)
        best = self.price(current)
        changed = True
        while changed:
            changed = False
            for site in range(problem.sites):
                if not problem.may_join[site]:
                    continue
                for trial in self._trials(site, current):
                    price = self.price(trial)
                    if price < best - EPS:
                        current, best, changed = trial, price, True
                        break
                    if (
                        problem.joint_cost
                        and site in trial
                        and price > best + EXCHANGE_WITHIN * problem.joint_cost
                    ):
                        break
        return best, current

    def _trials(self, site: int, opened: Sequence[int]) -> list[list[int]]:
        """The open sites without this one; or with it, and with it in the place of one of them."""
        if site in opened:
            return [[one for one in opened if one != site]]
        exchanged = [[*(one for one in opened if one != gone), site] for gone in self._near(site, opened)]
        return [[*opened, site], *exchanged]

    def _near(self, site: int, opened: Sequence[int]) -> list[int]:
        """The open sites nearest to one that may take the place of one of them."""
        return sorted(opened, key=lambda one: self.problem.site_site[site][one])[:2]

    def first_sites(self) -> list[int]:
        """The sites that are some start's nearest."""
        rows = [self.problem.start_site[start] for start in self.leaves]
        may = [site for site in range(self.problem.sites) if self.problem.may_join[site]]
        nearest = {min(may, key=row.__getitem__) for row in rows} if may else set()
        return sorted(site for site in nearest if any(row[site] < INF for row in rows))

    def working(self, opened: Sequence[int]) -> Working:
        """The tree over these sites, each site's joints as many as its wires need."""
        return _Realised(self, opened).working()


class _Realised:
    def __init__(self, search: SiteSearch, opened: Sequence[int]) -> None:
        self.search = search
        self.problem = search.problem
        self.site: list[int] = []
        self.joint_onto: list[int] = []
        self.start_onto = [PIN] * self.problem.starts
        self.ends = search.roads(opened)[1]
        self.at: dict[int, list[int]] = {site: [] for site in opened}
        self.at |= {-1 - group: [] for group in search.groups}
        for start in search.leaves:
            self._assign(start, opened)

    def _assign(self, start: int, opened: Sequence[int]) -> None:
        row = self.problem.start_site[start]
        best, end = self.problem.start_pin[start], self.problem.sites
        for site in opened:
            if row[site] < best:
                best, end = row[site], site
        for group, sites in self.search.group_sites.items():
            price = min(row[site] for site in sites)
            if price < best:
                best, end = price, -1 - group
        if end != self.problem.sites:
            self.at[end].append(start)

    def working(self) -> Working:
        pin = self.problem.sites
        for node, end in self.ends.items():
            if end == pin:
                self._hang(self._gathered(node), PIN)
        tree = Working(self.problem)
        tree.load_tree(
            Tree(site=tuple(self.site), joint_onto=tuple(self.joint_onto), start_onto=tuple(self.start_onto))
        )
        tree.unload()
        return tree

    def _hang(self, nodes: Iterable[int], end: int) -> None:
        for node in nodes:
            if node < self.problem.starts:
                self.start_onto[node] = end
            else:
                self.joint_onto[node - self.problem.starts] = end

    def _gathered(self, node: int) -> list[int]:
        """The wires that go on from an open site or a group: starts, and joints behind them."""
        nodes = list(self.at[node])
        for other, end in self.ends.items():
            if end == node:
                nodes += self._gathered(other)
        if node < 0:
            return self._into_group(-1 - node, nodes)
        return [joint for part in self._loads(nodes) for joint in self._joined(node, part, 1)]

    def _loads(self, nodes: list[int]) -> list[list[int]]:
        """The wires in as few parts as a trunk's load allows."""
        if not self.problem.load_binds():
            return [nodes] if nodes else []
        parts: list[tuple[float, list[int]]] = []
        for load, node in sorted(((self._load(node), node) for node in nodes), reverse=True):
            for place, (held, part) in enumerate(parts):
                if held + load <= self.problem.load_max + EPS:
                    parts[place] = (held + load, [*part, node])
                    break
            else:
                parts.append((load, [node]))
        return [part for _, part in parts]

    def _load(self, node: int) -> float:
        starts = self.problem.starts
        if node < starts:
            return self.problem.load[node]
        return sum(
            self._load(kid)
            for kid, end in [
                *enumerate(self.start_onto),
                *((starts + place, onto) for place, onto in enumerate(self.joint_onto)),
            ]
            if end == node - starts
        )

    def _joined(self, site: int, nodes: list[int], most: int) -> list[int]:
        """So many joints at a site that at most `most` wires go on."""
        while len(nodes) > most:
            few, nodes = nodes[: self.problem.joint_room], nodes[self.problem.joint_room :]
            self.site.append(site)
            self.joint_onto.append(PIN)
            number = len(self.site) - 1
            self._hang(few, number)
            nodes.append(self.problem.starts + number)
        return nodes

    def _into_group(self, group: int, nodes: list[int]) -> list[int]:
        """The wires of a group into its built joints as far as there is room; the rest goes to the pin."""
        for node in nodes:
            free = [
                (self._to(node, built.site), place)
                for place, built in enumerate(self.problem.built)
                if built.start == group and self._used(place) < built.room
            ]
            self._hang([node], built_code(min(free)[1]) if free else PIN)
        return [group]

    def _used(self, place: int) -> int:
        return [*self.start_onto, *self.joint_onto].count(built_code(place))

    def _to(self, node: int, site: int) -> float:
        starts = self.problem.starts
        return (
            self.problem.start_site[node][site]
            if node < starts
            else self.problem.site_site[self.site[node - starts]][site]
        )
