"""Which interval a coefficient gets, and that it is the one named."""

from dataclasses import replace

import numpy as np
import pytest

from forecasting.survival import COMMON_PRACTICE, fit
from forecasting.survival.intervals import (
    CLUSTERED,
    ERRORS,
    MOST_PROFILED,
    POSTERIOR,
    PROFILE,
    coefficient_intervals,
)
from forecasting.survival.posterior import posterior
from forecasting.survival.profile import profile_intervals

from .test_boat_fit import fleet

NORMAL_95 = 1.959964


def test_forty_boats_with_several_lives_each_get_their_errors_by_boat():
    lives = fleet(1, 0.2, boats=40)
    model = fit(lives)
    found, by = coefficient_intervals(lives, model)
    assert by == CLUSTERED
    expected = model.estimate[1] + NORMAL_95 * model.se_by_cluster[1] * np.array([-1, 1])
    assert found["severity"] == pytest.approx(expected, rel=1e-6)


def test_fewer_boats_or_one_life_a_boat_get_the_profile():
    few = fleet(1, 0.2, boats=20)
    model = fit(few)
    found, by = coefficient_intervals(few, model)
    assert by == PROFILE
    assert found == profile_intervals(few, model, model.names)
    alone = replace(fleet(1, 0.0, boats=60), cluster=np.arange(720))
    assert coefficient_intervals(alone, fit(alone))[1] == PROFILE


def test_very_many_lives_get_the_errors_of_the_fit():
    many = fleet(1, 0.0, boats=1 + MOST_PROFILED // 12)
    alone = replace(many, cluster=np.arange(len(many)))
    model = fit(alone)
    found, by = coefficient_intervals(alone, model)
    assert by == ERRORS
    assert found["log_sigma"][1] == pytest.approx(
        model.estimate[-1] + NORMAL_95 * model.se[-1], rel=1e-6
    )


def test_the_spread_between_boats_has_its_profile():
    lives = fleet(3, 0.3, boats=20)
    model = fit(lives, boat_effect=True)
    low, high = coefficient_intervals(lives, model)[0]["log_spread"]
    assert low < np.log(model.boat_spread) < high


def test_a_posterior_has_its_own_quantiles_and_a_held_slope_has_none():
    lives = fleet(1, 0.2, boats=5, parts=4)
    prior = COMMON_PRACTICE["wire"]
    model = posterior(lives, prior, fixed=("severity",), seed=1)
    found, by = coefficient_intervals(lives, model, level=0.9)
    assert by == POSTERIOR
    assert "severity" not in found
    expected = np.quantile(model.sample[:, 0], [0.05, 0.95])
    assert found["intercept"] == pytest.approx(expected)
