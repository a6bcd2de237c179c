"""Which weeks a boat may stand in the yard, what is left of them, and what is said of a plan."""

import datetime as dt

import numpy as np
import pytest

from forecasting.planning.yard import (
    OUT,
    Block,
    Lead,
    Left,
    Prices,
    Work,
    Yard,
    hindrance,
    lead_for,
    left_after,
    plan_yard,
    weeks_touched,
)
from forecasting.planning.yard.planner import anywhere
from forecasting.planning.yard.programme import programme

MONDAY = dt.date(2026, 11, 2)


def day(week: int, weekday: int) -> dt.date:
    return MONDAY + dt.timedelta(weeks=week, days=weekday)


def yard(*works: Work, weeks: int = 6, **limits) -> Yard:
    free = {kind: np.full(weeks, np.inf) for kind in ("hours", "masts", "berths")}
    told = {kind: np.array(numbers, float) for kind, numbers in limits.items()}
    return Yard(1, 0, weeks, Left(**(free | {"days": np.full(weeks, 5)} | told)), works)


def weeks_of(answer) -> dict[int, int | None]:
    return {each.boat: each.week for each in answer.placed}


def test_a_charter_from_saturday_to_saturday_takes_the_week_between_alone():
    assert weeks_touched([(day(0, 5), day(1, 5))], MONDAY, 6) == {1}
    assert weeks_touched([(day(0, 4), day(1, 0))], MONDAY, 6) == {0, 1}
    assert weeks_touched([(day(-3, 0), day(-1, 6)), (day(5, 0), day(9, 0))], MONDAY, 6) == {5}


def test_a_yard_shut_for_two_days_has_three_fifths_of_its_week():
    shut = Block(day(1, 3), day(2, 6), shut=True)
    left = left_after({"hours": [50] * 4, "masts": [5] * 4}, [shut], MONDAY, 4)
    assert left.hours.tolist() == [50, 30, 0, 50]
    assert left.masts.tolist() == [5, 3, 0, 5]
    assert left.days.tolist() == [5, 3, 0, 5]
    assert np.isinf(left.berths).all()


def test_a_contractor_takes_hours_by_the_day_and_a_berth_for_the_week():
    work = Block(day(0, 0), day(0, 1), hours=20, berths=1)
    left = left_after({"hours": [30] * 2, "berths": [2] * 2}, [work], MONDAY, 2)
    assert left.hours.tolist() == [22, 30]
    assert left.berths.tolist() == [1, 2]


def test_what_keeps_a_boat_from_a_week_is_named():
    work = Work(1, 10, 2, ready=1, guests=frozenset({3}), contractor=frozenset({5}))
    at = yard(work, weeks=9, days=[5, 5, 5, 5, 5, 5, 5, 0, 5])
    said = [hindrance(at, work, week) for week in range(9)]
    assert said == ["parts", "", "away", "away", "contractor", "contractor", "shut", "shut",
                    "closed"]  # fmt: skip


def test_a_held_boat_comes_before_dearer_ones_and_into_the_yard_though_it_is_booked():
    held = Work(1, 10, must=True, week_cost=1, guests=frozenset({0, 1}))
    others = [Work(boat, 10, week_cost=900) for boat in (2, 3)]
    assert weeks_of(plan_yard(yard(*others, held, hours=[10] * 6)))[1] == 0


def test_a_boat_is_ready_before_its_guests_of_the_new_season_though_another_costs_more():
    booked, dear = Work(1, 10, before=1, week_cost=1), Work(2, 10, week_cost=900)
    assert weeks_of(plan_yard(yard(booked, dear, hours=[10] * 6))) == {1: 0, 2: 1}


def test_where_its_parts_come_too_late_it_is_late_and_said_to_be():
    answer = plan_yard(yard(Work(1, 10, before=2, ready=3)))
    assert [(each.week, each.late) for each in answer.placed] == [(3, True)]


def test_where_not_all_can_be_in_time_the_fewest_are_late_and_the_cheapest_opening_is_named():
    works = [Work(boat, 10, before=1, week_cost=boat) for boat in (1, 2, 3)]
    answer = plan_yard(yard(*works, hours=[20] * 6))
    assert weeks_of(answer) == {1: 1, 2: 0, 3: 0}
    assert [each.late for each in answer.placed] == [True, False, False]
    assert [(each.kind, each.week, each.over) for each in answer.wish] == [("hours", 0, 10.0)]
    assert answer.feasible


