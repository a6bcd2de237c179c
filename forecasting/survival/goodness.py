"""Does the fitted curve follow what was seen? Against the estimate that has no model.

The curve beside Turnbull's steps is not that of one boat but of those at risk at each age: its
cumulated hazard grows by their mean hazard (Ederer and Heise 1959, the expected curve of relative
survival), since who is watched changes with age. Cox and Snell 1968, J. Royal Statistical Society
B 30: the cumulated hazards of the rows' ages are lives of a unit exponential if the model is right.
"""

from dataclasses import dataclass

import numpy as np

from .lives import Lives
from .model import LifeModel
from .turnbull import Steps, turnbull

AT_RISK = 10.0  # weight of lives under observation, below which nothing is compared
GRID = 120
ROWS_AT_ONCE = 20_000


@dataclass(frozen=True, eq=False)
class Comparison:
    """Steps seen beside a curve. ages, curve: (g,) from steps.start to steps.end.

    gap: largest distance between the two, 0 to 1, of the curve from the nearest level the steps
    allow there; at: the age of it; above: the curve stands above what was seen there; error:
    Greenwood's standard error of the steps at that age, wider by as much as the boats' own sums
    vary more than those of rows would. lives, deaths: sums of weights.
    """

    steps: Steps
    ages: np.ndarray
    curve: np.ndarray
    gap: float
    at: float
    above: bool
    error: float
    lives: float
    deaths: float


def beside_steps(model: LifeModel, lives: Lives) -> Comparison | None:
    """Compare the model's curve for these lives with their steps; None where too few are at risk.

    lives: with the model's columns, in its order.
    """
    steps = turnbull(lives, least_at_risk=AT_RISK)
    if steps is None or not lives.died.any():
        return None
    ages = np.linspace(steps.start, steps.end, GRID)
    together = boats_together(model, lives)
    return _compared(steps, ages, expected_curve(model, lives, ages), lives, together)


def cox_snell(model: LifeModel, lives: Lives) -> Comparison | None:
    """Compare the rows' cumulated hazards with a unit exponential; ages are cumulated hazards."""
    hazards = Lives(
        entry=cumulated_hazard(model, lives.entry, lives.X),
        good=cumulated_hazard(model, lives.good, lives.X),
        condemned=_later(model, lives),
        failed=cumulated_hazard(model, lives.failed, lives.X),
        weight=lives.weight,
        cluster=lives.cluster,
    )
    steps = turnbull(hazards, least_at_risk=AT_RISK)
    if steps is None or not lives.died.any():
        return None
    ages = np.linspace(steps.start, steps.end, GRID)
    together = boats_together(model, lives)
    return _compared(steps, ages, np.exp(steps.start - ages), hazards, together)


def _later(model: LifeModel, lives: Lives) -> np.ndarray:
    """The hazard at which each row was condemned, above that of its last sight even at rounding."""
    good = cumulated_hazard(model, lives.good, lives.X)
    condemned = cumulated_hazard(model, lives.condemned, lives.X)
    return np.where(lives.between, np.maximum(condemned, np.nextafter(good, np.inf)), np.inf)


def cumulated_hazard(model: LifeModel, age: np.ndarray, X: np.ndarray) -> np.ndarray:
    """-log S of any boat, (n,), or (n, g) for ages (n, g); nan and inf stay themselves."""
    survival = model.survival_across_boats if model.boat_spread else model.survival
    known = np.where(np.isfinite(age), age, 1.0)
    with np.errstate(divide="ignore"):
        rows = [-np.log(survival(column, X)) for column in np.atleast_2d(known.T)]
    hazard = np.maximum(np.stack(rows, axis=-1).reshape(np.shape(age)), 0.0)
    return np.where(np.isfinite(age), hazard, age)


def expected_curve(model: LifeModel, lives: Lives, ages: np.ndarray) -> np.ndarray:
    """(g,) survival past `ages` of those alive at ages[0], by the mean hazard of those at risk.

    A row that died in an interval is at risk at an age in it with the model's own chance.
    """
    middle = 0.5 * (ages[1:] + ages[:-1])
    risk, grown = np.zeros(middle.size), np.zeros(middle.size)
    for start in range(0, len(lives), ROWS_AT_ONCE):
        rows = lives.take(np.arange(start, min(start + ROWS_AT_ONCE, len(lives))))
        hazard = cumulated_hazard(model, np.broadcast_to(ages, (len(rows), ages.size)), rows.X)
        watched = rows.weight[:, None] * _at_risk(model, rows, middle)
        risk += watched.sum(axis=0)
        grown += (watched * np.diff(hazard, axis=1)).sum(axis=0)
    mean = np.divide(grown, risk, out=np.zeros_like(grown), where=risk > 0)
    return np.exp(-np.concatenate([[0.0], np.cumsum(mean)]))


def _at_risk(model: LifeModel, lives: Lives, ages: np.ndarray) -> np.ndarray:
    """(n, g) chance that each row was alive and watched at each age, given how it ended."""
    last = np.where(lives.exact, lives.failed, lives.good)[:, None]
    sure = (lives.entry[:, None] < ages) & (ages <= last)
    inside = lives.between[:, None] & (ages > last) & (ages < lives.condemned[:, None])
    if not inside.any():
        return sure.astype(float)
    died = np.flatnonzero(lives.between)
    rows = lives.take(died)
    there = np.exp(-cumulated_hazard(model, np.broadcast_to(ages, (len(rows), ages.size)), rows.X))
    top = np.exp(-cumulated_hazard(model, rows.good, rows.X))[:, None]
    bottom = np.exp(-cumulated_hazard(model, rows.condemned, rows.X))[:, None]
    share = (there - bottom) / np.maximum(top - bottom, 1e-300)
    chance = sure.astype(float)
    chance[died] = np.where(inside[died], np.clip(share, 0, 1), chance[died])
    return chance


def boats_together(model: LifeModel, lives: Lives) -> float:
    """How many times the standard error grows because the parts of one boat go together, 1 or more.

    The root of the sum over boats of their squared surplus of deaths over that of rows.
    """
    last = np.where(lives.exact, lives.failed, lives.good)
    middle = np.where(lives.between, 0.5 * (last + lives.condemned), last)
    laid_up = cumulated_hazard(model, middle, lives.X) - cumulated_hazard(
        model, lives.entry, lives.X
    )
    surplus = lives.weight * (lives.died - laid_up)
    boats = np.unique(lives.cluster, return_inverse=True)[1]
    by_boat = np.bincount(boats, weights=surplus)
    return float(np.sqrt(max(by_boat @ by_boat / max(surplus @ surplus, 1e-300), 1.0)))


def _compared(
    steps: Steps, ages: np.ndarray, curve: np.ndarray, lives: Lives, together: float
) -> Comparison:
    low, high = steps.bounds(ages)
    gap = np.maximum(curve - high, low - curve)
    worst = int(gap.argmax())
    return Comparison(
        steps=steps,
        ages=ages,
        curve=curve,
        gap=float(max(gap[worst], 0.0)),
        at=float(ages[worst]),
        above=bool(curve[worst] > high[worst]),
        error=float(steps.errors(ages[worst : worst + 1])[0]) * together,
        lives=float(lives.weight.sum()),
        deaths=lives.deaths,
    )
