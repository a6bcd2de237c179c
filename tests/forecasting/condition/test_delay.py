"""The likelihood of looks: closed forms, brute force, and laws that hold for any record."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from forecasting.condition.delay import Delay, Likelihood, discount, history
from forecasting.condition.interval import missed
from forecasting.condition.panel import Law, panel
from tests.forecasting.condition.spots import law, spots

AT = Delay(delay=1.2, detection=0.7, false_watch=0.01)
looks = st.lists(
    st.tuples(st.integers(1, 400).map(lambda month: month / 20), st.booleans()), max_size=12
)


@pytest.mark.parametrize("age", [0.0, 2.0, 11.0])
@pytest.mark.parametrize("delay", [0.1, 1.0, 6.0])
def test_a_constant_hazard_discounts_by_the_closed_form(age: float, delay: float):
    """E exp(-(T - a) / m) = m / (m + eta) for T exponential of mean eta: no memory of its age."""
    one = Law("weibull", np.array([np.log(8.0)]), 1.0)
    found = discount(one, np.array([age]), np.array([np.inf]), delay)
    assert found[0] == pytest.approx(delay / (delay + 8.0), rel=1e-4)


@pytest.mark.parametrize("family", ["weibull", "lognormal", "loglogistic"])
@pytest.mark.parametrize(("age", "until"), [(0.0, 3.0), (4.0, 4.3), (6.0, 11.0), (5.0, np.inf)])
def test_the_discount_is_the_integral_over_the_density(family: str, age: float, until: float):
    location, sigma, delay = np.log(9.0), 0.4, 0.8
    law_of = {
        "weibull": stats.weibull_min(1 / sigma, scale=9.0),
        "lognormal": stats.lognorm(sigma, scale=9.0),
        "loglogistic": stats.fisk(1 / sigma, scale=9.0),
    }[family]
    end = min(until, age + 30 * delay)
    above, _ = integrate.quad(
        lambda t: law_of.pdf(t) * np.exp(-(t - age) / delay), age, end, epsabs=1e-13
    )
    below = law_of.cdf(until) - law_of.cdf(age)
    one = Law(family, np.array([location]), sigma)
    found = discount(one, np.array([age]), np.array([until]), delay)
    assert found[0] == pytest.approx(above / below, rel=2e-3)


def test_the_chance_of_a_history_is_that_of_a_simulated_spot():
    """Sound at 3 and 4, watched at 4.5, condemned between 5 and 6: 400,000 spots, drawn."""
    rng, n = np.random.default_rng(7), 400_000
    goes = 6 * rng.weibull(3, n)
    goes = goes[(goes > 5) & (goes <= 6)]
    begins = np.maximum(goes - rng.exponential(AT.delay, goes.size), 0)
    says = [
        rng.uniform(size=goes.size) < np.where(begins <= age, AT.detection, AT.false_watch)
        for age in (3, 4, 4.5)
    ]
    drawn = (~says[0] & ~says[1] & says[2]).mean()
    one = spots((6.0, [(3, False), (4, False), (4.5, True), (5, None)]), scale=6.0)
    error = np.sqrt(drawn * (1 - drawn) / goes.size)
    assert Likelihood(one).chances(AT)[0] == pytest.approx(drawn, abs=4 * error)


def test_what_goes_unseen_by_the_looks_is_the_share_of_christer_and_waller():
    """Looks every 1.0 for sixty years, none of them a watch, condemnable at any time within the
    next interval: 1 - r g / (1 - (1 - r) exp(-mT)) of 1984, here m .5, T 1, r .8: .283538."""
    one = spots((np.inf, [(age, False) for age in range(1, 61)]))
    constant, decaying = history(one, Delay(delay=2.0, detection=0.8, false_watch=0.0))
    phase = (np.arange(20_000) + 0.5) / 20_000
    unseen = (constant + decaying * np.exp(-phase / 2.0)).mean()
    assert unseen == pytest.approx(0.283538, abs=1e-6)
    assert unseen == pytest.approx(missed(1.0, 0.5, 0.8), abs=1e-8)


def test_every_history_of_three_looks_has_some_chance_and_together_they_are_certain():
    every = [(False, False, False), (True,), (False, True), (False, False, True)]
    ages = (1.0, 2.5, 3.0)
    cut = [
        (np.inf, [*zip(ages, told, strict=False), (3.0, None)])  # looks after a watch say no more
        for told in every
    ]
    chances = Likelihood(spots(*cut, scale=4.0)).chances(AT)
    assert np.all(chances > 0)
    assert chances.sum() == pytest.approx(1.0, abs=1e-12)


@given(looks, st.randoms(use_true_random=False))
@settings(max_examples=60, deadline=None)
def test_the_order_of_the_rows_of_a_record_changes_nothing(reports: list, random):
    shuffled = list(reports)
    random.shuffle(shuffled)
    assert _log_chance(shuffled) == pytest.approx(_log_chance(reports), abs=1e-12)


@given(looks)
@settings(max_examples=60, deadline=None)
def test_the_looks_of_one_day_are_one_look(reports: list):
    told = {}
    for age, watch in reports:
        told[age] = told.get(age, False) or watch
    assert _log_chance(reports) == pytest.approx(_log_chance(list(told.items())), abs=1e-12)


@given(looks, st.integers(1, 400))
@settings(max_examples=60, deadline=None)
def test_a_look_after_the_watch_says_no_more_of_watching(reports: list, twentieths: int):
    first = min((age for age, watch in reports if watch), default=np.inf)
    later = first + twentieths / 20
    more = [*reports, (later, False)] if later < 25 else reports
    assert _log_chance(more) == pytest.approx(_log_chance(reports), abs=1e-12)


def test_rows_of_double_weight_count_twice_and_spots_add():
    both = spots((6.0, [(4.5, True), (5, None)]), (np.inf, [(3, False), (7, False)]))
    single = [Likelihood(both.take(np.array([i])))(AT) for i in (0, 1)]
    assert Likelihood(both)(AT) == pytest.approx(sum(single), abs=1e-12)
    twice = both.take(np.array([0, 0, 1]))
    assert Likelihood(twice)(AT) == pytest.approx(2 * single[0] + single[1], abs=1e-12)


def test_the_table_over_delays_agrees_with_the_integral():
    one = spots((6.0, [(4.5, True), (5, None)]), (np.inf, [(3, False), (7, False)]))
    likelihood = Likelihood(one)
    for delay in (0.03, 0.37, 1.13, 4.2, 20.0):
        at = Delay(delay, 0.6, 0.003)
        constant, decaying = history(one, at)
        exact = constant + decaying * discount(one.law, one.good, one.condemned, delay)
        assert likelihood.chances(at) == pytest.approx(exact, rel=1e-4)


def test_contradicting_ages_are_refused():
    with pytest.raises(ValueError, match="Spot 1 was good at 5 and condemned at 4"):
        panel([1, 5], [2, 4], (np.array([]), np.array([]), np.array([])), law(2))


def _log_chance(reports: list) -> float:
    row = np.zeros(len(reports), dtype=int)
    age, watch = np.array([r[0] for r in reports]), np.array([r[1] for r in reports], dtype=bool)
    return Likelihood(panel([25.0], [np.inf], (row, age, watch), law(1)))(AT)
