"""Why a job is where it is: fleets small enough to see the answer by hand. Money in whole units."""

from dataclasses import replace

import numpy as np

from forecasting.planning.seasons import (
    Limits,
    MoneyRules,
    SeasonBoats,
    SeasonParts,
    SeasonProblem,
    plan_seasons,
)

SEASONS = 3


def problem(boats: list[int], **changes) -> SeasonProblem:
    """One wire a boat of that list, each 1,000 with the mast up, 700 with it down, set-up 2,000.

    Putting a wire off costs nothing unless ``failing`` says so (a failure costs 10,000).
    """
    n, codes = len(boats), sorted(set(boats))
    values = {
        "part": np.arange(n), "boat": np.array(boats), "pair": np.full(n, -1),
        "condemned": np.zeros(n, dtype=bool), "due": np.full(n, -1),
        "due_code": np.full(n, "rule_age"), "price": np.full(n, 700.0),
        "up_price": np.full(n, 300.0), "hours_down": np.zeros(n), "hours_up": np.zeros(n),
        "needs_mast_down": np.zeros(n, dtype=bool), "unplanned": np.zeros(n),
        "failure": np.full(n, 10_000.0), "chance": np.zeros((n, SEASONS)),
        "failing": np.zeros((n, SEASONS)), "worth": np.zeros((n, SEASONS)),
        "single": np.ones(n, dtype=bool), "pinned": np.full(n, -1),
    }  # fmt: skip
    one = np.ones(len(codes))
    table = SeasonBoats(
        boat=np.array(codes), base=np.zeros(len(codes), dtype=int), set_up_cost=2000 * one,
        set_up_hours=0 * one, crane=one, yard=one, unstepped=one < 0, hour_rate=0 * one,
        idle=5000 * one, leaves=np.full(len(codes), SEASONS),
    )  # fmt: skip
    parts = SeasonParts(**{**values, **changes})
    free = np.full((1, SEASONS), np.inf)
    return SeasonProblem(parts, table, Limits(np.array([0]), free[0], free, free, free))


def limited(asked: SeasonProblem, **tables) -> SeasonProblem:
    return replace(asked, limits=replace(asked.limits, **tables))


def seasons(plan) -> list[int | None]:
    return [job.season for job in plan.jobs]


def test_what_costs_nothing_to_keep_is_kept_and_says_so():
    plan = plan_seasons(problem([1]))
    assert (seasons(plan), plan.cost, plan.jobs[0].code) == ([None], 0, "keep")


def test_a_condemned_wire_is_renewed_at_once_and_may_not_wait():
    (job,) = plan_seasons(problem([1], condemned=np.array([True]))).jobs
    assert (job.season, job.code, job.cost, job.deferral) == (0, "condemned", 1000, None)


def test_a_condemned_wire_takes_the_other_side_of_its_pair_along():
    asked = problem([1, 1], condemned=np.array([True, False]), pair=np.array([7, 7]))
    plan = plan_seasons(asked)
    assert seasons(plan) == [0, 0]
    assert [job.code for job in plan.jobs] == ["condemned", "with_condemned"]


def test_a_boat_waits_for_its_condemned_wire_where_money_comes_later_and_that_is_priced():
    asked = problem([1], condemned=np.array([True]))
    plan = plan_seasons(limited(asked, money=np.array([0.0, 1000, 1000])))
    assert seasons(plan) == [1]
    assert plan.condemned_wait
    assert (plan.cost, plan.put_off) == (6000, 5000)  # a season not sailed, then the wire


def test_a_rule_is_kept_though_waiting_would_be_cheaper():
    failing = np.array([[0.005, 0.02, 0.03]])
    asked = problem([1], due=np.array([1]), failing=failing)
    (job,) = plan_seasons(replace(asked, money=MoneyRules(discount=0.1))).jobs
    assert (job.season, job.code, job.deferral) == (1, "due", 200), "told, though it may not wait"
    assert "age rule" in job.sentence


def test_a_part_moved_by_hand_stays_there_and_costs_what_that_costs():
    free = problem([1], failing=np.array([[0.2, 0.2, 0.2]]))
    assert seasons(plan_seasons(free)) == [0]
    moved = plan_seasons(replace(free, parts=replace(free.parts, pinned=np.array([2]))))
    assert (seasons(moved), moved.jobs[0].code) == ([2], "pinned")
    assert moved.cost == 1000 + 2 * 2000  # two seasons at a chance of .2 of 10,000
    never = plan_seasons(replace(free, parts=replace(free.parts, pinned=np.array([SEASONS]))))
    assert (seasons(never), never.cost) == ([None], 6000)


def test_seven_wires_share_one_mast_down_and_an_eighth_comes_along():
    """Up they cost 7,000, down 2,000 + 4,900; one alone would not pay: .08 of 10,000 is 800."""
    failing = np.zeros((8, SEASONS))
    failing[:, 0] = [0.3] * 7 + [0.08]
    plan = plan_seasons(problem([1] * 8, failing=failing))
    assert seasons(plan) == [0] * 8
    assert plan.cost == 2000 + 8 * 700
    assert {job.mast_down for job in plan.jobs} == {True}
    assert plan.jobs[7].code == "with_mast"


def test_a_fifth_wire_brings_the_mast_down_though_one_by_one_were_cheaper():
    failing = np.zeros((5, SEASONS))
    failing[:, 0] = 0.3
    asked = problem([1] * 5, failing=failing)
    assert {job.mast_down for job in plan_seasons(asked).jobs} == {False}
    plan = plan_seasons(replace(asked, money=MoneyRules(single_jobs=4)))
    assert seasons(plan) == [0] * 5
    assert {job.mast_down for job in plan.jobs} == {True}
    assert plan.cost == 2000 + 5 * 700


def test_what_is_short_is_named_where_a_job_has_to_wait():
    failing = np.array([[0.3, 0.3, 0.3], [0.2, 0.2, 0.2]])
    asked = problem([1, 2], failing=failing)
    plan = plan_seasons(limited(asked, money=np.full(SEASONS, 1000.0)))
    assert seasons(plan) == [0, 1]
    assert (plan.jobs[1].code, plan.jobs[1].would_be) == ("later", 0)
    assert "lack of money" in plan.jobs[1].sentence
    assert plan.jobs[1].deferral == 2000


def test_limits_that_no_plan_keeps_are_named_with_what_they_lack():
    asked = problem([1, 2], due=np.array([0, 0]))
    plan = plan_seasons(limited(asked, money=np.array([1500.0, 0, 0])))
    (lack,) = plan.excess
    assert (lack.kind, lack.base, lack.season, lack.limit) == ("money", None, 0, 1500)
    assert abs(lack.over - 500) < 0.01
    assert seasons(plan) == [0, 0]


def test_one_crane_lift_more_is_the_cheapest_way_where_masts_must_come_down():
    asked = problem([1, 2], due=np.array([0, 0]), needs_mast_down=np.array([True, True]))
    plan = plan_seasons(limited(asked, crane=np.array([[1.0, 0, 0]])))
    assert [(e.kind, e.base, e.season) for e in plan.excess] == [("crane", 0, 0)]
    assert abs(plan.excess[0].over - 1) < 1e-6


def test_nothing_is_renewed_on_a_boat_about_to_leave():
    asked = problem([1], failing=np.full((1, SEASONS), 0.5))
    plan = plan_seasons(replace(asked, boats=replace(asked.boats, leaves=np.array([0]))))
    assert (seasons(plan), plan.cost) == ([None], 0)
