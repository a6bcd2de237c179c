"""The same lives given to other people's programs: scipy's CensoredData and surpyval.

surpyval (0.25) handles intervals together with late entry; scipy (1.17) handles intervals.
"""

import numpy as np
import pytest
import surpyval
from scipy import stats

from forecasting.survival import Lives, fit

from . import published


def inspected_fleet(seed: int, *, late: bool) -> Lives:
    """Weibull parts inspected every 1.5 years, some of whose boats joined late."""
    rng = np.random.default_rng(seed)
    life = 10 * rng.weibull(2.5, 160)
    entry = np.where(rng.random(160) < 0.4, rng.uniform(0, 6, 160), 0.0) * late
    life, entry = life[life > entry], entry[life > entry]
    seen_to = entry + 8
    good = entry + np.floor((np.minimum(life, seen_to) - entry) / 1.5) * 1.5
    return Lives(entry, good, np.where(life < seen_to, good + 1.5, np.inf))


SURPYVAL = {
    "weibull": (surpyval.Weibull, lambda p: (np.log(p[0]), 1 / p[1])),
    "lognormal": (surpyval.LogNormal, lambda p: (p[0], p[1])),
    "loglogistic": (surpyval.LogLogistic, lambda p: (np.log(p[0]), 1 / p[1])),
}


@pytest.mark.parametrize("family", SURPYVAL)
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_surpyval_finds_the_same_fit_with_intervals_and_late_entry(family, seed):
    lives = inspected_fleet(seed, late=True)
    ours = fit(lives, family)
    distribution, ours_from = SURPYVAL[family]
    theirs = distribution.fit(xl=lives.good, xr=lives.condemned, tl=lives.entry)
    assert -theirs.neg_ll() == pytest.approx(ours.log_likelihood, rel=1e-9)
    assert ours_from(theirs.params) == pytest.approx((ours.estimate[0], ours.sigma), rel=1e-5)


SCIPY = {
    "weibull": (stats.weibull_min, lambda p: (np.log(p[2]), 1 / p[0])),
    "lognormal": (stats.lognorm, lambda p: (np.log(p[2]), p[0])),
    "loglogistic": (stats.fisk, lambda p: (np.log(p[2]), 1 / p[0])),
}


@pytest.mark.filterwarnings("ignore::RuntimeWarning")  # scipy's own search steps too far at first
@pytest.mark.parametrize("family", SCIPY)
def test_scipy_finds_the_same_fit_of_inspected_parts(family):
    lives = inspected_fleet(7, late=False)
    ours = fit(lives, family)
    distribution, ours_from = SCIPY[family]
    censored = stats.CensoredData(
        interval=np.column_stack([lives.good, lives.condemned])[lives.between],
        right=lives.good[~lives.died & (lives.good > 0)],
    )
    theirs = ours_from(distribution.fit(censored, floc=0))
    assert theirs == pytest.approx((ours.estimate[0], ours.sigma), rel=2e-3)
    frozen = distribution(*_scipy_parameters(family, ours))
    value = _scipy_log_likelihood(frozen, lives)
    assert value == pytest.approx(ours.log_likelihood, rel=1e-10)


def test_scipy_finds_the_same_fit_of_the_nist_lives():
    lives = published.NIST
    ours = fit(lives)
    censored = stats.CensoredData(
        uncensored=lives.failed[lives.exact], right=lives.good[~lives.exact]
    )
    shape, _, scale = stats.weibull_min.fit(censored, floc=0)
    assert (shape, scale) == pytest.approx((1 / ours.sigma, np.exp(ours.estimate[0])), rel=2e-3)


def _scipy_parameters(family, model):
    location, sigma = model.estimate[0], model.sigma
    shape = sigma if family == "lognormal" else 1 / sigma
    return shape, 0.0, np.exp(location)


def _scipy_log_likelihood(frozen, lives):
    died, alive = lives.between, ~lives.between
    between = frozen.cdf(lives.condemned[died]) - frozen.cdf(lives.good[died])
    return np.log(between).sum() + frozen.logsf(lives.good[alive]).sum()
