"""A good answer for any number of starts: a working tree, moves that make it cheaper, and kicks out of dead ends.

Nodes are the starts (0, 1 ...) and the joints behind them; ends are PIN, a joint's node, or the code of a built
joint. Every move is judged by the real prices, joints and room included.
"""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from model.routing.gather.values import EPS, INF, PIN, Gathering, Row, Tree, built_code, load_room

OVERFULL = 1e9
"""What a wire too many on the pin costs while searching; far above any real sum."""

MOVES_MAX = 20_000
"""A search ends after so many moves, whatever happens."""


class Working:
    """A tree that is being changed. It starts with every wire on the pin."""

    def __init__(self, problem: Gathering) -> None:
        self.problem = problem
        self.starts = problem.starts
        self.onto: dict[int, int] = {}
        self.site: dict[int, int] = {}
        self.row: dict[int, Row] = dict(enumerate(problem.start_site))  # a node's prices by site
        self.pin: dict[int, float] = dict(enumerate(problem.start_pin))  # a node's price to the pin
        self.paid: dict[int, float] = {}  # the price of the wire that a node has
        self.loads: dict[int, float] | None = None  # what each node's wire carries, until something changes
        self.kids: dict[int, list[int]] = {PIN: []}
        self.built_site = {built_code(place): built.site for place, built in enumerate(problem.built)}
        self.built_room = {built_code(place): built.room for place, built in enumerate(problem.built)}
        for code in self.built_site:
            self.kids[code] = []
        self.group_of = {built_code(place): built.start for place, built in enumerate(problem.built)}
        self.group_room = {built.start: load_room(problem, built.start) for built in problem.built}
        self.loaded = problem.load_binds() or bool(problem.built)
        self.next_node = problem.starts
        for start in range(problem.starts):
            self._hang(start, PIN)

    # --- looking -------------------------------------------------------------------------------------------------

    def price(self, node: int, end: int) -> float:
        """Price of the wire from a node to an end."""
        return self.pin[node] if end == PIN else self.row[node][self.site_of(end)]

    def site_of(self, end: int) -> int:
        """Where a joint is, new or built."""
        return self.site[end] if end >= 0 else self.built_site[end]

    def room(self, end: int) -> int:
        """How many more wires an end takes; an overfull pin gives a number below 0."""
        used = len(self.kids[end])
        if end == PIN:
            return self.problem.pin_room - used
        return (self.problem.joint_room if end >= 0 else self.built_room[end]) - used

    def onward(self, end: int) -> int:
        """Where the trunk of an end goes."""
        if end >= 0:
            return self.onto[end]
        group = self.group_of[end]
        return PIN if group is None else self.onto[group]

    def is_behind(self, node: int, end: int) -> bool:
        """Whether what ends at `end` passes through `node`."""
        while end != PIN:
            if end == node or (end < PIN and self.group_of[end] == node):
                return True
            end = self.onward(end)
        return False

    def joints(self) -> list[int]:
        """The new joints."""
        return list(self.site)

    @property
    def ends_at(self) -> list[tuple[int, int]]:
        """Every joint, new or built, with its site."""
        return [*self.site.items(), *self.built_site.items()]

    def from_site(self, site: int) -> dict[int, float]:
        """The price of a trunk from a new joint at a site to every end."""
        row = self.problem.site_site[site]
        return {PIN: self.problem.site_pin[site], **{end: row[there] for end, there in self.ends_at}}

    def load_of(self, node: int) -> float:
        """Everything that a node's wire carries."""
        if self.loads is None:
            self.loads = self._all_loads()
        return self.loads[node]

    def _all_loads(self) -> dict[int, float]:
        loads = dict.fromkeys(self.onto, 0.0)
        for start, load in enumerate(self.problem.load):
            loads[start] += load
            end = self.onto[start]
            while end != PIN:
                node = end if end >= 0 else self.group_of[end]
                if node is None:
                    break
                loads[node] += load
                end = self.onto[node]
        return loads

    def spare(self, end: int) -> float:
        """How much more the trunk of an end can carry."""
        if end == PIN:
            return INF
        if end >= 0:
            return self.problem.load_max - self.load_of(end)
        group = self.group_of[end]
        codes = [code for code, other in self.group_of.items() if other == group]
        return self.group_room[group] - sum(self.load_of(kid) for code in codes for kid in self.kids[code])

    def takes(self, end: int, load: float) -> bool:
        """Whether every trunk from `end` on can carry so much more."""
        if not self.loaded:
            return True
        while end != PIN:
            if load > self.spare(end) + EPS:
                return False
            end = self.onward(end)
        return True

    def unload(self) -> None:
        """Put wires on the pin where a trunk would carry too much."""
        for end in list(self.kids) if self.loaded else []:
            while end in self.kids and self.kids[end] and self.spare(end) < -EPS:
                self.move(max(self.kids[end], key=self.load_of), PIN)

    def total(self) -> float:
        """The whole price, with a penalty for an overfull pin."""
        wires = sum(self.paid.values())
        return wires + self.problem.joint_cost * len(self.site) + OVERFULL * max(-self.room(PIN), 0)

    # --- changing ------------------------------------------------------------------------------------------------

    def _hang(self, node: int, end: int) -> None:
        self.kids[end].append(node)
        self._end(node, end)

    def _end(self, node: int, end: int) -> None:
        self.onto[node] = end
        self.paid[node] = self.price(node, end)
        self.loads = None

    def _stand(self, joint: int, site: int) -> None:
        self.site[joint] = site
        self.row[joint] = self.problem.site_site[site]
        self.pin[joint] = self.problem.site_pin[site]

    def _drop(self, joint: int) -> None:
        for of_node in (self.site, self.onto, self.row, self.pin, self.paid):
            del of_node[joint]

    def put(self, joint: int, site: int) -> None:
        """Move a joint to another site."""
        self._stand(joint, site)
        for node in (joint, *self.kids[joint]):
            self.paid[node] = self.price(node, self.onto[node])

    def swap(self, node: int, other: int) -> None:
        """Change two wires' ends over."""
        here, there = self.onto[node], self.onto[other]
        self.kids[here][self.kids[here].index(node)] = other
        self.kids[there][self.kids[there].index(other)] = node
        self._end(node, there)
        self._end(other, here)

    def move(self, node: int, end: int) -> None:
        """End a node's wire elsewhere. A joint left with one wire goes, and the wire goes on in its place."""
        left = self.onto[node]
        self.kids[left].remove(node)
        self._hang(node, end)
        self._tidy(left)

    def _tidy(self, end: int) -> None:
        while end >= 0 and len(self.kids[end]) < 2:
            onward = self.onto[end]
            kids = self.kids.pop(end)
            place = self.kids[onward].index(end)
            self.kids[onward][place : place + 1] = kids
            for kid in kids:
                self._end(kid, onward)
            self._drop(end)
            end = onward

    def insert(self, site: int, end: int, nodes: list[int]) -> int:
        """A new joint at a site with the wires of these nodes, its trunk on `end`."""
        joint = self.next_node
        self.next_node += 1
        self._stand(joint, site)
        self.kids[joint] = []
        left = [self.onto[node] for node in nodes]
        for node, old in zip(nodes, left, strict=True):
            self.kids[old].remove(node)
            self._hang(node, joint)
        self._hang(joint, end)
        for old in dict.fromkeys(left):
            if old in self.kids:
                self._tidy(old)
        return joint

    def dissolve(self, joint: int) -> None:
        """Let a joint go; its wires go on to where its trunk went."""
        onward = self.onto[joint]
        kids = self.kids.pop(joint)
        self.kids[onward].remove(joint)
        self._drop(joint)
        for kid in kids:
            self._hang(kid, onward)

    def snapshot(self) -> tuple[dict[int, int], dict[int, int]]:
        """What `restore` needs."""
        return dict(self.onto), dict(self.site)

    def restore(self, kept: tuple[dict[int, int], dict[int, int]]) -> None:
        """Go back to a snapshot."""
        onto, site = kept
        for joint in list(self.site):
            if joint in self.onto:
                self._drop(joint)
        self.kids = {PIN: [], **{code: [] for code in self.built_site}, **{joint: [] for joint in site}}
        for joint, place in site.items():
            self._stand(joint, place)
        self.onto, self.paid = {}, {}
        for node, end in onto.items():
            self._hang(node, end)

    def load_tree(self, tree: Tree) -> None:
        """Take over an answer."""
        number = {place: self.starts + place for place in range(len(tree.site))}
        self.next_node = self.starts + len(tree.site)
        onto = {start: number.get(end, end) for start, end in enumerate(tree.start_onto)}
        onto |= {number[place]: number.get(end, end) for place, end in enumerate(tree.joint_onto)}
        self.restore((onto, {number[place]: site for place, site in enumerate(tree.site)}))

    def tree(self) -> Tree:
        """The answer, its joints numbered from 0."""
        number = {joint: place for place, joint in enumerate(self.site)}
        return Tree(
            site=tuple(self.site.values()),
            joint_onto=tuple(number.get(self.onto[joint], self.onto[joint]) for joint in self.site),
            start_onto=tuple(number.get(self.onto[start], self.onto[start]) for start in range(self.starts)),
        )


