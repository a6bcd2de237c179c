"""Survival of what stands, under every draw of the models, given the last sight of each spot.

A large fleet is worked through some boats at a time, in arrays that stay in the processor's cache,
by as many threads as there are processors (numpy lets go of the interpreter while it computes).
"""

import os
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor

import numpy as np
from scipy.sparse import csr_array

from ..survival.model import log_survival
from .lifetimes import HIGHEST, LifeDraws, kinds_of
from .spots import Standing

AGE_STEPS = 8
DOUBLE_UP_TO = 20_000_000  # rows x draws; a larger fleet is done in single precision
_CELLS = 400_000  # rows x draws held at once
_THREADS = 2
_STEEP = 100.0  # cumulated hazard from which single precision asks for care

Work = Callable[["Prospect", slice, slice], None]


class Prospect:
    """Survival of the parts of some boats under every draw, given the last sight of each spot.

    Arrays are of type `dtype`; in single precision a mean chance is right to 1e-5.
    """

    def __init__(
        self, lives: Mapping[str, LifeDraws], standing: Standing, dtype: type = np.float64
    ) -> None:
        self.standing, self.dtype = standing, dtype
        self._kinds = [_Kind(lives[k], standing, k, dtype) for k in kinds_of(lives, standing)]

    def part_survival(self, ahead: np.ndarray, counted: np.ndarray | None = None) -> np.ndarray:
        """(P, D) chance that no counted spot is condemnable `ahead` (P,) years from today.

        counted: (n,) bool, the spots that count (all by default); the others pass as good.
        """
        pieces = [(k.parts, k.survival(ahead[k.parts], counted)) for k in self._kinds]
        first = pieces[0][1]
        survival = first
        if len(pieces) > 1:
            survival = np.empty((self.standing.parts.size, first.shape[1]), dtype=first.dtype)
            for parts, piece in pieces:
                survival[parts] = piece
        foreseen, part_of_row = self.standing.foreseen, self.standing.part_of_row
        return foreseen.weigh(survival, ahead, part_of_row, counted) if foreseen else survival

    def boat_survival(self, part_survival: np.ndarray) -> np.ndarray:
        """(B, D) product over the parts of each boat that are not condemned already."""
        apart = self.standing.condemned_parts
        if apart.any():
            part_survival = np.where(apart[:, None], part_survival.dtype.type(1), part_survival)
        return np.multiply.reduceat(part_survival, self.standing.boat_starts)

    def per_part(self, ahead: np.ndarray | float) -> np.ndarray:
        """(P,) years ahead from a scalar or one value per boat."""
        boats = np.broadcast_to(np.asarray(ahead, dtype=float), self.standing.boats.size)
        return boats[self.standing.boat_of_part]


class _Kind:
    """The spots of one kind, repeated over the steps of an age that is not known."""

    def __init__(self, draws: LifeDraws, standing: Standing, kind: str, dtype: type) -> None:
        rows = np.flatnonzero(standing.kind == kind)
        self.parts = np.flatnonzero(standing.kind_of_part == kind)
        youngest, oldest = standing.age_range
        row, share = _steps_of_age(rows, (oldest > youngest)[rows], standing.part_of_row)
        part = standing.part_of_row[row]
        age = youngest[row] + share * (oldest - youngest)[row]
        starts = _changes(part, share)
        self._row = row
        self._age = age[starts]
        self._part = np.searchsorted(self.parts, part[starts])
        steps = np.bincount(self._part)
        self._mean = None if (steps == 1).all() else _means(self._part, steps, dtype)
        curves = _WeibullCurves if draws.family == "weibull" else _Curves
        self._curves = curves(draws, standing, row, starts, standing.good_age(age, row), dtype)

    def survival(self, ahead: np.ndarray, counted: np.ndarray | None) -> np.ndarray:
        """(P of this kind, D) for `ahead` (P,) years from today."""
        age = self._age + ahead[self._part]
        log_s = self._curves.since_sight(age, None if counted is None else counted[self._row])
        np.minimum(log_s, 0, out=log_s)  # seen today, rounding may leave a hair above
        survival = np.exp(log_s, out=log_s)
        return survival if self._mean is None else self._mean @ survival


