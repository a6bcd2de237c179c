"""The answer of a fit: a frozen model one can ask for survival, chances and quantiles.

log T = intercept + X slopes + sigma * z. The Weibull shape is 1 / sigma.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from .evidence import Evidence
from .families import family_named, log_survival
from .prior import Prior, spots_of

FITTED = "fitted"
POSTERIOR = "posterior"
BASELINE_FITTED = "baseline fitted, slopes by common practice"
RULE_SO_FAR = "rule of thumb, your boats so far"
RULE_OF_THUMB = "rule of thumb"
ENOUGH_CLUSTERS = 40  # below this, errors clustered by boat are too rough to rest intervals on
BISECTIONS = 60
BOAT_NODES = 21  # of the mean over boats
NORMAL_95 = 1.959964
MAY_BE_NONE = 0.05  # of its upper end: a spread whose lower end lies below may as well be 0
DIGITS = 7  # significant, of a stored sample


@dataclass(frozen=True)
class Band:
    """An estimate with its interval; three arrays of one shape."""

    low: np.ndarray
    middle: np.ndarray
    high: np.ndarray


@dataclass(frozen=True, eq=False)
class LifeModel:
    """A fitted life distribution, or the rule of thumb in its place. k = p + 2 parameters.

    names: (k,) "intercept", the covariates, "log_sigma"; estimate, se, se_by_cluster: (k,), in that
    order (se 0 for a coefficient held fixed; se_by_cluster nan without two boats); covariance and
    covariance_by_cluster: (k, k), the inverse observed information and the sandwich clustered by
    boat with factor G / (G - 1). lives, deaths: sums of weights. left_out: reason -> weight.
    boat_spread: tau, the standard deviation of log life between boats (0: boats alike), with its
    95 % band. sample: (D, k + 1) posterior draws, tau last; None for maximum likelihood. A model
    with a sample has its posterior's centre as estimate and its spread as covariance.
    """

    family: str
    names: tuple[str, ...]
    estimate: np.ndarray
    covariance: np.ndarray
    covariance_by_cluster: np.ndarray
    log_likelihood: float = float("nan")
    aic: float = float("nan")
    lives: float = 0.0
    deaths: float = 0.0
    clusters: int = 0
    left_out: Mapping[str, float] = field(default_factory=dict)
    warnings: tuple[str, ...] = ()
    standing: str = FITTED
    fixed: tuple[str, ...] = ()
    prior: Prior | None = None
    boat_spread: float = 0.0
    boat_spread_band: tuple[float, float] | None = None
    sample: np.ndarray | None = None
    evidence: Evidence | None = None

    def __post_init__(self) -> None:
        k = len(self.names)
        shapes = {"estimate": (k,), "covariance": (k, k), "covariance_by_cluster": (k, k)}
        if self.sample is not None:
            shapes["sample"] = (-1, k + 1)
        for name, shape in shapes.items():
            values = np.array(getattr(self, name), dtype=float).reshape(shape)
            values.flags.writeable = False
            object.__setattr__(self, name, values)

    @property
    def se(self) -> np.ndarray:
        return np.sqrt(np.diag(self.covariance))

    @property
    def se_by_cluster(self) -> np.ndarray:
        return np.sqrt(np.diag(self.covariance_by_cluster))

    @property
    def columns(self) -> tuple[str, ...]:
        """The covariates, in the order X is expected in."""
        return self.names[1:-1]

    @property
    def sigma(self) -> float:
        return float(np.exp(self.estimate[-1]))

    @property
    def coefficients(self) -> dict[str, float]:
        return dict(zip(self.names, self.estimate.tolist(), strict=True))

    @property
    def interval_covariance(self) -> np.ndarray:
        """What intervals rest on: the errors by boat from 40 boats on, else the model's own."""
        by_boat = self.clusters >= ENOUGH_CLUSTERS and np.isfinite(self.covariance_by_cluster).all()
        return self.covariance_by_cluster if by_boat else self.covariance

    def design(self, rows: Mapping[str, Any]) -> np.ndarray:
        """X, (n, p), from columns by name; a covariate not given is 0, the reference boat's."""
        unknown = sorted(set(rows) - set(self.columns))
        if unknown:
            raise ValueError(f"The model has no covariate {unknown[0]!r}.")
        n = np.broadcast_shapes((1,), *(np.shape(values) for values in rows.values()))[0]
        X = np.zeros((n, len(self.columns)))
        for name, values in rows.items():
            X[:, self.columns.index(name)] = values
        return X

    def draws(self, n: int, seed: int) -> np.ndarray:
        """(n, k) parameters within the uncertainty: the sample's, the prior's, or normal."""
        return self.draws_with_spread(n, seed)[:, :-1]

    def draws_with_spread(self, n: int, seed: int) -> np.ndarray:
        """(n, k + 1): the same rows with tau, the boats' spread, last.

        From a sample its rows in an order of the seed, over again where n is more than it has.
        """
        rng = np.random.default_rng(seed)
        if self.sample is not None:
            order = rng.permutation(len(self.sample))
            return self.sample[np.resize(order, n)]
        if self.prior is not None:
            return self.prior.sample(n, rng, self.names, self.family)
        values, vectors = np.linalg.eigh(self.interval_covariance)
        spread = vectors * np.sqrt(np.maximum(values, 0.0))
        theta = self.estimate + rng.standard_normal((n, len(self.names))) @ spread.T
        return np.column_stack([theta, self._spreads(rng.standard_normal(n))])

    def _spreads(self, z: np.ndarray) -> np.ndarray:
        """Draws of tau for standard normal z: log-normal about the estimate, by its 95 % band.

        A spread that may be 0 has an upper end only: a normal up to there, folded at 0.
        """
        if self.boat_spread_band is None:
            return np.full(z.shape, self.boat_spread)
        low, high = self.boat_spread_band
        if min(low, self.boat_spread) <= MAY_BE_NONE * high:
            return np.abs(self.boat_spread + z * (high - self.boat_spread) / NORMAL_95)
        sd = np.log(high / low) / (2 * NORMAL_95)
        return self.boat_spread * np.exp(sd * z)

    def survival(self, age: Any, X: Any, *, boat: float = 0.0) -> np.ndarray:
        """P(T > age) at the estimate. X: (n, p) or (p,); age broadcasts against its n rows.

        boat: that boat's effect on log life; 0 is the typical boat.
        """
        return np.exp(self._log_survival(self.estimate[None], age, X, boat)[0])

    def survival_across_boats(self, age: Any, X: Any) -> np.ndarray:
        """P(T > age) of a boat of which nothing is known: the mean over normal boat effects."""
        x, weight = np.polynomial.hermite_e.hermegauss(BOAT_NODES)
        curves = [self.survival(age, X, boat=self.boat_spread * each) for each in x]
        return np.tensordot(weight / weight.sum(), np.array(curves), axes=1)

    def chance_between(self, age: Any, later: Any, X: Any) -> np.ndarray:
        """P(T <= later | T > age) at the estimate: gone by `later` if good at `age`."""
        return self._chance(self.estimate[None], age, later, X)[0]

    def survival_band(
        self, age: Any, X: Any, *, level: float = 0.9, draws: int = 2000, seed: int = 0
    ) -> Band:
        """Survival with pointwise bounds of that level from seeded draws."""
        sample = np.exp(self._log_survival(self.draws(draws, seed), age, X))
        return _band(self.survival(age, X), sample, level)

    def chance_between_band(
        self, age: Any, later: Any, X: Any, *, level: float = 0.9, draws: int = 2000, seed: int = 0
    ) -> Band:
        """chance_between with bounds of that level from seeded draws."""
        sample = self._chance(self.draws(draws, seed), age, later, X)
        return _band(self.chance_between(age, later, X), sample, level)

    def part_age(self, chance: float, x: Mapping[str, float] | None = None) -> float:
        """Age by which a whole part is condemned with that chance (.1 gives B10), at the estimate.

        x: covariates that differ from the reference boat's. A wire is the product of its spots.
        """
        return float(part_ages(self.family, self.names, self.estimate[None], chance, x or {})[0])

    def part_age_band(
        self,
        chance: float,
        x: Mapping[str, float] | None = None,
        *,
        level: float = 0.9,
        draws: int = 2000,
        seed: int = 0,
    ) -> Band:
        """part_age with bounds of that level from seeded draws."""
        ages = part_ages(self.family, self.names, self.draws(draws, seed), chance, x or {})
        return _band(np.asarray(self.part_age(chance, x)), ages, level)

    def _log_survival(self, theta: np.ndarray, age: Any, X: Any, boat: float = 0.0) -> np.ndarray:
        """(d, n) for d rows of theta."""
        X = np.atleast_2d(np.asarray(X, dtype=float))
        if X.ndim != 2 or X.shape[1] != len(self.columns):
            raise ValueError(
                f"X must have {len(self.columns)} columns ({', '.join(self.columns)}); "
                f"its shape is {X.shape}."
            )
        location = theta[:, :1] + theta[:, 1:-1] @ X.T + boat
        return log_survival(self.family, age, location, np.exp(theta[:, -1:]))

    def _chance(self, theta: np.ndarray, age: Any, later: Any, X: Any) -> np.ndarray:
        drop = self._log_survival(theta, later, X) - self._log_survival(theta, age, X)
        return -np.expm1(drop)

    def to_dict(self) -> dict[str, Any]:
        """Plain values for JSON; what is not a number becomes None."""
        return {
            "family": self.family,
            "names": list(self.names),
            "estimate": _plain(self.estimate),
            "covariance": _plain(self.covariance),
            "covariance_by_cluster": _plain(self.covariance_by_cluster),
            "log_likelihood": _plain(self.log_likelihood),
            "aic": _plain(self.aic),
            "lives": self.lives,
            "deaths": self.deaths,
            "clusters": self.clusters,
            "left_out": dict(self.left_out),
            "warnings": list(self.warnings),
            "standing": self.standing,
            "fixed": list(self.fixed),
            "prior": self.prior.to_dict() if self.prior else None,
            "boat_spread": self.boat_spread,
            "boat_spread_band": _plain(self.boat_spread_band) if self.boat_spread_band else None,
            "sample": None if self.sample is None else _short(self.sample),
            "evidence": self.evidence.to_dict() if self.evidence else None,
        }

    @classmethod
    def from_dict(cls, stored: Mapping[str, Any]) -> "LifeModel":
        """The model that `to_dict` wrote. Raises KeyError or TypeError on anything else."""
        values = dict(stored)
        for name in ("estimate", "covariance", "covariance_by_cluster"):
            values[name] = np.array(values[name], dtype=float)
        for name in ("log_likelihood", "aic"):
            values[name] = float("nan") if values[name] is None else values[name]
        for name in ("names", "warnings", "fixed"):
            values[name] = tuple(values[name])
        values["prior"] = Prior.from_dict(values["prior"]) if values["prior"] else None
        if values.get("boat_spread_band"):
            values["boat_spread_band"] = tuple(values["boat_spread_band"])
        if values.get("evidence"):
            values["evidence"] = Evidence.from_dict(values["evidence"])
        return cls(**values)


