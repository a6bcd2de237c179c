"""Outlook per part and per boat: the chance of being condemned by each date.

A spot last seen good at age L is condemnable by age b with chance 1 - S(b) / S(L). It is
conditioned on that last sight, never on standing today: standing unseen is no evidence. A part
is the product over its spots, a boat the product over its parts, both taken inside each draw;
what is shown is the mean over the draws (the posterior-predictive chance) and, as bounds, the
5 and 95 % points of the chance over the draws. Where a fitting date is a range, the chance is
averaged over it in equal steps.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ..survival.model import LifeModel, log_survival
from .crossing import first_crossing
from .lifetimes import LifeDraws, draw_lives, kinds_of
from .spots import Standing

AGE_STEPS = 8
LONGEST_REMAINING = 60.0  # years
REMAINING_SHARES = (0.10, 0.50, 0.90)
BOUNDS = (0.05, 0.95)
_CELLS = 200_000  # rows x draws held at once: arrays that stay in the processor's cache
_FEW_DRAWS = 100  # enough for quantiles printed to a tenth of a year


@dataclass(frozen=True, eq=False)
class Chance:
    """mean, and low and high: 5 and 95 % points over the draws; arrays of one shape."""

    mean: np.ndarray
    low: np.ndarray
    high: np.ndarray


@dataclass(frozen=True, eq=False)
class Outlook:
    """P parts and B boats in the order of the standing table, H horizons.

    part_condemned   (P, H) condemnable by each horizon; 1 for a part already judged *replace*
    boat_condemned   (B, H) any part of the boat condemnable, the already condemned left out
    part_found       level -> (P,) found condemned at the next inspection of that level
    boat_found       level -> (B,) the same, any part of the boat
    condemned_now    (P,) bool, judged *replace* already; they stand apart
    boat_condemned_now  (B,) how many of them a boat has
    remaining        (P, 3) years from today until 10, 50, 90 % of such parts are condemnable;
                     inf beyond 60 years
    Horizon 0 is the chance of standing condemned today, unseen.
    """

    parts: np.ndarray
    boats: np.ndarray
    boat_of_part: np.ndarray
    part_condemned: Chance
    boat_condemned: Chance
    part_found: dict[str, Chance]
    boat_found: dict[str, Chance]
    condemned_now: np.ndarray
    boat_condemned_now: np.ndarray
    remaining: np.ndarray


class Prospect:
    """Survival of the parts of some boats under every draw, given the last sight of each spot."""

    def __init__(self, lives: Mapping[str, LifeDraws], standing: Standing) -> None:
        self.standing = standing
        self._kinds = [_Kind(lives[k], standing, k) for k in kinds_of(lives, standing)]

    def part_survival(self, ahead: np.ndarray, counted: np.ndarray | None = None) -> np.ndarray:
        """(P, D) chance that no counted spot is condemnable `ahead` (P,) years from today.

        counted: (n,) bool, the spots that count (all by default); the others pass as good.
        """
        pieces = [(k.parts, k.survival(ahead[k.parts], counted)) for k in self._kinds]
        survival = np.empty((self.standing.parts.size, pieces[0][1].shape[1]))
        for parts, piece in pieces:
            survival[parts] = piece
        foreseen, part_of_row = self.standing.foreseen, self.standing.part_of_row
        return foreseen.weigh(survival, ahead, part_of_row, counted) if foreseen else survival

    def boat_survival(self, part_survival: np.ndarray) -> np.ndarray:
        """(B, D) product over the parts of each boat that are not condemned already."""
        apart = self.standing.condemned_parts[:, None]
        standing = np.where(apart, 1.0, part_survival)
        return np.multiply.reduceat(standing, self.standing.boat_starts)

    def per_part(self, ahead: np.ndarray | float) -> np.ndarray:
        """(P,) years ahead from a scalar or one value per boat."""
        boats = np.broadcast_to(np.asarray(ahead, dtype=float), self.standing.boats.size)
        return boats[self.standing.boat_of_part]


class _Kind:
    """The spots of one kind, repeated over the steps of an age that is not known."""

    def __init__(self, draws: LifeDraws, standing: Standing, kind: str) -> None:
        rows = np.flatnonzero(standing.kind == kind)
        self.parts = np.flatnonzero(standing.kind_of_part == kind)
        youngest, oldest = standing.age_range
        row, share = _steps_of_age(rows, (oldest > youngest)[rows], standing.part_of_row)
        part = standing.part_of_row[row]
        age = youngest[row] + share * (oldest - youngest)[row]
        location = draws.location(standing.take(rows))[np.searchsorted(rows, row)]
        self._row, self._step_starts = row, _changes(np.column_stack((part, share)))
        self._age = age[self._step_starts]
        self._part = np.searchsorted(self.parts, part[self._step_starts])
        self._known = np.bincount(self._part) == 1
        curves = _WeibullCurves if draws.family == "weibull" else _Curves
        self._curves = curves(draws, location, self._step_starts)
        good = standing.good_age(age, row)[:, None]
        self._at_sight = log_survival(draws.family, good, location, draws.sigma)
        self._at_sight_of_part = _sums(self._at_sight, self._step_starts)

    def survival(self, ahead: np.ndarray, counted: np.ndarray | None) -> np.ndarray:
        """(P of this kind, D) for `ahead` (P,) years from today."""
        age = self._age + ahead[self._part]
        if counted is None:
            log_s = self._curves.log_survival(age)
            log_s -= self._at_sight_of_part
        else:
            counts = counted[self._row][:, None]
            at_sight = _sums(np.where(counts, self._at_sight, 0.0), self._step_starts)
            log_s = self._curves.log_survival(age, counts)
            log_s -= at_sight
        np.minimum(log_s, 0.0, out=log_s)  # seen today, rounding may leave a hair above
        survival = np.exp(log_s, out=log_s)
        return survival if self._known.all() else self._mean_over_steps(survival)

    def _mean_over_steps(self, survival: np.ndarray) -> np.ndarray:
        mean = np.empty((self.parts.size, survival.shape[1]))
        mean[self._known] = survival[self._known[self._part]]
        stepped = survival[~self._known[self._part]]
        mean[~self._known] = stepped.reshape(-1, AGE_STEPS, survival.shape[1]).mean(axis=1)
        return mean


class _Curves:
    """log S of parts of any family: the sum over their spots (rows, D) at one age per part."""

    def __init__(self, draws: LifeDraws, location: np.ndarray, starts: np.ndarray) -> None:
        self._draws, self._location, self._starts = draws, location, starts
        self._part = np.repeat(np.arange(starts.size), np.diff(np.append(starts, len(location))))

    def log_survival(self, age: np.ndarray, counts: np.ndarray | None = None) -> np.ndarray:
        """(parts, D) at `age` (parts,); counts (rows, 1): spots that count, all if None."""
        at = age[self._part][:, None]
        log_s = log_survival(self._draws.family, at, self._location, self._draws.sigma)
        return _sums(log_s if counts is None else np.where(counts, log_s, 0.0), self._starts)


class _WeibullCurves:
    """The same for the Weibull, whose spots share t^k: log S = -t^k sum exp(-location k)."""

    def __init__(self, draws: LifeDraws, location: np.ndarray, starts: np.ndarray) -> None:
        self._shape, self._starts = 1 / draws.sigma, starts
        self._rates = -np.exp(-location * self._shape)
        self._rate = _sums(self._rates, starts)

    def log_survival(self, age: np.ndarray, counts: np.ndarray | None = None) -> np.ndarray:
        rate = self._rate
        if counts is not None:
            rate = _sums(np.where(counts, self._rates, 0.0), self._starts)
        log_s = np.log(np.maximum(age, 1e-12))[:, None] * self._shape
        np.exp(log_s, out=log_s)
        log_s *= rate
        return log_s


def _steps_of_age(
    rows: np.ndarray, uncertain: np.ndarray, part_of_row: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Rows repeated once per step of an uncertain age, sorted by part and step; step's share."""
    repeats = np.where(uncertain, AGE_STEPS, 1)
    row = np.repeat(rows, repeats)
    step = np.arange(row.size) - np.repeat(np.cumsum(repeats) - repeats, repeats)
    share = (step + 0.5) / np.repeat(repeats, repeats)
    order = np.lexsort((row, step, part_of_row[row]))
    return row[order], share[order]


