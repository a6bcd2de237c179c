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
from .panel import Law, Panel
from .posterior import BAND, Condition

DRAWS = 20
ROWS_AT_ONCE = 2_000  # arrays that stay in the processor's cache
# Years from today at which the outlook is tabulated; dense early, where reports tell most.
AHEAD = np.concatenate(([0.0], np.geomspace(0.05, 60.0, 14)))


@dataclass(frozen=True, eq=False)
class Foreseen:
    """Cumulated hazards of w spots from their last sight until the years AHEAD from today.

    row    (n,) int: for every row of a standing table its row here, -1 for spots without reports
    plain  (w, 15) by the life model alone, at its estimate
    told   (w, 15) by the life model and the reports, averaged over the posterior
    """

    row: np.ndarray
    plain: np.ndarray
    told: np.ndarray

    def take(self, rows: np.ndarray | slice) -> "Foreseen":
        """Those of some rows of the standing table."""
        return replace(self, row=self.row[rows])

    def weigh(
        self,
        survival: np.ndarray,
        ahead: np.ndarray,
        part_of_row: np.ndarray,
        counted: np.ndarray | None = None,
    ) -> np.ndarray:
        """(P, D) survival of parts, with what the reports say of their spots.

        survival: (P, D) by the life model, `ahead` (P,) years from today. part_of_row: (n,) index
        of each row's part. counted: (n,) bool, the spots that count. What lowers the hazard of a
        part lowers that of every draw in proportion; what raises it is added to every draw.
        """
        rows = np.flatnonzero(self.row >= 0 if counted is None else (self.row >= 0) & counted)
        part = part_of_row[rows]
        plain, told = (
            _sums(part, _between(table[self.row[rows]], ahead[part]), ahead.size)
            for table in (self.plain, self.told)
        )
        survival = survival.copy()
        lower = np.flatnonzero(told < plain)
        survival[lower] **= (told[lower] / plain[lower])[:, None]
        raised = np.flatnonzero(told > plain)
        survival[raised] *= np.exp(plain[raised] - told[raised])[:, None]
        return survival


def _sums(part: np.ndarray, values: np.ndarray, parts: int) -> np.ndarray:
    return np.bincount(part, values, parts).astype(float)  # of nothing it gives whole numbers


def _between(table: np.ndarray, ahead: np.ndarray) -> np.ndarray:
    """(w,) values of each row of `table` at its own `ahead`: straight lines between AHEAD."""
    right = np.clip(np.searchsorted(AHEAD, ahead, side="right"), 1, AHEAD.size - 1)
    left = right - 1
    share = np.clip((ahead - AHEAD[left]) / (AHEAD[right] - AHEAD[left]), 0.0, 1.0)
    rows = np.arange(len(table))
    return (1 - share) * table[rows, left] + share * table[rows, right]


def foreseen(condition: Condition, panel: Panel, today: np.ndarray, row: np.ndarray) -> Foreseen:
    """What the reports of a panel of standing spots say of the years AHEAD.

    today: (n,) ages today, not before `good`. row: see `Foreseen`. The watched are averaged over
    the posterior; the many others, whose hazards are small, are taken at its centre.
    """
    ages = today[:, None] + AHEAD
    gone = panel.law.gone(panel.good, ages - panel.good[:, None])
    factors, watched = np.empty_like(ages), np.isfinite(panel.watched)
    for index in _chunks(np.flatnonzero(watched)):
        factors[index] = mean_over(condition.thinned(DRAWS), panel.take(index), ages[index])
    others = np.flatnonzero(~watched)
    first, alike = _alike(panel.take(others), today[others], condition.centre)
    found = np.empty((first.size, AHEAD.size))
    for one in _chunks(np.arange(first.size)):
        rows = others[first[one]]
        found[one] = mean_over([condition.centre], panel.take(rows), ages[rows])
    factors[others] = found[alike]
    plain = -np.log(np.maximum(1 - gone, 1e-300))
    return Foreseen(row, plain, plain - np.log(np.maximum(factors, 1e-300)))


def _alike(panel: Panel, today: np.ndarray, at: Delay) -> tuple[np.ndarray, np.ndarray]:
    """First row of each set of spots with one law, age and history, and the set of every row.

    The wires of a boat that were fitted and looked at together share one.
    """
    keys = np.column_stack((panel.law.location, panel.good, today, *history(panel, at)))
    _, first, alike = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    return first, alike.reshape(-1)


def _chunks(rows: np.ndarray) -> list[np.ndarray]:
    return np.array_split(rows, max(1, -(-rows.size // ROWS_AT_ONCE)))


def mean_over(draws: Sequence[Delay], panel: Panel, ages: np.ndarray) -> np.ndarray:
    """(n, k) factor on survival at `ages` (n, k), averaged over parameter sets."""
    reports = Reports(panel)
    return np.mean([factor(panel, reports, at, ages) for at in draws], axis=0)


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
    return 1 - (stands * mean_over(condition.thinned(DRAWS), panel, ages[:, None]))[:, 0]
