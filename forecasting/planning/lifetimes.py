"""Draws of the life models, applied to rows of spots.

log T = intercept + sum(b x) + u + sigma * eps, u the effect of the boat. Everything downstream sees
a location per row and draw, with the boat's effect in it, and so takes its products over spots and
parts given the effect, and its averages over the effect last.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from scipy.special import ndtri, ndtri_exp

from ..survival.boat_effects import effects as boat_effects
from ..survival.boat_likelihood import BoatLikelihood
from ..survival.families import family_named
from ..survival.lives import Lives
from ..survival.model import LifeModel, log_survival
from .spots import Standing

HIGHEST = 80.0  # log of a cumulated hazard that nothing survives, in either precision
NO_SPREAD = 1e-6  # sd of log life between boats below which boats do not differ


@dataclass(frozen=True, eq=False)
class BoatRecords:
    """The lives a kind's model was fitted to, and the code (G,) of the boat of each cluster."""

    lives: Lives
    boats: np.ndarray


@dataclass(frozen=True, eq=False)
class LifeDraws:
    """D draws from the posterior of one life model: slopes (D, p), intercept and sigma (D,).

    spread    (D,) sd of log life between boats; 0 where boats do not differ
    boats     (G,) codes, ascending, of the boats with an effect of their own; effects (G, D)
    stranger  (D,) standard normal: the effect, in spreads, of any boat nothing is known of. One
              draw serves them all, so that two boats alike get the same chance; what adds boats up
              gives each its own (`draw_lives`, `apart`)
    """

    family: str
    columns: tuple[str, ...]
    intercept: np.ndarray
    slopes: np.ndarray
    sigma: np.ndarray
    spread: np.ndarray | None = None
    stranger: np.ndarray | None = None
    boats: np.ndarray = field(default_factory=lambda: np.empty(0, dtype=np.int64))
    effects: np.ndarray | None = None

    def thinned(self, most: int) -> "LifeDraws":
        """About `most` of the draws, evenly spaced."""
        keep = slice(None, None, max(1, self.sigma.size // most))
        per_draw = ("intercept", "slopes", "sigma", "spread", "stranger")
        taken = {name: getattr(self, name) for name in per_draw}
        taken = {name: None if v is None else v[keep] for name, v in taken.items()}
        effects = None if self.effects is None else self.effects[:, keep]
        return replace(self, **taken, effects=effects)

    @property
    def boats_differ(self) -> bool:
        return self.spread is not None and bool((self.spread > NO_SPREAD).any())

    def design(self, standing: Standing) -> np.ndarray:
        """(n, p) covariates of every row, as the model names them. ValueError where one lacks."""
        missing = [name for name in self.columns if name not in standing.columns]
        if missing:
            raise ValueError(f"The model needs {', '.join(missing)}; the parts do not carry it.")
        return standing.X[:, [standing.columns.index(name) for name in self.columns]]

    def location(self, standing: Standing, dtype: type = np.float64) -> np.ndarray:
        """(n, D) location of log T for every row. ValueError where a covariate is missing."""
        location = self.design(standing).astype(dtype) @ self.slopes.T.astype(dtype)
        location += self.intercept.astype(dtype)
        if self.boats_differ:
            location += self.effect(standing.boats).astype(dtype)[_index_of_boat(standing)]
        return location

    def effect(self, boats: np.ndarray) -> np.ndarray:
        """(m, D) effect on log life of these boats (m,) under every draw."""
        effect = np.tile(self.spread * self.stranger, (boats.size, 1))
        if self.boats.size:
            at = np.minimum(np.searchsorted(self.boats, boats), self.boats.size - 1)
            known = self.boats[at] == boats
            effect[known] = self.effects[at[known]]
        return effect


def draw_lives(
    models: Mapping[str, LifeModel],
    draws: int,
    seed: int,
    *,
    records: Mapping[str, BoatRecords] | None = None,
    apart: np.ndarray | None = None,
) -> dict[str, LifeDraws]:
    """`draws` draws of each kind's model; the kinds are drawn apart, the same seed repeats them.

    records: kind -> the lives of its fit, from which each boat in them gets its own effect. apart:
    codes of boats that get one though nothing is known of them, each its own, for sums over boats.
    """
    lives = {}
    for kind in sorted(models):
        seeds = np.random.SeedSequence([seed, *kind.encode()])
        drawn = _drawn(models[kind], draws, int(seeds.generate_state(1)[0]))
        if drawn.boats_differ:
            rng = np.random.default_rng(seeds.spawn(1)[0])
            drawn = _with_effects(drawn, (records or {}).get(kind), apart, rng)
        lives[kind] = drawn
    return lives


def _drawn(model: LifeModel, draws: int, seed: int) -> LifeDraws:
    values = np.asarray(model.draws_with_spread(draws, seed), dtype=float)
    intercept, slopes, sigma = values[:, 0], values[:, 1:-2], np.exp(values[:, -2])
    spread, nobody = values[:, -1], np.zeros(draws)
    return LifeDraws(model.family, model.columns, intercept, slopes, sigma, spread, nobody)


def _with_effects(
    drawn: LifeDraws,
    record: BoatRecords | None,
    apart: np.ndarray | None,
    rng: np.random.Generator,
) -> LifeDraws:
    draws = drawn.sigma.size
    boats, effects = np.empty(0, dtype=np.int64), np.empty((0, draws))
    stranger = _standard_normal(1, draws, rng)[0]
    if record is not None and len(record.lives):
        shares = EvenShares(rng, draws) if apart is None else rng
        boats, effects = record.boats, _given_the_record(drawn, record, shares)
    if apart is not None:
        others = np.setdiff1d(apart, boats)
        own = drawn.spread * _standard_normal(others.size, draws, rng)
        boats, effects = np.append(boats, others), np.vstack((effects, own))
    order = np.argsort(boats)
    return replace(drawn, stranger=stranger, boats=boats[order], effects=effects[order])


class EvenShares:
    """In place of a generator: the same share of (0, 1) for every boat, evenly spread over draws.

    Boats then differ by their records alone, not by chance, whatever they are called and in
    whatever order they come.
    """

    def __init__(self, rng: np.random.Generator, draws: int) -> None:
        self._shares = iter(rng.permutation((np.arange(draws) + 0.5) / draws).tolist())

    def random(self, size: int) -> np.ndarray:
        """(size,) the next share, repeated."""
        return np.full(size, next(self._shares))


def _given_the_record(
    drawn: LifeDraws, record: BoatRecords, rng: "np.random.Generator | EvenShares"
) -> np.ndarray:
    """(G, D) one draw of each boat's effect given its record, under each draw of the model."""
    lives = record.lives.keep(drawn.columns)
    log_spread = np.log(np.maximum(drawn.spread, NO_SPREAD))
    thetas = np.column_stack((drawn.intercept, drawn.slopes, np.log(drawn.sigma), log_spread))
    return boat_effects(BoatLikelihood(family_named(drawn.family), lives), thetas, rng)


def _standard_normal(rows: int, draws: int, rng: np.random.Generator) -> np.ndarray:
    """(rows, draws): each row the same even spread of normal points, in an order of its own."""
    points = np.tile(ndtri((np.arange(draws) + 0.5) / draws), (rows, 1))
    return rng.permuted(points, axis=1)


def _index_of_boat(standing: Standing) -> np.ndarray:
    """(n,) index into `boats` of every row."""
    return standing.boat_of_part[standing.part_of_row]


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
        with np.errstate(divide="ignore"):  # a hazard of 0 is reached at age 0
            eps = np.log(-log_s)
    elif family == "lognormal":
        eps = -ndtri_exp(log_s)
    elif family == "loglogistic":
        eps = -log_s + np.log(-np.expm1(log_s))
    else:
        raise ValueError(f"No life distribution is called {family}.")
    return np.exp(location + sigma * eps)


def log_survival_at(
    family: str, age: np.ndarray, location: np.ndarray, sigma: np.ndarray
) -> np.ndarray:
    """log P(T > age), in the precision of `location`; of the Weibull no lower than -e^80."""
    if family != "weibull":
        return log_survival(family, age, location, sigma)
    with np.errstate(divide="ignore"):
        z = np.log(age).astype(location.dtype) - location
    z /= sigma
    return -np.exp(np.minimum(z, HIGHEST, out=z), out=z)
