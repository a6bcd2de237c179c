"""Against every plan of small yards; ``python -m tests.studies yard`` does it for 300 of them."""

from collections import Counter

from forecasting.planning.yard import plan_yard
from tests.forecasting.planning.yard.brute_force import CAUSES, EveryPlan, small_yard
from tests.studies.yard import INFEASIBLE, compare, fault_of

FEW = range(1000, 1030)


def test_no_plan_of_a_small_yard_is_better_than_the_one_found():
    found = [compare(seed) for seed in FEW]
    assert [each.fault for each in found if each.fault] == []
    binds = Counter(cause for each in found for cause in each.binds)
    assert all(binds[cause] >= 2 for cause in (*CAUSES, INFEASIBLE)), binds


def test_the_comparison_sees_a_plan_that_is_not_the_best():
    seed = next(s for s in range(1000, 1100) if EveryPlan(small_yard(s)).best()[0] == 0)
    every = EveryPlan(small_yard(seed))
    answer = plan_yard(every.yard, gap=0.0)
    worse = [each for each in answer.placed if each.next_cost]
    object.__setattr__(answer, "cost", answer.cost + worse[0].next_cost)
    assert "the best" in fault_of(answer, every)
