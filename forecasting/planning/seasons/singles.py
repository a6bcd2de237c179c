"""Wires one by one with the mast up: a boat's best plan where only so many go that way a season.

Where masts are up, the boat's units share the few places of each season. A dynamic programme over
the units, its state the places left in every season, finds the cheapest way to fill them, exactly;
only boats and patterns of mast-down that would take too many are put to it.
"""

from collections.abc import Iterator

import numpy as np

from .tableau import INF, Priced, Tableau

CELLS = 50_000  # states held at once


def too_many(t: Tableau, choice: np.ndarray, mast: np.ndarray) -> np.ndarray:
    """Boats with more than the rule's wires renewed with the mast up in one season."""
    if not np.isfinite(t.most_singles):
        return np.empty(0, dtype=np.int64)
    season = np.minimum(choice, t.seasons - 1)
    up = (choice < t.seasons) & ~mast[t.boat, season]
    cell = t.boat[up] * t.seasons + season[up]
    count = np.bincount(cell, t.singles[up], minlength=mast.size).reshape(mast.shape)
    return np.flatnonzero((count > t.most_singles).any(axis=1))


def few_at_a_time(
    t: Tableau, p: Priced, boats: np.ndarray, mast: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """(n,) how much dearer the rule makes these boats with these masts (n, Y) down, and (n, W) the
    seasons of the units that count, in the order of `Tableau.single_units`."""
    units = t.single_units[boats]
    none = units < 0
    down = np.where(mast[:, None], p.down[units], INF)
    others = np.concatenate((down, p.never[units][:, :, None]), axis=2)
    free = np.where(none, 0.0, others.min(axis=2))
    up = np.where(mast[:, None] | none[:, :, None], INF, p.up[units])
    weight = np.where(none, 0, t.singles[units])
    cost, season = np.empty(boats.size), np.empty(units.shape, dtype=np.int64)
    for rows, seasons in _alike(mast, int(t.most_singles)):
        offered = np.take_along_axis(up[rows], seasons[:, None], axis=2)
        cost[rows], place = _fill(free[rows], offered, weight[rows], int(t.most_singles))
        at = np.maximum(place - 1, 0)
        there = np.take_along_axis(seasons, at, axis=1) if seasons.size else at
        season[rows] = np.where(place > 0, there, others[rows].argmin(axis=2))
    return cost - np.minimum(free, up.min(axis=2)).sum(axis=1), season


def _alike(mast: np.ndarray, most: int) -> Iterator[tuple[np.ndarray, np.ndarray]]:
    """Rows with equally many seasons with the mast up, some at a time, and those seasons."""
    ups = (~mast).sum(axis=1)
    for k in np.unique(ups):
        rows = np.flatnonzero(ups == k)
        step = max(1, CELLS // (most + 1) ** int(k))
        for begin in range(0, rows.size, step):
            some = rows[begin : begin + step]
            yield some, np.argsort(mast[some], axis=1, kind="stable")[:, :k]


def _fill(
    free: np.ndarray, up: np.ndarray, weight: np.ndarray, most: int
) -> tuple[np.ndarray, np.ndarray]:
    """(n,) least cost and (n, W) what each unit does: 0 for its free option, j + 1 for the j-th
    season with the mast up.

    free, weight: (n, W) cost and number of wires; up: (n, W, k); most: places of a season.
    """
    n, units, seasons = up.shape
    least = [np.zeros((n, *(most + 1,) * seasons))]
    for i in range(units):
        least.append(_with_unit(least[-1], free[:, i], up[:, i], weight[:, i], most))
    left, done = np.full((n, seasons), most), np.empty((n, units), dtype=np.int64)
    for i in reversed(range(units)):
        done[:, i] = _what_it_did(least[i], free[:, i], up[:, i], weight[:, i], left)
        up_in = np.flatnonzero(done[:, i])
        left[up_in, done[up_in, i] - 1] -= weight[up_in, i]
    return least[-1].reshape(n, -1)[:, -1], done


def _with_unit(
    before: np.ndarray, free: np.ndarray, up: np.ndarray, weight: np.ndarray, most: int
) -> np.ndarray:
    """The least costs by places left, (n, most + 1, ...), with one unit more (n,)."""
    along = (-1, *(1,) * (before.ndim - 1))
    after = before + free.reshape(along)
    for w in np.unique(weight[weight > 0]):
        rows = slice(None) if (weight == w).all() else np.flatnonzero(weight == w)
        mine, was = after[rows], before[rows]
        for j in range(up.shape[1]):
            axes = (slice(None),) * (1 + j)
            into = mine[(*axes, slice(w, None))]
            offer = was[(*axes, slice(None, most + 1 - w))] + up[rows, j].reshape(along)
            np.minimum(into, offer, out=into)
        after[rows] = mine
    return after


def _what_it_did(
    before: np.ndarray, free: np.ndarray, up: np.ndarray, weight: np.ndarray, left: np.ndarray
) -> np.ndarray:
    """(n,) which option of the unit the least cost at these places left (n, k) came from."""
    rows, seasons = np.arange(len(left)), left.shape[1]
    options = np.full((rows.size, seasons + 1), INF)
    options[:, 0] = before[(rows, *left.T)] + free
    for j in range(seasons):
        was = left.copy()
        was[:, j] -= weight
        room = was[:, j] >= 0
        was[:, j] = np.maximum(was[:, j], 0)
        options[:, j + 1] = np.where(room, before[(rows, *was.T)] + up[:, j], INF)
    return options.argmin(axis=1)
