"""The planner of several off seasons: which part of which boat is renewed when, under limits.

problem    what is asked: parts, boats, limits, money
tableau    the same as arrays: units of work, their options and what those take
patterns   every boat's best plan at given prices, exact over the seasons its mast is down
prices     season prices: the bound climbed
columns    plans of boats put together under the limits, linear and whole
whole      small fleets as one integer programme
solving    these in order, until the gap is proven
relaxing   limits that no plan keeps: the cheapest way to raise them
reporting  the answer back to parts, boats and money; words: the reasons
planner    `plan_seasons`
"""

from .planner import GAP, plan_seasons
from .problem import FREE, NO_DUE, Limits, MoneyRules, SeasonBoats, SeasonParts, SeasonProblem
from .result import SeasonJob, SeasonPlan

__all__ = [
    "FREE",
    "GAP",
    "NO_DUE",
    "Limits",
    "MoneyRules",
    "SeasonBoats",
    "SeasonJob",
    "SeasonParts",
    "SeasonPlan",
    "SeasonProblem",
    "plan_seasons",
]
