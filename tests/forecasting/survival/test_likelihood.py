"""The closed form, its derivatives, and the laws every family must keep exactly."""

import decimal
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from forecasting.survival import FAMILIES, Lives, fit, log_survival
from forecasting.survival.families import LOGNORMAL, WEIBULL, family_named
from forecasting.survival.likelihood import Likelihood

from .samples import THETA, mixed_lives

every_family = pytest.mark.parametrize("family", FAMILIES)


def value(family: str, lives: Lives, theta=THETA) -> float:
    return Likelihood(family_named(family), lives)(theta).value


def differences(function, theta, step):
    return np.array(
        [
            (function(theta + step * axis) - function(theta - step * axis)) / (2 * step)
            for axis in np.eye(len(theta))
        ]
    )


@every_family
@pytest.mark.parametrize("seed", [1, 2])
def test_score_and_hessian_are_the_slopes_of_the_likelihood(family, seed):
    likelihood = Likelihood(family_named(family), mixed_lives(seed))
    at = likelihood(THETA)
    score = differences(lambda theta: likelihood(theta).value, THETA, 1e-6)
    hessian = differences(lambda theta: likelihood(theta).score, THETA, 1e-6)
    assert at.score == pytest.approx(score, rel=1e-6, abs=1e-6)
    assert at.hessian == pytest.approx(hessian, rel=1e-6, abs=1e-5)


@every_family
def test_row_scores_sum_to_the_score(family):
    likelihood = Likelihood(family_named(family), mixed_lives())
    assert likelihood.row_scores(THETA).sum(axis=0) == pytest.approx(likelihood(THETA).score)


@every_family
def test_each_row_gives_what_its_ending_says(family):
    location, sigma = 1.2, 0.4
    theta = np.array([location, np.log(sigma)])

    def survival(age):
        return float(np.exp(log_survival(family, age, location, sigma)))

    step = 1e-5
    density = (survival(5 - step) - survival(5 + step)) / (2 * step)
    rows = {
        np.log(survival(4)): Lives([0.0], [4.0]),
        np.log(survival(4) / survival(2)): Lives([2.0], [4.0]),
        np.log(1 - survival(4)): Lives([0.0], [0.0], [4.0]),
        np.log((survival(3) - survival(4)) / survival(1)): Lives([1.0], [3.0], [4.0]),
        np.log(density / survival(1)): Lives([1.0], [2.0], failed=[5.0]),
    }
    for expected, lives in rows.items():
        assert value(family, lives, theta) == pytest.approx(expected, rel=1e-7)


@every_family
def test_never_seen_since_entry_says_exactly_nothing(family):
    assert value(family, Lives([3.0], [3.0]), np.array([1.0, -0.5])) == 0.0
    assert value(family, Lives([0.0], [0.0]), np.array([1.0, -0.5])) == 0.0


@every_family
def test_relabelled_boats_and_shuffled_rows_leave_the_fit_as_it_is(family):
    lives = mixed_lives()
    order = np.random.default_rng(0).permutation(len(lives))
    shuffled = replace(lives.take(order), cluster=100 - lives.cluster[order])
    first, second = fit(lives, family), fit(shuffled, family)
    assert second.log_likelihood == pytest.approx(first.log_likelihood, rel=1e-13)
    assert second.estimate == pytest.approx(first.estimate, rel=1e-9)
    assert second.se_by_cluster == pytest.approx(first.se_by_cluster, rel=1e-8)


@every_family
def test_a_good_inspection_on_the_way_may_split_a_row_in_two(family):
    whole = Lives([0.0, 1.0, 2.0], [6.0, 7.0, 5.0], [8.0, np.inf, np.inf], [np.nan, np.nan, 9.0])
    halves = Lives(
        entry=[0.0, 4.0, 1.0, 3.0, 2.0, 5.0],
        good=[4.0, 6.0, 3.0, 7.0, 5.0, 5.0],
        condemned=[np.inf, 8.0, np.inf, np.inf, np.inf, np.inf],
        failed=[np.nan] * 5 + [9.0],
    )
    theta = np.array([1.9, -0.8])
    assert value(family, halves, theta) == pytest.approx(value(family, whole, theta), rel=1e-13)


@every_family
@pytest.mark.parametrize("factor", [1e-3, 365.25, 1e6])
def test_another_unit_of_time_moves_only_the_intercept(family, factor):
    lives = mixed_lives()
    years, other = fit(lives, family), fit(lives.rescaled(factor), family)
    assert other.estimate[1:] == pytest.approx(years.estimate[1:], rel=1e-8)
    assert other.estimate[0] == pytest.approx(years.estimate[0] + np.log(factor), rel=1e-8)
    assert other.se == pytest.approx(years.se, rel=1e-7)
    exact = lives.weight[lives.exact].sum()
    assert other.log_likelihood == pytest.approx(years.log_likelihood - exact * np.log(factor))


