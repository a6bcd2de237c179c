"""The whole question as one integer programme, less what the bound already rules out.

For fleets small enough. An option whose cheapest plan, added to the bound of all other boats, is
dearer than a plan already known cannot be in a better one and is left out beforehand (reduced-cost
fixing). HiGHS does the rest.
"""

from dataclasses import dataclass

import numpy as np
import scipy

from .patterns import pattern_costs, pattern_masks, priced
from .prices import Bound
from .tableau import Priced, Tableau

NODES = 30  # a stop that does not depend on the machine, should the gap not be reached
BIG = 1e6


@dataclass(frozen=True, eq=False)
class WholeAnswer:
    """choice (U,), mast (B, Y), None where none was found; bound: nothing can cost less;
    infeasible: proven."""

    choice: np.ndarray | None
    mast: np.ndarray | None
    bound: float
    infeasible: bool


@dataclass(frozen=True, eq=False)
class _Options:
    """One row an option left: unit, season (Y for none), down; cost, and use of each season."""

    unit: np.ndarray
    season: np.ndarray
    down: np.ndarray
    cost: np.ndarray


def left_over(t: Tableau, bound: Bound, known: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """(U, Y) up, (U, Y) down, (U,) never: bool, may still be part of a plan cheaper than known."""
    p = _finite(priced(t, bound.prices))
    unit, boat = pattern_costs(t, p)
    rest = boat[:, t.boat] - unit + (bound.value - bound.reduced[t.boat])
    masks = pattern_masks(t.seasons)
    limit = known + 1e-9 * max(1.0, abs(known))
    up, down = np.empty_like(t.up, dtype=bool), np.empty_like(t.up, dtype=bool)
    for y in range(t.seasons):
        down[:, y] = rest[masks[:, y]].min(axis=0) + p.down[:, y] <= limit
        up[:, y] = rest[~masks[:, y]].min(axis=0) + p.up[:, y] <= limit
    never = rest.min(axis=0) + p.never <= limit
    return up & np.isfinite(t.up), down & np.isfinite(t.down), never & np.isfinite(t.never)


def _finite(p: Priced) -> Priced:
    return Priced(*(np.minimum(a, BIG) for a in (p.up, p.down, p.never)), p.set_up)


def options_left(t: Tableau, bound: Bound, known: float) -> _Options:
    up, down, never = left_over(t, bound, known)
    unit, season, is_down, cost = [], [], [], []
    for mask, costs, flag in ((up, t.up, False), (down, t.down, True)):
        u, y = np.nonzero(mask)
        unit.append(u), season.append(y), cost.append(costs[u, y])
        is_down.append(np.full(u.size, flag))
    u = np.flatnonzero(never)
    unit.append(u), season.append(np.full(u.size, t.seasons)), cost.append(t.never[u])
    is_down.append(np.zeros(u.size, dtype=bool))
    return _Options(*(np.concatenate(each) for each in (unit, season, is_down, cost)))


def solve_whole(
    t: Tableau, options: _Options, gap: float, penalty: np.ndarray | None = None
) -> WholeAnswer:
    """The best plan of these options. penalty (rows, Y): what an excess over a limit costs, a unit;
    without it limits are kept."""
    n, boats = options.unit.size, t.base.size
    limited = np.flatnonzero(np.isfinite(t.caps.ravel()))
    over = np.empty(0) if penalty is None else penalty.ravel()[limited]
    masts = boats * t.seasons
    whole = np.r_[np.ones(n + masts), np.zeros(over.size)]
    answer = scipy.optimize.milp(
        np.r_[options.cost, t.set_up.ravel(), over],
        integrality=whole,
        bounds=scipy.optimize.Bounds(0, np.where(whole > 0, 1, np.inf)),
        constraints=_rows(t, options, limited, over.size),
        options={"mip_rel_gap": gap, "node_limit": NODES},
    )
    if answer.x is None:
        return WholeAnswer(None, None, -np.inf, answer.status == 2)
    taken = answer.x[:n] > 0.5
    choice = np.full(t.boat.size, t.seasons)
    choice[options.unit[taken]] = options.season[taken]
    mast = answer.x[n : n + masts].reshape(boats, t.seasons) > 0.5
    return WholeAnswer(choice, mast, float(answer.mip_dual_bound), False)


def _rows(t: Tableau, o: _Options, limited: np.ndarray, slack: int) -> list:
    n, boats = o.unit.size, t.base.size
    width = n + boats * t.seasons + slack
    at = np.arange(n)
    once = _sparse(np.ones(n), o.unit, at, (t.boat.size, width))
    counted = ~o.down & (t.singles[o.unit] > 0) & np.isfinite(t.most_singles)  # linked below
    work = np.flatnonzero((o.season < t.seasons) & ~counted)
    mast = n + t.boat[o.unit[work]] * t.seasons + o.season[work]
    sign = np.where(o.down[work], -1.0, 1.0)
    row = np.arange(work.size)
    link = _sparse(
        np.r_[np.ones(work.size), sign], np.r_[row, row], np.r_[work, mast], (work.size, width)
    )
    linear = scipy.optimize.LinearConstraint
    caps = t.caps.ravel()[limited]
    return [
        linear(once, 1, 1),
        linear(link, -np.inf, np.where(o.down[work], 0.0, 1.0)),
        linear(_use(t, o, limited, slack, width), -np.inf, caps),
        *_few_singles(t, o, width),
    ]


def _few_singles(t: Tableau, o: _Options, width: int) -> list:
    """No more wires of a boat with the mast up in a season than the rule leaves, none with it
    down."""
    up = np.flatnonzero((o.season < t.seasons) & ~o.down & (t.singles[o.unit] > 0))
    if not up.size or not np.isfinite(t.most_singles):
        return []
    cell, row = np.unique(t.boat[o.unit[up]] * t.seasons + o.season[up], return_inverse=True)
    count = np.r_[t.singles[o.unit[up]], np.full(cell.size, t.most_singles)]
    rows, columns = np.r_[row, np.arange(cell.size)], np.r_[up, o.unit.size + cell]
    few = _sparse(count, rows, columns, (cell.size, width))
    return [scipy.optimize.LinearConstraint(few, -np.inf, t.most_singles)]


def _use(t: Tableau, o: _Options, limited: np.ndarray, slack: int, width: int):
    """Rows of what options and masts take of the limits, less the excess allowed."""
    seasons, n = t.seasons, o.unit.size
    work = np.flatnonzero(o.season < seasons)
    unit, y, down = o.unit[work], o.season[work], o.down[work]
    rows = t.rows_of(t.base).reshape(-1, 4, seasons)
    of_unit = rows[t.boat[unit], :, y]
    money = np.where(down, t.money_down[unit, y], t.money_up[unit, y])
    hours = np.where(down, t.hours_down[unit, y], t.hours_up[unit, y])
    masts = n + np.arange(t.base.size * seasons).reshape(-1, seasons)
    taken = (t.set_up_money, t.set_up_hours, t.crane, t.yard)
    row = [of_unit[:, 0], of_unit[:, 1], *(rows[:, k].ravel() for k in range(4))]
    col = [work, work, *(masts.ravel() for _ in range(4))]
    value = [money, hours, *(each.ravel() for each in taken)]
    place = np.full(t.caps.size, -1)
    place[limited] = np.arange(limited.size)
    row, col, value = (np.concatenate(each) for each in (row, col, value))
    keep = (place[row] >= 0) & (value != 0)
    excess = np.arange(slack)
    return _sparse(
        np.r_[value[keep], -np.ones(slack)],
        np.r_[place[row[keep]], excess],
        np.r_[col[keep], width - slack + excess],
        (limited.size, width),
    )


def _sparse(values: np.ndarray, row: np.ndarray, col: np.ndarray, shape: tuple[int, int]):
    return scipy.sparse.csr_array((values, (row, col)), shape=shape)
