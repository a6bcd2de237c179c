"""Rules of one machine with a published proof of the optimum, asked of a yard with one crane."""

import numpy as np
import pytest

from forecasting.planning.yard import Left, Work, Yard, plan_yard


def one_at_a_time(works: list[Work], weeks: int) -> Yard:
    """Return a yard in which one boat stands with its mast down at a time."""
    free, one = np.full(weeks, np.inf), np.ones(weeks)
    return Yard(1, 0, weeks, Left(free, free, one, np.full(weeks, 5)), tuple(works))


@pytest.mark.parametrize("seed", range(8))
def test_boats_one_after_the_other_stand_by_what_a_week_costs_over_the_weeks_they_take(seed):
    """1 || sum w C: by weight over length. W. E. Smith, Various optimizers for single-stage
    production, Naval Research Logistics Quarterly 3 (1956) 59-66."""
    rng = np.random.default_rng(seed)
    lengths = rng.integers(1, 4, 6) if seed % 2 else np.ones(6, int)
    works = [
        Work(boat, 10.0, int(length), mast_down=True, week_cost=float(rng.integers(10, 900)))
        for boat, length in enumerate(lengths)
    ]
    answer = plan_yard(one_at_a_time(works, int(lengths.sum()) + 1), gap=0.0)
    finished, least = 0, 0.0
    for work in sorted(works, key=lambda w: -w.week_cost / w.weeks):
        finished += work.weeks
        least += 0.1 * work.week_cost * finished
    assert answer.cost == pytest.approx(least)
    assert answer.gap == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("seed", range(10))
def test_every_boat_is_ready_before_its_guests_exactly_where_the_earliest_date_first_rule_is(seed):
    """Unit jobs with release and due dates, one machine: a plan in time exists if and only if the
    earliest due date first, among what is there, gives one. J. R. Jackson, Scheduling a production
    line to minimize maximum tardiness, UCLA research report 43 (1955); release dates in whole
    units of the jobs' length: Horn, Naval Research Logistics Quarterly 21 (1974) 177-185."""
    rng = np.random.default_rng(100 + seed)
    weeks, boats = 9, 7
    ready = rng.integers(0, 4, boats)
    due = np.minimum(ready + rng.integers(1, 8, boats), weeks)
    works = [
        Work(b, 5.0, mast_down=True, ready=int(ready[b]), before=int(due[b]), week_cost=50.0)
        for b in range(boats)
    ]
    answer = plan_yard(one_at_a_time(works, weeks), gap=0.0)
    assert (not answer.wish) == earliest_date_first(ready, due)


def earliest_date_first(ready: np.ndarray, due: np.ndarray) -> bool:
    waiting = set(range(ready.size))
    for week in range(int(due.max())):
        there = [job for job in waiting if ready[job] <= week]
        if there:
            first = min(there, key=lambda job: due[job])
            waiting.discard(first)
            if due[first] < week + 1:
                return False
    return not waiting


def test_both_answers_of_the_earliest_date_first_rule_were_asked_for():
    found = set()
    for seed in range(10):
        rng = np.random.default_rng(100 + seed)
        ready = rng.integers(0, 4, 7)
        found.add(earliest_date_first(ready, np.minimum(ready + rng.integers(1, 8, 7), 9)))
    assert found == {True, False}