@every_family
def test_doubled_rows_equal_weight_two(family):
    lives = mixed_lives()
    twice = lives.take(np.tile(np.arange(len(lives)), 2))
    doubled, heavy = fit(twice, family), fit(replace(lives, weight=2 * lives.weight), family)
    assert doubled.log_likelihood == pytest.approx(heavy.log_likelihood, rel=1e-13)
    assert doubled.estimate == pytest.approx(heavy.estimate, rel=1e-9)
    assert doubled.covariance == pytest.approx(heavy.covariance, rel=1e-7)
    assert doubled.se_by_cluster == pytest.approx(heavy.se_by_cluster, rel=1e-7)


@every_family
def test_one_boat_per_row_gives_the_row_wise_sandwich_with_its_factor(family):
    lives = replace(mixed_lives(), cluster=None)
    model = fit(lives, family)
    scores = Likelihood(family_named(family), lives).row_scores(model.estimate)
    bread = np.linalg.inv(-Likelihood(family_named(family), lives)(model.estimate).hessian)
    n = len(lives)
    row_wise = np.sqrt(np.diag(bread @ scores.T @ scores @ bread))
    assert model.se_by_cluster == pytest.approx(row_wise * np.sqrt(n / (n - 1)), rel=1e-6)


@every_family
def test_the_reported_likelihood_is_that_of_the_file_scale(family):
    lives = mixed_lives().rescaled(1000.0)
    model = fit(lives, family)
    at = Likelihood(family_named(family), lives)(model.estimate)
    assert model.log_likelihood == pytest.approx(at.value, rel=1e-12)
    assert at.score == pytest.approx(np.zeros(4), abs=1e-6)
    assert model.aic == pytest.approx(2 * 4 - 2 * at.value)


@every_family
def test_a_narrow_interval_tends_to_the_density(family):
    theta = np.array([1.2, np.log(0.4)])
    for width in (1e-3, 1e-6, 1e-9, 1e-12):
        lower, upper = 5 - width / 2, 5 + width / 2
        narrow = value(family, Lives([0.0], [lower], [upper]), theta)
        exact = value(family, Lives([0.0], [0.0], failed=[5.0]), theta)
        assert narrow - np.log(upper - lower) == pytest.approx(exact, abs=3e-7)


@every_family
def test_the_derivatives_of_a_narrow_interval_keep_their_digits(family):
    theta = np.array([1.2, np.log(0.4)])
    narrow = Likelihood(family_named(family), Lives([0.0], [5 - 5e-7], [5 + 5e-7]))(theta)
    exact = Likelihood(family_named(family), Lives([0.0], [0.0], failed=[5.0]))(theta)
    assert narrow.score == pytest.approx(exact.score, rel=1e-7)
    assert narrow.hessian == pytest.approx(exact.hessian, rel=1e-6)


def test_far_out_in_the_weibull_tail_no_digit_is_lost():
    # S(30) - S(31) for shape 5, scale 10 is about 1e-106; 60-digit arithmetic as the judge.
    with decimal.localcontext() as context:
        context.prec = 160
        hazards = [(decimal.Decimal(age) / 10) ** 5 for age in (30, 31)]
        expected = float(((-hazards[0]).exp() - (-hazards[1]).exp()).ln())
    lives = Lives([0.0], [30.0], [31.0])
    assert value("weibull", lives, np.array([np.log(10), -np.log(5)])) == pytest.approx(
        expected, rel=1e-14
    )


@given(st.floats(-30, 30), st.floats(1e-8, 20))
@settings(max_examples=200, deadline=None)
def test_the_drop_of_survival_adds_up_over_adjoining_intervals(start, gap):
    a, b, c = (np.array(start + part * gap) for part in (0.0, 0.4, 1.0))
    for family in FAMILIES.values():
        with np.errstate(over="ignore"):
            whole = family.survival_drop(a, c)
            parts = family.survival_drop(a, b) + family.survival_drop(b, c)
        assert parts == pytest.approx(whole, rel=1e-6)
        assert whole >= 0


@given(st.floats(0.05, 0.95))
@settings(max_examples=50, deadline=None)
def test_the_point_of_a_survival_is_where_it_is_reached(alive):
    for family in FAMILIES.values():
        assert np.exp(family.log_survival(family.point(np.array(alive)))) == pytest.approx(alive)


def test_the_families_bend_as_their_slopes_say():
    z = np.linspace(-4, 3, 41)
    step = 1e-5
    for family in (WEIBULL, LOGNORMAL, FAMILIES["loglogistic"]):
        for curve, slope in (
            (family.log_density, family.density_slope),
            (family.density_slope, family.density_curvature),
            (family.log_survival, family.survival_slope),
            (family.survival_slope, family.survival_curvature),
        ):
            rise = (curve(z + step) - curve(z - step)) / (2 * step)
            assert slope(z) == pytest.approx(rise, rel=1e-6, abs=1e-7)
