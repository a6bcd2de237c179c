"""Common practice and the fleet's own lives together: the posterior of a life model.

Its mode by Newton, then draws by importance resampling about it, with the effective sample size
checked; where no proposal covers it, a chain. The search runs on the prior's own coordinates,
centred and in its standard deviations, so that every unit of age and covariate looks alike to it.
"""

from dataclasses import dataclass

import numpy as np

from . import boat_effects
from .alike import AlikeLikelihood
from .boat_likelihood import BoatLikelihood
from .boat_values import WeibullBoats
from .chain import chain
from .coordinates import Coordinates
from .evidence import LEVEL, Evidence
from .families import WEIBULL, Family
from .importance import Weighted, importance
from .likelihood import Evaluation
from .lives import Lives, left_out
from .model import POSTERIOR, LifeModel
from .newton import Maximum, maximise
from .prior import Prior
from .refusal import Refusal
from .rule_of_thumb import prior_alone

DRAWS, STORED = 3000, 600
MANY_ROWS, FEWER_DRAWS = 20_000, 1500
CENTRE_FACTOR = 1.5
STARTS = (0.0, -1.0, 1.0, -2.0, 2.0, -4.0, 4.0, -8.0, 8.0, -16.0, 16.0)  # of log B10, in its sd
SEARCH_STEPS = 30  # a search that has not settled by then crawls; its draws mend the rest
LEAST_INFORMATION = 0.25  # of a proposal, in prior standard deviations


class DifferingLikelihood:
    """Boats that differ, in the calling convention of AlikeLikelihood; theta (k + 1,)."""

    def __init__(self, family: Family, lives: Lives) -> None:
        self.boats = BoatLikelihood(family, lives)
        self.many = WeibullBoats(self.boats) if family is WEIBULL else None

    def __call__(self, theta: np.ndarray) -> Evaluation:
        """Value, score and Hessian at theta, (k + 1,)."""
        return self.boats(theta)

    def values(self, thetas: np.ndarray) -> np.ndarray:
        """(D,) log-likelihoods at thetas (D, k + 1)."""
        if self.many:
            return self.many.values(thetas)
        with np.errstate(all="ignore"):
            return np.array([boat_effects.values(self.boats, theta[None])[0] for theta in thetas])


@dataclass(frozen=True, eq=False)
class Target:
    """Log posterior of the free coordinates u: phi = centre + scale * u, the others at the centre.

    likelihood: called with theta, and with `values` for many, as `Coordinates.theta` gives it.
    """

    prior: Coordinates
    likelihood: AlikeLikelihood | DifferingLikelihood
    free: np.ndarray
    scale: np.ndarray

    def phi(self, u: np.ndarray) -> np.ndarray:
        """(D, m) from u (D, f)."""
        phi = np.tile(self.prior.centre, (len(u), 1))
        phi[:, self.free] += u * self.scale
        return phi

    def __call__(self, u: np.ndarray) -> Evaluation:
        phi = self.phi(u[None])[0]
        with np.errstate(over="ignore", invalid="ignore"):
            lived = self.likelihood(self.prior.theta(phi[None])[0])
            if not lived.finite:
                return Evaluation(-np.inf, lived.score, lived.hessian)
            carried, before = self.prior.carried(phi, lived), self.prior(phi)
        block = np.ix_(self.free, self.free)
        return Evaluation(
            carried.value + before.value,
            (carried.score + before.score)[self.free] * self.scale,
            (carried.hessian + before.hessian)[block] * np.outer(self.scale, self.scale),
        )

    def values(self, u: np.ndarray) -> np.ndarray:
        """(D,) log posterior at u (D, f), up to a constant."""
        phi = self.phi(u)
        with np.errstate(over="ignore", invalid="ignore"):
            value = self.prior.values(phi) + self.likelihood.values(self.prior.theta(phi))
        return np.where(np.isfinite(value), value, -np.inf)


