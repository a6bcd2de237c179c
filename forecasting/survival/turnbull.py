"""Survival without a model: Turnbull's estimator, for intervals and late entry.

Turnbull 1976, J. Royal Statistical Society B 38, 290-295. Exact and right-censored lives give the
Kaplan-Meier curve. What late entry is known to do to it, and what is done about it here:

- Mass may also lie just before an age of entry, where it costs nobody's denominator: ages of
  entry count as right ends when the cells are formed (Frydman 1994, J. Royal Statistical Society
  B 56, 71-74).
- The likelihood is written in the steps x = -log(1 - hazard) of the cumulated hazard. A row gives
  w log(1 - exp(-sum x over its cells)) - w (sum x from its entry to its last sight), which is
  concave in x: a point where no step wants to move is the maximum, whatever the truncation.
- The curve may fall to 0 where a handful were watched early on (Woodroofe 1985, Annals of
  Statistics 13). So it is given from the youngest age at which enough lives were at risk, as
  survival past an age for those alive at that age, and ends where enough no longer were.
"""

from dataclasses import dataclass

import numpy as np
from scipy import sparse

from .lives import Lives

JUST_BEFORE, AT, JUST_AFTER = 0, 1, 2  # three places at each age, in order
MOST_ROUNDS = 4000
SETTLED = 1e-9  # largest change of a hazard in one round
NEARLY_ONE = 1 - 1e-10