def part_ages(
    family: str, names: Sequence[str], theta: np.ndarray, chance: float, x: Mapping[str, float]
) -> np.ndarray:
    """(d,) ages at which the product of the spots' survival is 1 - chance, per row of theta (d, k).

    The answer lies between the ages at which the first spot alone reaches (1 - chance)^(1/m), m
    spots, and 1 - chance: bisection from there, on log age.
    """
    if not 0 < chance < 1:
        raise ValueError(f"A chance lies between 0 and 1, not {chance}.")
    rows = [{**x, **spot} for spot in spots_of(names)]
    X = np.array([[row.get(name, 0.0) for name in names[1:-1]] for row in rows])
    location = theta[:, :1] + theta[:, 1:-1] @ X.T
    sigma = np.exp(theta[:, -1:])
    point = family_named(family).point
    alive = 1.0 - chance
    low = (location + sigma * point(np.array(alive ** (1 / len(rows))))).min(axis=1)
    high = (location + sigma * point(np.array(alive))).min(axis=1)
    for _ in range(BISECTIONS if len(rows) > 1 else 0):
        middle = 0.5 * (low + high)
        stands = log_survival(family, np.exp(middle[:, None]), location, sigma).sum(axis=1)
        later = stands > np.log(alive)
        low, high = np.where(later, middle, low), np.where(later, high, middle)
    return np.exp(0.5 * (low + high))


def _band(middle: np.ndarray, sample: np.ndarray, level: float) -> Band:
    tail = (1 - level) / 2
    low, high = np.quantile(sample, [tail, 1 - tail], axis=0)
    return Band(low, middle, high)


def _short(sample: np.ndarray) -> list[list[float]]:
    """The rows to so many significant digits: far below what a draw is uncertain by."""
    return [[float(f"{value:.{DIGITS}g}") for value in row] for row in sample.tolist()]


def _plain(value: Any) -> Any:
    if np.ndim(value):
        return [_plain(part) for part in np.asarray(value)]
    return float(value) if np.isfinite(value) else None