# --- moves: each looks for its best or first improvement, makes it, and says whether it made one --------------


def _leaving(tree: Working, node: int) -> float:
    """What is saved when a node's wire is taken away from where it ends."""
    end = tree.onto[node]
    saved = tree.paid[node]
    if end == PIN:
        return saved + (OVERFULL if tree.room(PIN) < 0 else 0.0)
    if end >= 0 and len(tree.kids[end]) == 2:
        one, other = tree.kids[end]
        left = other if one == node else one
        onward = tree.onto[end]
        saved += tree.problem.joint_cost + tree.paid[left] + tree.paid[end] - tree.price(left, onward)
    return saved


def relocate(tree: Working) -> bool:
    """End each wire where it is cheapest."""
    changed = False
    for node in list(tree.onto):
        if node not in tree.onto:
            continue
        here, row = tree.onto[node], tree.row[node]
        saved = _leaving(tree, node) - EPS
        if saved == INF:
            continue
        options = [(row[site], joint) for joint, site in tree.ends_at if row[site] < saved]
        options.append((tree.pin[node], PIN))
        for price, end in sorted(options):
            if price >= saved:
                break
            if end in (here, node) or tree.room(end) < 1 or tree.is_behind(node, end):
                continue
            if tree.takes(end, tree.load_of(node) if tree.loaded else 0.0):
                tree.move(node, end)
                changed = True
                break
    return changed


