"""The reserve schedule: hand arithmetic, laws, and the level contribution against brute force."""

from decimal import Decimal

import numpy as np
import pytest

from forecasting.planning import reserve
from forecasting.planning.reserve import Terms, schedule

YEARS = ("2027", "2028", "2029")


def terms(opening=0, rate="0", years=3):
    return Terms(opening, (Decimal(rate),) * years)


def test_the_years_of_a_reserve_follow_from_each_other_as_by_hand():
    # By hand: (100000 + (30000 - 20000) / 2) x 2 % = 2100; 112100 is carried on, and so forth:
    # (112100 + (30000 - 90000) / 2) x 2 % = 1642; (53742 + (30000 - 5001) / 2) x 2 % = 1324.83.
    lines = schedule(terms(100_000, "0.02"), YEARS, [30_000] * 3, [20_000, 90_000, 5_001])
    assert [line.opening for line in lines] == [100_000, 112_100, 53_742]
    assert [line.interest for line in lines] == [2_100, 1_642, 1_325]
    assert [line.closing for line in lines] == [112_100, 53_742, 80_066]


def test_a_level_payment_without_spending_grows_as_the_annuity_formula_says():
    # Closed form of paying c in the middle of each year, by simple interest within it:
    # c (1 + i/2) ((1 + i)^n - 1) / i, compound interest of any textbook.
    i, n, paid = 0.05, 12, 1_000_000
    lines = schedule(terms(0, "0.05", n), [str(y) for y in range(n)], [paid] * n, [0] * n)
    assert lines[-1].closing == pytest.approx(paid * (1 + i / 2) * ((1 + i) ** n - 1) / i, abs=n)


def test_half_a_cent_of_interest_rounds_up_as_a_spreadsheet_does():
    assert reserve.interest(50, 0, Decimal("0.01")) == 1
    assert reserve.interest(49, 0, Decimal("0.01")) == 0


def test_a_balance_below_nothing_earns_no_interest():
    assert schedule(terms(-100, "0.1"), YEARS, [0] * 3, [0] * 3)[-1].closing == -100


@pytest.mark.parametrize("rate", ["0", "0.013", "0.05"])
def test_closing_balances_of_draws_are_those_of_the_schedule(rate):
    rng = np.random.default_rng(4)
    spent = rng.integers(0, 90_000, (40, 3))
    many = reserve.closings(terms(12_345, rate), np.array([[33_333]]), spent)
    for row, draw in zip(many.tolist(), spent.tolist(), strict=True):
        one = schedule(terms(12_345, rate), YEARS, [33_333] * 3, draw)
        assert row == [line.closing for line in one]


def test_without_interest_the_contribution_is_the_steepest_of_what_was_spent_by_then():
    # Never below nothing means opening + c k >= spent by the end of year k, for each k.
    spent = np.array([[5_000, 1_000, 9_001], [100, 200, 300]])
    found = reserve.level_contribution(terms(1_000), spent, 0.0)
    assert found == max(
        -(-(5_000 - 1_000) // 1), -(-(6_000 - 1_000) // 2), -(-(15_001 - 1_000) // 3)
    )


@pytest.mark.parametrize("chance", [0.0, 0.1, 0.25, 0.5])
@pytest.mark.parametrize("rate", ["0", "0.03"])
def test_one_cent_less_a_year_and_the_reserve_runs_dry_more_often_than_allowed(chance, rate):
    spent = np.random.default_rng(7).gamma(2.0, 40_000, (401, 3)).astype(np.int64)
    kept = terms(30_000, rate)
    level = reserve.level_contribution(kept, spent, chance)
    assert reserve.dry_by(kept, level, spent)[-1] <= chance
    assert reserve.dry_by(kept, level - 1, spent)[-1] > chance


def test_a_reserve_that_is_dry_once_stays_counted_when_it_fills_again():
    spent = np.array([[50, 0, 0], [0, 0, 0]])
    assert reserve.dry_by(terms(0), 40, spent).tolist() == [0.5, 0.5, 0.5]


def test_a_full_reserve_needs_nothing_more():
    assert reserve.level_contribution(terms(10**6), np.array([[10, 20, 30]]), 0.1) == 0


def test_percent_funded_counts_cost_by_age_over_life_and_no_more_than_the_cost():
    # Current cost x age / life, of a component reserve study; from memory.
    cost = np.array([100_000, 80_000, 50_000, 70_000, 60_000])
    age = np.array([5.0, 12.0, np.nan, 3.0, 0.0])
    life = np.array([10.0, 10.0, 10.0, np.inf, 15.0])
    assert reserve.fully_funded(cost, age, life) == 50_000 + 80_000


@pytest.mark.parametrize("rate", ["-0.01", "1"])
def test_interest_that_makes_no_sense_is_refused(rate):
    with pytest.raises(ValueError, match="Interest is a fraction"):
        terms(0, rate)


def test_a_chance_that_makes_no_sense_is_refused():
    with pytest.raises(ValueError, match="needs draws, and a chance"):
        reserve.level_contribution(terms(), np.zeros((5, 3)), 1.0)
