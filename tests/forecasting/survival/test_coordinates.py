"""From what people know (B10, shares, shape) to the likelihood's parameters and back."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import halfnorm, multivariate_normal, norm

from forecasting.survival import FAMILIES, Prior, part_ages

NAMES = ("intercept", "run", "severity", "upper", "log_sigma")
PRIOR = replace(Prior(), about={"severity": 0.7})


def numeric(function, at: np.ndarray) -> np.ndarray:
    steps = np.eye(len(at)) * 1e-6
    return np.stack([(function(at + s) - function(at - s)) / 2e-6 for s in steps], axis=-1)


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize("seed", [0, 1, 2])
def test_every_draw_has_its_own_b10_in_its_parameters(family, seed):
    where = PRIOR.coordinates(NAMES, family, spread=True)
    phis = where.draws(50, np.random.default_rng(seed))
    theta = where.theta(phis)
    on_reference = part_ages(family, NAMES, theta[:, :-1], 0.1, {"severity": 0.7})
    assert on_reference == pytest.approx(np.exp(phis[:, 0]), rel=1e-9)


@pytest.mark.parametrize("family", FAMILIES)
def test_the_jacobian_is_that_of_the_map(family):
    where = PRIOR.coordinates(NAMES, family, spread=True)
    for phi in where.draws(5, np.random.default_rng(3)):
        found = where.jacobian(phi)
        assert found == pytest.approx(numeric(lambda p: where.theta(p[None])[0], phi), abs=1e-7)


def test_the_density_is_normal_and_half_normal_with_its_own_slopes():
    where = PRIOR.coordinates(NAMES, spread=True)
    phi = where.draws(1, np.random.default_rng(4))[0]
    shares = 0.25 * np.array([[2.0, 1.0], [1.0, 2.0]])  # two contrasts of three shares, sd .5 each
    by_hand = (
        norm.logpdf(phi[0], np.log(9), 0.5)
        + multivariate_normal.logpdf(phi[[1, 3]], np.log([0.15 / 0.6, 0.25 / 0.6]), shares)
        + norm.logpdf(phi[2], -0.19, 0.15)
        + norm.logpdf(phi[4], -np.log(3), 0.35)
        + halfnorm.logpdf(np.exp(phi[5]), scale=0.25)
        + phi[5]  # of tau's density on its logarithm
    )
    at = where(phi)
    assert at.value == pytest.approx(by_hand, abs=1e-10)
    assert at.score == pytest.approx(numeric(lambda p: where(p).value, phi), abs=1e-6)
    assert at.hessian == pytest.approx(numeric(lambda p: where(p).score, phi), abs=1e-6)


def test_the_way_back_is_the_inverse():
    where = PRIOR.coordinates(NAMES, spread=True)
    phis = where.draws(20, np.random.default_rng(5))
    assert where.phi(where.theta(phis)) == pytest.approx(phis, abs=1e-10)
    with pytest.raises(ValueError, match="Weibull"):
        PRIOR.coordinates(NAMES, "lognormal").phi(phis[:, :-1])


def test_another_family_gets_the_same_spread_of_log_life():
    # Standard deviations of z: Weibull pi/sqrt(6), log-normal 1, log-logistic pi/sqrt(3).
    sds = {"weibull": np.pi / np.sqrt(6), "lognormal": 1.0, "loglogistic": np.pi / np.sqrt(3)}
    for family, sd in sds.items():
        log_sigma = Prior().parameters(("intercept", "log_sigma"), family)[-1]
        assert np.exp(log_sigma) * sd == pytest.approx(np.pi / np.sqrt(6) / 3)


def test_a_column_nobody_knows_gets_a_weak_slope_about_nothing():
    prior = Prior().with_weak_slopes({"miles": (30_000.0, 8_000.0), "severity": (1.0, 1.0)})
    assert prior.slopes["miles"] == 0
    assert prior.slope_sds == {"miles": 0.5 / 8_000}
    assert prior.about == {"miles": 30_000.0}
    assert prior.slopes["severity"] == -0.19
    assert Prior.from_dict(prior.to_dict()) == prior
