"""A tree that is being changed on the way to a good answer.

Nodes are the starts (0, 1 ...) and the joints behind them; ends are PIN, a joint's node, or the code of a
built joint.
"""

from __future__ import annotations

from model.routing.gather.values import EPS, INF, PIN, Gathering, Row, Tree, built_code, load_room

OVERFULL = 1e9
"""What a wire too many on the pin costs while searching; far above any real sum."""


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

    # --- looking --------------------------------------------------------------------------------------------

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

    # --- changing -------------------------------------------------------------------------------------------

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
