"""Survival to an age given survival to an earlier one, with its 95 % interval.

For a boat of which nothing is known: with a boat effect the mean over boats, of both ages apart,
since a part that has stood so long says something of its boat.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from .families import log_survival
from .model import BOAT_NODES, NORMAL_95, LifeModel

TAILS = (0.025, 0.975)
DRAWS, SEED = 2000, 0
STEP = 1e-5


@dataclass(frozen=True)
class Point:
    """P(T > age | T > given) with its bounds."""

    age: float
    estimate: float
    lower: float
    upper: float


def survival_given(
    model: LifeModel,
    ages: Sequence[float],
    given: float = 0.0,
    x: Mapping[str, float] | None = None,
) -> list[Point]:
    """A point for each age, in their order. ages at or above given, in the model's unit.

    x: covariates by name, 0 where not named. A posterior gives its mean and quantiles; maximum
    likelihood the delta method on log(-log S), with the errors the model rests its intervals on.
    Raises ValueError for a covariate the model does not have.
    """
    X = model.design({name: np.array([value]) for name, value in (x or {}).items()})[0]
    at = np.asarray(ages, dtype=float)
    if model.sample is not None or model.prior is not None:
        drawn = np.exp(_log_given(model.family, _draws(model), at, given, X))
        mean, (low, high) = drawn.mean(axis=0), np.quantile(drawn, TAILS, axis=0)
        # Far out the mean rests on a few long-lived draws, beyond the quantiles.
        return _points(at, mean, np.minimum(low, mean), np.maximum(high, mean))
    middle = _log_given(model.family, _estimate(model), at, given, X)[0]
    low, high = _by_delta(model, middle, at, given, X)
    return _points(at, np.exp(middle), low, high)


def _points(*columns: np.ndarray) -> list[Point]:
    return [Point(*map(float, row)) for row in zip(*columns, strict=True)]


def _draws(model: LifeModel) -> np.ndarray:
    n = DRAWS if model.sample is None else len(model.sample)
    return model.draws_with_spread(n, SEED)


def _estimate(model: LifeModel) -> np.ndarray:
    return np.append(model.estimate, model.boat_spread)[None]


def _log_given(
    family: str, theta: np.ndarray, ages: np.ndarray, given: float, X: np.ndarray
) -> np.ndarray:
    """(D, A) log P(T > age | T > given) for rows (parameters, tau) of theta (D, k + 1)."""
    both = np.append(ages, given)
    across = np.stack([_across(family, row, both, X) for row in theta])
    return np.minimum(across[:, :-1] - across[:, -1:], 0.0)


def _across(family: str, theta: np.ndarray, ages: np.ndarray, X: np.ndarray) -> np.ndarray:
    """(A,) log of the mean survival over boats, at one row (parameters, tau)."""
    location, sigma, tau = theta[0] + theta[1:-2] @ X, np.exp(theta[-2]), theta[-1]
    if tau <= 0:
        return log_survival(family, ages, location, sigma)
    z, weight = np.polynomial.hermite_e.hermegauss(BOAT_NODES)
    terms = log_survival(family, ages, location + tau * z[:, None], sigma)
    terms = terms + np.log(weight / weight.sum())[:, None]
    top = terms.max(axis=0)
    return top + np.log(np.exp(terms - top).sum(axis=0))


def _by_delta(
    model: LifeModel, middle: np.ndarray, ages: np.ndarray, given: float, X: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """95 % bounds of exp(middle); where survival is 1 or 0 there is nothing to be unsure of."""
    theta, covariance = _estimate(model)[0], _covariance(model)
    steps = STEP * np.eye(len(theta))
    steps[-1, -1] = STEP * theta[-1]  # tau moves by its logarithm
    ahead = _log_given(model.family, theta + steps, ages, given, X)
    behind = _log_given(model.family, theta - steps, ages, given, X)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        slope = (ahead - behind) / (2 * STEP) / middle  # of log(-log S)
        error = np.sqrt(np.einsum("ka,kl,la->a", slope, covariance, slope))
        low = np.exp(middle * np.exp(NORMAL_95 * error))
        high = np.exp(middle * np.exp(-NORMAL_95 * error))
    known = ~np.isfinite(error)
    return np.where(known, np.exp(middle), low), np.where(known, np.exp(middle), high)


def _covariance(model: LifeModel) -> np.ndarray:
    """(k + 1, k + 1) of (parameters, log tau); tau's error from its band, by itself."""
    k = len(model.names)
    covariance = np.zeros((k + 1, k + 1))
    covariance[:k, :k] = model.interval_covariance
    if model.boat_spread_band and model.boat_spread > 0:
        # Upward alone: a spread that may be 0 has a logarithm without a lower end.
        _, high = model.boat_spread_band
        covariance[k, k] = (np.log(max(1.0, high / model.boat_spread)) / NORMAL_95) ** 2
    return covariance
