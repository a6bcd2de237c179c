"""From a tableau to a plan with a proven gap: prices, columns, whole plans, in that order.

Each step stops when the gap asked for is proven; none looks at a clock, so the same question has
the same answer on any machine.
"""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from .columns import Pool, mix
from .patterns import plans_of, totals
from .prices import MOST_LOOKS, Bound, bound_at, climb
from .tableau import Tableau
from .whole import options_left, solve_whole

Tell = Callable[[str], None]
ROUNDS = 12
SMALL, FEW_LOOKS = 50, 30  # boats; with so few the columns agree on prices faster than a climb
MIDDLING = 200  # boats up to which the whole programme, not another mix, is likely to close a gap
WHOLE_OPTIONS = 12_000  # options left up to which the whole programme is tried
FREE_BOATS = 400  # boats whose plans are chosen anew in the first whole mix
MIXES = 3  # times whole plans are mixed, each time with further plans of the boats
SPREADS = (0.03, 0.1, 0.3, 1.0) * 3  # of the logarithms of prices about the best
EXACT = 1e-9
SMALLEST_COIN = 0.4  # minor units: money is whole ones, so less than one over is none
SEVERE = 100  # times the penalty of the linear mix: in whole plans a slight excess is one too


@dataclass(frozen=True, eq=False)
class Solution:
    """choice (U,), mast (B, Y); cost with penalties, bound below it; excess (rows, Y) over caps.

    prices (rows, Y): the best known; infeasible: proven that no plan keeps the limits.
    """

    choice: np.ndarray
    mast: np.ndarray
    cost: float
    bound: float
    excess: np.ndarray
    prices: np.ndarray
    infeasible: bool = False

    @property
    def gap(self) -> float:
        """Share of the cost that is not proven to be needed."""
        if self.cost - self.bound <= EXACT * max(1.0, abs(self.cost)):
            return 0.0
        return (self.cost - self.bound) / abs(self.cost) if self.cost else np.inf

    @property
    def within_limits(self) -> bool:
        return not (self.excess > 0).any()


@dataclass(eq=False)
class Search:
    """What is known so far, while solving."""

    t: Tableau
    penalty: np.ndarray
    hard: bool
    wanted: float
    tell: Tell
    pool: Pool = field(init=False)
    best: Bound | None = None
    lower: float = -np.inf
    plan: Solution | None = None
    known: np.ndarray | None = None  # the plan's columns: a mix of them there always is
    infeasible: bool = False

    def __post_init__(self) -> None:
        self.pool = Pool(self.t)

    def saw(self, bound: Bound) -> None:
        """A bound and the plans that come with it; they may happen to keep the limits."""
        self.tell("")
        self.pool.add(bound.plans)
        if self.best is None or bound.value > self.best.value:
            self.best = bound
            self.lower = max(self.lower, bound.value)
        self.offer(bound.plans.choice, bound.plans.mast)

    def glimpsed(self, bound: Bound) -> None:
        """A bound that leaves the rule of few wires with the mast up out, and plans like it."""
        self.tell("")
        self.pool.add(bound.plans)
        self.lower = max(self.lower, bound.value)

    def offer(self, choice: np.ndarray, mast: np.ndarray) -> None:
        plans = plans_of(self.t, choice, mast)
        limited = np.isfinite(self.t.caps)
        over = totals(self.t, plans.use) - np.where(limited, self.t.caps, 0.0)
        least = 1e-6 * np.maximum(1.0, np.where(limited, self.t.caps, 1.0))
        least[0] = SMALLEST_COIN / self.t.unit
        excess = np.where(limited & (over > least), over, 0.0)
        cost = float(plans.cost.sum() + (self.penalty * excess).sum())
        over_it = self.hard and bool(excess.any())
        known = (self.hard and not self.plan.within_limits, self.plan.cost) if self.plan else None
        if known is None or (over_it, cost) < known:
            prices = self.plan.prices if self.plan else np.zeros_like(self.t.caps)
            self.plan = Solution(choice, mast, cost, self.lower, excess, prices)
            self.pool.add(plans)
            self.known = self.pool.of(plans)

    def reached(self, share: float = 1.0) -> bool:
        """Whether the gap is proven, or so much of it."""
        if self.hard and not self.plan.within_limits:
            return False
        missing = self.plan.cost - self.lower
        return missing <= max(self.wanted * share, EXACT) * abs(self.plan.cost) + 1e-12

    def answer(self) -> Solution:
        plan, prices = self.plan, self.best.prices
        return Solution(
            plan.choice, plan.mast, plan.cost, self.lower, plan.excess, prices, self.infeasible
        )


def solve(
    t: Tableau,
    wanted: float,
    tell: Tell,
    penalty: np.ndarray | None = None,
    start: Solution | None = None,
) -> Solution:
    """The best plan found and its bound. penalty (rows, Y): an excess over a limit may be bought
    at that price; without it limits are to be kept, and an excess in the answer says that no plan
    within them is known. start: a plan known already."""
    s = Search(t, _prohibitive(t) if penalty is None else penalty, penalty is None, wanted, tell)
    if start is not None:
        s.offer(start.choice, start.mast)
    s.saw(bound_at(t, np.zeros_like(t.caps)))
    if s.reached():
        return s.answer()
    if np.isfinite(t.caps).any() and not _priced_plans(s):
        return s.answer()
    if not s.reached():
        _whole_programme(s)
    return s.answer()


