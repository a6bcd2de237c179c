"""The question as arrays: units of work that go together, their options, and what those take.

A unit is renewed in one season or not at all: both sides of a pair are one, and so are all the
condemned parts of a boat, because it sails again only when the last of them is renewed.
"""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from .problem import FREE, SeasonProblem

INF = np.inf
# Costs are worked with as shares of the largest there is, what they take of the money in shares 200
# times finer: solvers keep a limit to 1e-6, which must be less than the smallest coin.
FINE = 200.0
_UNITS = (
    *((name, False) for name in ("up", "down", "never", "set_up")),
    *((name, True) for name in ("money_up", "money_down", "set_up_money")),
)


@dataclass(frozen=True, eq=False)
class Tableau:
    """U units sorted by boat, B boats by code, Y seasons, K bases.

    units, part_unit   number of units; (P,) the unit of each part
    boat, base         (U,) position of the unit's boat; (B,) position of the boat's base
    starts             (B,) first unit of each boat that has units
    up, down (U, Y), never (U,)   cost of the unit's options; inf where it may not be
    set_up (B, Y)      cost of the mast coming down
    money_up, money_down, hours_up, hours_down (U, Y)   what the options take
    set_up_money, set_up_hours, crane, yard (B, Y)      what a mast coming down takes
    singles (U,), most_singles   wires that count among the few renewed with the mast up
    scale, unit        minor units to one of cost, and to one of what is taken of the money
    caps               (rows, Y) of money, hours, crane, yard, one below the other
    """

    codes: np.ndarray
    part_unit: np.ndarray
    boat: np.ndarray
    starts: np.ndarray
    base: np.ndarray
    up: np.ndarray
    down: np.ndarray
    never: np.ndarray
    set_up: np.ndarray
    money_up: np.ndarray
    money_down: np.ndarray
    hours_up: np.ndarray
    hours_down: np.ndarray
    set_up_money: np.ndarray
    set_up_hours: np.ndarray
    crane: np.ndarray
    yard: np.ndarray
    caps: np.ndarray
    scale: float
    unit: float
    condemned: np.ndarray
    singles: np.ndarray
    most_singles: float

    @property
    def seasons(self) -> int:
        return self.up.shape[1]

    @cached_property
    def single_units(self) -> np.ndarray:
        """(B, W) the units of each boat that count among the few, -1 where it has no more."""
        units = np.flatnonzero(self.singles)
        units = units[np.lexsort((self.singles[units], self.boat[units]))]  # alike beside alike
        boat = self.boat[units]
        place = np.arange(units.size) - np.searchsorted(boat, boat)
        table = np.full((self.base.size, int(place.max(initial=-1)) + 1), -1)
        table[boat, place] = units
        return table

    @property
    def bases(self) -> int:
        return (self.caps.shape[0] - 1) // 3

    def rows_of(self, base: np.ndarray) -> np.ndarray:
        """(n, 4 Y) positions, in the flattened caps, of what a boat of that base takes."""
        row = np.column_stack((0 * base, *(1 + k * self.bases + base for k in range(3))))
        return (row[:, :, None] * self.seasons + np.arange(self.seasons)).reshape(base.size, -1)

    def condemned_at_once(self) -> "Tableau":
        """The same with what is condemned, and may be, renewed in the first season."""
        may = self.condemned & (np.isfinite(self.down[:, 0]) | np.isfinite(self.up[:, 0]))
        later = may[:, None] & (np.arange(self.seasons) > 0)
        return replace(self, up=np.where(later, INF, self.up), down=np.where(later, INF, self.down))


@dataclass(frozen=True, eq=False)
class Priced:
    """The units' and boats' costs with the prices (rows, Y) of the limits on them."""

    up: np.ndarray
    down: np.ndarray
    never: np.ndarray
    set_up: np.ndarray


