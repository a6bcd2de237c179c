"""The weeks of one base as an integer programme: a boat begins once, limits hold in every week.

One variable a boat and week it may begin in, one an excess over each limit. HiGHS stops by gap and
by nodes, never by the clock, so a question has the same answer on any machine.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
import scipy

from .problem import Yard, held_weeks, uses, waiting, weeks_open_to

NODES, FEWEST_NODES = 300_000, 50  # nodes x options: larger programmes take longer a node
KINDS = ("hours", "masts", "berths")


@dataclass(frozen=True, eq=False)
class Programme:
    """boat, week (n,): an option a row; late, held, cost (n,): what it counts. use (rows, n): what
    each takes of the limits; limit, price (rows,), where: kind and week of each row."""

    boat: np.ndarray
    week: np.ndarray
    late: np.ndarray
    held: np.ndarray
    cost: np.ndarray
    use: "scipy.sparse.csr_array"
    limit: np.ndarray
    price: np.ndarray
    where: tuple[tuple[str, int], ...]


@dataclass(frozen=True, eq=False)
class Answer:
    """taken (n,): bool, None where nothing was found; value of the objective, its bound."""

    taken: np.ndarray | None
    value: float
    bound: float


@dataclass(frozen=True, eq=False)
class AtMost:
    """A sum of options (n,) that may not be more than so much."""

    options: np.ndarray
    most: float


def programme(yard: Yard) -> Programme:
    """Return the programme of a base; boats without any week they may begin in are not in it."""
    options = [
        (b, w, late, held_weeks(work, w), waiting(work, w))
        for b, work in enumerate(yard.works)
        for w, late in weeks_open_to(yard, work).items()
    ]
    boat, week = (np.array([o[k] for o in options], dtype=int) for k in (0, 1))
    late, held, cost = (np.array([o[k] for o in options], dtype=float) for k in (2, 3, 4))
    use, limit, where = _limits(yard, options)
    price = np.array([getattr(yard.prices, kind) for kind, _ in where])
    return Programme(boat, week, late, held, cost, use, limit, price, where)


def in_time(p: Programme) -> Programme:
    """Return the same without the options that are late though they need not be."""
    kept = p.late == 0
    columns = {name: getattr(p, name)[kept] for name in ("boat", "week", "late", "held", "cost")}
    return replace(p, **columns, use=p.use[:, np.flatnonzero(kept)])


def _limits(yard: Yard, options: list[tuple]) -> tuple:
    """Return (rows, n) use, (rows,) limits, their kinds and weeks: those that can bind at all."""
    taken: dict[tuple[str, int], list[tuple[int, float]]] = {}
    for at, (b, w, *_) in enumerate(options):
        for kind, week, amount in uses(yard.works[b], w):
            if amount and np.isfinite(yard.left[kind][week]):
                taken.setdefault((kind, week), []).append((at, amount))
    where = tuple(sorted(taken, key=lambda key: (KINDS.index(key[0]), key[1])))
    entries = [(row, at, amount) for row, key in enumerate(where) for at, amount in taken[key]]
    rows, cols, values = zip(*entries, strict=True) if entries else ((), (), ())
    shape = (len(where), len(options))
    use = scipy.sparse.csr_array((values, (rows, cols)), shape=shape, dtype=float)
    return use, np.array([yard.left[kind][week] for kind, week in where]), where


def solve(
    p: Programme, cost: np.ndarray, kept: Sequence[AtMost] = (), *, gap: float,
    price: np.ndarray | None = None, whole: np.ndarray | None = None,
) -> Answer:  # fmt: skip
    """Minimise the cost (n,) of the options. price (rows,): what an excess over a limit costs;
    without it limits are kept. whole (n,): bool, what may not be split; everything where None."""
    n = p.boat.size
    over = np.empty(0) if price is None else price
    whole = np.ones(n) if whole is None else whole
    answer = scipy.optimize.milp(
        np.r_[cost, over],
        integrality=np.r_[whole, np.zeros(over.size)],
        bounds=scipy.optimize.Bounds(0, np.r_[np.ones(n), np.full(over.size, np.inf)]),
        constraints=_constraints(p, kept, over.size),
        options={"mip_rel_gap": gap, "node_limit": max(FEWEST_NODES, NODES // n)},
    )
    if answer.x is None:
        return Answer(None, np.inf, -np.inf)
    return Answer(answer.x[:n] > 0.5, float(answer.fun), float(answer.mip_dual_bound))


def _constraints(p: Programme, kept: Sequence[AtMost], slack: int) -> list:
    n, rows = p.boat.size, len(p.where)
    linear, sparse = scipy.optimize.LinearConstraint, scipy.sparse.csr_array
    boats, of_boat = np.unique(p.boat, return_inverse=True)
    shape = (boats.size, n + slack)
    found = [linear(sparse((np.ones(n), (of_boat, np.arange(n))), shape=shape), 1, 1)]
    if rows:
        excess = -scipy.sparse.eye_array(rows, slack)
        use = scipy.sparse.hstack([p.use, excess], format="csr")
        found.append(linear(use, -np.inf, p.limit))
    for each in kept:
        row = sparse(np.r_[each.options, np.zeros(slack)][None, :])
        found.append(linear(row, -np.inf, each.most))
    return found
