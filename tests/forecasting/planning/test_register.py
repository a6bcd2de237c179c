"""Depreciation, review and derecognition by hand, as in worked examples of IAS 16 (from memory)."""

import datetime as dt
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from forecasting.planning.register import (
    Component,
    Movement,
    Review,
    life_in_months,
    month_after,
    movement,
    together,
)


def day(text):
    return dt.date.fromisoformat(text)


def year(component, number):
    return movement(component, dt.date(number, 1, 1), dt.date(number + 1, 1, 1))


SET = Component(12_000_000, day("2021-01-15"), day("2031-01-15"))


def test_straight_line_over_ten_years_is_a_tenth_a_year():
    # IAS 16.62 (from memory): 120,000 over ten years is 12,000 a year.
    assert [year(SET, n).charge for n in range(2021, 2031)] == [1_200_000] * 10
    assert year(SET, 2031).charge == 0
    assert SET.carrying(day("2024-01-01")) == 8_400_000


def test_a_life_reviewed_spreads_what_is_carried_over_what_remains_and_changes_no_earlier_year():
    # IAS 16.51 with IAS 8, prospectively (from memory). By hand: 120,000 less three years of 12,000
    # is 84,000; four years remain: 21,000 a year.
    reviewed = Component(12_000_000, SET.since, SET.ends, (Review(day("2024-01-01"),
                                                                  day("2028-01-01")),))  # fmt: skip
    assert [year(reviewed, n).charge for n in (2021, 2022, 2023)] == [1_200_000] * 3
    assert [year(reviewed, n).charge for n in (2024, 2025, 2026, 2027)] == [2_100_000] * 4
    assert year(reviewed, 2028).charge == 0
    assert reviewed.life_ends(day("2023-12-31")) == SET.ends
    assert reviewed.life_ends(day("2024-01-01")) == day("2028-01-01")


def test_a_second_review_goes_on_from_the_first():
    # By hand: 84,000 over 7 years is 12,000; after one year 72,000 over 12 years is 6,000.
    lives = (Review(day("2024-01-01"), day("2031-01-01")),
             Review(day("2025-01-01"), day("2037-01-01")))  # fmt: skip
    twice = Component(12_000_000, SET.since, SET.ends, lives)
    assert year(twice, 2024).charge == 1_200_000
    assert year(twice, 2025).charge == 600_000


def test_a_wire_condemned_before_its_time_leaves_the_books_with_a_loss():
    # IAS 16.67, 71 (from memory). By hand: 9,000 over 10 years, gone after 4 whole years with 250
    # for the scrap: carried at 5,400, so 5,150 is lost.
    wire = Component(900_000, day("2020-05-02"), day("2030-05-02"), (), day("2024-05-20"), 25_000)
    line = year(wire, 2024)
    assert (line.charge, line.worn_gone, line.cost_gone) == (30_000, 360_000, 900_000)
    assert line.gain == -515_000
    assert (line.cost_closing, line.worn_closing, line.carrying_closing) == (0, 0, 0)
    assert year(wire, 2025) == Movement()


def test_a_part_written_off_in_full_leaves_without_loss_and_its_scrap_is_gain():
    old = Component(50_000, day("2010-01-01"), day("2015-01-01"), (), day("2022-03-03"), 1_000)
    assert year(old, 2022).gain == 1_000


def test_depreciation_begins_in_the_month_it_is_placed_in_service():
    # IAS 16.55 (from memory). Placed in October: three months of twelve, 1,200 a year.
    line = year(Component(12_000, day("2025-10-30"), day("2026-10-30")), 2025)
    assert (line.added, line.charge, line.carrying_closing) == (12_000, 3_000, 9_000)


def test_a_fiscal_year_that_begins_in_november_counts_its_own_months():
    line = movement(SET, day("2020-11-01"), day("2021-11-01"))
    assert line.charge == 1_000_000


def test_a_life_ends_after_it_begins():
    with pytest.raises(ValueError, match="at least a month"):
        Component(1, day("2025-10-30"), day("2025-10-31"))
    assert (life_in_months(0.01), life_in_months(9.5)) == (1, 114)
    assert month_after(day("2025-11-30"), 3) == day("2026-02-01")


@st.composite
def components(draw):
    since = dt.date(2005, 1, 1) + dt.timedelta(days=draw(st.integers(0, 4_000)))
    lives = [month_after(since, draw(st.integers(1, 300)))]
    reviews = []
    for gap in draw(st.lists(st.integers(1, 60), max_size=4)):
        on = month_after(reviews[-1].on if reviews else since, gap)
        reviews.append(Review(on, month_after(on, draw(st.integers(1, 200)))))
    gone = draw(st.none() | st.integers(0, 9_000))
    gone = None if gone is None else since + dt.timedelta(days=gone)
    return Component(draw(st.integers(0, 10**9)), since, lives[0], tuple(reviews), gone,
                     draw(st.integers(0, 10**6)))  # fmt: skip


@given(components())
def test_year_on_year_the_books_carry_on_and_everything_is_charged_or_lost(component):
    lines = [year(component, n) for n in range(2004, 2075)]
    for before, line in pairwise(lines):
        assert line.cost_opening == before.cost_closing
        assert line.worn_opening == before.worn_closing
    whole = together(lines)
    assert all(line.charge >= 0 and line.carrying_closing >= 0 for line in lines)
    if component.gone and component.gone.year < 2075:
        assert lines[-1].carrying_closing == 0
        assert whole.charge - whole.gain + whole.proceeds == component.cost
    else:
        assert whole.charge == component.cost