def tableau(problem: SeasonProblem) -> Tableau:
    """Lay the problem out. ValueError where a part can be renewed in no season it may."""
    parts, boats, limits = problem.parts, problem.boats, problem.limits
    order = np.argsort(boats.boat, kind="stable")
    boat_of_part = np.searchsorted(boats.boat[order], parts.boat)
    unit, first = _units(parts, boat_of_part)
    sums = _Sums(unit, first.size)
    options = _options(problem, boat_of_part, order, sums)
    boat = boat_of_part[first]
    set_up = _set_up(problem, order)
    bases = np.argsort(limits.base, kind="stable")
    caps = np.vstack([limits.money[None], limits.hours[bases], limits.crane[bases],
                      limits.yard[bases]]).astype(float)  # fmt: skip
    scale = _scale(options, set_up)
    share = scale / FINE
    caps[0] /= share
    for name, by in _UNITS:
        table = options if name in options else set_up
        table[name] = table[name] / (share if by else scale)
    return Tableau(
        codes=boats.boat[order],
        part_unit=unit,
        boat=boat,
        starts=np.flatnonzero(np.r_[True, boat[1:] != boat[:-1]]) if boat.size else boat,
        base=np.searchsorted(limits.base[bases], boats.base[order]),
        caps=caps,
        scale=scale,
        unit=share,
        condemned=sums.any(parts.condemned),
        singles=sums.total(parts.single.astype(float)).astype(np.int64),
        most_singles=problem.money.single_jobs,
        **options,
        **set_up,
    )


