"""Which way to solve a problem: exactly where there are few starts, else by search, always with a bound."""

from __future__ import annotations

import math
from collections.abc import Callable

import attrs

from model.routing.gather.bound import Ascent, best_ascent, narrowed, sifted
from model.routing.gather.exact import TooLong, exact_tree
from model.routing.gather.search import kicked, settle_down
from model.routing.gather.sites import SiteSearch
from model.routing.gather.values import EPS, INF, PIN, Gathering, Tree, tree_cost
from model.routing.gather.working import Working

EXACT_UP_TO = 12
"""Up to so many starts the answer is proved to be the cheapest."""

TRY_UP_TO = 16
TRY_EFFORT = 1_000_000
"""Up to so many starts it may be proved too, if the tables stay small: so many pairs of sets."""

FEW = 4
"""Up to so many starts the tables are filled at once, without a search for an answer to begin with."""

QUICK = 8
"""Up to so many starts the tables are filled without much effort to keep them small."""

KICKS_FEW = 8
TRIALS_SIZE = 200
"""The effort: kicks out of dead ends for a lower price, trials of other shares for a higher bound (fewer the
more starts).
"""

KICKS = 20
KICKS_SIZE = 3000
KICKS_LEAST = 3
"""Kicks of a search that ends without proof: at most and at least so many, fewer for more starts."""


@attrs.frozen(kw_only=True)
class Gathered:
    """An answer, its price, a sum no answer can be below, and whether the two are proved to be the same.

    `crowded`: no answer within the pin's room was found, so it was left out of account.
    """

    tree: Tree
    cost: float
    bound: float
    exact: bool
    crowded: bool = False

    @property
    def gap(self) -> float:
        """How much cheaper an answer could be at most, as a share of the price; 0 where exact."""
        return 0.0 if self.exact or self.cost <= 0 else max(self.cost - self.bound, 0.0) / self.cost


def gather(
    problem: Gathering, report: Callable[[], object] = lambda: None, *, effort: float = 1.0
) -> Gathered:
    """The cheapest answer for up to `EXACT_UP_TO` starts, above that the best one found and a bound.

    `report` is called now and then while it works; what it raises ends the work. `effort` is the share of the
    usual search that an answer without proof is given, 0 to 1.
    """
    solved = _few(problem) if problem.starts <= FEW else _many(problem, report, effort)
    if solved is not None:
        return solved
    roomy = attrs.evolve(problem, pin_room=problem.starts)
    solved = _few(roomy) if problem.starts <= FEW else _many(roomy, report, effort)
    if solved is None:
        raise ValueError("a start can't reach the pin")
    return attrs.evolve(solved, crowded=True)


def _few(problem: Gathering, effort: float = INF) -> Gathered | None:
    try:
        found = exact_tree(problem, effort=effort)
    except TooLong:
        return None
    return None if found is None else Gathered(tree=found[1], cost=found[0], bound=found[0], exact=True)


def _many(problem: Gathering, report: Callable[[], object], effort: float) -> Gathered | None:
    few = problem.starts <= EXACT_UP_TO
    effort = 1.0 if few else effort
    working = _good_tree(problem, report)
    if working.room(PIN) < 0 or working.total() == INF:
        # No allowed answer came up; only the tables can tell whether there is one.
        return _few(problem, TRY_EFFORT) if few else None
    if QUICK < problem.starts <= TRY_UP_TO:
        working = kicked(working, round(KICKS_FEW * effort), 0.0, report)
    trials = 0 if problem.starts <= QUICK else round(TRIALS_SIZE * effort / problem.starts)
    enough = working.total() - problem.grain + 2 * EPS
    ascent = best_ascent(problem, working.tree(), trials, enough)
    bound = _next_price(ascent.bound, problem.grain)
    report()
    solved = _proved(problem, working, ascent, effort) if problem.starts <= TRY_UP_TO else None
    if solved is not None:
        return solved
    kicks = max(round(min(KICKS, KICKS_SIZE / problem.starts) * effort), KICKS_LEAST)
    working = kicked(working, kicks, bound, report)
    cost = tree_cost(problem, working.tree())
    exact = bound >= cost - EPS
    return Gathered(tree=working.tree(), cost=cost, bound=cost if exact else bound, exact=exact)


def _proved(problem: Gathering, working: Working, ascent: Ascent, effort: float) -> Gathered | None:
    """The cheapest answer; None where that takes too long and is not promised."""
    tree = working.tree()
    cost = tree_cost(problem, tree)
    if _next_price(ascent.bound, problem.grain) < cost - EPS:
        below = cost - problem.grain + 2 * EPS if problem.grain else cost
        smaller, sites = sifted(problem, ascent, below)
        try:
            pairs = INF if problem.starts <= EXACT_UP_TO else TRY_EFFORT * effort**2
            better = exact_tree(smaller, below, narrowed(ascent, sites), pairs)
        except TooLong:
            return None
        if better is not None:
            cost = better[0]
            tree = attrs.evolve(better[1], site=tuple(sites[site] for site in better[1].site))
    return Gathered(tree=tree, cost=cost, bound=cost, exact=True)


def _good_tree(problem: Gathering, report: Callable[[], object]) -> Working:
    """The best of two beginnings: no site open, and all of them that are some start's nearest."""
    sites = SiteSearch(problem)
    trees = []
    for opened in ([], sites.first_sites()):
        tree = sites.working(sites.improve(opened)[1])
        settle_down(tree)
        report()
        trees.append(tree)
    return min(trees, key=Working.total)


def _next_price(bound: float, grain: float) -> float:
    """The least price an answer can have that is not below the bound."""
    return math.ceil((bound - 1e-6) / grain) * grain if grain else bound