class _Curves:
    """log S(age) / S(last sight) of parts of any family: the sum over their spots, (parts, D)."""

    def __init__(
        self,
        draws: LifeDraws,
        standing: Standing,
        row: np.ndarray,
        starts: np.ndarray,
        good: np.ndarray,
        dtype: type,
    ) -> None:
        rows, at = np.unique(row, return_inverse=True)
        self._draws, self._location = draws, draws.location(standing.take(rows))[at]
        self._part = _index(starts, row.size)
        self._parts, self._dtype = starts.size, dtype
        self._at_sight = self._log_s(good)

    def since_sight(self, age: np.ndarray, counts: np.ndarray | None) -> np.ndarray:
        """At `age` (parts,); counts (rows,) bool: spots that count, all if None."""
        log_s = self._log_s(age[self._part]) - self._at_sight
        weight = np.ones(self._part.size) if counts is None else counts.astype(float)
        return (_sums(self._part, self._parts, weight, float) @ log_s).astype(self._dtype)

    def _log_s(self, age: np.ndarray) -> np.ndarray:
        draws = self._draws
        return log_survival(draws.family, age[:, None], self._location, draws.sigma)


class _WeibullCurves:
    """The same for the Weibull, whose spots share t^k: log S = -t^k sum over spots of rate.

    Spots of a part share most covariates, so a rate is that of its part times that of its pattern,
    the covariates in which spots of one part differ. Ages are divided by a typical life, which
    keeps the exponents near 0 and so single precision precise.
    """

    def __init__(
        self,
        draws: LifeDraws,
        standing: Standing,
        row: np.ndarray,
        starts: np.ndarray,
        good: np.ndarray,
        dtype: type,
    ) -> None:
        X, part = draws.design(standing)[row], _index(starts, row.size)
        within = (X[starts][part] != X).any(axis=0)
        self._middle = float(draws.intercept.mean())
        shape = 1 / draws.sigma
        self._shape, self._part = shape.astype(dtype), part
        log_rate = _product(X[starts][:, ~within], -draws.slopes.T[~within] * shape, dtype)
        log_rate += ((self._middle - draws.intercept) * shape).astype(dtype)
        if draws.boats_differ:
            log_rate -= (draws.effect(standing.boat[row[starts]]) * shape).astype(dtype)
        first, self._pattern = alike(X[:, within])
        log_pattern = -(X[first][:, within] @ draws.slopes.T[within]) * shape
        self._log_rate, self._patterns = log_rate, np.exp(log_pattern)
        self._good = self._log_age(good)
        spots = self._powers(self._good, log_rate[part])
        self._at_sight = spots * self._patterns.astype(dtype)[self._pattern]
        self._all = self._counting(None)

    def since_sight(self, age: np.ndarray, counts: np.ndarray | None) -> np.ndarray:
        """At `age` (parts,); counts (rows,) bool: spots that count, all if None."""
        log_rate, at_sight, steep, good = self._all if counts is None else self._counting(counts)
        log_age = self._log_age(age)
        log_s = self._powers(log_age, log_rate)
        np.subtract(at_sight, log_s, out=log_s)
        if steep.size:
            grown = (log_age[steep] - good).astype(self._shape.dtype)[:, None] * self._shape
            log_s[steep] = -at_sight[steep] * np.expm1(grown)
        return log_s

    def _counting(self, counts: np.ndarray | None) -> tuple[np.ndarray, ...]:
        """(parts, D), twice: log rate of the spots that count, and their hazard at last sight; and
        the parts, with the log age of that sight, whose hazard has to be compared more finely.

        Those are the ones whose spots were all seen last on one day, at a hazard so high in some
        draw that the difference of two would be noise: seen today, nothing can be condemned.
        """
        parts, dtype = len(self._log_rate), self._log_rate.dtype
        weight = np.ones(self._part.size) if counts is None else counts.astype(float)
        number = np.zeros((parts, len(self._patterns)))
        np.add.at(number, (self._part, self._pattern), weight)
        first, kind = alike(number)
        log_rate = self._log_rate + _log(number[first] @ self._patterns).astype(dtype)[kind]
        at_sight = _sums(self._part, parts, weight, dtype) @ self._at_sight
        first, last = self._sights(weight > 0)
        np.minimum(at_sight, dtype.type(np.exp(HIGHEST)), out=at_sight)
        once = np.flatnonzero((first == last) & np.isfinite(first))
        steep = once[at_sight[once].max(axis=1, initial=0.0) > _STEEP]
        return log_rate, at_sight, steep, first[steep]

    def _sights(self, counts: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """(parts,), (parts,): earliest and latest log age at which a spot that counts was seen."""
        first = np.full(len(self._log_rate), np.inf)
        last = np.full(len(self._log_rate), -np.inf)
        np.minimum.at(first, self._part[counts], self._good[counts])
        np.maximum.at(last, self._part[counts], self._good[counts])
        return first, last

    def _log_age(self, age: np.ndarray) -> np.ndarray:
        return _log(age) - self._middle

    def _powers(self, log_age: np.ndarray, log_rate: np.ndarray) -> np.ndarray:
        """(m, D) rate t^k; log_age (m,), log_rate (m, D)."""
        power = log_age.astype(self._shape.dtype)[:, None] * self._shape
        power += log_rate
        with np.errstate(over="ignore"):
            return np.exp(power, out=power)


def each(
    lives: Mapping[str, LifeDraws], standing: Standing, work: Work, *, dtype: type | None = None
) -> None:
    """Call work(prospect, parts, boats) for whole boats at a time, parts and boats their slices.

    Threads share the calls; each writes to its own slices. dtype: as the fleet's size asks for.
    """
    draws = max((d.sigma.size for d in lives.values()), default=1)
    if dtype is None:
        dtype = np.float64 if standing.part.size * draws <= DOUBLE_UP_TO else np.float32

    def do(chunk: tuple[Standing, slice, slice]) -> None:
        work(Prospect(lives, chunk[0], dtype), *chunk[1:])

    chunks = standing.chunks(max(1, _CELLS // draws))
    threads = min(_THREADS, os.cpu_count() or 1)
    if standing.part.size * draws <= _CELLS or threads == 1:
        for chunk in chunks:
            do(chunk)
        return
    with ThreadPoolExecutor(threads) as pool:
        for _ in pool.map(do, chunks):
            pass


def prospects(
    lives: Mapping[str, LifeDraws], standing: Standing
) -> Iterator[tuple[Prospect, slice, slice]]:
    """Prospects over whole boats at a time, with their slices of parts and boats."""
    draws = max((d.sigma.size for d in lives.values()), default=1)
    chunks = standing.chunks(max(1, _CELLS // draws))
    return ((Prospect(lives, chunk), parts, boats) for chunk, parts, boats in chunks)


def _log(values: np.ndarray) -> np.ndarray:
    with np.errstate(divide="ignore"):
        return np.log(values)


def _product(left: np.ndarray, right: np.ndarray, dtype: type) -> np.ndarray:
    """left (m, p) @ right (p, D), by a loop of numpy's own: threads of its algebra library would
    get in the way of ours."""
    return np.einsum("mp,pd->md", left.astype(dtype), right.astype(dtype))


def alike(rows: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(K,) a row of each distinct kind, and (m,) the kind of every row of `rows` (m, p)."""
    kind, first = np.zeros(len(rows), dtype=np.int64), np.zeros(min(1, len(rows)), dtype=np.int64)
    for column in rows.T:
        values, code = np.unique(column, return_inverse=True)
        _, first, kind = np.unique(
            kind * values.size + code, return_index=True, return_inverse=True
        )
    return first, kind


def _sums(group: np.ndarray, groups: int, weight: np.ndarray, dtype: type) -> csr_array:
    """(groups, m): times an (m, D) array, the weighted sums over its rows by `group` (m,)."""
    counted = np.flatnonzero(weight)
    begins = np.append(0, np.cumsum(np.bincount(group[counted], minlength=groups)))
    return csr_array((weight[counted].astype(dtype), counted, begins), (groups, group.size))


def _means(group: np.ndarray, sizes: np.ndarray, dtype: type) -> csr_array:
    return _sums(group, sizes.size, 1 / sizes[group], dtype)


def _steps_of_age(
    rows: np.ndarray, uncertain: np.ndarray, part_of_row: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Rows repeated once per step of an uncertain age, sorted by part and step; step's share."""
    if not uncertain.any():
        return rows, np.full(rows.size, 0.5)
    repeats = np.where(uncertain, AGE_STEPS, 1)
    row = np.repeat(rows, repeats)
    step = np.arange(row.size) - np.repeat(np.cumsum(repeats) - repeats, repeats)
    share = (step + 0.5) / np.repeat(repeats, repeats)
    order = np.lexsort((row, step, part_of_row[row]))
    return row[order], share[order]


def _changes(*keys: np.ndarray) -> np.ndarray:
    """First rows of runs in which all keys, (m,) each, stay equal."""
    new = np.zeros(keys[0].size, dtype=bool)
    new[:1] = True
    for key in keys:
        new[1:] |= key[1:] != key[:-1]
    return np.flatnonzero(new)


def _index(starts: np.ndarray, n: int) -> np.ndarray:
    return np.repeat(np.arange(starts.size), np.diff(np.append(starts, n)))
