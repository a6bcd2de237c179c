"""The planner of weeks against brute force on random small yards.

    python -m tests.studies yard [--yards 300] [--first 0]

Every plan of every yard is tried; the planner must find the same least opening of the limits, then
the same fewest late boats, weeks of held boats and least cost; and the cheapest opening for all in
time. A cause binds where the best plan is better without it. Exit code 1 on a difference, or where
a cause binds in fewer than a sixth.
"""

import time
from dataclasses import replace

import numpy as np

from forecasting.planning.yard import YardAnswer, plan_yard, weeks_open_to
from tests.forecasting.planning.yard.brute_force import (
    CAUSES,
    EveryPlan,
    small_yard,
    without,
)

from .brute_force import Compared, study

INFEASIBLE, LATE = "no plan keeps the limits", "a plan keeps them, with somebody late"


def compare(seed: int) -> Compared:
    yard = small_yard(seed)
    every = EveryPlan(yard)
    binds = [cause for cause in CAUSES if EveryPlan(without(yard, cause)).best() < every.best()]
    began = time.process_time()
    answer = plan_yard(yard, gap=0.0)
    took = time.process_time() - began
    binds += [INFEASIBLE] if every.best()[0] else []
    binds += [LATE] if every.opening_in_time() and not every.best()[0] else []
    return Compared(seed, fault_of(answer, every), tuple(binds), len(every.weeks), took)


def fault_of(answer: YardAnswer, every: EveryPlan) -> str:
    """What is wrong with the plan, blank if nothing."""
    placed = {each.boat: each.week for each in answer.placed if each.week is not None}
    if len(placed) != len(every.boats):
        return f"{len(placed)} boats have a week, {len(every.boats)} could"
    opening = every.best()[0]
    if abs(answer.opening - opening) > 1e-3 * max(1.0, opening):
        return f"opens the limits for {answer.opening}, the cheapest is {opening}"
    raised = every.yard.left
    for lack in answer.lacks:
        more = np.array(raised[lack.kind])
        more[lack.week] += lack.over
        raised = replace(raised, **{lack.kind: more})
    _, late, held, cost = every.best(raised)
    wish, asked = every.opening_in_time(), sum(each.cost for each in answer.wish)
    if abs(wish - asked) > 1e-3 * max(1.0, wish):
        return f"in time for {asked}, the cheapest is {wish}"
    found = sum(yard_late(every.yard, each) for each in answer.placed)
    if found != late:
        return f"{found} late, the fewest are {late}"
    found = sum(each.held for each in answer.placed)
    if found != held:
        return f"held boats lie {found} weeks, the fewest are {held}"
    if abs(answer.cost - cost) > 1e-6 * cost + 1e-6:
        return f"costs {answer.cost}, the best {cost}"
    return "" if answer.gap <= 1e-6 else f"optimal, and a gap of {answer.gap:.1e} is left"


def yard_late(yard, placed) -> bool:
    """Whether the boat is late though it need not be."""
    work = next(work for work in yard.works if work.boat == placed.boat)
    return placed.week is not None and weeks_open_to(yard, work)[placed.week]


def main(arguments: list[str]) -> int:
    return study(compare, "yards", 300, CAUSES, (INFEASIBLE, LATE), 1 / 6, arguments)
