"""Simpler forecasts a good one has to beat, each learnt from the same lives on the same day.

A constant hazard knows no age. The age rule knows one thing, whether a part is past the rule's
age: two hazards, one on each side, are the best forecast that can be made of that knowledge. Age
alone is a Weibull life without ground and use.
"""

from dataclasses import dataclass

import numpy as np

from .back_test import Trials
from .fit import fit
from .lives import Lives
from .model import LifeModel
from .prior import SPOTS
from .refusal import Refusal

ROUNDS = 200
SETTLED = 1e-9
# Believed before any record, so that a spot of which none has died is not thought immortal.
HALF_A_DEATH, IN_YEARS = 0.5, 25.0


@dataclass(frozen=True, eq=False)
class Hazards:
    """Hazards a year, (spots, 2), before and past the age `cut` (inf: one hazard for all ages)."""

    cut: float
    rates: np.ndarray

    def chance(self, trials: Trials) -> np.ndarray:
        """(n,) chance that each look condemns."""
        rates = self.rates[_spot(trials.X, trials.names)]
        young, old = _years(trials.start, trials.end, self.cut)
        return -np.expm1(-(rates[:, 0] * young + rates[:, 1] * old))


def hazards(lives: Lives, cut: float = np.inf) -> Hazards:
    """Hazards by spot before and past an age: the likeliest, but for half a death in 25 years.

    By expectation and maximisation: deaths and years at risk in each band, expected given the
    hazards so far and the interval in which each death lies (Dempster, Laird and Rubin 1977).
    """
    spot, count = _spot(lives.X, lives.names), len(_spots(lives.names))
    last = np.where(lives.exact, lives.failed, lives.good)
    watched = _by_spot(spot, count, lives.weight, *_years(lives.entry, last, cut))
    rates = np.full((count, 2), 0.02)
    died = np.flatnonzero(lives.died)
    until = np.where(lives.exact, lives.failed, lives.condemned)[died]
    interval = (last[died], until, cut)
    for _ in range(ROUNDS):
        deaths, years = _expected(rates[spot[died]], *interval)
        gone = _by_spot(spot[died], count, lives.weight[died], *deaths)
        at_risk = watched + _by_spot(spot[died], count, lives.weight[died], *years)
        fresh = (gone + HALF_A_DEATH) / (at_risk + IN_YEARS)
        moved, rates = np.abs(fresh - rates).max(), fresh
        if moved < SETTLED:
            break
    return Hazards(cut, rates)


def age_alone(lives: Lives, otherwise: LifeModel) -> LifeModel:
    """The Weibull without ground and use; `otherwise` where that cannot be fitted."""
    spots = [name for name in SPOTS[1:] if name in lives.names]
    outcome = fit(lives.keep(spots))
    return otherwise if isinstance(outcome, Refusal) else outcome


def _expected(
    rates: np.ndarray, last: np.ndarray, until: np.ndarray, cut: float
) -> tuple[tuple[np.ndarray, ...], tuple[np.ndarray, ...]]:
    """Deaths and years at risk in both bands, of lives that died between two ages."""
    young, old = _years(last, until, cut)
    first, second = rates[:, 0] * young, rates[:, 1] * old
    total = np.maximum(-np.expm1(-(first + second)), 1e-300)
    early = np.where(last == until, until <= cut, -np.expm1(-first) / total)
    before = early * _mean_until_death(rates[:, 0], young) + (1 - early) * young
    return (early, 1 - early), (before, (1 - early) * _mean_until_death(rates[:, 1], old))


def _mean_until_death(rate: np.ndarray, length: np.ndarray) -> np.ndarray:
    """Mean of an exponential life known to end within `length`; half of it where that is short."""
    reach = rate * length
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = 1 / rate - length / np.expm1(reach)
    return np.where(reach > 1e-6, mean, length / 2)


def _years(start: np.ndarray, end: np.ndarray, cut: float) -> tuple[np.ndarray, np.ndarray]:
    return np.maximum(np.minimum(end, cut) - start, 0), np.maximum(end - np.maximum(start, cut), 0)


def _spots(names: tuple[str, ...]) -> list[str]:
    return ["", *(name for name in SPOTS[1:] if name in names)]


def _spot(X: np.ndarray, names: tuple[str, ...]) -> np.ndarray:
    """(n,) index of each row's spot among `_spots`."""
    index = np.zeros(len(X), dtype=int)
    for k, name in enumerate(_spots(names)[1:], start=1):
        index[X[:, names.index(name)] == 1] = k
    return index


def _by_spot(
    spot: np.ndarray, count: int, weight: np.ndarray, young: np.ndarray, old: np.ndarray
) -> np.ndarray:
    columns = [np.bincount(spot, weights=weight * part, minlength=count) for part in (young, old)]
    return np.column_stack(columns)