@dataclass(frozen=True, eq=False)
class Steps:
    """The estimate: m cells, (left, right], in which survival falls from one level to the next.

    left, right: (m,) ages; equal for an exact age. survival: (m,) after each cell, of those alive
    at `start`; se: its Greenwood error, exact without intervals and a little small with them.
    deaths, at_risk: (m,) expected given the record. start, end: ages between which at least the
    number asked for were at risk.
    """

    left: np.ndarray
    right: np.ndarray
    survival: np.ndarray
    se: np.ndarray
    deaths: np.ndarray
    at_risk: np.ndarray
    start: float
    end: float
    log_likelihood: float

    def bounds(self, age: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """(n,) lowest and highest survival at each age: they differ only inside a cell."""
        levels = np.concatenate([[1.0], self.survival])
        passed = np.searchsorted(self.right, age, side="right")
        begun = np.searchsorted(self.left, age, side="left")
        return levels[np.maximum(begun, passed)], levels[passed]

    def errors(self, age: np.ndarray) -> np.ndarray:
        """(n,) Greenwood's standard error at each age, after the cell it lies in."""
        levels = np.concatenate([[0.0], self.se])
        return levels[np.searchsorted(self.left, age, side="left")]


def turnbull(lives: Lives, *, least_at_risk: float = 0.0) -> Steps | None:
    """Return the estimate, or None where fewer than `least_at_risk` (weights) were ever at risk."""
    lives = lives.take(~lives.never_seen)
    span = observed_span(lives, least_at_risk)
    if span is None:
        return None
    cells = _Cells(lives)
    hazard = _settle(cells)
    start, end = span
    deaths, at_risk = cells.expected(hazard)
    reached = cells.log_likelihood(hazard)
    shown = (cells.right > start) & ((cells.left < end) | (cells.right <= end))
    hazard, deaths, at_risk = hazard[shown], deaths[shown], at_risk[shown]
    survival = np.cumprod(1 - np.where(hazard >= NEARLY_ONE, 1.0, hazard))
    left_over = np.maximum(at_risk - deaths, 0.0)
    growth = np.divide(deaths, at_risk * left_over, out=np.zeros_like(deaths), where=survival > 0)
    return Steps(
        cells.left[shown], cells.right[shown], survival, survival * np.sqrt(np.cumsum(growth)),
        deaths, at_risk, start, end, reached,
    )  # fmt: skip


def observed_span(lives: Lives, least: float) -> tuple[float, float] | None:
    """Return the youngest and the oldest age at which at least so many were under observation."""
    until = np.where(
        lives.exact, lives.failed, np.where(lives.between, lives.condemned, lives.good)
    )
    ages = np.concatenate([lives.entry, until])
    change = np.concatenate([lives.weight, -lives.weight])
    order = np.argsort(ages, kind="stable")
    ages, watched = ages[order], np.cumsum(change[order])
    last = np.append(ages[1:] > ages[:-1], True)
    enough = np.flatnonzero((watched >= (1 - 1e-9) * least) & (watched > 1e-9) & last)
    if not enough.size:
        return None
    return float(ages[enough[0]]), float(ages[enough[-1] + 1])


class _Cells:
    """The cells that may carry mass, and which of them each row covers.

    dead rows: (d, m) sparse cover; `passed`: (m,) weight that was watched through each cell.
    """

    def __init__(self, lives: Lives) -> None:
        ages, codes = _places(lives)
        lower, upper, entry = codes
        died = lives.died
        left, right = _adjacent(lower, np.concatenate([upper[died], entry[lives.entry > 0]]))
        first = np.searchsorted(right, lower, side="right")
        last = np.where(died, np.searchsorted(right, upper, side="right"), first)
        begin = np.where(lives.entry > 0, np.searchsorted(right, entry, side="right"), 0)
        covered = _sums_over(left.size, first[died], last[died], np.ones(died.sum())) > 0
        renumbered = np.concatenate([[0], np.cumsum(covered)])
        first, last, begin = renumbered[first], renumbered[last], renumbered[begin]
        self.left, self.right = ages[left[covered] // 3], ages[right[covered] // 3]
        self.weight = lives.weight[died]
        self.last = last[died]
        self.passed = _sums_over(self.left.size, begin, first, lives.weight)
        self.cover = _cover(first[died], last[died], self.left.size)

    def expected(self, hazard: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """(m,) deaths and lives at risk in each cell, expected given hazards and the record."""
        before, after = _levels(hazard)
        mass = before - after
        share = self.weight / np.maximum(self.cover @ mass, 1e-300)
        spread = self.cover.T @ share
        beyond = self.cover.T @ (share * np.concatenate([[1.0], after])[self.last])
        return mass * spread, self.passed + before * spread - beyond

    def step(self, hazard: np.ndarray) -> np.ndarray:
        """One round of self-consistency: deaths expected over lives expected at risk."""
        deaths, at_risk = self.expected(hazard)
        return np.clip(deaths / np.maximum(at_risk, 1e-300), 0, NEARLY_ONE)

    def log_likelihood(self, hazard: np.ndarray) -> float:
        step = -np.log1p(-np.minimum(hazard, NEARLY_ONE))
        with np.errstate(divide="ignore"):
            gone = np.log(-np.expm1(-(self.cover @ step)))
        return float(self.weight @ gone - self.passed @ step)


def _levels(hazard: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    after = np.cumprod(1 - hazard)
    return np.concatenate([[1.0], after[:-1]]), after


def _places(lives: Lives) -> tuple[np.ndarray, tuple[np.ndarray, ...]]:
    """Unique ages, and three codes a row: just after its last sight, at its end, at its entry."""
    lower = np.where(lives.exact, lives.failed, lives.good)
    upper = np.where(lives.exact, lives.failed, np.where(lives.between, lives.condemned, lower))
    ages, rank = np.unique(np.concatenate([lower, upper, lives.entry]), return_inverse=True)
    lower, upper, entry = rank.reshape(3, -1) * 3
    lower = lower + np.where(lives.exact, JUST_BEFORE, JUST_AFTER)
    return ages, (lower, upper + AT, entry + AT)


def _adjacent(lefts: np.ndarray, rights: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The cells: each left end that is followed at once by a right end."""
    lefts, rights = np.unique(lefts), np.unique(rights)
    ends = np.sort(np.concatenate([lefts, rights]))
    is_left = np.isin(ends, lefts)
    cells = np.flatnonzero(is_left[:-1] & ~is_left[1:])
    return ends[cells], ends[cells + 1]


def _sums_over(size: int, first: np.ndarray, last: np.ndarray, weight: np.ndarray) -> np.ndarray:
    """(size,) sums of the weights of the rows whose [first, last) holds each index."""
    change = np.zeros(size + 1)
    np.add.at(change, first, weight)
    np.add.at(change, last, -weight)
    return np.maximum(np.cumsum(change[:-1]), 0.0)


def _cover(first: np.ndarray, last: np.ndarray, size: int) -> sparse.csr_matrix:
    count = last - first
    starts = np.concatenate([[0], np.cumsum(count)])
    columns = np.arange(starts[-1]) - np.repeat(starts[:-1] - first, count)
    return sparse.csr_matrix((np.ones(columns.size), columns, starts), shape=(first.size, size))


def _settle(cells: _Cells) -> np.ndarray:
    """Self-consistency from even hazards, sped up by squared extrapolation where that climbs.

    Varadhan and Roland 2008, Scandinavian Journal of Statistics 35 (SQUAREM).
    """
    hazard = np.full(cells.left.size, 0.5 / max(cells.left.size, 1))
    for _ in range(MOST_ROUNDS):
        once = cells.step(hazard)
        twice = cells.step(once)
        move, bend = once - hazard, twice - 2 * once + hazard
        if np.abs(twice - once).max(initial=0.0) < SETTLED:
            return twice
        length = max(np.linalg.norm(move) / max(np.linalg.norm(bend), 1e-300), 1.0)
        leap = hazard + 2 * length * move + length**2 * bend
        leap = np.clip(leap, 0.1 * twice, NEARLY_ONE)  # a hazard of 0 would never rise again
        leap = cells.step(leap)
        better = cells.log_likelihood(leap) >= cells.log_likelihood(twice)
        hazard = leap if better else twice
    return hazard
