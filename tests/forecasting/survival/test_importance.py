"""Draws by importance: right where the density is known, honest where the proposal is poor."""

import numpy as np
import pytest
from scipy.stats import multivariate_normal

from forecasting.survival.importance import DEGREES, importance
from forecasting.survival.posterior import weighted_quantiles

MEAN, COVARIANCE = np.array([1.0, -2.0]), np.array([[1.0, 0.6], [0.6, 2.0]])


def density(u: np.ndarray) -> np.ndarray:
    return multivariate_normal.logpdf(u, MEAN, COVARIANCE) + 3.0  # any constant


def test_the_moments_of_a_known_density():
    found = importance(density, MEAN, COVARIANCE, 8000, np.random.default_rng(1))
    assert found.rounds == 0
    assert found.ess > 4000
    assert found.weight.sum() == pytest.approx(1)
    assert found.mean(found.u) == pytest.approx(MEAN, abs=0.06)
    off = found.u - found.mean(found.u)
    assert (off * found.weight[:, None]).T @ off == pytest.approx(COVARIANCE, abs=0.12)


def test_a_poor_proposal_is_mended_by_its_own_draws():
    far = importance(density, MEAN + 6, COVARIANCE / 4, 4000, np.random.default_rng(2))
    assert 1 <= far.rounds <= 4
    assert far.mean(far.u) == pytest.approx(MEAN, abs=0.1)
    assert not far.poor


def test_a_density_nowhere_near_is_called_poor():
    def nowhere(u: np.ndarray) -> np.ndarray:
        return np.where(np.abs(u[:, 0] - 1e6) < 1e-6, 0.0, -np.inf)

    assert importance(nowhere, MEAN, COVARIANCE, 500, np.random.default_rng(3)).poor


def test_resampling_keeps_each_draw_by_its_weight():
    found = importance(density, MEAN, COVARIANCE, 2000, np.random.default_rng(4))
    picked = found.resampled(4000, np.random.default_rng(5))
    times = np.bincount(picked, minlength=2000)
    assert np.abs(times - 4000 * found.weight).max() < 1 + 1e-9  # systematic: within one


def test_weighted_quantiles_are_those_of_repeated_values():
    values, times = np.array([3.0, 1.0, 2.0]), np.array([100, 300, 600])
    found = weighted_quantiles(values, times / times.sum(), (0.05, 0.5, 0.99))
    repeated = np.quantile(np.repeat(values, times), [0.05, 0.99])
    assert found[[0, 2]] == pytest.approx(repeated)
    assert 1 < found[1] < 2.01
    assert DEGREES > 2  # else the proposal itself would have no variance


def test_no_draw_is_lost_between_proposals_and_one_far_out_does_not_rule():
    """A ridge bent like a banana: the first proposal, at its tip, covers a corner of it."""

    def banana(u: np.ndarray) -> np.ndarray:
        return -0.5 * (u[:, 0] / 2) ** 2 - 0.5 * ((u[:, 1] - u[:, 0] ** 2 / 4) / 0.5) ** 2

    tip = np.array([2.5, 1.5])
    found = importance(banana, tip, np.eye(2) * 0.05, 3000, np.random.default_rng(6))
    assert found.ess > 400
    assert len(found.weight) == 3000 * (1 + 2 * found.rounds)
    assert found.mean(found.u) == pytest.approx([0.0, 1.0], abs=0.25)  # E x^2 = 4
