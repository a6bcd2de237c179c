"""The three error distributions of log T = location + sigma * z, written in z.

Formulas: Lawless, Statistical Models and Methods for Lifetime Data (2003), ch. 5 and 6. Each is in
a form that keeps its relative accuracy in both tails, since an interval contributes the logarithm
of a small difference.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.special import expit, log_ndtr, ndtri

Array = np.ndarray
Curve = Callable[[Array], Array]

HALF_LOG_TWO_PI = 0.5 * np.log(2 * np.pi)
WIDE = 30.0  # beyond this gap exp(-gap) is below rounding, and plain subtraction is exact enough


@dataclass(frozen=True)
class Family:
    """One error distribution: functions of the standardised log age z, elementwise.

    density_slope and density_curvature are the first two derivatives of log_density;
    survival_slope and survival_curvature those of log_survival. survival_drop(a, b) is
    log S(a) - log S(b) for a < b, accurate when a and b are close and when both are far out.
    point(s) is the z at which S(z) = s.
    """

    name: str
    log_density: Curve
    density_slope: Curve
    density_curvature: Curve
    log_survival: Curve
    survival_slope: Curve
    survival_curvature: Curve
    survival_drop: Callable[[Array, Array], Array]
    point: Curve


def softplus(z: Array) -> Array:
    return np.logaddexp(z, 0.0)


def log_one_minus_exp(gap: Array) -> Array:
    """log(1 - exp(-gap)) for gap >= 0 (Maechler 2012, note to the R package Rmpfr)."""
    near = np.log(-np.expm1(-np.minimum(gap, np.log(2))))
    return np.where(gap < np.log(2), near, np.log1p(-np.exp(-gap)))


def weibull_drop(a: Array, b: Array) -> Array:
    gap = b - a
    return np.where(gap > WIDE, np.exp(b) - np.exp(a), np.exp(a) * np.expm1(np.minimum(gap, WIDE)))


def logistic_drop(a: Array, b: Array) -> Array:
    gap = b - a
    close = np.log1p(expit(a) * np.expm1(np.minimum(gap, WIDE)))
    return np.where(gap > WIDE, softplus(b) - softplus(a), close)


def normal_log_density(z: Array) -> Array:
    return -0.5 * z * z - HALF_LOG_TWO_PI


def normal_log_survival(z: Array) -> Array:
    return log_ndtr(-z)


def normal_hazard(z: Array) -> Array:
    return np.exp(normal_log_density(z) - normal_log_survival(z))


def normal_survival_curvature(z: Array) -> Array:
    hazard = normal_hazard(z)
    return hazard * (z - hazard)


def normal_drop(a: Array, b: Array) -> Array:
    """The midpoint rule with its second-order term replaces subtraction where that would cancel."""
    middle, gap = 0.5 * (a + b), b - a
    hazard = normal_hazard(middle)
    slope = hazard * (hazard - middle)
    bend = slope * (2 * hazard - middle) - hazard
    close = hazard * gap + bend * gap**3 / 24
    return np.where(gap * (1 + np.abs(middle)) < 1e-3, close, log_ndtr(-a) - log_ndtr(-b))


WEIBULL = Family(
    "weibull",
    log_density=lambda z: z - np.exp(z),
    density_slope=lambda z: -np.expm1(z),
    density_curvature=lambda z: -np.exp(z),
    log_survival=lambda z: -np.exp(z),
    survival_slope=lambda z: -np.exp(z),
    survival_curvature=lambda z: -np.exp(z),
    survival_drop=weibull_drop,
    point=lambda s: np.log(-np.log(s)),
)
LOGNORMAL = Family(
    "lognormal",
    log_density=normal_log_density,
    density_slope=lambda z: -z,
    density_curvature=lambda z: -np.ones_like(z),
    log_survival=normal_log_survival,
    survival_slope=lambda z: -normal_hazard(z),
    survival_curvature=normal_survival_curvature,
    survival_drop=normal_drop,
    point=lambda s: -ndtri(s),
)
LOGLOGISTIC = Family(
    "loglogistic",
    log_density=lambda z: -softplus(z) - softplus(-z),
    density_slope=lambda z: -np.tanh(z / 2),
    density_curvature=lambda z: -2 * expit(z) * expit(-z),
    log_survival=lambda z: -softplus(z),
    survival_slope=lambda z: -expit(z),
    survival_curvature=lambda z: -expit(z) * expit(-z),
    survival_drop=logistic_drop,
    point=lambda s: np.log1p(-s) - np.log(s),
)
FAMILIES = {family.name: family for family in (WEIBULL, LOGNORMAL, LOGLOGISTIC)}


def family_named(name: str) -> Family:
    """The family of that name. Raises ValueError, listing the known names, for any other."""
    if name not in FAMILIES:
        raise ValueError(f"Unknown family {name!r}: use one of {', '.join(FAMILIES)}.")
    return FAMILIES[name]


def log_survival(family: str, age: Array, location: Array, sigma: Array) -> Array:
    """log P(T > age) for log T = location + sigma * z. Arguments broadcast; age 0 gives 0."""
    age, location, sigma = (np.asarray(part, dtype=float) for part in (age, location, sigma))
    with np.errstate(divide="ignore", over="ignore"):
        z = (np.log(age) - location) / sigma
        return family_named(family).log_survival(z)