def posterior(
    lives: Lives,
    prior: Prior,
    family: str = "weibull",
    *,
    boat_effect: bool = True,
    fixed: tuple[str, ...] = (),
    seed: int = 0,
) -> LifeModel | Refusal:
    """The model of these lives on top of the prior; without any, the prior itself.

    fixed: columns whose slopes stay at the prior's means. The same seed gives the same draws.
    Refused ("posterior_poor") where neither proposals nor a chain cover the posterior.
    """
    counted = lives.take(~lives.never_seen)
    names = ("intercept", *lives.names, "log_sigma")
    if not len(counted):
        return prior_alone(prior, names, family, left_out=left_out(lives))
    coordinates = prior.coordinates(names, family, spread=boat_effect)
    target = _target(coordinates, counted, fixed)
    rng = np.random.default_rng(seed)
    draws = DRAWS if len(counted) <= MANY_ROWS else FEWER_DRAWS
    found = importance(target.values, *_proposal(target, counted), draws, rng)
    if found.poor and np.isfinite(found.ess):
        found = chain(target.values, found, rng)
    if found.poor:
        return Refusal(
            "posterior_poor",
            "No model: the record and common practice could not be weighed together "
            f"(effective sample size {_number(found.ess)} of {len(found.weight)} draws). Check the "
            "dates, the unit of the ages and the rule of thumb.",
        )
    return _model(lives, counted, prior, target, found, rng)


def mode_of(lives: Lives, prior: Prior, family: str, fixed: tuple[str, ...] = ()) -> np.ndarray:
    """(k,) the likeliest parameters with boats alike: where two likelihoods can be compared."""
    names = ("intercept", *lives.names, "log_sigma")
    target = _target(prior.coordinates(names, family), lives.take(~lives.never_seen), fixed)
    return target.prior.theta(target.phi(_mode(target).theta[None]))[0]


def _target(prior: Coordinates, counted: Lives, fixed: tuple[str, ...]) -> Target:
    free = np.array([j for j, name in enumerate(prior.names) if name not in fixed])
    scale = np.sqrt(1 / np.maximum(np.diag(prior.precision), 1e-300))
    if prior.spread:
        scale[-1] = 1.0
    if prior.spread:
        likelihood = DifferingLikelihood(prior.family, counted)
    else:
        likelihood = AlikeLikelihood(prior.family, counted)
    return Target(prior, likelihood, free, scale[free])


def _mode(target: Target) -> Maximum:
    """The highest summit found from the highest of a few starts; the prior gives it one."""
    starts = np.zeros((len(STARTS), len(target.free)))
    starts[:, 0] = STARTS
    return maximise(target, starts[np.argmax(target.values(starts))], SEARCH_STEPS)


def _proposal(target: Target, counted: Lives) -> tuple[np.ndarray, np.ndarray]:
    """Centre (f,) and covariance (f, f) to draw about: the mode and its inverse information.

    Where the boats' spread keeps the climb from settling (a few odd lives, far from any practice),
    from the mode of the same lives with boats alike, the spread at its prior.
    """
    mode = _mode(target)
    if mode.settled or not target.prior.spread:
        return mode.theta, _first_covariance(mode.at)
    m = len(target.prior.names) - 1
    alike = Target(
        target.prior.with_boats_alike(),
        AlikeLikelihood(target.prior.family, counted),
        target.free[target.free < m],
        target.scale[target.free < m],
    )
    plain = _mode(alike)
    centre, covariance = np.append(plain.theta, 0.0), np.eye(len(plain.theta) + 1)
    covariance[:-1, :-1] = _first_covariance(plain.at)
    if target.values(centre[None])[0] < mode.at.value:
        centre = mode.theta
    return centre, covariance


def _first_covariance(at: Evaluation) -> np.ndarray:
    """The inverse information at the mode, never wider than two prior standard deviations."""
    information = np.nan_to_num(-at.hessian)
    values, vectors = np.linalg.eigh(information)
    return (vectors / np.maximum(values, LEAST_INFORMATION)) @ vectors.T


