"""A good answer for any number of starts: moves that make a tree cheaper, and kicks out of dead ends.

Every move is judged by the real prices, joints and room included.
"""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from model.routing.gather.values import EPS, INF, PIN
from model.routing.gather.working import OVERFULL, Working

MOVES_MAX = 20_000
"""A search ends after so many moves, whatever happens."""

# Each move looks for its best or first improvement, makes it, and says whether it made one.


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
    """Make the new joint that gathers most: a site, the wires that gain by ending there, and where its trunk
    goes.
    """
    problem = tree.problem
    crowded = tree.room(PIN) < 0
    offers: list[tuple[float, int, int, list[int]]] = []
    wires = [(tree.paid[node], tree.row[node], node) for node in tree.onto]
    joints = tree.ends_at
    least = -INF if crowded else EPS
    for site in range(problem.sites):
        if not problem.may_join[site]:
            continue
        gains = sorted([(gain, node) for paid, row, node in wires if (gain := paid - row[site]) > least])[
            ::-1
        ]
        most = INF if crowded else sum(gain for gain, _ in gains[: problem.joint_room]) - problem.joint_cost
        if most <= EPS:
            continue
        row, to_pin = problem.site_site[site], problem.site_pin[site]
        # A trunk that costs all that is gained is of no use.
        ends = sorted((row[there], end) for end, there in joints if row[there] < most - EPS)[:4]
        if to_pin < most - EPS:
            ends.append((to_pin, PIN))
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
    """What a joint at a site, its trunk on `end`, is worth, and the wires it gathers; None if nothing."""
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
