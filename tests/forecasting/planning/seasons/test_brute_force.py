"""The planner against every plan there is, on random small fleets.

Here 60 of them; `python -m tests.studies planner` takes 500 and counts how often each limit binds.
"""

from dataclasses import replace

import numpy as np
import pytest

from forecasting.planning.seasons import plan_seasons
from tests.studies import planner as study

SEEDS = range(60)


@pytest.fixture(scope="module")
def compared():
    return [study.compare(seed) for seed in SEEDS]


def test_the_planner_finds_the_plan_that_trying_them_all_finds(compared):
    assert [f"seed {each.seed}: {each.fault}" for each in compared if each.fault] == []


def test_every_kind_of_limit_binds_among_them(compared):
    bound = {kind for each in compared for kind in each.binds}
    assert bound == {*study.KINDS, study.SINGLES, study.INFEASIBLE}


def test_a_planner_that_overlooks_a_limit_is_found_out(compared):
    """The comparison can fail: with the limits taken away from the planner it does."""
    problem = study.small_fleet(next(c.seed for c in compared if "money" in c.binds))
    loose = replace(problem.limits, money=np.full(problem.parts.seasons, np.inf))
    plan = plan_seasons(replace(problem, limits=loose), gap=0.0)
    assert study.fault_of(plan, study.EveryPlan(problem))