def _priced_plans(s: Search) -> bool:
    """Prices of the limits and plans put together by them; False where no plan keeps them."""
    s.tell("Season prices")
    looks = MOST_LOOKS if s.t.base.size > SMALL else FEW_LOOKS
    climb(s.t, s.saw, s.glimpsed, s.penalty, looks)
    s.infeasible = s.hard and s.lower > _most(s.t)
    if s.infeasible:
        return False
    _columns(s)
    if not s.reached():
        _whole_plans(s)
    return True


def _prohibitive(t: Tableau) -> np.ndarray:
    """(rows, Y) a price at which a tenth of a limit costs all that could be spent."""
    caps = np.where(np.isfinite(t.caps), t.caps, 1.0)
    return 10 * (_most(t) + 1) / np.maximum(caps, 0.1)


def _most(t: Tableau) -> float:
    """More than any plan costs: a bound above it proves that no plan keeps the limits."""
    options = np.column_stack((t.up, t.down, t.never))
    dearest = np.where(np.isfinite(options), np.abs(options), 0.0).max(axis=1, initial=0)
    return float(dearest.sum() + t.set_up.sum())


def _columns(s: Search) -> None:
    """Rounds of linear mixes: each gives prices, those give new plans, until both agree."""
    s.tell("Plans of the boats put together")
    for _ in range(ROUNDS):
        columns = _near(s)
        linear = mix(s.pool, columns, s.penalty)
        if not linear.found or linear.prices is None:
            return
        cost = float((linear.share * s.pool.cost[columns]).sum())
        cost += float((linear.excess * s.penalty).sum())
        if cost - s.lower <= max(s.wanted / 4, EXACT) * abs(cost):
            return
        before, known = s.best.prices, s.pool.boat.size
        for share in (1.0, 0.5, 0.15):
            s.saw(bound_at(s.t, share * linear.prices + (1 - share) * before))
            if share < 1 and s.best.prices is not before:
                break
        if s.pool.boat.size == known:
            return


def _near(s: Search, kept: int = 6) -> np.ndarray:
    dearer = s.pool.reduced(s.best.prices, s.best.reduced)
    near = s.pool.near(dearer, 0.2 * abs(s.best.value) / s.t.base.size, kept)
    return np.union1d(near, s.known)


def _whole_plans(s: Search) -> None:
    """Whole plans from the columns: first with the boats free that the linear mix splits; where
    that leaves too much, with further plans of the boats, at prices about the best."""
    rng = np.random.default_rng(3)
    for left in reversed(range(MIXES if s.hard and s.t.base.size > MIDDLING else 1)):
        s.tell("Whole plans")
        columns = _near(s, 12)
        linear = mix(s.pool, columns, s.penalty)
        for free in (FREE_BOATS, s.t.base.size) if linear.found else ():
            some = _free(s, columns, linear.share, free)
            _offer_mix(s, some)
            if s.reached():
                return
            if some.size == columns.size:
                break
        for spread in SPREADS if left else ():
            factor = np.exp(spread * rng.standard_normal(s.t.caps.shape))
            s.saw(bound_at(s.t, s.best.prices * factor))


def _free(s: Search, columns: np.ndarray, share: np.ndarray, boats: int) -> np.ndarray:
    """The columns, less those of boats whose plan the linear mix has settled and that are not
    among the `boats` with the closest second choice."""
    boat, n = s.pool.boat[columns], s.t.base.size
    dearer = s.pool.reduced(s.best.prices, s.best.reduced)[columns]
    split = np.zeros(n, dtype=bool)
    split[boat[(share > 1e-6) & (share < 1 - 1e-6)]] = True
    second = np.full(n, np.inf)
    other = share <= 1e-6
    np.minimum.at(second, boat[other], dearer[other])
    second[split] = -1
    free = np.zeros(n, dtype=bool)
    free[np.argsort(second, kind="stable")[: max(boats, int(split.sum()))]] = True
    return columns[free[boat] | (share > 0.5)]


def _offer_mix(s: Search, columns: np.ndarray) -> None:
    near = 0.6 if s.t.base.size > MIDDLING else 4.0  # the whole programme comes after it
    missing = max(near * s.wanted, 1e-7) * abs(s.best.value)
    whole = mix(s.pool, columns, s.penalty * (SEVERE if s.hard else 1), missing)
    if not whole.found:
        return
    taken = columns[whole.share > 0.5]
    order = np.argsort(s.pool.boat[taken])
    s.offer(*s.pool.choices(taken[order]))


def _whole_programme(s: Search) -> None:
    known = s.plan.cost if s.plan.within_limits or not s.hard else np.inf
    options = options_left(s.t, s.best, known)
    if options.unit.size > WHOLE_OPTIONS:
        return
    s.tell("All boats at once")
    answer = solve_whole(s.t, options, s.wanted, None if s.hard else s.penalty)
    s.infeasible = answer.infeasible and not np.isfinite(known)
    if answer.choice is not None:
        s.offer(answer.choice, answer.mast)
        s.lower = max(s.lower, min(answer.bound, s.plan.cost))
