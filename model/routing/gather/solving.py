"""Which way to solve a problem: exactly where there are few starts, else by search, always with a bound."""

from __future__ import annotations

import math
from collections.abc import Callable

import attrs

from model.routing.gather.bound import best_ascent, narrowed, sifted
from model.routing.gather.exact import exact_tree
from model.routing.gather.search import Working, kicked, settle_down
from model.routing.gather.sites import SiteSearch
from model.routing.gather.values import EPS, INF, PIN, Gathering, Tree, tree_cost

EXACT_UP_TO = 12
"""Up to so many starts the answer is proved to be the cheapest."""

FEW = 4
"""Up to so many starts the tables are filled at once, without a search for an answer to begin with."""


QUICK = 8
"""Up to so many starts the tables are filled without much ado."""

KICKS_FEW = 8
TRIALS = 24
KICKS = 20
"""How often a search for more starts is kicked out of a dead end before it is content."""


@attrs.frozen(kw_only=True)
class Gathered:
    """An answer, its price, a sum no answer can be below, and whether the two are proved to be the same.

    `crowded`: nothing keeps within the pin's room, so it was left out of account.
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


def gather(problem: Gathering, report: Callable[[], object] = lambda: None) -> Gathered:
    """The cheapest answer for up to `EXACT_UP_TO` starts, above that the best one found and a bound.

    `report` is called now and then while it works; what it raises ends the work.
    """
    solved = _few(problem) if problem.starts <= FEW else _many(problem, report)
    if solved is not None:
        return solved
    roomy = attrs.evolve(problem, pin_room=problem.starts)
    solved = _few(roomy) if problem.starts <= FEW else _many(roomy, report)
    if solved is None:
        raise ValueError("a start can't reach the pin")
    return attrs.evolve(solved, crowded=True)


def _few(problem: Gathering) -> Gathered | None:
    found = exact_tree(problem)
    return None if found is None else Gathered(tree=found[1], cost=found[0], bound=found[0], exact=True)


def _many(problem: Gathering, report: Callable[[], object]) -> Gathered | None:
    few = problem.starts <= EXACT_UP_TO
    working = _good_tree(problem, report)
    if working.room(PIN) < 0 or working.total() == INF:
        # No allowed answer came up; only the tables can tell whether there is one.
        return _few(problem) if few else None
    long = few and problem.starts > QUICK
    if long:
        working = kicked(working, KICKS_FEW, 0.0, report)
    first = working.total()
    ascent = best_ascent(problem, working.tree(), TRIALS if long else 0, first - problem.grain + 2 * EPS)
    bound = _next_price(ascent.bound, problem.grain)
    report()
    if not few:
        working = kicked(working, KICKS, bound, report)
    tree = working.tree()
    cost = tree_cost(problem, tree)
    if bound >= cost - EPS:
        return Gathered(tree=tree, cost=cost, bound=cost, exact=True)
    if not few:
        return Gathered(tree=tree, cost=cost, bound=bound, exact=False)
    below = cost - problem.grain + 2 * EPS if problem.grain else cost
    smaller, sites = sifted(problem, ascent, below)
    better = exact_tree(smaller, below, narrowed(ascent, sites))
    if better is None:
        return Gathered(tree=tree, cost=cost, bound=cost, exact=True)
    named = attrs.evolve(better[1], site=tuple(sites[site] for site in better[1].site))
    return Gathered(tree=named, cost=better[0], bound=better[0], exact=True)


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
