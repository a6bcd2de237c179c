"""The best plan of every boat at given prices: exact over all 2^seasons patterns of mast-down.

At prices for the limits boats do not touch each other. Given in which seasons its mast is down, a
boat's units do not either: each takes its cheapest season. So a boat's best plan is the best of its
patterns, and the sum over boats, less what the limits are worth, bounds the cost of every plan from
below (Lagrangian relaxation; Geoffrion 1974).
"""

from dataclasses import dataclass

import numpy as np

from .tableau import INF, Tableau


@dataclass(frozen=True, eq=False)
class Priced:
    """The units' and boats' costs with the prices (rows, Y) of the limits on them."""

    up: np.ndarray
    down: np.ndarray
    never: np.ndarray
    set_up: np.ndarray


@dataclass(frozen=True, eq=False)
class BoatPlans:
    """One plan of each boat. choice (U,): season, Y for not at all; mast (B, Y) bool.

    cost (B,) without prices; use (B, 4 Y): money, hours, crane, yard by season.
    """

    choice: np.ndarray
    mast: np.ndarray
    cost: np.ndarray
    use: np.ndarray


def priced(t: Tableau, prices: np.ndarray) -> Priced:
    money, of_base = prices[0], prices[1:].reshape(3, t.bases, t.seasons)
    hours, crane, yard = of_base[:, t.base]
    of_unit = hours[t.boat]
    return Priced(
        up=t.up + money * t.money_up + of_unit * t.hours_up,
        down=t.down + money * t.money_down + of_unit * t.hours_down,
        never=t.never,
        set_up=t.set_up + money * t.set_up_money + hours * t.set_up_hours
        + crane * t.crane + yard * t.yard,
    )  # fmt: skip


def pattern_masks(seasons: int) -> np.ndarray:
    """(2^Y, Y) bool: in which seasons the mast is down."""
    return (np.arange(2**seasons)[:, None] >> np.arange(seasons) & 1).astype(bool)


def pattern_costs(t: Tableau, p: Priced) -> tuple[np.ndarray, np.ndarray]:
    """(2^Y, U) cheapest cost of each unit, (2^Y, B) cost of each boat, by pattern."""
    down = _cheapest(p.down)
    up = _cheapest(p.up)[::-1]  # the seasons outside the pattern: its complement
    unit = np.minimum(np.minimum(down, up), p.never)
    boat = pattern_masks(t.seasons) @ p.set_up.T
    if t.starts.size:
        boat[:, t.boat[t.starts]] += np.add.reduceat(unit, t.starts, axis=1)
    return unit, boat


def _cheapest(options: np.ndarray) -> np.ndarray:
    """(2^Y, U) least of a unit's options (U, Y) over each set of seasons, inf over none."""
    units, seasons = options.shape
    least = np.full((2**seasons, units), INF)
    for y in range(seasons):
        half = 2**y
        np.minimum(least[:half], options[:, y], out=least[half : 2 * half])
    return least


def best_plans(t: Tableau, p: Priced) -> tuple[np.ndarray, BoatPlans]:
    """(B,) priced cost of each boat's best plan, and the plans."""
    _, boat = pattern_costs(t, p)
    pattern = boat.argmin(axis=0)
    mast = pattern_masks(t.seasons)[pattern]
    offered = np.where(mast[t.boat], p.down, p.up)
    choice = np.column_stack((offered, p.never)).argmin(axis=1)
    mast = mast & ((p.set_up <= 0) | _worked(t, choice))
    return boat[pattern, np.arange(pattern.size)], plans_of(t, choice, mast)


def _worked(t: Tableau, choice: np.ndarray) -> np.ndarray:
    """(B, Y) bool: a unit of the boat is renewed in that season."""
    worked = np.zeros((t.base.size, t.seasons + 1), dtype=bool)
    worked[t.boat, choice] = True
    return worked[:, :-1]


def plans_of(t: Tableau, choice: np.ndarray, mast: np.ndarray) -> BoatPlans:
    """What given choices cost and take."""
    season = np.minimum(choice, t.seasons - 1)
    done, at = choice < t.seasons, np.arange(choice.size)
    down = mast[t.boat, season]

    def of(if_up: np.ndarray, if_down: np.ndarray) -> np.ndarray:
        return np.where(down, if_down[at, season], if_up[at, season])

    boats, set_up = t.base.size, (t.set_up_money, t.set_up_hours, t.crane, t.yard)
    use = [np.where(mast, taken, 0.0) for taken in set_up]
    cell, cells = t.boat[done] * t.seasons + season[done], boats * t.seasons
    for k, (if_up, if_down) in enumerate(((t.money_up, t.money_down), (t.hours_up, t.hours_down))):
        taken = np.bincount(cell, of(if_up, if_down)[done], minlength=cells)
        use[k] = use[k] + taken.reshape(boats, t.seasons)
    cost = np.where(done, of(t.up, t.down), t.never)
    total = np.bincount(t.boat, cost, minlength=boats) + np.where(mast, t.set_up, 0.0).sum(axis=1)
    return BoatPlans(choice, mast, total, np.hstack(use))


def totals(t: Tableau, use: np.ndarray) -> np.ndarray:
    """(rows, Y) what plans with these uses (B, 4 Y) take of each limit."""
    rows = t.rows_of(t.base)
    taken = np.bincount(rows.ravel(), use.ravel(), minlength=t.caps.size)
    return taken.reshape(t.caps.shape)
