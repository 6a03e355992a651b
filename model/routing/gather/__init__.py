"""Wires brought together on their way to one pin at the least cost: the problem, exact answers, searches,
bounds.
"""

from model.routing.gather.solving import EXACT_UP_TO, Gathered, gather
from model.routing.gather.values import PIN, Built, Gathering, Tree, built_code, tree_cost, tree_faults

__all__ = [
    "EXACT_UP_TO",
    "PIN",
    "Built",
    "Gathered",
    "Gathering",
    "Tree",
    "built_code",
    "gather",
    "tree_cost",
    "tree_faults",
]
