"""What every look said of every spot, one row per spot, with the law of its condemnable age.

Ages are years of 365.25 days since fitting. Only the first watch of a spot counts: what was
cleaned, taped or polished away need not show again, and what stays is said again of itself. Looks
after it, and the look that condemned the part, say no more than that the spot was, or was not,
condemnable.
"""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..survival.families import family_named


@dataclass(frozen=True, eq=False)
class Law:
    """Laws of the age at which spots are condemnable: log T = location (n,) + sigma * z."""

    family: str
    location: np.ndarray
    sigma: float

    def gone(self, age: np.ndarray, ahead: np.ndarray) -> np.ndarray:
        """P(T <= age + ahead | T > age); age (n,), ahead (n, k), inf allowed."""
        with np.errstate(divide="ignore"):
            start = (np.log(age) - self.location) / self.sigma
            end = (np.log(age[:, None] + ahead) - self.location[:, None]) / self.sigma
        family = family_named(self.family)
        from_new = ~np.isfinite(start)
        safe = np.where(from_new, -1.0, start)[:, None]
        with np.errstate(invalid="ignore", over="ignore"):
            drop = family.survival_drop(np.broadcast_to(safe, end.shape), np.maximum(end, safe))
            whole = -family.log_survival(end)
        return -np.expm1(-np.where(from_new[:, None], whole, drop))

    def take(self, rows: np.ndarray) -> "Law":
        return replace(self, location=self.location[rows])


@dataclass(frozen=True, eq=False)
class Panel:
    """n spots, at most K reports each.

    good       (n,) age of the last look that saw it and did not condemn it
    condemned  (n,) age at which it was found condemnable, inf if it was not
    ages       (n, K) ages of the looks that reported up to the first watch, nan beyond; ascending
    watched    (n,) age of the first watch, nan without one; then it is the row's last report
    weight     (n,) of each row
    law        of the condemnable age of each row
    """

    good: np.ndarray
    condemned: np.ndarray
    ages: np.ndarray
    watched: np.ndarray
    weight: np.ndarray
    law: Law

    @property
    def watches(self) -> int:
        return int(np.isfinite(self.watched).sum())

    @property
    def followed(self) -> np.ndarray:
        """(n,) bool: watched, and looked at again or condemned since."""
        with np.errstate(invalid="ignore"):
            return (self.good > self.watched) | (
                np.isfinite(self.watched) & np.isfinite(self.condemned)
            )

    @property
    def went(self) -> np.ndarray:
        """(n,) bool: watched, and found condemned since."""
        return np.isfinite(self.watched) & np.isfinite(self.condemned)

    @property
    def reports(self) -> np.ndarray:
        """(n,) how many reports each row has."""
        return np.isfinite(self.ages).sum(axis=1)

    @property
    def fingerprint(self) -> str:
        """SHA-256 of every number of the panel."""
        digest = hashlib.sha256(f"{self.law.family} {self.law.sigma!r}".encode())
        columns = (self.good, self.condemned, self.ages, self.watched, self.weight)
        for column in (*columns, self.law.location):
            digest.update(np.ascontiguousarray(column, dtype=float).tobytes())
        return digest.hexdigest()

    def take(self, rows: np.ndarray) -> "Panel":
        columns = ("good", "condemned", "ages", "watched", "weight")
        return replace(
            self, law=self.law.take(rows), **{name: getattr(self, name)[rows] for name in columns}
        )


def panel(
    good: Sequence[float],
    condemned: Sequence[float],
    reports: tuple[np.ndarray, np.ndarray, np.ndarray],
    law: Law,
    weight: np.ndarray | None = None,
) -> Panel:
    """Panel of n spots from reports in long form.

    good, condemned: (n,). reports: (row, age, watch), each (m,): which spot, at what age, and
    whether the look called it *watch*; in any order. Reports of one spot at one age are one report,
    a watch if any of them was. Reports past `good` are left out. Raises ValueError with a sentence
    where ages contradict each other.
    """
    good, condemned = (np.asarray(each, dtype=float) for each in (good, condemned))
    _check(good, condemned, law)
    row, age, watch = _one_a_day(*reports)
    keep = (age >= 0) & (age <= good[row] + 1e-9)
    row, age, watch = row[keep], age[keep], watch[keep]
    n = good.size
    watched = np.full(n, np.inf)
    np.minimum.at(watched, row[watch], age[watch])
    before = age <= watched[row]
    row, age = row[before], age[before]
    nth = np.arange(row.size) - np.searchsorted(row, row)
    ages = np.full((n, int(nth.max(initial=0)) + 1), np.nan)
    ages[row, nth] = age
    weight = np.ones(n) if weight is None else np.asarray(weight, dtype=float)
    return Panel(
        good, condemned, ages, np.where(np.isfinite(watched), watched, np.nan), weight, law
    )


def _check(good: np.ndarray, condemned: np.ndarray, law: Law) -> None:
    if not (good.shape == condemned.shape == law.location.shape):
        raise ValueError("Last sights, condemned ages and laws must be as many as the spots.")
    wrong = ~((good >= 0) & (good < condemned))
    if wrong.any():
        i = int(np.flatnonzero(wrong)[0])
        raise ValueError(f"Spot {i} was good at {good[i]:g} and condemned at {condemned[i]:g}.")


def _one_a_day(
    row: np.ndarray, age: np.ndarray, watch: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Sorted by row and age; a watch where any report of that row and age was one."""
    row, age, watch = np.asarray(row, dtype=int), np.asarray(age, float), np.asarray(watch, bool)
    order = np.lexsort((age, row))
    row, age, watch = row[order], age[order], watch[order]
    new = np.ones(row.size, dtype=bool)
    new[1:] = (row[1:] != row[:-1]) | (age[1:] != age[:-1])
    starts = np.flatnonzero(new)
    if not starts.size:
        return row, age, watch
    return row[starts], age[starts], np.logical_or.reduceat(watch, starts)
