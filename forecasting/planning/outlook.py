"""Outlook per part and per boat: the chance of being condemned by each date.

A spot last seen good at age L is condemnable by age b with chance 1 - S(b) / S(L). It is
conditioned on that last sight, never on standing today: standing unseen is no evidence. A part
is the product over its spots, a boat the product over its parts, both taken inside each draw;
what is shown is the mean over the draws (the posterior-predictive chance) and, as bounds, the
5 and 95 % points of the chance over the draws. Where a fitting date is a range, the chance is
averaged over it in equal steps.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from ..survival.model import LifeModel
from .crossing import first_crossings
from .lifetimes import BoatRecords, LifeDraws, draw_lives
from .prospect import Prospect, each
from .spots import Standing

LONGEST_REMAINING = 60.0  # years
REMAINING_SHARES = (0.10, 0.50, 0.90)
BOUNDS = (0.05, 0.95)
_FEW_DRAWS = 64  # enough for quantiles printed to a tenth of a year


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


def outlook(
    models: Mapping[str, LifeModel],
    standing: Standing,
    *,
    horizons: Sequence[float | np.ndarray] = (0.0, 1.0, 5.0),
    inspections: Mapping[str, np.ndarray | float] | None = None,
    draws: int = 300,
    seed: int = 0,
    records: Mapping[str, BoatRecords] | None = None,
) -> Outlook:
    """Outlook of every part and boat of `standing`.

    models: kind -> life model; records: kind -> the lives it was fitted to, from which boats on
    record get their own effect. horizons: years from today, each a number or (B,) one per boat.
    inspections: level -> years from today of the next inspection, a number or (B,), nan where
    none is planned. ValueError for a kind without a model or a covariate a part does not carry.
    """
    lives = draw_lives(models, draws, seed, records=records)
    return outlook_of(lives, standing, horizons=horizons, inspections=inspections)


def outlook_of(
    lives: Mapping[str, LifeDraws],
    standing: Standing,
    *,
    horizons: Sequence[float | np.ndarray] = (0.0, 1.0, 5.0),
    inspections: Mapping[str, np.ndarray | float] | None = None,
    dtype: type | None = None,
) -> Outlook:
    """`outlook` from draws at hand. dtype: of the arithmetic, else as the size asks for."""
    few = {kind: life.thinned(_FEW_DRAWS) for kind, life in lives.items()}
    table = _Table(standing, len(horizons), list(inspections or {}))

    def look(prospect: Prospect, parts: slice, boats: slice) -> None:
        for i, horizon in enumerate(horizons):
            survival = prospect.part_survival(prospect.per_part(_of(horizon, boats)))
            table.condemned(prospect, i, survival, parts, boats)
        for level, when in (inspections or {}).items():
            seen = prospect.standing.seen_by[level]
            survival = prospect.part_survival(prospect.per_part(_of(when, boats)), seen)
            table.found(prospect, level, survival, parts, boats)
        fewer = Prospect(few, prospect.standing, prospect.dtype)
        table.remaining[parts] = remaining_life(fewer)

    each(lives, standing, look, dtype=dtype)
    return table.outlook()


def _of(value: float | np.ndarray, boats: slice) -> float | np.ndarray:
    return value[boats] if isinstance(value, np.ndarray) and value.ndim else value


def remaining_life(prospect: Prospect) -> np.ndarray:
    """(P, 3) years until 10, 50, 90 % are condemnable; 0 for parts condemned already."""
    n = prospect.standing.parts.size
    gone = prospect.standing.condemned_parts

    def alive(ahead: np.ndarray) -> np.ndarray:
        return prospect.part_survival(ahead).mean(axis=1)

    levels = [1 - share for share in REMAINING_SHARES]
    years = first_crossings(alive, levels, LONGEST_REMAINING, n, tolerance=0.02)
    return np.where(gone[:, None], 0.0, years)


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
        self.boat[:, boats, i] = summary(prospect.boat_survival(survival))
        self.part[:, parts, i] = np.where(gone, 1.0, summary(survival))

    def found(
        self, prospect: Prospect, level: str, survival: np.ndarray, parts: slice, boats: slice
    ) -> None:
        gone = prospect.standing.condemned_parts
        self.boat_found[level][:, boats] = summary(prospect.boat_survival(survival))
        self.part_found[level][:, parts] = np.where(gone, 1.0, summary(survival))

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


def summary(survival: np.ndarray) -> np.ndarray:
    """(3, m): mean, 5 % and 95 % point over the draws of 1 - `survival` (m, D), which is sorted.

    Points by linear interpolation between order statistics, as numpy's percentile; a full sort of
    each row is quicker than its partition.
    """
    survival.sort(axis=1)
    at = np.array(BOUNDS[::-1]) * (survival.shape[1] - 1)
    below, share = at.astype(int), at % 1
    above = np.minimum(below + 1, survival.shape[1] - 1)
    low, high = (survival[:, below] * (1 - share) + survival[:, above] * share).T
    return 1 - np.stack((survival.mean(axis=1, dtype=float), low, high))
