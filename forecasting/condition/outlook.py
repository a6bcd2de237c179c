"""What reports of looks say of the days to come: after a watch, and where nothing was to be seen.

With the reports of a spot as A + B exp(-(t - L) / m) (see `delay`), the chance to be good at b,
good last at L, is

    S(b) / S(L) * (A + B exp(-(b - L) / m) M(b)) / (A + B M(L)),
    M(a) = E[exp(-(T - a) / m) | T > a].

The second factor is what the reports add to the life model. After a watch it is below one and
falls; after looks that saw the spot sound it is above one, since most defects are seen coming. Both
belong together: the life model already counts those that go, and to raise the watched alone would
count them twice.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from .delay import Delay, Reports, discount, history
from .foreseen import AHEAD, Foreseen
from .panel import Law, Panel
from .posterior import BAND, Condition

DRAWS = 20
LEAST = 1e-300  # a survival whose logarithm can be taken
ROWS_AT_ONCE = 2_000  # arrays that stay in the processor's cache


def foreseen(condition: Condition, panel: Panel, today: np.ndarray, row: np.ndarray) -> Foreseen:
    """What the reports of a panel of standing spots say of the years AHEAD.

    today: (n,) ages today, not before `good`. row: see `Foreseen`. The watched are followed under
    DRAWS draws of the posterior; the many others, whose hazards are small, are taken at its centre.
    """
    ages = today[:, None] + AHEAD
    gone = panel.law.gone(panel.good, ages - panel.good[:, None])
    plain = -np.log(np.maximum(1 - gone, LEAST))
    told, own = np.empty_like(ages), np.full(len(ages), -1)
    watched = np.flatnonzero(np.isfinite(panel.watched))
    own[watched] = np.arange(watched.size)
    factors = under_each(condition.thinned(DRAWS), panel.take(watched), ages[watched])
    drawn = plain[watched, :, None] - np.log(np.maximum(factors, LEAST))
    told[watched] = plain[watched] - np.log(np.maximum(factors.mean(axis=2), LEAST))
    others = np.flatnonzero(own < 0)
    first, alike = _alike(panel.take(others), today[others], condition.centre)
    rows = others[first]
    found = under_each([condition.centre], panel.take(rows), ages[rows])[:, :, 0]
    told[others] = plain[others] - np.log(np.maximum(found, LEAST))[alike]
    return Foreseen(row, plain, told, own, drawn)


def _alike(panel: Panel, today: np.ndarray, at: Delay) -> tuple[np.ndarray, np.ndarray]:
    """First row of each set of spots with one law, age and history, and the set of every row.

    The wires of a boat that were fitted and looked at together share one.
    """
    keys = np.column_stack((panel.law.location, panel.good, today, *history(panel, at)))
    _, first, alike = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    return first, alike.reshape(-1)


def _chunks(rows: np.ndarray) -> list[np.ndarray]:
    return np.array_split(rows, max(1, -(-rows.size // ROWS_AT_ONCE)))


def under_each(draws: Sequence[Delay], panel: Panel, ages: np.ndarray) -> np.ndarray:
    """(n, k, K) factor on survival at `ages` (n, k) under each of K parameter sets."""
    found = np.empty((*ages.shape, len(draws)))
    for rows in _chunks(np.arange(len(ages))):
        some = panel.take(rows)
        reports = Reports(some)
        for i, at in enumerate(draws):
            found[rows, :, i] = factor(some, reports, at, ages[rows])
    return found


def factor(panel: Panel, reports: Reports, at: Delay, ages: np.ndarray) -> np.ndarray:
    """(n, k) factor on the life model's survival from `good` to `ages`, for one parameter set."""
    constant, decaying = (column[:, None] for column in reports.history(at))
    now = _ahead_of(panel.law, panel.good[:, None], at.delay)
    then = _ahead_of(panel.law, ages, at.delay)
    fade = np.exp(-(ages - panel.good[:, None]) / at.delay)
    return (constant + decaying * fade * then) / (constant + decaying * now)


def _ahead_of(law: Law, ages: np.ndarray, delay: float) -> np.ndarray:
    """(n, k) M(age) of every row."""
    forever = np.full(len(ages), np.inf)
    return np.column_stack([discount(law, age, forever, delay) for age in ages.T])


@dataclass(frozen=True, eq=False)
class Fate:
    """What becomes of a watched spot. chance: (3, k) 5, 50 and 95 % points, `years` after."""

    years: np.ndarray
    chance: np.ndarray

    def when(self, chance: float) -> tuple[float, float, float]:
        """Years by which a watched spot is condemnable at that chance: soonest, middle, latest.

        inf where it is not reached within the years told.
        """
        found = [self._cross(curve, chance) for curve in self.chance[::-1]]
        return tuple(found)

    def _cross(self, curve: np.ndarray, chance: float) -> float:
        return float(np.interp(chance, curve, self.years)) if curve[-1] >= chance else np.inf


def fate(condition: Condition, panel: Panel, years: Sequence[float], draws: int = DRAWS) -> Fate:
    """What becomes of the watched spots of a panel, on average over them, after their watch."""
    at_watch = _as_watched(panel)
    reports, years = Reports(at_watch), np.asarray(years, dtype=float)
    ages = at_watch.good[:, None] + years
    stands = 1 - at_watch.law.gone(at_watch.good, np.broadcast_to(years, ages.shape))
    curves = [
        1 - (stands * factor(at_watch, reports, at, ages)).mean(axis=0)
        for at in condition.thinned(draws)
    ]
    return Fate(years, np.quantile(curves, BAND, axis=0))


def _as_watched(panel: Panel) -> Panel:
    """The watched spots as they stood on the day of the watch."""
    rows = panel.take(np.flatnonzero(np.isfinite(panel.watched)))
    return replace(rows, good=rows.watched, condemned=np.full(len(rows.good), np.inf))


def chance_by(condition: Condition, panel: Panel, ages: np.ndarray) -> np.ndarray:
    """(n,) chance that each spot is condemnable by its age in `ages` (n,), given its reports."""
    stands = 1 - panel.law.gone(panel.good, (ages - panel.good)[:, None])
    factors = under_each(condition.thinned(DRAWS), panel, ages[:, None])
    return 1 - (stands * factors.mean(axis=2))[:, 0]
