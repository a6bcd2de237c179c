"""The best plan of every boat at given prices: exact over all 2^seasons patterns of mast-down.

At prices for the limits boats do not touch each other. Given in which seasons its mast is down, a
boat's units do not either: each takes its cheapest season. So a boat's best plan is the best of its
patterns, and the sum over boats, less what the limits are worth, bounds the cost of every plan from
below (Lagrangian relaxation; Geoffrion 1974).
"""

from dataclasses import dataclass

import numpy as np

from .singles import few_at_a_time, too_many
from .tableau import INF, Priced, Tableau

BLOCK = 4_000  # units worked through at once, in the processor's cache


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
    unit = np.empty((2**t.seasons, t.boat.size))
    for begin in range(0, t.boat.size, BLOCK):
        some = slice(begin, begin + BLOCK)
        _unit_costs(p, some, unit[:, some])
    boat = pattern_masks(t.seasons) @ p.set_up.T
    if t.starts.size:
        boat[:, t.boat[t.starts]] += np.add.reduceat(unit, t.starts, axis=1)
    return unit, boat


def _unit_costs(p: Priced, some: slice, unit: np.ndarray) -> None:
    """Writes the cheapest cost of some units by pattern: down in its seasons, up in the others."""
    least = _cheapest(p.down[some])
    np.minimum(least, _cheapest(p.up[some])[::-1], out=least)
    np.minimum(least, p.never[some], out=unit)


def _cheapest(options: np.ndarray) -> np.ndarray:
    """(2^Y, U) least of a unit's options (U, Y) over each set of seasons, inf over none."""
    units, seasons = options.shape
    least = np.empty((2**seasons, units))
    least[0] = INF
    for y, option in enumerate(options.T.copy()):
        half = 2**y
        np.minimum(least[:half], option, out=least[half : 2 * half])
    return least


def best_plans(t: Tableau, p: Priced) -> tuple[np.ndarray, BoatPlans]:
    """(B,) priced cost of each boat's best plan, and the plans."""
    _, boat = pattern_costs(t, p)
    masks = pattern_masks(t.seasons)
    pattern = boat.argmin(axis=0)
    choice = _choice(t, p, masks[pattern])
    over = too_many(t, choice, masks[pattern])
    if over.size:
        pattern[over] = _with_the_rule(t, p, boat, over, choice)
    mast = masks[pattern]
    mast = mast & ((p.set_up <= 0) | _worked(t, choice))
    return boat[pattern, np.arange(pattern.size)], plans_of(t, choice, mast)


def _with_the_rule(
    t: Tableau, p: Priced, boat: np.ndarray, over: np.ndarray, choice: np.ndarray
) -> np.ndarray:
    """(n,) best patterns of boats that would take too many wires with the mast up.

    boat (2^Y, B): what a pattern costs without the rule is a bound of what it costs with it: the
    least pattern is priced exactly, until the least is one that is. Writes costs and choices.
    """
    masks, exact = pattern_masks(t.seasons), np.zeros(boat.shape, dtype=bool)
    least, best = np.full(t.base.size, INF), np.zeros(t.base.size, dtype=np.int64)
    at = over
    while at.size:
        pattern = boat[:, at].argmin(axis=0)
        dearer, season = few_at_a_time(t, p, at, masks[pattern])
        boat[pattern, at] += dearer
        exact[pattern, at] = True
        better = boat[pattern, at] < least[at]
        least[at[better]], best[at[better]] = boat[pattern, at][better], pattern[better]
        _take_over(t, p, at[better], masks[pattern[better]], season[better], choice)
        at = at[~exact[boat[:, at].argmin(axis=0), at]]
    return best[over]


def _take_over(
    t: Tableau, p: Priced, boats: np.ndarray, mast: np.ndarray, season: np.ndarray, choice
) -> None:
    """Writes the choices of these boats' units: the seasons found of those that count."""
    place = np.full(t.base.size, -1)
    place[boats] = np.arange(boats.size)
    units = np.flatnonzero(place[t.boat] >= 0)
    offered = np.where(mast[place[t.boat[units]]], p.down[units], p.up[units])
    choice[units] = np.column_stack((offered, p.never[units])).argmin(axis=1)
    counted = t.single_units[boats]
    choice[counted[counted >= 0]] = season[counted >= 0]


def _choice(t: Tableau, p: Priced, mast: np.ndarray) -> np.ndarray:
    """(U,) the cheapest season of every unit where masts (B, Y) are down; Y for not at all."""
    offered = np.where(mast[t.boat], p.down, p.up)
    return np.column_stack((offered, p.never)).argmin(axis=1)


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
