"""Economic renewal ages of all parts at once, on a grid of ages: for lists, not for charts.

Parts with the same covariates share a survival curve, and differ only in prices; so
g(T) = Cu E[1/I] - (Cu - Cp) E[S/I], with I = integral_0^T S, needs the two means once per curve.
Agrees with `renewal_age` to about half a percent of the age.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.integrate import cumulative_simpson

from ..survival.model import LifeModel, log_survival
from .lifetimes import LifeDraws, draw_lives, kinds_of
from .renewal_age import FLAT, LEAST_GAIN, MAY_NOT_WEAR
from .spots import Standing

_GRID = 120
_GONE = 2.6  # log of 13.5: a Weibull draw has one in a million left where log T = mu + 2.6 sigma


@dataclass(frozen=True, eq=False)
class RenewalAges:
    """Per part (P,), in the order of `standing.parts`: age of least cost (inf: inspect and keep),
    the cost per year of a part renewed at that age, and the ages between which that cost is within
    2 % of the least (`flat_until` inf where keeping is too)."""

    age: np.ndarray
    cost_rate: np.ndarray
    flat_from: np.ndarray
    flat_until: np.ndarray


def renewal_ages(
    models: Mapping[str, LifeModel],
    standing: Standing,
    planned: np.ndarray,
    unplanned: np.ndarray,
    *,
    draws: int = 100,
    seed: int = 0,
) -> RenewalAges:
    """planned, unplanned: (P,) cost of either renewal of each part. ValueError unless above 0."""
    planned, unplanned = np.asarray(planned, dtype=float), np.asarray(unplanned, dtype=float)
    if (planned <= 0).any() or (unplanned <= 0).any():
        raise ValueError("The cost of a renewal, planned and unplanned, must be above 0.")
    lives = draw_lives(models, draws, seed)
    found = np.empty((4, planned.size))
    for kind in kinds_of(lives, standing):
        parts = np.flatnonzero(standing.kind_of_part == kind)
        rows = standing.kind == kind
        curves = _curves(lives[kind], standing.take(rows))
        found[:, parts] = _least(lives[kind], curves, planned[parts], unplanned[parts])
    return RenewalAges(*found)


@dataclass(frozen=True, eq=False)
class _Curves:
    """Per distinct profile (C, G): ages, E[1/I], E[S/I]; curve: (P,) the profile of each part."""

    ages: np.ndarray
    one: np.ndarray
    alive: np.ndarray
    curve: np.ndarray


def _curves(life: LifeDraws, standing: Standing) -> _Curves:
    first, curve = _profiles(standing)
    row_ends = np.append(standing.part_starts, standing.part.size)
    location = life.location(standing)
    curves = [_one_curve(life, location[row_ends[p] : row_ends[p + 1]]) for p in first]
    ages, one, alive = (np.array(values) for values in zip(*curves, strict=True))
    return _Curves(ages, one, alive, curve)


def _profiles(standing: Standing) -> tuple[np.ndarray, np.ndarray]:
    """A part of each distinct profile (C,), and the profile of every part (P,).

    A profile is the covariates of all spots of a part; parts with fewer spots are filled with inf.
    """
    within = np.arange(standing.part.size) - standing.part_starts[standing.part_of_row]
    most = within.max() + 1
    table = np.full((standing.parts.size, most, len(standing.columns)), np.inf)
    table[standing.part_of_row, within] = standing.X
    flat = table.reshape(standing.parts.size, -1)
    _, first, curve = np.unique(flat, axis=0, return_index=True, return_inverse=True)
    return first, curve.reshape(-1)


def _one_curve(life: LifeDraws, location: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """(G,) ages, E[1/I] and E[S/I] of a part whose spots lie at `location` (spots, D)."""
    longest = np.percentile(location.min(axis=0) + life.sigma * _GONE, 97.5)
    grid = np.exp(longest) * (np.arange(_GRID + 1) / _GRID) ** 2
    log_s = log_survival(life.family, grid, location[..., None], life.sigma[:, None]).sum(axis=0)
    survival = np.exp(log_s)
    service = cumulative_simpson(survival, x=grid, axis=1)
    return grid[1:], (1 / service).mean(axis=0), (survival[:, 1:] / service).mean(axis=0)


def _least(
    life: LifeDraws, curves: _Curves, planned: np.ndarray, unplanned: np.ndarray
) -> np.ndarray:
    """(4, P) age and cost rate of least cost and the flat band; inf and the rate of keeping where
    there is none."""
    one, alive = curves.one[curves.curve], curves.alive[curves.curve]
    ages = curves.ages[curves.curve]
    rates = unplanned[:, None] * one - (unplanned - planned)[:, None] * alive
    best = np.clip(np.argmin(rates, axis=1), 1, _GRID - 2)
    age, rate = _vertex(ages, rates, best)
    keep = rates[:, -1]
    none = rates.min(axis=1) > keep * (1 - LEAST_GAIN)
    if np.mean(life.sigma >= 1) > MAY_NOT_WEAR:
        none[:] = True
    flat_from, flat_until = _flat(ages, rates, rate * (1 + FLAT))
    least = np.stack((age, rate, flat_from, flat_until))
    kept = np.stack((age * np.inf, keep, age * np.inf, age * np.inf))
    return np.where(none, kept, least)


def _flat(ages: np.ndarray, rates: np.ndarray, level: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(P,) ages between which rates (P, G) stay at or below `level` (P,), linear in between."""
    within = rates <= level[:, None]
    first = within.argmax(axis=1)
    last = within.shape[1] - 1 - within[:, ::-1].argmax(axis=1)
    begins = _crossing(ages, rates, level, np.maximum(first - 1, 0))
    ends = _crossing(ages, rates, level, np.minimum(last, within.shape[1] - 2))
    return begins, np.where(last == within.shape[1] - 1, np.inf, ends)


def _crossing(ages: np.ndarray, rates: np.ndarray, level: np.ndarray, at: np.ndarray) -> np.ndarray:
    """(P,) age at which rates reach `level` between grid points `at` and the next."""
    two = at[:, None] + np.array([0, 1])
    x, y = np.take_along_axis(ages, two, 1), np.take_along_axis(rates, two, 1)
    rise = y[:, 1] - y[:, 0]
    share = (level - y[:, 0]) / np.where(rise == 0, 1.0, rise)
    return x[:, 0] + np.clip(share, 0.0, 1.0) * (x[:, 1] - x[:, 0])


def _vertex(ages: np.ndarray, rates: np.ndarray, best: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Lowest point of the parabola through the grid point `best` (P,) and its neighbours."""
    three = best[:, None] + np.array([-1, 0, 1])
    x, y = np.take_along_axis(ages, three, 1), np.take_along_axis(rates, three, 1)
    left, right = (np.diff(y, axis=1) / np.diff(x, axis=1)).T
    bend = (right - left) / (x[:, 2] - x[:, 0])
    middle = (x[:, 0] + x[:, 1]) / 2
    flat = bend <= 0
    lowest = np.clip(middle - left / np.where(flat, 1, 2 * bend), x[:, 0], x[:, 2])
    value = y[:, 0] + left * (lowest - x[:, 0]) + bend * (lowest - x[:, 0]) * (lowest - x[:, 1])
    return np.where(flat, x[:, 1], lowest), np.where(flat, y[:, 1], value)
