"""How good was a forecast? Every later look at a spot is one trial; nothing is imputed.

A spot seen good at age L and looked at again at age U is condemned there with chance
p = 1 - S(U) / S(L), whatever happened in between. The looks of one boat are not independent, so
what was found is set against what was expected with errors clustered by boat. A concordance index
and a Brier score at mid-interval are not used: under interval censoring neither is valid.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from scipy.special import ndtr

from .boat_effects import effects
from .boat_likelihood import BoatLikelihood
from .families import family_named, log_survival
from .lives import Lives
from .model import LifeModel

LEAST_CHANCE = 1e-9  # a forecast of 0 that comes true would have an infinite score
ERROR_LOOKED_FOR = 0.2
SIGNIFICANT = 1.959963984540054
LEAST_SPREAD = 1e-4
FEWEST_BOATS = 10  # below, sums by boat say nothing of their own spread


@dataclass(frozen=True, eq=False)
class Trials:
    """n looks at spots. start, end: ages at the last sight before and at this look, start < end.

    outcome: 1 condemned, 0 not; between them where a death is shared over spots. boat: (n,) codes.
    X: (n, p) covariates as known when the forecast was made, named by names.
    """

    boat: np.ndarray
    start: np.ndarray
    end: np.ndarray
    outcome: np.ndarray
    X: np.ndarray
    names: tuple[str, ...]

    def __post_init__(self) -> None:
        if not (np.asarray(self.start) < np.asarray(self.end)).all():
            raise ValueError("A look must come after the sight before it.")
        if np.shape(self.X) != (len(self.boat), len(self.names)):
            raise ValueError(f"X has shape {np.shape(self.X)} for {len(self.boat)} looks.")

    def __len__(self) -> int:
        return len(self.boat)

    @classmethod
    def together(cls, windows: Sequence["Trials"]) -> "Trials":
        """Looks of several windows, with the same columns, as one."""
        parts = ("boat", "start", "end", "outcome", "X")
        return cls(*(np.concatenate([getattr(each, part) for each in windows]) for part in parts),
                   windows[0].names)  # fmt: skip

    def take(self, rows: np.ndarray) -> "Trials":
        parts = ("boat", "start", "end", "outcome", "X")
        return replace(self, **{part: getattr(self, part)[rows] for part in parts})

    def columns(self, names: tuple[str, ...]) -> np.ndarray:
        """(n, len(names)) the covariates a model asks for, in its order; KeyError for others."""
        missing = [name for name in names if name not in self.names]
        if missing:
            raise KeyError(f"The looks have no column {missing[0]!r}.")
        return self.X[:, [self.names.index(name) for name in names]]


@dataclass(frozen=True, eq=False)
class Record:
    """The lives a forecast was made from, and the boat of each: (n,) codes as in `Trials`."""

    lives: Lives
    boats: np.ndarray


@dataclass(frozen=True, eq=False)
class Predicted:
    """chance: (n,) mean over draws. means, counts: (draws,) how many would be condemned by each
    draw on average, and in one simulated outcome of it."""

    chance: np.ndarray
    means: np.ndarray
    counts: np.ndarray

    @property
    def doubt(self) -> float:
        """Standard deviation of the mean count over draws, as a share of it."""
        return float(self.means.std() / self.means.mean()) if self.means.any() else 0.0

    def interval(self, level: float = 0.9) -> tuple[float, float]:
        """Bounds of the count that hold at least that share of the simulated ones."""
        tail = (1 - level) / 2
        low = np.quantile(self.counts, tail, method="lower")
        return float(low), float(np.quantile(self.counts, 1 - tail, method="higher"))

    @classmethod
    def together(cls, windows: Sequence["Predicted"]) -> "Predicted":
        """Forecasts of several years with as many draws each, as one.

        What the model did not know of the fleet it did not know all along: draws are put together
        by their rank, while chance is each year's own.
        """
        means = sum(np.sort(each.means) for each in windows)
        noise = sum(each.counts - each.means for each in windows)
        counts = np.maximum(np.round(means + noise), 0)
        return cls(np.concatenate([each.chance for each in windows]), means, counts)


def predict(
    model: LifeModel,
    trials: Trials,
    record: Record | None = None,
    *,
    draws: int = 200,
    seed: int = 0,
) -> Predicted:
    """Forecast looks with what the model does not know of itself: its draws, not its estimate.

    Plug-in intervals of a count are too narrow: they hold the truth seven times in ten when they
    say nine. record: what was known when the forecast was made; each boat on it is forecast with
    its own effect given that record, every other boat with any effect the spread allows.
    """
    rng = np.random.default_rng(seed)
    X = trials.columns(model.columns)
    thetas = model.draws_with_spread(draws, seed)
    own, code = _own_effects(model, thetas, record, trials.boat, rng)
    chance, means, counts = np.zeros(len(trials)), np.zeros(draws), np.zeros(draws)
    for d, theta in enumerate(thetas):
        location = theta[0] + X @ theta[1:-2] + own[code, d]
        p = _gone(model.family, trials, location, np.exp(theta[-2]))
        chance += p / draws
        means[d] = p.sum()
        counts[d] = np.count_nonzero(rng.random(p.size) < p)
    return Predicted(chance, means, counts)


def _own_effects(
    model: LifeModel,
    thetas: np.ndarray,
    record: Record | None,
    boat: np.ndarray,
    rng: np.random.Generator,
) -> tuple[np.ndarray, np.ndarray]:
    """(boats of the looks, draws) of effects on log life, and the row of each look among them."""
    boats, code = np.unique(boat, return_inverse=True)
    found = thetas[:, -1] * rng.standard_normal((boats.size, len(thetas)))
    if record is None or not len(record.lives) or not (thetas[:, -1] > 0).any():
        return found, code
    likelihood = BoatLikelihood(family_named(model.family), record.lives.keep(model.columns))
    logs = np.column_stack([thetas[:, :-1], np.log(np.maximum(thetas[:, -1], LEAST_SPREAD))])
    known = effects(likelihood, logs, rng)
    there = np.unique(record.boats)
    shared = np.isin(boats, there)
    found[shared] = known[np.searchsorted(there, boats[shared])]
    return found, code


def _gone(family: str, trials: Trials, location: np.ndarray, sigma: float) -> np.ndarray:
    later = log_survival(family, trials.end, location, sigma)
    return -np.expm1(later - log_survival(family, trials.start, location, sigma))


# -- what was found against what was expected


@dataclass(frozen=True)
class Tally:
    """Looks of one group. error: of (observed - expected), clustered by boat, never below the
    binomial one, with the model's own doubt; z: in such errors; power: the chance that an error of
    20 % would show itself."""

    looks: int
    boats: int
    expected: float
    observed: float
    error: float

    @property
    def ratio(self) -> float:
        return self.observed / self.expected if self.expected else float("nan")

    @property
    def z(self) -> float:
        return (self.observed - self.expected) / self.error if self.error else 0.0

    @property
    def power(self) -> float:
        shift = ERROR_LOOKED_FOR * self.expected / self.error if self.error else 0.0
        return float(ndtr(shift - SIGNIFICANT) + ndtr(-shift - SIGNIFICANT))


def tally(trials: Trials, chance: np.ndarray, doubt: float = 0.0) -> Tally:
    """Count one group of looks. doubt: of the expected count, as a share of it."""
    surplus = trials.outcome - chance
    plain = float((chance * (1 - chance)).sum())
    by_boat = _sums_by_boat(trials.boat, surplus)
    clustered = float(by_boat @ by_boat) * _small_sample(by_boat.size)
    return Tally(
        looks=len(trials),
        boats=by_boat.size,
        expected=float(chance.sum()),
        observed=float(trials.outcome.sum()),
        error=float(np.hypot(np.sqrt(max(clustered, plain)), doubt * chance.sum())),
    )


def tallies(
    trials: Trials, chance: np.ndarray, groups: Mapping[str, np.ndarray], doubt: float = 0.0
) -> dict[str, dict[str, Tally]]:
    """Count by each grouping: name -> label of every look -> its tally, labels in sorted order."""
    return {
        name: {
            str(label): tally(trials.take(labels == label), chance[labels == label], doubt)
            for label in np.unique(labels)
        }
        for name, labels in groups.items()
    }


# -- one forecast against another


@dataclass(frozen=True)
class Scores:
    """Mean over looks of the logarithm of the chance given to what happened (higher is better),
    and of the squared error (lower is better)."""

    log_score: float
    brier: float


@dataclass(frozen=True)
class Gain:
    """Log score gained over another forecast, summed over looks; its error clustered by boat."""

    total: float
    error: float
    boats: int

    @property
    def verdict(self) -> str:
        """``better`` or ``worse`` beyond two standard errors, else ``no telling``."""
        if self.boats < FEWEST_BOATS or abs(self.total) <= 2 * self.error:
            return "no telling"
        return "better" if self.total > 0 else "worse"


def scores(trials: Trials, chance: np.ndarray) -> Scores:
    return Scores(
        log_score=float(log_scores(trials, chance).mean()),
        brier=float(((trials.outcome - chance) ** 2).mean()),
    )


def log_scores(trials: Trials, chance: np.ndarray) -> np.ndarray:
    """(n,) logarithm of the chance that was given to what was found."""
    p = np.clip(chance, LEAST_CHANCE, 1 - LEAST_CHANCE)
    return trials.outcome * np.log(p) + (1 - trials.outcome) * np.log1p(-p)


def gain(trials: Trials, chance: np.ndarray, other: np.ndarray) -> Gain:
    """Return what `chance` gains over `other` on the same looks."""
    by_boat = _sums_by_boat(trials.boat, log_scores(trials, chance) - log_scores(trials, other))
    around = by_boat - by_boat.mean() if by_boat.size else by_boat
    error = np.sqrt(around @ around * _small_sample(by_boat.size))
    return Gain(float(by_boat.sum()), float(error), by_boat.size)


def _sums_by_boat(boat: np.ndarray, values: np.ndarray) -> np.ndarray:
    return np.bincount(np.unique(boat, return_inverse=True)[1], weights=values)


def _small_sample(boats: int) -> float:
    return boats / (boats - 1) if boats > 1 else 1.0