def _sums(values: np.ndarray, starts: np.ndarray) -> np.ndarray:
    """Sums of neighbouring rows from each start on; quicker where the runs are of equal length."""
    run = len(values) // max(starts.size, 1)
    if starts.size * run == len(values) and (np.diff(starts) == run).all():
        return values.reshape(starts.size, run, -1).sum(axis=1) if run > 1 else values
    return np.add.reduceat(values, starts)


def _changes(keys: np.ndarray) -> np.ndarray:
    """First rows of runs of equal keys (m, k)."""
    new = np.ones(len(keys), dtype=bool)
    new[1:] = (keys[1:] != keys[:-1]).any(axis=1)
    return np.flatnonzero(new)


def prospects(
    lives: Mapping[str, LifeDraws], standing: Standing
) -> Iterator[tuple[Prospect, slice, slice]]:
    """Prospects over whole boats at a time, with their slices of parts and boats."""
    draws = max((d.sigma.size for d in lives.values()), default=1)
    chunks = standing.chunks(max(1, _CELLS // draws))
    return ((Prospect(lives, chunk), parts, boats) for chunk, parts, boats in chunks)


def outlook(
    models: Mapping[str, LifeModel],
    standing: Standing,
    *,
    horizons: Sequence[float | np.ndarray] = (0.0, 1.0, 5.0),
    inspections: Mapping[str, np.ndarray | float] | None = None,
    draws: int = 300,
    seed: int = 0,
) -> Outlook:
    """Outlook of every part and boat of `standing`.

    models: kind -> life model. horizons: years from today, each a number or (B,) one per boat.
    inspections: level -> years from today of the next inspection, a number or (B,), nan where
    none is planned. ValueError for a kind without a model or a covariate a part does not carry.
    """
    lives = draw_lives(models, draws, seed)
    few = {kind: life.thinned(_FEW_DRAWS) for kind, life in lives.items()}
    table = _Table(standing, len(horizons), list(inspections or {}))
    for prospect, parts, boats in prospects(lives, standing):
        for i, horizon in enumerate(horizons):
            survival = prospect.part_survival(prospect.per_part(_of(horizon, boats)))
            table.condemned(prospect, i, survival, parts, boats)
        for level, when in (inspections or {}).items():
            seen = prospect.standing.seen_by[level]
            survival = prospect.part_survival(prospect.per_part(_of(when, boats)), seen)
            table.found(prospect, level, survival, parts, boats)
        table.remaining[parts] = remaining_life(Prospect(few, prospect.standing))
    return table.outlook()


def _of(value: float | np.ndarray, boats: slice) -> float | np.ndarray:
    return value[boats] if isinstance(value, np.ndarray) and value.ndim else value


def remaining_life(prospect: Prospect) -> np.ndarray:
    """(P, 3) years until 10, 50, 90 % are condemnable; 0 for parts condemned already."""
    n = prospect.standing.parts.size
    gone = prospect.standing.condemned_parts

    def alive(ahead: np.ndarray) -> np.ndarray:
        return prospect.part_survival(ahead).mean(axis=1)

    columns = [
        first_crossing(alive, 1 - q, LONGEST_REMAINING, n, tolerance=0.02) for q in REMAINING_SHARES
    ]
    return np.where(gone[:, None], 0.0, np.column_stack(columns))


class _Table:
    """Collects the summaries of each chunk."""

    def __init__(self, standing: Standing, horizons: int, levels: list[str]) -> None:
        n, b = standing.parts.size, standing.boats.size
        self.standing = standing
        self.part = np.empty((3, n, horizons))
        self.boat = np.empty((3, b, horizons))
        self.part_found = {level: np.empty((3, n)) for level in levels}
        self.boat_found = {level: np.empty((3, b)) for level in levels}
        self.remaining = np.empty((n, len(REMAINING_SHARES)))

    def condemned(
        self, prospect: Prospect, i: int, survival: np.ndarray, parts: slice, boats: slice
    ) -> None:
        gone = prospect.standing.condemned_parts
        self.part[:, parts, i] = np.where(gone, 1.0, summary(1 - survival))
        self.boat[:, boats, i] = summary(1 - prospect.boat_survival(survival))

    def found(
        self, prospect: Prospect, level: str, survival: np.ndarray, parts: slice, boats: slice
    ) -> None:
        gone = prospect.standing.condemned_parts
        self.part_found[level][:, parts] = np.where(gone, 1.0, summary(1 - survival))
        self.boat_found[level][:, boats] = summary(1 - prospect.boat_survival(survival))

    def outlook(self) -> Outlook:
        standing = self.standing
        gone = standing.condemned_parts
        return Outlook(
            parts=standing.parts,
            boats=standing.boats,
            boat_of_part=standing.boat_of_part,
            part_condemned=Chance(*self.part),
            boat_condemned=Chance(*self.boat),
            part_found={level: Chance(*found) for level, found in self.part_found.items()},
            boat_found={level: Chance(*found) for level, found in self.boat_found.items()},
            condemned_now=gone,
            boat_condemned_now=_count(standing.boat_of_part[gone], standing),
            remaining=self.remaining,
        )


def _count(boats: np.ndarray, standing: Standing) -> np.ndarray:
    return np.bincount(boats, minlength=standing.boats.size)


def summary(chance: np.ndarray) -> np.ndarray:
    """(3, m): mean, 5 % and 95 % point over the draws of `chance` (m, D).

    Points by linear interpolation between order statistics, as numpy's percentile; a full sort of
    each row is quicker than its partition.
    """
    ranked = np.sort(chance, axis=1)
    at = np.array(BOUNDS) * (chance.shape[1] - 1)
    below, share = at.astype(int), at % 1
    above = np.minimum(below + 1, chance.shape[1] - 1)
    low, high = (ranked[:, below] * (1 - share) + ranked[:, above] * share).T
    return np.stack((chance.mean(axis=1), low, high))