def _units(parts, boat: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(P,) unit of each part, by boat and then by the lowest part of the unit; (U,) such a part."""
    key = np.where(parts.pair >= 0, parts.pair, parts.pair.max(initial=-1) + 1 + _rank(parts.part))
    condemned = np.isin(key, key[parts.condemned])  # a condemned part takes its partner along
    lowest = _lowest(np.where(condemned, -1 - boat, key), parts.part)
    order = np.lexsort((lowest, boat))
    new = np.r_[True, (np.diff(lowest[order]) != 0) | (np.diff(boat[order]) != 0)][: order.size]
    unit = np.empty(order.size, dtype=np.int64)
    unit[order] = np.cumsum(new) - 1
    return unit, order[new]


def _rank(codes: np.ndarray) -> np.ndarray:
    return np.unique(codes, return_inverse=True)[1]


def _lowest(key: np.ndarray, part: np.ndarray) -> np.ndarray:
    """(P,) the lowest part code among those of the same key."""
    _, group = np.unique(key, return_inverse=True)
    lowest = np.full(group.max(initial=-1) + 1, np.iinfo(np.int64).max)
    np.minimum.at(lowest, group, part)
    return lowest[group]


@dataclass(frozen=True, eq=False)
class _Sums:
    """Values of parts put together by unit."""

    unit: np.ndarray
    units: int

    def total(self, values: np.ndarray) -> np.ndarray:
        out = np.zeros((self.units, *values.shape[1:]))
        np.add.at(out, self.unit, values)
        return out

    def any(self, values: np.ndarray) -> np.ndarray:
        return self.total(values.astype(float)) > 0

    def all(self, values: np.ndarray) -> np.ndarray:
        return ~self.any(~values)


def _options(problem: SeasonProblem, boat: np.ndarray, order: np.ndarray, sums: _Sums) -> dict:
    parts, boats, rules = problem.parts, problem.boats, problem.money
    rate = boats.hour_rate[order][boat]
    grown, worth_now = _factors(rules, parts.seasons)
    down = np.rint((parts.price + parts.hours_down * rate)[:, None] * grown)
    up = np.rint((parts.price + parts.up_price + parts.hours_up * rate)[:, None] * grown)
    put_off = _put_off(problem, boat, order, sums)
    left = sums.total(parts.worth) * grown[-1] * worth_now[-1]
    money_down, money_up = sums.total(down), sums.total(up)
    may, may_not = _allowed(problem, boat, order, sums)
    too_many = sums.total(parts.single.astype(float)) > rules.single_jobs
    may_up = may & ~(sums.any(parts.needs_mast_down) | too_many)[:, None]
    waited, hours = put_off[:, :-1] - left, (parts.hours_up[:, None], parts.hours_down[:, None])
    return {
        "up": np.where(may_up, money_up * worth_now + waited, INF),
        "down": np.where(may, money_down * worth_now + waited, INF),
        "never": np.where(may_not, put_off[:, -1], INF),
        "money_up": money_up,
        "money_down": money_down,
        "hours_up": sums.total(hours[0]) * np.ones(parts.seasons),
        "hours_down": sums.total(hours[1]) * np.ones(parts.seasons),
    }


def _factors(rules, seasons: int) -> tuple[np.ndarray, np.ndarray]:
    """(Y,) growth of prices up to each season; (Y,) worth today of a unit of money then."""
    y = np.arange(seasons)
    return (1 + rules.growth) ** y, (1 + rules.discount) ** -y.astype(float)


def season_costs(problem: SeasonProblem) -> np.ndarray:
    """(P, Y) expected cost, in the money of each season, of sailing it with the old part.

    P(condemned) x (unplanned - planned cost) + P(failing) x cost of a failure; 0 once the boat has
    left. What is condemned costs its boat the season instead, which is `SeasonBoats.idle`.
    """
    parts, boats = problem.parts, problem.boats
    order = np.argsort(boats.boat, kind="stable")
    boat = np.searchsorted(boats.boat[order], parts.boat)
    grown, _ = _factors(problem.money, parts.seasons)
    planned = parts.price + parts.hours_down * boats.hour_rate[order][boat]
    dearer = np.maximum(parts.unplanned - planned, 0)[:, None]
    cost = parts.chance * dearer + parts.failing * parts.failure[:, None]
    sails = np.arange(parts.seasons) < boats.leaves[order][boat][:, None]
    return np.where(sails & ~parts.condemned[:, None], cost * grown, 0.0)


def _put_off(problem: SeasonProblem, boat: np.ndarray, order: np.ndarray, sums: _Sums):
    """(U, Y + 1) worth today of all that waiting until each season is expected to cost."""
    parts, boats = problem.parts, problem.boats
    grown, worth_now = _factors(problem.money, parts.seasons)
    season = sums.total(season_costs(problem))
    at = np.zeros(sums.units, dtype=np.int64)
    at[sums.unit] = boat
    still = np.arange(parts.seasons) < boats.leaves[order][at][:, None]
    idle = boats.idle[order][at][:, None] * still * grown
    season += np.where(sums.any(parts.condemned)[:, None], idle, 0.0)
    return np.pad(np.cumsum(season * worth_now, axis=1), ((0, 0), (1, 0)))


def _allowed(problem: SeasonProblem, boat: np.ndarray, order: np.ndarray, sums: _Sums):
    """(U, Y) bool seasons it may be renewed in, (U,) bool whether it may be left."""
    parts, seasons = problem.parts, problem.parts.seasons
    leaves = problem.boats.leaves[order][boat]
    y = np.arange(seasons)
    due = np.where(parts.due < 0, seasons, parts.due)[:, None]
    pinned = parts.pinned[:, None]
    may = (y <= due) & (y < leaves[:, None]) & ((pinned == FREE) | (pinned == y))
    bound = (parts.due >= 0) & (parts.due < leaves)
    left = (parts.pinned == FREE) | (parts.pinned == seasons)
    must = (bound | parts.condemned) & (leaves > 0)
    may, may_not = sums.all(may), sums.all(left & ~must)
    stuck = ~may.any(axis=1) & ~may_not
    if stuck.any():
        part = parts.part[np.isin(sums.unit, np.flatnonzero(stuck))].min()
        raise ValueError(f"Part {part} can be renewed in no season its rules and pins leave open.")
    return may, may_not


def _set_up(problem: SeasonProblem, order: np.ndarray) -> dict[str, np.ndarray]:
    boats = problem.boats
    grown, worth_now = _factors(problem.money, problem.parts.seasons)
    ours = np.where(boats.unstepped[order], 0.0, 1.0)[:, None] * np.ones(grown.size)
    money = np.rint(boats.set_up_cost[order][:, None] * ours * grown)
    return {
        "set_up": money * worth_now,
        "set_up_money": money,
        "set_up_hours": boats.set_up_hours[order][:, None] * ours,
        "crane": boats.crane[order][:, None] * ours,
        "yard": boats.yard[order][:, None] * ours,
    }


def _scale(options: dict, set_up: dict) -> float:
    """The largest cost there is: all money is worked with as a share of it."""
    costs = [options[k][np.isfinite(options[k])] for k in ("up", "down", "never")]
    largest = max((float(np.abs(c).max(initial=0)) for c in (*costs, set_up["set_up"])), default=0)
    return largest or 1.0
