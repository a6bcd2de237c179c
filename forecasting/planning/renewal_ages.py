"""Economic renewal ages of all parts at once, on a grid of ages: for lists, not for charts.

Parts with the same covariates share a survival curve, and differ only in prices; so
g(T) = Cu E[1/I] - (Cu - Cp) E[S/I], with I = integral_0^T S, needs the two means once per curve.
Agrees with `renewal_age` to about half a percent of the age.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ..survival.model import LifeModel, log_survival
from .lifetimes import BoatRecords, LifeDraws, draw_lives, kinds_of
from .prospect import alike
from .renewal_age import FLAT, LEAST_GAIN, MAY_NOT_WEAR
from .spots import Standing

_GRID, DRAWS = 120, 100
_AT_ONCE = 16  # curves at once: arrays that stay in the processor's cache
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
    draws: int = DRAWS,
    seed: int = 0,
    records: Mapping[str, BoatRecords] | None = None,
) -> RenewalAges:
    """planned, unplanned: (P,) cost of either renewal of each part. ValueError unless above 0.

    records: kind -> the lives of its fit, from which boats on record get their own effect.
    """
    lives = draw_lives(models, draws, seed, records=records)
    return renewal_ages_of(lives, standing, planned, unplanned)


def renewal_ages_of(
    lives: Mapping[str, LifeDraws], standing: Standing, planned: np.ndarray, unplanned: np.ndarray
) -> RenewalAges:
    """`renewal_ages` from draws at hand, of which about a hundred are used."""
    planned, unplanned = np.asarray(planned, dtype=float), np.asarray(unplanned, dtype=float)
    if (planned <= 0).any() or (unplanned <= 0).any():
        raise ValueError("The cost of a renewal, planned and unplanned, must be above 0.")
    lives = {kind: life.thinned(DRAWS) for kind, life in lives.items()}
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
    first, curve = profiles(life, standing)
    design = life.design(standing)
    ages, one, alive = np.empty((3, first.size, _GRID))
    for some in np.array_split(np.arange(first.size), -(-first.size // _AT_ONCE)):
        location = locations(life, standing, design, first[some])
        longest = longest_life(life, location)
        ages[some], one[some], alive[some] = means(life, location, longest, _GRID)
    return _Curves(ages, one, alive, curve)


def locations(
    life: LifeDraws, standing: Standing, design: np.ndarray, parts: np.ndarray
) -> np.ndarray:
    """(C, spots, D) location of log T of these parts (C,), by their index; inf where a part has
    fewer spots. design: (n, p), `life.design(standing)`."""
    begins = standing.part_starts[parts]
    ends = np.append(standing.part_starts, standing.part.size)[parts + 1]
    within = np.arange((ends - begins).max())
    there = within < (ends - begins)[:, None]
    rows = begins[:, None] + np.where(there, within, 0)
    location = design[rows] @ life.slopes.T + life.intercept
    if life.boats_differ:
        location += life.effect(standing.boat[begins])[:, None]
    location[~there] = np.inf  # a spot the part does not have never goes
    return location


def profiles(life: LifeDraws, standing: Standing) -> tuple[np.ndarray, np.ndarray]:
    """A part of each distinct profile (C,), and the profile of every part (P,).

    A profile is the boat, if its effect is its own, and the covariates of all spots of a part;
    parts with fewer spots are filled with inf.
    """
    within = np.arange(standing.part.size) - standing.part_starts[standing.part_of_row]
    table = np.full((standing.parts.size, within.max() + 1, len(standing.columns)), np.inf)
    table[standing.part_of_row, within] = standing.X
    boat = standing.boat[standing.part_starts]
    own = boat if life.boats_differ else np.full(boat.size, -1)
    own = np.where(np.isin(own, life.boats), own, -1)
    return alike(np.column_stack((own, table.reshape(boat.size, -1))))


def longest_life(life: LifeDraws, location: np.ndarray) -> np.ndarray:
    """(C,) log of an age by which, in nearly every draw, practically all such parts are gone."""
    return np.percentile(location.min(axis=1) + life.sigma * _GONE, 97.5, axis=1)


def means(
    life: LifeDraws, location: np.ndarray, longest: np.ndarray, steps_of_age: int
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """(C, G) ages, E[1/I] and E[S/I] of parts whose spots lie at `location` (C, spots, D).

    Ages go with the square of an even step u up to exp(longest) (C,), where t^k has no kink; I by
    the trapezoid rule in u.
    """
    u = np.arange(steps_of_age + 1) / steps_of_age
    ages = np.exp(longest)[:, None] * u**2
    survival = _survival(life, ages, location)
    steps = survival * u.astype(survival.dtype)
    steps = np.cumsum(steps[..., 1:] + steps[..., :-1], axis=-1)  # of the integral of 2 u S du, 2 h
    one = (1 / steps).mean(axis=1, dtype=float)
    alive = (survival[..., 1:] / steps).mean(axis=1, dtype=float)
    scale = np.exp(longest)[:, None] / steps_of_age
    return ages[:, 1:], one / scale, alive / scale


def _survival(life: LifeDraws, ages: np.ndarray, location: np.ndarray) -> np.ndarray:
    """(C, D, G + 1) of parts whose spots lie at `location` (C, spots, D), at ages (C, G + 1).

    The spots of a Weibull part share t^k; single precision is far finer than the draws.
    """
    if life.family != "weibull":
        at = location[..., None], life.sigma[:, None]
        return np.exp(log_survival(life.family, ages[:, None, None], *at).sum(axis=1))
    shape, middle = 1 / life.sigma, location[:, 0].mean(axis=-1)[:, None]
    with np.errstate(divide="ignore"):
        log_rate = np.log(np.exp((middle[:, None] - location) * shape).sum(axis=1))
        log_age = np.log(ages) - middle
    power = log_age.astype(np.float32)[:, None] * shape.astype(np.float32)[:, None]
    power += log_rate.astype(np.float32)[..., None]
    with np.errstate(over="ignore"):
        np.exp(power, out=power)
    return np.exp(np.negative(power, out=power), out=power)


def _least(
    life: LifeDraws, curves: _Curves, planned: np.ndarray, unplanned: np.ndarray
) -> np.ndarray:
    """(4, P) age and cost rate of least cost and the flat band; inf and the rate of keeping where
    there is none, all in the order of RenewalAges."""
    one, alive = curves.one[curves.curve], curves.alive[curves.curve]
    rates = unplanned[:, None] * one - (unplanned - planned)[:, None] * alive
    return least(life, curves.ages[curves.curve], rates)


def least(life: LifeDraws, ages: np.ndarray, rates: np.ndarray) -> np.ndarray:
    """(4, P) as RenewalAges has it, of cost curves: ages and rates (P, G)."""
    best = np.clip(np.argmin(rates, axis=1), 1, rates.shape[1] - 2)
    age, rate = _vertex(ages, rates, best)
    keep = rates[:, -1]
    none = rates.min(axis=1) > keep * (1 - LEAST_GAIN)
    if np.mean(life.sigma >= 1) > MAY_NOT_WEAR:
        none[:] = True
    flat_from, flat_until = _flat(ages, rates, rate * (1 + FLAT))
    found = np.stack((age, rate, flat_from, flat_until))
    kept = np.stack((age * np.inf, keep, age * np.inf, age * np.inf))
    return np.where(none, kept, found)


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
