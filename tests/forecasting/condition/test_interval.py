"""The interval of looks that costs least, against the textbook's closed forms."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from forecasting.condition.interval import (
    Costs,
    Ends,
    Stakes,
    band,
    best_interval,
    broken,
    cost_rate,
    missed,
)

# Christer and Waller, Delay time models of industrial inspection maintenance problems, Journal of
# the Operational Research Society 35 (1984): B(T) = 1 - (1 - exp(-mT)) / (mT).
CHRISTER_WALLER = [(0.5, 1.0, 1.0, 0.213061), (0.5, 2.0, 1.0, 0.367879), (0.5, 1.0, 0.8, 0.283538)]
# Computed twice, with another program: arrivals .05 a year, delay rate .5, a look 150, a failure
# 20,000, a repair 1,500; what is not found at a look fails.
COSTS, STAKES = Costs(look=150, planned=1500, late=1500, failure=20_000), Stakes(0.05, 0.5)


@pytest.mark.parametrize(("rate", "interval", "detection", "share"), CHRISTER_WALLER)
def test_defects_missed_between_looks_are_those_of_the_closed_form(
    rate: float, interval: float, detection: float, share: float
):
    assert missed(interval, rate, detection) == pytest.approx(share, abs=5e-7)


def test_the_interval_that_costs_least_is_the_textbooks():
    interval, cost = best_interval(STAKES, COSTS)
    assert interval == pytest.approx(0.938872, abs=5e-7)
    assert cost == pytest.approx(421.546822, abs=5e-7)


def test_a_cost_is_split_into_looks_repairs_and_failures_as_by_hand():
    # A year between looks: B(1) = .213061 of .05 defects fail at 20,000, the rest is repaired at
    # 1,500, one look at 150 (closed form of Christer and Waller 1984).
    looks, found, late, failed = Ends.of(1.0, STAKES).cost(COSTS)[:, 0]
    assert (looks, late) == (150, 0)
    assert found == pytest.approx(0.05 * (1 - 0.213061) * 1500, abs=5e-5)
    assert failed == pytest.approx(0.05 * 0.213061 * 20_000, abs=6e-4)
    assert looks + found + failed == cost_rate(1.0, STAKES, COSTS)[0]


def test_a_part_that_breaks_at_once_is_the_textbooks_failure():
    at_once = broken(np.array([1.0]), Stakes(0.05, 0.5, 0.8, 1e6))
    assert at_once[0] == pytest.approx(0.283538, abs=1e-5)


def test_shares_are_those_of_a_simulated_boat():
    """200,000 defects begun at any time between looks; binomial errors below .0012."""
    rng, n = np.random.default_rng(1), 200_000
    T, m, r, q = 0.7, 0.9, 0.65, 0.4
    begun = rng.uniform(0, T, n)
    gone = begun + rng.exponential(1 / m, n)
    looks_before = np.floor(gone / T).astype(int)  # looks at T, 2T, ... before it is condemnable
    unseen = rng.uniform(size=n) < (1 - r) ** looks_before
    breaks = gone + rng.exponential(1 / q, n) < (looks_before + 1) * T
    assert missed(T, m, r) == pytest.approx(unseen.mean(), abs=0.004)
    stakes = Stakes(1.0, m, r, q)
    assert broken(T, stakes)[0] == pytest.approx((unseen & breaks).mean(), abs=0.004)


@given(
    interval=st.floats(0.05, 8), rate=st.floats(0.05, 10), detection=st.floats(0.05, 1.0),
    breaking=st.floats(0.001, 50),
)  # fmt: skip
def test_more_is_missed_the_longer_the_interval_and_the_poorer_the_look(
    interval: float, rate: float, detection: float, breaking: float
):
    share = missed(interval, rate, detection)
    assert 0 < share < 1
    assert missed(interval * 1.1, rate, detection) >= share - 1e-12
    assert missed(interval, rate, detection * 0.9) >= share - 1e-12
    fails = broken(interval, Stakes(1, rate, detection, breaking))[0]
    assert -1e-9 <= fails <= share + 1e-6


def test_the_band_holds_the_intervals_of_its_draws_and_the_flat_bottom_its_least():
    draws = [Stakes(rate, 0.5, 0.8) for rate in np.linspace(0.02, 0.12, 30)]
    found = band(draws, COSTS)
    each = [best_interval(stakes, COSTS)[0] for stakes in draws]
    assert found.low < found.middle < found.high
    assert min(each) * 0.98 < found.low < found.high < max(each) * 1.02
    assert found.flat_from < found.middle < found.flat_until
    assert found.bounded


def test_where_looking_never_pays_no_end_of_the_band_is_claimed():
    found = band([Stakes(1e-5, 0.5)], COSTS)
    assert not found.bounded


def test_dearer_looks_are_taken_less_often_and_dearer_failures_more():
    usual = best_interval(STAKES, COSTS)[0]
    assert best_interval(STAKES, Costs(300, 1500, 1500, 20_000))[0] > usual
    assert best_interval(STAKES, Costs(150, 1500, 1500, 40_000))[0] < usual
    assert cost_rate(usual, STAKES, COSTS) < cost_rate(usual * 2, STAKES, COSTS)
