"""Which part of which boat is renewed in which of the coming off seasons: the answer in order.

1. With what is condemned renewed at once, if the limits allow that.
2. Else as soon as they allow, the boat not sailing meanwhile, at what that costs.
3. Else with the limits raised the cheapest way, and said so.
"""

from .problem import SeasonProblem
from .relaxing import cheapest_relaxation, raised
from .reporting import report
from .result import SeasonPlan
from .solving import Solution, Tell, solve
from .tableau import Tableau, tableau

GAP = 0.001


def _silent(step: str) -> None:
    """Nobody wants to know how far it is."""


def plan_seasons(problem: SeasonProblem, *, gap: float = GAP, tell: Tell = _silent) -> SeasonPlan:
    """Return the plan, with its proven gap at most `gap` where that could be reached.

    tell: called often, with a step in words when one begins and blank between; it may raise to
    stop. ValueError, in words, where a part may be renewed in no season.
    """
    t = tableau(problem)
    waits = False
    found = _at_once(t, gap, tell)
    if not found.within_limits:
        waits = bool(t.condemned.any())
        found = solve(t, gap, tell) if waits else found
    used_of, excess = t, None
    if not found.within_limits:
        tell("What the limits lack")
        least = cheapest_relaxation(t, problem.money, tell)
        if least.excess.any():
            excess, used_of = least.excess, raised(t, least.excess)
        found = solve(used_of, gap, tell, start=least)
    return report(problem, used_of, found, excess, waits)


def _at_once(t: Tableau, gap: float, tell: Tell) -> Solution:
    strict = t.condemned_at_once() if t.condemned.any() else t
    return solve(strict, gap, tell)
