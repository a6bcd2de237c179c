"""Plans of single boats gathered on the way, and the best mix of them under the limits.

The linear mix (Dantzig and Wolfe 1960) gives prices that are consistent with each other; the mix
in whole plans is the incumbent. Every limit may be exceeded at its penalty, so that there always is
a mix, and an excess that stays tells that none is known within the limits.
"""

from dataclasses import dataclass, replace

import numpy as np
import scipy

from .patterns import BoatPlans
from .singles import too_many
from .tableau import Tableau

KEPT_A_BOAT = 12
NODES = 5  # a stop that does not depend on the machine
SEVERE = 100  # times the penalty of the linear mix: in whole plans a slight excess is one too


class Pool:
    """Different plans of each boat, as columns: boat, cost, use (n, 4 Y), and their source."""

    def __init__(self, t: Tableau) -> None:
        self.t = t
        self.weights = np.random.default_rng(1).integers(1, 2**62, t.boat.size, dtype=np.int64)
        self.mast_weights = np.random.default_rng(2).integers(1, 2**62, t.seasons, dtype=np.int64)
        self.plans: list[BoatPlans] = []
        self.boat = np.empty(0, dtype=np.int64)
        self.source = np.empty(0, dtype=np.int64)
        self.key = np.empty(0, dtype=np.int64)
        self.cost = np.empty(0)
        self.use = np.empty((0, 4 * t.seasons))

    def add(self, plans: BoatPlans) -> None:
        """Take in those plans that are new to their boat and keep the rule of its work."""
        boat = np.arange(self.t.base.size)
        key = self._keys(plans)
        new = ~np.isin(key, self.key)
        new[too_many(self.t, plans.choice, plans.mast)] = False
        self.boat = np.r_[self.boat, boat[new]]
        self.key = np.r_[self.key, key[new]]
        self.source = np.r_[self.source, np.full(new.sum(), len(self.plans))]
        self.cost = np.r_[self.cost, plans.cost[new]]
        self.use = np.vstack((self.use, plans.use[new]))
        self.plans.append(plans)

    def _keys(self, plans: BoatPlans) -> np.ndarray:
        """(B,) a number that tells plans apart; wraps around on purpose."""
        with np.errstate(over="ignore"):
            key = plans.mast.astype(np.int64) @ self.mast_weights
            np.add.at(key, self.t.boat, (plans.choice + 1) * self.weights)
            return key * 1_000_003 + np.arange(key.size)

    def reduced(self, prices: np.ndarray, least: np.ndarray) -> np.ndarray:
        """(n,) how much dearer each column is at these prices than its boat's best plan (B,)."""
        rows = self.t.rows_of(self.t.base[self.boat])
        return self.cost + (prices.ravel()[rows] * self.use).sum(axis=1) - least[self.boat]

    def near(self, dearer: np.ndarray, within: float, kept: int = KEPT_A_BOAT) -> np.ndarray:
        """Indices of the columns within so much of their boat's best; the best few a boat."""
        order = np.lexsort((self.key, dearer, self.boat))
        boat = self.boat[order]
        first = np.searchsorted(boat, boat)
        rank = np.arange(order.size) - first
        return order[(rank == 0) | ((rank < kept) & (dearer[order] <= within))]

    def of(self, plans: BoatPlans) -> np.ndarray:
        """(B,) the columns these plans were taken in as."""
        order = np.argsort(self.key)
        return order[np.searchsorted(self.key[order], self._keys(plans))]

    def choices(self, columns: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """choice (U,), mast (B, Y) where boat b takes columns[b]."""
        source = self.source[columns]
        choice = np.array([plans.choice for plans in self.plans])[
            source[self.t.boat], np.arange(self.t.boat.size)
        ]
        mast = np.array([plans.mast for plans in self.plans])[source, np.arange(source.size)]
        return choice, mast


@dataclass(frozen=True, eq=False)
class Mix:
    """share (n,) of each column given; of the linear mix also excess (rows, Y) over the caps, and
    prices."""

    share: np.ndarray
    excess: np.ndarray
    prices: np.ndarray | None
    found: bool


@dataclass(frozen=True, eq=False)
class _Programme:
    """Columns of boats that still have a choice, and what is left of the caps for them."""

    free: np.ndarray
    cost: np.ndarray
    boats: "scipy.sparse.csr_array"
    rows: "scipy.sparse.csr_array"
    caps: np.ndarray
    limited: np.ndarray


def mix(pool: Pool, columns: np.ndarray, penalty: np.ndarray) -> Mix:
    """The cheapest mix of the columns, an excess over the limits bought at its penalty."""
    t = pool.t
    several = _several(pool, columns)
    share, excess, prices = np.where(several, 0.0, 1.0), np.zeros(t.caps.size), None
    p = _programme(pool, columns, several)
    if not several.any():
        excess = np.maximum(-np.where(np.isfinite(p.caps), p.caps, 0.0), 0)
        return Mix(share, excess.reshape(t.caps.shape), None, True)
    answer = _linear(p, penalty.ravel()[p.limited])
    if answer.x is None:
        return Mix(share, excess.reshape(t.caps.shape), None, False)
    share[p.free] = answer.x[: p.free.size]
    excess[p.limited] = answer.x[p.free.size :]
    prices = np.zeros(t.caps.size)
    prices[p.limited] = np.maximum(-answer.ineqlin.marginals, 0)
    return Mix(share, excess.reshape(t.caps.shape), prices.reshape(t.caps.shape), True)


def mix_whole(
    pool: Pool, columns: np.ndarray, penalty: np.ndarray, missing: float, *, within: bool
) -> Mix:
    """The cheapest mix in whole plans, to within `missing` of the cost; `within` the limits, where
    a mix is, whatever an excess costs."""
    several = _several(pool, columns)
    share, none = np.where(several, 0.0, 1.0), np.zeros(pool.t.caps.shape)
    p = _programme(pool, columns, several)
    if not several.any():
        return Mix(share, none, None, True)
    size = np.maximum(abs(p.rows).max(axis=1).toarray().ravel(), 1e-9)
    level = scipy.sparse.diags_array(1 / size)
    p = replace(p, rows=scipy.sparse.csr_array(level @ p.rows), caps=p.caps / size)
    answer = _whole(p, p.rows, p.boats, p.cost, missing) if within else None
    if answer is None or answer.x is None:
        over = penalty.ravel()[p.limited] * size * (SEVERE if within else 1)
        answer = _whole(p, *_with_excess(p), np.r_[p.cost, over], missing)
    if answer.x is not None:
        share[p.free] = answer.x[: p.free.size]
    return Mix(share, none, None, answer.x is not None)


def _several(pool: Pool, columns: np.ndarray) -> np.ndarray:
    """(n,) bool, of boats that have a choice among the columns."""
    boat = pool.boat[columns]
    return np.bincount(boat, minlength=pool.t.base.size)[boat] > 1


def _programme(pool: Pool, columns: np.ndarray, several: np.ndarray) -> _Programme:
    t, sparse = pool.t, scipy.sparse
    caps = t.caps.ravel().copy()
    rows = t.rows_of(t.base[pool.boat[columns]])
    fixed = columns[~several]
    caps -= np.bincount(rows[~several].ravel(), pool.use[fixed].ravel(), minlength=caps.size)
    free = np.flatnonzero(several)
    use, at = pool.use[columns[free]], np.arange(free.size)
    limited = np.flatnonzero(np.isfinite(caps))
    place = np.full(caps.size, -1)
    place[limited] = np.arange(limited.size)
    row = place[rows[free]].ravel()
    keep = (row >= 0) & (use.ravel() != 0)
    col = np.repeat(at, use.shape[1])
    _, boat = np.unique(pool.boat[columns[free]], return_inverse=True)
    n_boats = int(boat.max(initial=-1)) + 1
    return _Programme(
        free,
        pool.cost[columns[free]],
        sparse.csr_array((np.ones(free.size), (boat, at)), shape=(n_boats, free.size)),
        sparse.csr_array(
            (use.ravel()[keep], (row[keep], col[keep])), shape=(limited.size, free.size)
        ),
        caps if not free.size else caps[limited],
        limited,
    )


def _with_excess(p: _Programme) -> tuple:
    n = p.limited.size
    rows = scipy.sparse.hstack([p.rows, -scipy.sparse.eye_array(n)], format="csr")
    none = scipy.sparse.csr_array((p.boats.shape[0], n))
    return rows, scipy.sparse.hstack([p.boats, none], format="csr")


def _linear(p: _Programme, over: np.ndarray):
    rows, boats = _with_excess(p)
    return scipy.optimize.linprog(
        np.r_[p.cost, over], A_ub=rows, b_ub=p.caps, A_eq=boats, b_eq=np.ones(boats.shape[0]),
        method="highs-ipm",  # three times as quick here as the simplex method, at a corner too
    )  # fmt: skip


def _whole(p: _Programme, rows, boats, cost: np.ndarray, missing: float):
    n = p.cost.size
    about = float((p.boats.sum(axis=1) ** -1 * (p.boats @ p.cost)).sum())
    whole = np.arange(cost.size) < n
    return scipy.optimize.milp(
        cost,
        integrality=whole.astype(int),
        bounds=scipy.optimize.Bounds(0, np.where(whole, 1, np.inf)),
        constraints=[
            scipy.optimize.LinearConstraint(rows, -np.inf, p.caps),
            scipy.optimize.LinearConstraint(boats, 1, 1),
        ],
        options={"mip_rel_gap": missing / max(abs(about), 1e-9), "node_limit": NODES},
    )
