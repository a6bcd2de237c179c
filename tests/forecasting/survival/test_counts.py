"""How many will go: the law of the count, and its interval against a published forecast."""

import numpy as np
import pytest
from scipy import stats

from forecasting.survival import Lives, Prior, fit, posterior
from forecasting.survival.counts import count_law, predicted_count, refitted, simulated

from .published import failures
from .samples import mixed_lives

# Abernethy 1983, Weibull Analysis Handbook (AFWAL-TR-83-2079): 1,703 bearing cages; hours of those
# that stand and hours at which six failed (as reprinted in Meeker and Escobar 1998, from memory;
# they give the published fit and forecast).
STAND = np.array([*range(50, 1651, 100), 1850, 2050], dtype=float)
MANY = [288, 148, 124, 111, 106, 99, 110, 114, 119, 127, 123, 93, 47, 41, 27, 11, 6, 1, 2]
CAGES = failures([230, 334, 423, 990, 1009, 1510], list(STAND))
CAGES = Lives(CAGES.entry, CAGES.good, failed=CAGES.failed, weight=[1.0] * 6 + MANY)


@pytest.fixture(scope="module")
def cages():
    return fit(CAGES)


def test_the_bearing_cages_of_the_next_300_hours(cages):
    # Published fit and expectation; calibrated 90 % bounds [1, 12] (two independent programs).
    assert CAGES.weight.sum() == 1703
    assert 1 / cages.sigma == pytest.approx(2.035319, abs=1e-5)
    assert np.exp(cages.estimate[0]) == pytest.approx(11792.178, rel=1e-6)
    found = predicted_count(cages, CAGES, 300.0, draws=400)
    assert found.standing == 1697
    assert found.mean == pytest.approx(5.0582, abs=5e-5)
    assert (found.lower, found.upper) == (1, 12)


def test_the_plug_in_interval_of_the_cages_is_the_narrower_one(cages):
    # [2, 9] by two independent programs.
    law = stats.weibull_min(1 / cages.sigma, scale=np.exp(cages.estimate[0]))
    chances = 1 - law.sf(STAND + 300) / law.sf(STAND)
    reached = np.cumsum(count_law(chances[None], np.array(MANY, dtype=float)))
    assert np.searchsorted(reached, (0.05, 0.95)).tolist() == [2, 9]


def test_the_law_of_a_count_is_scipys_and_weights_are_copies():
    chances = np.linspace(0.0, 1.0, 12)
    found = count_law(chances[None], np.ones(12))
    assert found[:13] == pytest.approx(stats.poisson_binom(chances).pmf(np.arange(13)), abs=1e-12)
    twice = count_law(np.tile(chances, 2)[None], np.ones(24))
    assert count_law(chances[None], np.full(12, 2.0)) == pytest.approx(twice, abs=1e-12)


@pytest.mark.parametrize("family", ["weibull", "lognormal", "loglogistic"])
def test_a_record_lived_anew_gives_the_same_fit_on_average(family):
    lives = mixed_lives(2, 60)
    model = fit(lives, family)
    single = Lives(lives.entry, lives.good, lives.condemned, lives.failed, X=lives.X,
                   names=lives.names)  # fmt: skip
    rng = np.random.default_rng(3)
    again = [refitted(model, simulated(model, single, rng)) for _ in range(40)]
    middle, error = np.mean(again, axis=0), np.std(again, axis=0) / np.sqrt(40)
    assert np.abs(middle - model.estimate)[0] < 4 * error[0] + 0.05


def test_a_posterior_gives_the_count_its_own_width():
    lives = Lives([0.0] * 12, [6.0] * 12, cluster=np.arange(12) // 3)
    model = posterior(lives, Prior(b10=8.0), boat_effect=False)
    found = predicted_count(model, lives, 4.0)
    assert 0 <= found.lower <= found.mean <= found.upper <= 12
    assert found.upper >= 5
