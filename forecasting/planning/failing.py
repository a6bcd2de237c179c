"""Chance of failing in service: standing condemned unseen, times the chance to break in a season.

A part is condemnable before it breaks. q, the breakages per season spent condemned and unseen,
is Gamma with mean 1/30 and the weight of ten breakages in 300 condemned seasons before the fleet
has any of its own (common practice, no source; the order of magnitude agrees with 0.54 %
dismastings per vessel-year, US Coast Guard inspector training, July 2014).
"""

from dataclasses import dataclass

import numpy as np

from ..survival.model import LifeModel, log_survival
from .lifetimes import age_at, draw_lives

PRIOR_BREAKAGES = 10.0
PRIOR_SEASONS = 300.0


@dataclass(frozen=True)
class BreakageRate:
    """Gamma posterior of q, breakages per season a part stands condemned."""

    breakages: float = PRIOR_BREAKAGES
    seasons: float = PRIOR_SEASONS

    @property
    def mean(self) -> float:
        return self.breakages / self.seasons

    def updated(self, breakages: float, condemned_seasons: float) -> "BreakageRate":
        """With the fleet's own breakages in the seasons its parts stood condemned unseen."""
        if breakages < 0 or condemned_seasons < 0:
            raise ValueError("Breakages and condemned seasons cannot be negative.")
        return BreakageRate(self.breakages + breakages, self.seasons + condemned_seasons)

    def draws(self, n: int, rng: np.random.Generator) -> np.ndarray:
        """(n,) draws of q."""
        return rng.gamma(self.breakages, 1 / self.seasons, n)


def chance_of_failing(
    unseen: np.ndarray, rate: BreakageRate, *, seasons: float = 1.0
) -> np.ndarray:
    """(m,) chance of letting go: the mean of `unseen` (m, T) over the season, times q.

    unseen: chance of standing condemned unseen at T dates spread over the season, per part or per
    boat. Never above the chance of being condemned itself.
    """
    standing = np.asarray(unseen, dtype=float).mean(axis=1)
    return standing * min(1.0, rate.mean * seasons)


def seasons_condemned(
    model: LifeModel,
    columns: tuple[str, ...],
    X: np.ndarray,
    good: np.ndarray,
    ended: np.ndarray,
    *,
    draws: int = 200,
    seed: int = 0,
) -> float:
    """Expected seasons the condemned of a fleet stood unseen, to update the rate with.

    X (m, p), good, ended (m,): spots last seen good at age `good` and found condemned, or broken,
    at age `ended`. The moment lies between with the density of the model, so each counts
    ended - E[T | good < T <= ended], by midpoints in probability. ValueError unless good < ended,
    both finite.
    """
    if not (np.isfinite(ended) & (good < ended)).all():
        raise ValueError(
            "A condemned part needs the age at which it was found, after its last sight."
        )
    life = draw_lives({"part": model}, draws, seed)["part"]
    location = X[:, [columns.index(name) for name in life.columns]] @ life.slopes.T + life.intercept
    good_s = np.exp(log_survival(life.family, good[:, None], location, life.sigma))
    gone_s = np.exp(log_survival(life.family, ended[:, None], location, life.sigma))
    waits = []
    for share in (np.arange(16) + 0.5) / 16:
        alive = np.clip(good_s + share * (gone_s - good_s), 1e-300, 1 - 1e-16)
        age = age_at(life.family, np.log(alive), location, life.sigma)
        waits.append(ended[:, None] - np.clip(age, good[:, None], ended[:, None]))
    return float(np.mean(waits, axis=(0, 2)).sum())
