"""One renewal age for parts that differ, against the age of each and the textbook's formula."""

import numpy as np
import pytest
from scipy.integrate import quad

from forecasting.planning.group_ages import SLICES, group_curves
from forecasting.planning.lifetimes import draw_lives
from forecasting.planning.renewal_age import renewal_age
from tests.forecasting.planning.rigs import one, table, weibull

COLUMNS = ("severity",)


def curve_of(rows, shape=3.0, planned=1.0, unplanned=(5.0,), covariance=None):
    """The curve of all these parts as one group: shape, scale 10 on the reference ground."""
    lives = draw_lives({"wire": weibull(shape, 10, {"severity": -0.3}, covariance)}, 100, 1)
    standing = table(rows, columns=COLUMNS)
    parts = standing.parts.size
    costs = np.outer(unplanned, np.ones(parts))
    return group_curves(lives, standing, np.zeros(parts, int), np.full(parts, planned), costs)[0]


def test_parts_alike_get_the_age_and_the_costs_of_the_textbook():
    # Weibull shape 3, scale 1, costs 1 and 5: T* .502610 (check value, two programs); scale 10.
    curve = curve_of([*one(part=1), *one(part=2, boat=2)])
    exact = renewal_age(lambda ages: np.exp(-((ages / 10) ** 3)), 1, 5)
    assert curve.age[0] == pytest.approx(5.02610, rel=0.003)
    assert curve.cost_rate[0] == pytest.approx(exact.cost_rate, rel=0.001)
    assert (curve.flat_from[0], curve.flat_until[0]) == pytest.approx(exact.flat, rel=0.005)
    assert curve.keep[0] == pytest.approx(exact.keep_rate, rel=0.002)


def test_a_group_of_short_and_long_lives_costs_their_mean_and_is_renewed_between():
    short, long = one(part=1, severity=1.0), one(part=2, boat=2, severity=-1.0)
    curve = curve_of(short + long)

    def mean_cost(age):
        rates = []
        for scale in (10 * np.exp(-0.3), 10 * np.exp(0.3)):
            alive = np.exp(-((age / scale) ** 3))
            sailed = quad(lambda t, s=scale: np.exp(-((t / s) ** 3)), 0, age)[0]
            rates.append((5 - 4 * alive) / sailed)
        return np.mean(rates)

    for age in (3.0, 5.0, 8.0):
        assert curve.rate_at(age)[0] == pytest.approx(mean_cost(age), rel=0.003)
    assert mean_cost(curve.age[0]) <= min(mean_cost(4.8), mean_cost(5.2), mean_cost(6.0)) * 1.0005
    assert curve_of(short).age[0] < curve.age[0] < curve_of(long).age[0]


def test_a_dearer_failure_is_renewed_sooner_and_one_no_dearer_than_planned_work_never():
    curve = curve_of(one(), unplanned=(1.0, 3.0, 9.0))
    assert curve.age[0] == np.inf
    assert curve.flat_from[0] == np.inf
    assert curve.age[2] < curve.age[1]
    assert (np.diff(curve.rates, axis=0) >= -1e-6 * curve.rates[1:]).all()


def test_parts_that_do_not_wear_out_are_inspected_and_kept():
    # Barlow and Proschan 1965 (from memory): no finite optimum without a rising hazard.
    assert curve_of(one(), shape=1.0).age.tolist() == [np.inf]


def test_a_large_group_is_told_by_the_few_that_stand_for_it():
    rng = np.random.default_rng(5)
    rows = [row for part in range(6 * SLICES)
            for row in one(part=part, boat=part, severity=rng.normal())]  # fmt: skip
    everyone = np.mean([curve_of([row]).rate_at(6.0)[0] for row in rows[::6]])
    assert curve_of(rows).rate_at(6.0)[0] == pytest.approx(everyone, rel=0.05)
    assert curve_of(rows).age == pytest.approx(curve_of(rows[::-1]).age, rel=1e-9)


def test_costs_of_a_group_must_be_above_zero():
    with pytest.raises(ValueError, match="above 0"):
        curve_of(one(), planned=0.0)
