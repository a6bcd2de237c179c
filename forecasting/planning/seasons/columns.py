"""Plans of single boats gathered on the way, and the best mix of them under the limits.

The linear mix (Dantzig and Wolfe 1960) gives prices that are consistent with each other; the mix
in whole plans is the incumbent. Every limit may be exceeded at its penalty, so that there always is
a mix, and an excess that stays tells that none is known within the limits.
"""

from dataclasses import dataclass

import numpy as np
import scipy

from .patterns import BoatPlans
from .singles import too_many
from .tableau import Tableau

KEPT_A_BOAT = 12
NODES = 300  # a stop that does not depend on the machine


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
    """share (n,) of each column given; excess (rows, Y) over the caps; prices of the linear mix."""

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


def mix(pool: Pool, columns: np.ndarray, penalty: np.ndarray, missing: float | None = None) -> Mix:
    """The cheapest mix of the columns; in whole plans, to within `missing` of the cost, where that
    is given."""
    t = pool.t
    boat = pool.boat[columns]
    several = np.bincount(boat, minlength=t.base.size)[boat] > 1
    share = np.where(several, 0.0, 1.0)
    p = _programme(pool, columns, several)
    if not several.any():
        return Mix(share, np.maximum(_excess(p.caps, t.caps.shape), 0), None, True)
    over = penalty.ravel()[p.limited]
    answer = _linear(p, over) if missing is None else _whole(p, over, missing)
    if answer.x is None:
        return Mix(share, np.zeros(t.caps.shape), None, False)
    share[p.free] = answer.x[: p.free.size]
    excess, prices = np.zeros(t.caps.size), None
    excess[p.limited] = answer.x[p.free.size :]
    if missing is None:
        prices = np.zeros(t.caps.size)
        prices[p.limited] = np.maximum(-answer.ineqlin.marginals, 0)
        prices = prices.reshape(t.caps.shape)
    return Mix(share, excess.reshape(t.caps.shape), prices, True)


def _excess(left: np.ndarray, shape: tuple[int, int]) -> np.ndarray:
    return -np.where(np.isfinite(left), left, 0.0).reshape(shape)


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


def _whole(p: _Programme, over: np.ndarray, missing: float):
    rows, boats = _with_excess(p)
    about = float((boats.sum(axis=1) ** -1 * (boats @ np.r_[p.cost, 0 * over])).sum())
    whole = np.r_[np.ones(p.cost.size), np.zeros(over.size)]
    return scipy.optimize.milp(
        np.r_[p.cost, over],
        integrality=whole,
        bounds=scipy.optimize.Bounds(0, np.where(whole > 0, 1, np.inf)),
        constraints=[
            scipy.optimize.LinearConstraint(rows, -np.inf, p.caps),
            scipy.optimize.LinearConstraint(boats, 1, 1),
        ],
        options={"mip_rel_gap": missing / max(abs(about), 1e-9), "node_limit": NODES},
    )
