"""What holds of any plan: more never costs more, neither names nor units of money matter."""

from dataclasses import fields, replace

import numpy as np
import pytest

from forecasting.planning.seasons import SeasonProblem, plan_seasons

from .brute_force import EveryPlan, small_fleet
from .fleets import fleet

GAP = 0.001


@pytest.fixture(scope="module")
def problem():
    return fleet(24, 2, seasons=3, stays=8, seed=5)


@pytest.fixture(scope="module")
def plan(problem):
    return plan_seasons(problem, gap=GAP)


def limited(problem: SeasonProblem, kind: str, factor: float) -> SeasonProblem:
    more = getattr(problem.limits, kind) * factor
    return replace(problem, limits=replace(problem.limits, **{kind: more}))


@pytest.mark.parametrize("kind", ["money", "hours", "crane", "yard"])
def test_more_of_a_limit_never_costs_more(problem, plan, kind):
    more = plan_seasons(limited(problem, kind, 1.25), gap=GAP)
    assert more.bound <= plan.cost
    assert more.cost <= plan.cost * (1 + GAP)


def test_more_budget_never_costs_more_where_the_best_is_found():
    small = next(p for p in map(small_fleet, range(99)) if np.isfinite(EveryPlan(p).best()))
    costs = [plan_seasons(limited(small, "money", f), gap=0).cost for f in (1, 1.1, 1.3, 2)]
    assert costs == sorted(costs, reverse=True)


def test_the_order_of_the_boats_and_parts_changes_nothing(problem, plan):
    rng = np.random.default_rng(3)
    parts, boats = problem.parts, problem.boats
    shuffled = replace(
        problem, parts=taken(parts, rng.permutation(parts.part.size)),
        boats=taken(boats, rng.permutation(boats.boat.size)),
    )  # fmt: skip
    again = plan_seasons(shuffled, gap=GAP)
    assert again.jobs == plan.jobs
    assert again.mast_down == plan.mast_down
    assert (again.cost, again.bound) == (plan.cost, plan.bound)


def taken(table, order: np.ndarray):
    return replace(table, **{f.name: getattr(table, f.name)[order] for f in fields(table)})


MONEY = {
    "parts": ("price", "up_price", "unplanned", "failure", "worth"),
    "boats": ("set_up_cost", "hour_rate", "idle"),
    "limits": ("money",),
}


def test_another_unit_of_money_changes_no_job(problem, plan):
    whole = replace(problem, money=replace(problem.money, growth=0.0))  # no rounding to cents
    doubled = replace(
        whole,
        money=replace(whole.money, over_hours=16_000.0, over_crane=120_000.0, over_yard=80_000.0),
        **{
            name: replace(
                getattr(whole, name), **{f: 2 * getattr(getattr(whole, name), f) for f in money}
            )
            for name, money in MONEY.items()
        },
    )
    one, two = plan_seasons(whole, gap=GAP), plan_seasons(doubled, gap=GAP)
    assert [(j.part, j.season, j.mast_down) for j in one.jobs] == [
        (j.part, j.season, j.mast_down) for j in two.jobs
    ]
    assert two.cost == pytest.approx(2 * one.cost, abs=2)
    assert two.gap == pytest.approx(one.gap)


def test_the_same_question_has_the_same_answer(problem, plan):
    assert plan_seasons(problem, gap=GAP).jobs == plan.jobs


def test_the_gap_asked_for_is_proven(plan):
    assert 0 <= plan.gap <= GAP
    assert plan.bound <= plan.cost <= plan.bound * (1 + 2 * GAP)


def test_no_limit_is_exceeded_by_a_cent(problem, plan):
    for kind, caps in problem.limits.tables().items():
        assert (np.rint(plan.used[kind] * 1000) <= np.rint(caps * 1000)).all()


def test_the_totals_are_those_of_the_jobs(problem, plan):
    for season in range(3):
        jobs, masts = plan.of_season(season), [m for m in plan.mast_down if m.season == season]
        money = sum(j.cost for j in jobs) + sum(m.set_up_cost for m in masts)
        assert money == round(plan.used["money"][0, season])
        hours = sum(j.hours for j in jobs) + sum(m.set_up_hours for m in masts)
        assert hours == pytest.approx(plan.used["hours"][:, season].sum())
        assert sum(m.crane for m in masts) == pytest.approx(plan.used["crane"][:, season].sum())
    assert plan.work == sum(j.cost for j in plan.jobs) + sum(m.set_up_cost for m in plan.mast_down)


def test_limits_no_plan_keeps_are_opened_and_the_plan_with_them_is_proven_as_close(problem):
    tables = {k: np.floor(v * 0.1) for k, v in problem.limits.tables().items() if k != "money"}
    money = np.floor(problem.limits.money * 0.1)
    hopeless = replace(problem, limits=replace(problem.limits, money=money, **tables))
    plan = plan_seasons(hopeless, gap=GAP)
    assert not plan.feasible
    assert 0 <= plan.gap <= GAP
    opened = {kind: caps.copy() for kind, caps in hopeless.limits.tables().items()}
    for each in plan.excess:
        opened[each.kind][each.base or 0, each.season] += each.over
    assert all((plan.used[kind] <= caps + 1e-3).all() for kind, caps in opened.items())


class EnoughError(Exception):
    """Somebody asked to stop."""


def test_it_can_be_stopped_at_every_step(problem):
    heard = []

    def tell(step: str) -> None:
        heard.append(step)
        if len(heard) == 5:
            raise EnoughError

    with pytest.raises(EnoughError):
        plan_seasons(problem, tell=tell)
    assert "Season prices" in heard
