"""Draws of the life models, applied to rows of spots.

log T = intercept + sum(b x) + sigma * eps. The boat effect, when the models carry one, belongs in
`location`: everything downstream sees only a location per row and draw.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri_exp

from ..survival.model import LifeModel
from .spots import Standing


@dataclass(frozen=True, eq=False)
class LifeDraws:
    """D draws from the posterior of one life model: slopes (D, p), intercept and sigma (D,)."""

    family: str
    columns: tuple[str, ...]
    intercept: np.ndarray
    slopes: np.ndarray
    sigma: np.ndarray

    def thinned(self, most: int) -> "LifeDraws":
        """About `most` of the draws, evenly spaced."""
        keep = slice(None, None, max(1, self.sigma.size // most))
        slopes, intercept = self.slopes[keep], self.intercept[keep]
        return LifeDraws(self.family, self.columns, intercept, slopes, self.sigma[keep])

    def location(self, standing: Standing) -> np.ndarray:
        """(n, D) location of log T for every row. ValueError where a covariate is missing."""
        missing = [name for name in self.columns if name not in standing.columns]
        if missing:
            raise ValueError(f"The model needs {', '.join(missing)}; the parts do not carry it.")
        X = standing.X[:, [standing.columns.index(name) for name in self.columns]]
        return X @ self.slopes.T + self.intercept


def draw_lives(models: Mapping[str, LifeModel], draws: int, seed: int) -> dict[str, LifeDraws]:
    """`draws` draws of each kind's model; the kinds are drawn apart, the same seed repeats them."""
    lives = {}
    for kind in sorted(models):
        spawned = np.random.SeedSequence([seed, *kind.encode()]).generate_state(1)
        values = np.asarray(models[kind].draws(draws, int(spawned[0])), dtype=float)
        columns = tuple(n for n in models[kind].names if n not in ("intercept", "log_sigma"))
        lives[kind] = LifeDraws(
            models[kind].family, columns, values[:, 0], values[:, 1:-1], np.exp(values[:, -1])
        )
    return lives


def kinds_of(lives: Mapping[str, LifeDraws], standing: Standing) -> list[str]:
    """Kinds that stand, in order. ValueError for a kind without a model."""
    kinds = [str(kind) for kind in np.unique(standing.kind)]
    unknown = [kind for kind in kinds if kind not in lives]
    if unknown:
        raise ValueError(f"No life model for parts of kind {', '.join(unknown)}.")
    return kinds


def age_at(family: str, log_s: np.ndarray, location: np.ndarray, sigma: np.ndarray) -> np.ndarray:
    """The age whose log survival is `log_s` (< 0): the inverse of `log_survival`, broadcasting."""
    if family == "weibull":
        eps = np.log(-log_s)
    elif family == "lognormal":
        eps = -ndtri_exp(log_s)
    elif family == "loglogistic":
        eps = -log_s + np.log(-np.expm1(log_s))
    else:
        raise ValueError(f"No life distribution is called {family}.")
    return np.exp(location + sigma * eps)