def test_a_boat_always_away_has_no_week_and_what_keeps_it_out_is_named():
    answer = plan_yard(yard(Work(1, 10, guests=frozenset(range(6))), Work(2, 5)))
    assert weeks_of(answer) == {1: None, 2: 0}
    assert answer.placed[0].hindered == "away"


def test_masts_down_are_spread_over_the_weeks_there_is_a_crane():
    works = [Work(boat, 4, mast_down=True, week_cost=boat) for boat in range(1, 6)]
    answer = plan_yard(yard(*works, masts=[2, 0, 2, 0, 2, 2]))
    assert sorted(weeks_of(answer).values()) == [0, 0, 2, 2, 4]
    assert weeks_of(answer)[1] == 4  # who has least to lose comes last
    assert {(each.kind, each.week, each.boats) for each in answer.full} >= {("masts", 0, 3)}


def test_a_limit_for_which_a_held_boat_lies_longer_says_so_whatever_it_costs():
    works = [Work(1, 10, must=True), Work(2, 10, must=True), Work(3, 10)]
    answer = plan_yard(yard(*works, hours=[10] * 6))
    assert [(each.week, each.boats, each.held) for each in answer.full] == [(0, 2, 1)]


def test_where_no_plan_keeps_the_limits_the_cheapest_opening_is_named():
    works = [Work(boat, 12, mast_down=True) for boat in (1, 2, 3)]
    answer = plan_yard(yard(*works, weeks=2, masts=[1, 1], hours=[40, 24]))
    assert [(each.kind, each.over) for each in answer.lacks] == [("masts", 1.0)]
    assert answer.opening == 60_000
    assert not answer.feasible


def test_what_was_moved_by_hand_stays_and_what_it_goes_over_is_said():
    kept = Work(1, 30, kept=2, week_cost=500)
    answer = plan_yard(yard(kept, Work(2, 10), Work(3, 10, kept=OUT), hours=[20] * 6))
    assert weeks_of(answer) == {1: 2, 2: 0, 3: None}
    assert [(each.kind, each.week, each.over) for each in answer.lacks] == [("hours", 2, 10.0)]


def test_what_a_week_later_costs_is_said_and_none_where_it_would_miss_its_guests():
    dear, booked = Work(1, 5, week_cost=300, guests=frozenset({2})), Work(2, 5, before=1)
    answer = plan_yard(yard(dear, booked))
    assert [each.next_cost for each in answer.placed] == [pytest.approx(30), None]


def test_the_lead_time_that_says_most_of_a_part_is_the_one_that_counts():
    leads = [
        Lead(4), Lead(3, "wire"), Lead(6, "wire", "rod"), Lead(9, "wire", "rod", 10, 14),
        Lead(8, "wire", "rod", 8, 20), Lead(5, "wire"),
    ]  # fmt: skip
    parts = [("chainplate", "", None), ("wire", "1x19", 8), ("wire", "rod", 7), ("wire", "rod", 12),
             ("wire", "rod", 16), ("wire", "rod", None)]  # fmt: skip
    assert [lead_for(leads, *part).weeks for part in parts] == [4, 5, 6, 9, 8, 6]
    assert lead_for(leads[1:], "turnbuckle") is None


def test_where_the_search_ends_without_a_plan_every_boat_still_has_a_week():
    """HiGHS may stop at its number of nodes with nothing in hand."""
    p = programme(yard(Work(1, 10, week_cost=5), Work(2, 10), weeks=2, hours=[5, 5]))
    found = anywhere(p)
    assert p.week[found.taken].tolist() == [0, 0]
    assert found.value == 15 * Prices().hours


def test_nothing_to_do_is_no_plan_and_no_fault():
    assert plan_yard(yard()).placed == ()


def test_work_below_nothing_and_a_boat_twice_are_refused_in_words():
    with pytest.raises(ValueError, match="a week or more"):
        Work(1, 10, weeks=0)
    with pytest.raises(ValueError, match="given twice"):
        yard(Work(1, 10), Work(1, 10))
