"""How long the planner of five off seasons takes to a proven gap of 0.1 %.

500 boats at 5 bases and 5,000 at 20, twelve stays each, five seasons; money, riggers' hours, crane
lifts and yard slots at 60 % of what would be best without limits; no more than four wires of a boat
with its mast up in a season. At 100 boats the whole model is also given to HiGHS at once, as far as
the planner lets it go. The fleets up to 500 boats are asked again with a tenth of those limits,
which no plan keeps: how much longer does the cheapest way to open them take? Bars are in seconds of
the processor.

    python -m tests.benchmarks planner [BOATS...]
"""

import os
import sys
import time
from dataclasses import fields, replace

import numpy as np

from forecasting.planning.seasons import GAP, SeasonProblem, plan_seasons
from forecasting.planning.seasons.prices import bound_at
from forecasting.planning.seasons.tableau import tableau
from forecasting.planning.seasons.whole import options_left, solve_whole
from tests.forecasting.planning.seasons.fleets import fleet

SIZES = {100: (3, None), 500: (5, 10.0), 5_000: (20, 30.0)}  # boats: bases, bar in seconds
HOPELESS, OPENED_UP_TO = 0.1, 500  # share of the limits left; boats


def measure(boats: int, bases: int, bar: float | None) -> bool:
    """Plan, print time and gap, and return whether the bar is kept."""
    problem = fleet(boats, bases)
    began, used = time.perf_counter(), time.process_time()
    plan = plan_seasons(problem)
    took, cpu = time.perf_counter() - began, time.process_time() - used
    kept = bar is None or (plan.gap <= GAP and cpu <= bar)
    print(
        f"planner: {boats:,} boats, {bases} bases, 12 stays, 5 seasons: {took:.2f} s"
        f"{f' (bar {bar:.0f} s)' if bar else ''}, {cpu:.2f} s of processor time, "
        f"gap {100 * plan.gap:.3f} %, load {os.getloadavg()[0]:.1f}"
    )
    if boats <= OPENED_UP_TO:
        with_hopeless_limits(problem, cpu)
    if bar is None:
        against_the_whole(problem, cpu, plan.cost)
    return kept


def with_hopeless_limits(problem: SeasonProblem, ours: float) -> None:
    """The same with limits that no plan keeps."""
    limits = problem.limits
    tables = {each.name: getattr(limits, each.name) for each in fields(limits)}
    tables = {k: v if k == "base" else np.floor(v * HOPELESS) for k, v in tables.items()}
    used = time.process_time()
    plan = plan_seasons(replace(problem, limits=replace(limits, **tables)))
    took = time.process_time() - used
    print(
        f"  a tenth of the limits: {took:.2f} s of processor time, 1 : {took / ours:.1f}; "
        f"{len(plan.excess)} limits opened, then gap {100 * plan.gap:.3f} %"
    )


def against_the_whole(problem, ours: float, cost: int) -> None:
    """The same question as one programme, nothing ruled out beforehand."""
    t = tableau(problem)
    began = time.process_time()
    everything = options_left(t, bound_at(t, np.zeros_like(t.caps)), np.inf)
    answer = solve_whole(t, everything, GAP)
    took = time.process_time() - began
    if answer.choice is None:
        print(f"  HiGHS on the whole model: no plan after {took:.1f} s")
        return
    print(
        f"  HiGHS on the whole model: {took:.2f} s of processor time, proven bound "
        f"{100 * (1 - answer.bound * t.scale / cost):.3f} % under our plan; processor time "
        f"1 : {took / ours:.1f}"
    )


def main(arguments: list[str] | None = None) -> int:
    """Measure the sizes asked for, all if none; 0 if every bar is kept."""
    sizes = [int(size) for size in arguments or []] or list(SIZES)
    kept = [measure(size, *SIZES[size]) for size in sizes]
    return 0 if all(kept) else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