def _model(
    lives: Lives,
    counted: Lives,
    prior: Prior,
    target: Target,
    found: Weighted,
    rng: np.random.Generator,
) -> LifeModel:
    """The weighted draws as a model: centre, spread, a sample to keep, and what it rests on."""
    coordinates = target.prior
    phi = target.phi(found.u)
    theta = coordinates.theta(phi)
    centre = coordinates.theta(found.mean(phi)[None])[0]
    k = len(lives.names) + 2
    tau = np.exp(theta[:, -1]) if coordinates.spread else np.zeros(len(theta))
    off = theta[:, :k] - found.mean(theta[:, :k])
    kept = found.resampled(STORED, rng)
    low, middle, high = weighted_quantiles(tau, found.weight, (0.025, 0.5, 0.975))
    return LifeModel(
        family=coordinates.family.name,
        names=coordinates.names[:k],
        estimate=centre[:k],
        covariance=(off * found.weight[:, None]).T @ off,
        covariance_by_cluster=np.full((k, k), np.nan),
        log_likelihood=float(target.likelihood.values(centre[None])[0]),
        lives=float(counted.weight.sum()),
        deaths=counted.deaths,
        clusters=len(np.unique(counted.cluster)),
        left_out=left_out(lives),
        standing=POSTERIOR,
        fixed=tuple(name for name in lives.names if name not in _free_names(target)),
        prior=prior,
        boat_spread=float(middle),
        boat_spread_band=(float(low), float(high)) if coordinates.spread else None,
        sample=np.column_stack([theta[:, :k], tau])[kept],
        evidence=_evidence(counted, prior, target, found),
    )


def _free_names(target: Target) -> set[str]:
    return {target.prior.names[j] for j in target.free}


def _evidence(counted: Lives, prior: Prior, target: Target, found: Weighted) -> Evidence:
    """B10 before and after, and with another centre of the prior.

    Another centre only multiplies the density by a known ratio, so the draws are weighed anew
    instead of drawn anew.
    """
    phi = target.phi(found.u)
    log_b10 = phi[:, 0]
    middle = float(found.weight @ log_b10)
    low, high = weighted_quantiles(log_b10, found.weight, ((1 - LEVEL) / 2, (1 + LEVEL) / 2))
    return Evidence(
        method="posterior",
        deaths=counted.deaths,
        prior_b10=prior.b10_band,
        b10=tuple(np.exp([low, middle, high]).tolist()),
        prior_sd=prior.b10_log_sd,
        sd=_sd(log_b10, found.weight),
        slope_shares=_slope_shares(target, phi, found.weight),
        ess=found.ess,
        tried=len(found.weight),
        rounds=found.rounds,
        centres=tuple(
            float(np.exp(middle + _moved(log_b10, found.weight, prior, way))) for way in (-1, 1)
        ),
    )


def _moved(log_b10: np.ndarray, weight: np.ndarray, prior: Prior, way: int) -> float:
    """How far the mean of log B10 goes when the prior's centre goes by a factor of 1.5."""
    shift = way * np.log(CENTRE_FACTOR)
    raised = (log_b10 - np.log(prior.b10)) * shift / prior.b10_log_sd**2
    again = weight * np.exp(raised - raised.max())
    return float(again @ log_b10 / again.sum() - weight @ log_b10)


def _slope_shares(target: Target, phi: np.ndarray, weight: np.ndarray) -> dict[str, float]:
    """Column -> 1 - posterior variance / prior variance of its coordinate, at least 0."""
    prior, m = target.prior, len(target.prior.names) - target.prior.spread
    variance = np.diag(np.linalg.inv(prior.precision[:m, :m]))
    return {
        prior.names[j]: float(max(0.0, 1 - _sd(phi[:, j], weight) ** 2 / variance[j]))
        for j in target.free
        if 0 < j < prior.log_sigma
    }


def _sd(values: np.ndarray, weight: np.ndarray) -> float:
    return float(np.sqrt(weight @ (values - weight @ values) ** 2))


def weighted_quantiles(
    values: np.ndarray, weight: np.ndarray, points: tuple[float, ...]
) -> np.ndarray:
    """(len(points),) quantiles of weighted draws (D,), between their middles."""
    order = np.argsort(values, kind="stable")
    reached = np.cumsum(weight[order]) - 0.5 * weight[order]
    return np.interp(points, reached, values[order])


def _number(value: float) -> str:
    return f"{value:.0f}" if np.isfinite(value) else "none"