def pair(tree: Working) -> bool:
    """Make the best new joint of two wires: one is cut where the other comes to it."""
    problem = tree.problem
    best, best_site, best_node, best_other = -EPS, -1, -1, -1
    nodes = [(_leaving(tree, node), tree.row[node], node) for node in tree.onto]
    wires = [(tree.paid[node], tree.row[node], end, node) for node, end in tree.onto.items()]
    for site in range(problem.sites):
        if not problem.may_join[site]:
            continue
        onward = tree.from_site(site)
        cut = sorted([(row[site] + onward[end] - paid, node) for paid, row, end, node in wires])[:6]
        most = problem.joint_cost + cut[0][0]
        for saved, row, node in nodes:
            own = row[site] - saved
            if own + most >= best:
                continue
            for more, other in cut:
                if own + more + problem.joint_cost >= best:
                    break
                if other != node and not tree.is_behind(node, tree.onto[other]):
                    best = own + more + problem.joint_cost
                    best_site, best_node, best_other = site, node, other
                    break
    if best_site < 0:
        return False
    before, kept = tree.total(), tree.snapshot()
    load = tree.load_of(best_node) if tree.loaded else 0.0
    end = tree.onto[best_other]
    if tree.takes(end, load) and (
        not tree.loaded or load + tree.load_of(best_other) <= problem.load_max + EPS
    ):
        tree.insert(best_site, end, [best_other, best_node])
        if tree.total() < before - EPS:
            return True
        tree.restore(kept)
    return False


def gather_at(tree: Working) -> bool:
    """Make the new joint that gathers most: a site, the wires that gain by ending there, and where its trunk goes."""
    problem = tree.problem
    crowded = tree.room(PIN) < 0
    offers: list[tuple[float, int, int, list[int]]] = []
    wires = [(tree.paid[node], tree.row[node], node) for node in tree.onto]
    for site in range(problem.sites):
        if not problem.may_join[site]:
            continue
        least = -INF if crowded else EPS
        gains = sorted([(gain, node) for paid, row, node in wires if (gain := paid - row[site]) > least])[::-1]
        if not crowded and sum(gain for gain, _ in gains[: problem.joint_room]) <= problem.joint_cost + EPS:
            continue
        onward = tree.from_site(site)
        ends = sorted((price, end) for end, price in onward.items())[:4]
        if crowded or all(end != PIN for _, end in ends):
            ends.append((onward[PIN], PIN))
        for trunk, end in ends:
            offer = _offer(tree, site, end, trunk, gains, crowded)
            if offer is not None:
                offers.append(offer)
    for _, site, end, chosen in sorted(offers, key=lambda offer: -offer[0])[:8]:
        if tree.loaded and not _carries(tree, end, chosen):
            continue
        before, kept = tree.total(), tree.snapshot()
        tree.insert(site, end, chosen)
        if tree.total() < before - EPS:
            return True
        tree.restore(kept)
    return False


def _offer(
    tree: Working, site: int, end: int, trunk: float, gains: list[tuple[float, int]], crowded: bool
) -> tuple[float, int, int, list[int]] | None:
    """What a joint at a site with its trunk on `end` is worth, and the wires it gathers; None if it is not."""
    worth = -tree.problem.joint_cost - trunk
    chosen: list[int] = []
    for gain, node in gains:
        if crowded and end == PIN:
            if tree.onto[node] != PIN:
                continue
        elif gain <= EPS:
            break
        if len(chosen) == tree.problem.joint_room:
            break
        if not tree.is_behind(node, end):
            chosen.append(node)
            worth += gain
    frees = sum(tree.onto[node] == end for node in chosen)
    if len(chosen) < 2 or tree.room(end) + frees < 1:
        return None
    if crowded:
        worth += OVERFULL * (sum(tree.onto[node] == PIN for node in chosen) - (end == PIN))
    return (worth, site, end, chosen) if worth > EPS else None


