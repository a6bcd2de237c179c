"""Public 0-1 knapsack instances with known optima, put as a winter's budget.

Source: J. Burkardt, Florida State University, data set KNAPSACK_01 (GNU LGPL), problems P01, P05
and P07 (the last from Kreher and Stinson, Combinatorial Algorithms, 1999, table 5.2); their best
profits 309, 900 and 1458. Checked again here by trying every subset.
"""

from itertools import product

import numpy as np
import pytest

from forecasting.planning.seasons import plan_seasons

from .fleets import knapsack

INSTANCES = {
    "P01": (
        [23, 31, 29, 44, 53, 38, 63, 85, 89, 82], [92, 57, 49, 68, 60, 43, 67, 84, 87, 72], 165, 309
    ),
    "P05": ([25, 35, 45, 5, 25, 3, 2, 2], [350, 400, 450, 20, 70, 8, 5, 5], 104, 900),
    "P07": (
        [70, 73, 77, 80, 82, 87, 90, 94, 98, 106, 110, 113, 115, 118, 120],
        [135, 139, 149, 150, 156, 163, 173, 184, 192, 201, 210, 214, 221, 229, 240], 750, 1458,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", INSTANCES)
def test_a_budget_is_spent_as_the_public_knapsack_is_packed(name):
    weights, profits, capacity, best = INSTANCES[name]
    plan = plan_seasons(knapsack(weights, profits, capacity), gap=0.0)
    packed = [job.part for job in plan.jobs if job.season == 0]
    assert sum(profits[i] for i in packed) == best
    assert sum(weights[i] for i in packed) <= capacity
    assert plan.gap == 0
    assert plan.cost == sum(weights) + sum(profits) - best


@pytest.mark.parametrize("name", INSTANCES)
def test_the_public_optimum_is_the_best_of_all_subsets(name):
    weights, profits, capacity, best = INSTANCES[name]
    subsets = np.array(list(product((0, 1), repeat=len(weights))))
    fits = subsets @ np.array(weights) <= capacity
    assert (subsets @ np.array(profits))[fits].max() == best


def test_taking_the_best_for_its_money_first_misses_the_best_of_p07():
    weights, profits, capacity, best = INSTANCES["P07"]
    by_worth = sorted(range(len(weights)), key=lambda i: -profits[i] / weights[i])
    left, earned = capacity, 0
    for i in by_worth:
        if weights[i] <= left:
            left, earned = left - weights[i], earned + profits[i]
    assert earned < best
