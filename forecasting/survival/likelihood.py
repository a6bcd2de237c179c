"""Closed-form log-likelihood, score and Hessian of an accelerated failure time model.

theta = (intercept, slopes, log sigma) for log T = intercept + X slopes + sigma * z. A row gives

    exact      log f(failed) - log S(entry)
    interval   log(S(good) - S(condemned)) - log S(entry)
    alive      log S(good) - log S(entry)

times its weight (Lawless 2003, ch. 2). Derivatives are taken row by row with respect to the row's
location and to log sigma, then carried to theta by the design matrix.
"""

from dataclasses import dataclass

import numpy as np

from .families import Family, log_one_minus_exp
from .lives import Lives


@dataclass
class RowTerms:
    """Per row: the value and its derivatives in the location m and in s = log sigma, each (n,)."""

    value: np.ndarray
    m: np.ndarray
    s: np.ndarray
    mm: np.ndarray
    ms: np.ndarray
    ss: np.ndarray

    @classmethod
    def zeros(cls, n: int) -> "RowTerms":
        return cls(*(np.zeros(n) for _ in range(6)))

    def add(self, rows: np.ndarray, terms: tuple[np.ndarray, ...], sign: float = 1.0) -> None:
        total = (self.value, self.m, self.s, self.mm, self.ms, self.ss)
        for column, part in zip(total, terms, strict=True):
            column[rows] += sign * part


@dataclass(frozen=True)
class Evaluation:
    """value (-inf where it underflows); score (k,); hessian (k, k); k = p + 2."""

    value: float
    score: np.ndarray
    hessian: np.ndarray

    @property
    def finite(self) -> bool:
        return bool(
            np.isfinite(self.value)
            and np.isfinite(self.score).all()
            and np.isfinite(self.hessian).all()
        )


class Likelihood:
    """The likelihood of fixed lives under one family; call with theta, (p + 2,)."""

    def __init__(self, family: Family, lives: Lives) -> None:
        self.family = family
        self.weight = lives.weight
        self.design = np.column_stack([np.ones(len(lives)), lives.X])
        self.exact = np.flatnonzero(lives.exact)
        self.between = np.flatnonzero(lives.between)
        self.alive = np.flatnonzero(~lives.died & (lives.good > 0))
        self.late = np.flatnonzero(lives.entry > 0)
        with np.errstate(divide="ignore"):
            self.log_failed = np.log(lives.failed[self.exact])
            self.log_lower = np.log(lives.good[self.between])
            self.log_upper = np.log(lives.condemned[self.between])
            self.log_good = np.log(lives.good[self.alive])
            self.log_entry = np.log(lives.entry[self.late])

    def __call__(self, theta: np.ndarray) -> Evaluation:
        """Value, score and Hessian at theta."""
        rows = self._rows(theta)
        with np.errstate(over="ignore", invalid="ignore"):
            value = float(self.weight @ rows.value)
            score = np.append(self.design.T @ (self.weight * rows.m), self.weight @ rows.s)
            hessian = self._hessian(rows)
        return Evaluation(value if np.isfinite(value) else -np.inf, score, hessian)

    def row_scores(self, theta: np.ndarray) -> np.ndarray:
        """(n, k): each row's weighted score; they sum to the score."""
        rows = self._rows(theta)
        return self.weight[:, None] * np.column_stack([self.design * rows.m[:, None], rows.s])

    def row_values(self, theta: np.ndarray) -> np.ndarray:
        """(n,): each row's log-likelihood, unweighted."""
        return self._rows(theta).value

    def _hessian(self, rows: RowTerms) -> np.ndarray:
        k = self.design.shape[1]
        hessian = np.empty((k + 1, k + 1))
        hessian[:k, :k] = self.design.T @ ((self.weight * rows.mm)[:, None] * self.design)
        hessian[:k, k] = hessian[k, :k] = self.design.T @ (self.weight * rows.ms)
        hessian[k, k] = self.weight @ rows.ss
        return hessian

    def _rows(self, theta: np.ndarray) -> RowTerms:
        return self.rows_at(self.design @ theta[:-1], theta[-1])

    def rows_at(self, location: np.ndarray, log_sigma: float) -> RowTerms:
        """The unweighted terms of every row at its location (n,)."""
        sigma = np.exp(log_sigma)
        rows = RowTerms.zeros(len(location))
        with np.errstate(over="ignore", invalid="ignore", divide="ignore", under="ignore"):
            z = (self.log_failed - location[self.exact]) / sigma
            rows.add(self.exact, exact_terms(self.family, z, self.log_failed, sigma))
            z = (self.log_good - location[self.alive]) / sigma
            rows.add(self.alive, survival_terms(self.family, z, sigma))
            z = (self.log_entry - location[self.late]) / sigma
            rows.add(self.late, survival_terms(self.family, z, sigma), sign=-1.0)
            lower = (self.log_lower - location[self.between]) / sigma
            upper = (self.log_upper - location[self.between]) / sigma
            rows.add(self.between, interval_terms(self.family, lower, upper, sigma))
        return rows


def exact_terms(
    family: Family, z: np.ndarray, log_age: np.ndarray, sigma: float
) -> tuple[np.ndarray, ...]:
    """log f and its derivatives: dz/dm = -1/sigma, dz/ds = -z."""
    slope, curvature = family.density_slope(z), family.density_curvature(z)
    return (
        family.log_density(z) - np.log(sigma) - log_age,
        -slope / sigma,
        -z * slope - 1,
        curvature / sigma**2,
        (z * curvature + slope) / sigma,
        z * z * curvature + z * slope,
    )


def survival_terms(family: Family, z: np.ndarray, sigma: float) -> tuple[np.ndarray, ...]:
    """log S and its derivatives."""
    slope, curvature = family.survival_slope(z), family.survival_curvature(z)
    return (
        family.log_survival(z),
        -slope / sigma,
        -z * slope,
        curvature / sigma**2,
        (z * curvature + slope) / sigma,
        z * z * curvature + z * slope,
    )


def interval_terms(
    family: Family, lower: np.ndarray, upper: np.ndarray, sigma: float
) -> tuple[np.ndarray, ...]:
    """log D, D = S(lower) - S(upper), and its derivatives.

    The derivatives of D are differenced before they are squared: squaring first would lose twice
    as many digits on a narrow interval.
    """
    log_gap = family.log_survival(lower) + log_one_minus_exp(family.survival_drop(lower, upper))
    f0, slope0, z0 = _edge(family, lower, log_gap)
    f1, slope1, z1 = _edge(family, upper, log_gap)
    bend0, bend1 = f0 * slope0, f1 * slope1
    m = -(f1 - f0) / sigma
    s = -(z1 * f1 - z0 * f0)
    mm = (bend1 - bend0) / sigma**2
    ms = ((z1 * bend1 + f1) - (z0 * bend0 + f0)) / sigma
    ss = z1 * (f1 + z1 * bend1) - z0 * (f0 + z0 * bend0)
    return log_gap, m, s, mm - m * m, ms - m * s, ss - s * s


def _edge(
    family: Family, z: np.ndarray, log_gap: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Density at an edge over D, the slope of its logarithm, and z; all 0 where it has no mass."""
    density = np.exp(family.log_density(z) - log_gap)
    here = np.isfinite(z) & (density > 0)
    return (
        np.where(here, density, 0.0),
        np.where(here, family.density_slope(z), 0.0),
        np.where(here, z, 0.0),
    )