def _carries(tree: Working, end: int, nodes: list[int]) -> bool:
    loads = {node: tree.load_of(node) for node in nodes}
    new = sum(load for node, load in loads.items() if tree.onto[node] != end)
    return sum(loads.values()) <= tree.problem.load_max + EPS and tree.takes(end, new)


def shift(tree: Working) -> bool:
    """Move each joint to its best site."""
    changed = False
    problem = tree.problem
    sites = [site for site in range(problem.sites) if problem.may_join[site]]
    for joint in tree.joints():
        end = tree.onto[joint]
        rows = [tree.row[kid] for kid in tree.kids[joint]]
        if end == PIN:
            prices = [problem.site_pin[site] for site in sites]
        else:
            there = tree.site_of(end)
            prices = [problem.site_site[site][there] for site in sites]
        for row in rows:
            prices = [price + row[site] for price, site in zip(prices, sites, strict=True)]
        here = tree.paid[joint] + sum(tree.paid[kid] for kid in tree.kids[joint])
        least = min(prices)
        if least < here - EPS:
            tree.put(joint, sites[prices.index(least)])
            changed = True
    return changed


def dissolve(tree: Working) -> bool:
    """Let go of joints that cost more than they save."""
    changed = False
    for joint in tree.joints():
        end = tree.onto[joint]
        kids = tree.kids[joint]
        if tree.room(end) < len(kids) - 1:
            continue
        saved = tree.problem.joint_cost + tree.paid[joint]
        saved += sum(tree.paid[kid] - tree.price(kid, end) for kid in kids)
        if saved > EPS:
            tree.dissolve(joint)
            changed = True
    return changed


def exchange(tree: Working) -> bool:
    """Change two wires over where one would rather end in a joint that is full."""
    changed = False
    full = [(end, site) for end, site in tree.ends_at if tree.room(end) < 1]  # exchanges leave them full
    for node in list(tree.onto):
        here, row, own = tree.onto[node], tree.row[node], tree.paid[node]
        best, best_other = -EPS, -1
        for end, gain in [(end, row[site] - own) for end, site in full if row[site] < own - EPS]:
            if end == here or tree.is_behind(node, end):
                continue
            for other in tree.kids[end]:
                delta = gain + tree.price(other, here) - tree.paid[other]
                if delta < best and not tree.is_behind(other, here):
                    best, best_other = delta, other
        if best_other >= 0:
            tree.swap(node, best_other)
            if tree.loaded and not _all_carried(tree):
                tree.swap(node, best_other)
            else:
                changed = True
    return changed


def _all_carried(tree: Working) -> bool:
    return all(tree.takes(end, 0.0) for end in tree.kids)


MOVES: tuple[Callable[[Working], bool], ...] = (gather_at, relocate, pair, shift, dissolve, exchange)


def settle_down(tree: Working) -> None:
    """Make moves until none of them makes the tree cheaper."""
    made = 0
    changed = True
    while changed and made < MOVES_MAX:
        changed = False
        for move in MOVES:
            while move(tree):
                changed = True
                made += 1
                if made >= MOVES_MAX:
                    break


def kicked(tree: Working, kicks: int, enough: float, report: Callable[[], object] = lambda: None) -> Working:
    """The tree after at most so many kicks, each followed by moves; ends at a price of `enough`.

    The same every time: the dice are always the same.
    """
    settle_down(tree)
    best, kept = tree.total(), tree.snapshot()
    dice = Random(tree.starts)
    for _ in range(kicks):
        joints = tree.joints()
        if not joints or best <= enough + EPS:
            break
        for joint in dice.sample(joints, min(len(joints), dice.randint(1, 3))):
            if joint in tree.site:
                _kick(tree, joint)
        settle_down(tree)
        total = tree.total()
        if total < best - EPS:
            best, kept = total, tree.snapshot()
        else:
            tree.restore(kept)
        report()
    tree.restore(kept)
    return tree


def _kick(tree: Working, joint: int) -> None:
    """Let a joint go, its wires on the pin if they can't go on with its trunk."""
    end = tree.onto[joint]
    fits = tree.room(end) >= len(tree.kids[joint]) - 1
    if fits:
        tree.dissolve(joint)
        return
    for kid in list(tree.kids[joint]):
        if joint in tree.site and tree.onto.get(kid) == joint:
            tree.move(kid, PIN)
