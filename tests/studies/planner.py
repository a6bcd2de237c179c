"""The season planner against brute force on random small fleets.

    python -m tests.studies planner [--fleets 500] [--first 0]

Every plan of every fleet is tried in plain loops; the planner must find the same least cost, or the
same cheapest way to raise the limits where none keeps them. A limit, or the rule that only so many
wires go one by one with the mast up, binds where leaving it out makes the best plan cheaper. Exit
code 1 on a difference, or where a kind binds in fewer than a tenth of the fleets.
"""

import time

import numpy as np

from forecasting.planning.seasons import SeasonPlan, plan_seasons
from tests.forecasting.planning.seasons.brute_force import KINDS, SINGLES, EveryPlan, small_fleet

from .brute_force import Compared, study

INFEASIBLE = "no plan keeps the limits"


def compare(seed: int) -> Compared:
    problem = small_fleet(seed)
    every = EveryPlan(problem)
    best = every.best()
    binds = tuple(kind for kind in (*KINDS, SINGLES) if every.best(without=kind) < best - 1e-6)
    if not np.isfinite(best):
        binds = (INFEASIBLE,)
    began = time.process_time()
    plan = plan_seasons(problem, gap=0.0)
    took = time.process_time() - began
    return Compared(seed, fault_of(plan, every), binds, every.cost.size, took)


def fault_of(plan: SeasonPlan, every: EveryPlan) -> str:
    """What is wrong with the plan, blank if nothing."""
    best = every.best()
    if not np.isfinite(best):
        return _fault_of_relaxation(plan, every.cheapest_relaxation(), every)
    for kind, caps in every.problem.limits.tables().items():
        if (plan.used[kind] > caps + 1e-6).any():
            return f"{kind}: takes {plan.used[kind]} of {caps}"
    if plan.excess:
        return f"said to be infeasible: {plan.excess}"
    if abs(plan.cost - best) > 0.51:  # a cost is rounded once
        return f"costs {plan.cost}, the best {best:.2f}"
    return "" if plan.gap <= 1e-6 else f"optimal, and a gap of {plan.gap:.1e} is left"


def _fault_of_relaxation(plan: SeasonPlan, least: float, every: EveryPlan) -> str:
    rules = every.problem.money
    price = {
        "money": 1.0, "hours": rules.over_hours, "crane": rules.over_crane, "yard": rules.over_yard
    }  # fmt: skip
    paid = sum(price[each.kind] * each.over for each in plan.excess)
    if not plan.excess:
        return "no plan keeps the limits, and it says one does"
    # Work costs a ten-thousandth there, to choose among ways alike: so much may be left.
    near = abs(paid - least) <= 1e-3 * (every.cost.max() + least)
    return "" if near else f"raises the limits for {paid:.2f}, the cheapest is {least:.2f}"


def main(arguments: list[str]) -> int:
    return study(compare, "fleets", 500, (*KINDS, SINGLES), (INFEASIBLE,), 1 / 10, arguments)
