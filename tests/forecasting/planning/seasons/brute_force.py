"""Random small fleets, and their best plan found by trying every plan there is.

Written from the question alone, in plain loops, without anything of the planner but its input.
"""

from itertools import product

import numpy as np

from forecasting.planning.seasons import Limits, MoneyRules, SeasonBoats, SeasonParts, SeasonProblem

KINDS = ("money", "hours", "crane", "yard")
SINGLES = "one by one"  # the rule that only so many wires are renewed with the mast up


def small_fleet(seed: int) -> SeasonProblem:
    """Two or three boats, up to three parts each, two or three seasons, tight limits."""
    rng = np.random.default_rng(seed)
    seasons, boats = int(rng.integers(2, 4)), int(rng.integers(2, 4))
    count = rng.integers(1, 4 if seasons == 2 else 3, boats)
    parts = _parts(rng, np.repeat(np.arange(boats), count) + 10, seasons)
    bases = int(rng.integers(1, 3))
    fleet = SeasonBoats(
        boat=np.arange(boats) + 10,
        base=rng.integers(0, bases, boats),
        set_up_cost=rng.integers(0, 25, boats) * 10.0,
        set_up_hours=rng.integers(0, 6, boats).astype(float),
        crane=np.ones(boats),
        yard=rng.integers(1, 3, boats).astype(float),
        unstepped=rng.random(boats) < 0.15,
        hour_rate=np.full(boats, 10.0),
        idle=rng.integers(5, 60, boats) * 10.0,
        leaves=np.where(rng.random(boats) < 0.15, rng.integers(1, seasons + 1, boats), seasons),
    )
    return SeasonProblem(
        parts,
        fleet,
        _limits(rng, parts, fleet, bases),
        MoneyRules(
            discount=float(rng.choice([0, 0.05])),
            growth=float(rng.choice([0, 0.04])),
            single_jobs=float(rng.choice([0, 1, 1, 1, 2, np.inf])),
            over_hours=37.0,
            over_crane=310.0,
            over_yard=170.0,
        ),
    )


def _parts(rng, boat: np.ndarray, seasons: int) -> SeasonParts:
    n = boat.size
    pair = np.full(n, -1)
    for b in np.unique(boat):
        mine = np.flatnonzero(boat == b)
        if mine.size > 1 and rng.random() < 0.5:
            pair[mine[:2]] = b
    price = rng.integers(2, 60, n).astype(float) * 10
    chance = rng.dirichlet(np.ones(seasons + 1), n)[:, :seasons]
    return SeasonParts(
        part=rng.permutation(n) + 100,
        boat=boat,
        pair=pair,
        condemned=rng.random(n) < 0.08,
        due=np.where(rng.random(n) < 0.1, rng.integers(0, seasons, n), -1),
        due_code=np.full(n, "rule_age"),
        price=price,
        up_price=rng.integers(0, 8, n) * 10.0,
        hours_down=rng.integers(1, 4, n).astype(float),
        hours_up=rng.integers(2, 9, n).astype(float),
        needs_mast_down=rng.random(n) < 0.25,
        unplanned=price * rng.uniform(1, 4, n).round(1),
        failure=rng.integers(0, 30, n) * 100.0,
        chance=chance,
        failing=chance * rng.uniform(0, 0.4, (n, 1)),
        worth=price[:, None] * np.sort(rng.uniform(0, 0.8, (n, seasons))),
        single=rng.random(n) < 0.9,
        pinned=np.full(n, -1),
    )


def _limits(rng, parts: SeasonParts, boats: SeasonBoats, bases: int) -> Limits:
    """Each kind limited or not; at about what half of the work would take."""
    seasons, shape = parts.seasons, (bases, parts.seasons)

    def some(most: float, size, unlimited: float) -> np.ndarray:
        if rng.random() < unlimited:
            return np.full(size, np.inf)
        return np.rint(rng.uniform(0.15, 0.8, size) * most)

    hours = parts.hours_down.sum() + boats.set_up_hours.sum()
    money = parts.price.sum() + boats.set_up_cost.sum() + 10 * hours
    crane = np.where(rng.random() < 0.15, np.inf, rng.integers(0, 2, shape)).astype(float)
    yard = np.where(rng.random() < 0.2, np.inf, rng.integers(0, 3, shape)).astype(float)
    money, hours = some(money, seasons, 0.5), some(hours / bases, shape, 0.6)
    return Limits(np.arange(bases), money, hours, crane, yard)


def plans_of_boat(problem: SeasonProblem, b: int) -> tuple[np.ndarray, ...]:
    """Every plan of a boat: cost (n,), use (n, 4, Y), whether all condemned goes at once (n,), and
    whether it keeps the rule of few wires with the mast up (n,)."""
    parts, seasons = problem.parts, problem.parts.seasons
    mine = np.flatnonzero(parts.boat == problem.boats.boat[b])
    costs, uses, at_once, few = [], [], [], []
    for mast in product((False, True), repeat=seasons):
        for when in product(range(seasons + 1), repeat=mine.size):
            if _may_be(problem, b, mine, when, mast):
                cost, use = _sum(problem, b, mine, when, mast)
                costs.append(cost), uses.append(use)
                few.append(_few(problem, mine, when, mast))
                at_once.append(
                    all(y == 0 for p, y in zip(mine, when, strict=True) if parts.condemned[p])
                )
    return np.array(costs), np.array(uses), np.array(at_once), np.array(few)


def _few(problem: SeasonProblem, mine, when, mast) -> bool:
    single, seasons = problem.parts.single, problem.parts.seasons
    up = [y for p, y in zip(mine, when, strict=True) if single[p] and y < seasons and not mast[y]]
    return max(map(up.count, up), default=0) <= problem.money.single_jobs


def _may_be(problem: SeasonProblem, b: int, mine, when, mast) -> bool:
    parts, seasons, leaves = problem.parts, problem.parts.seasons, problem.boats.leaves[b]
    together: dict = {}
    gone = {parts.pair[p] for p in mine if parts.condemned[p] and parts.pair[p] >= 0}
    for p, y in zip(mine, when, strict=True):
        condemned = parts.condemned[p] or parts.pair[p] in gone
        group = "condemned" if condemned else parts.pair[p] if parts.pair[p] >= 0 else -2 - p
        if together.setdefault(group, y) != y:
            return False
        bound = parts.due[p] >= 0 and parts.due[p] < leaves
        if (bound or parts.condemned[p]) and y == seasons:
            return False
        if y < seasons and (y >= leaves or (parts.due[p] >= 0 and y > parts.due[p])):
            return False
        if y < seasons and parts.needs_mast_down[p] and not mast[y]:
            return False
    return True


def _sum(problem: SeasonProblem, b: int, mine, when, mast) -> tuple[float, np.ndarray]:
    parts, boats, rules = problem.parts, problem.boats, problem.money
    seasons, rate = parts.seasons, boats.hour_rate[b]
    use, cost = np.zeros((4, seasons)), 0.0
    grown = [(1 + rules.growth) ** y for y in range(seasons)]
    now = [(1 + rules.discount) ** -y for y in range(seasons)]
    for y in range(seasons):
        if mast[y] and not boats.unstepped[b]:
            money = round(boats.set_up_cost[b] * grown[y])
            use[:, y] += (money, boats.set_up_hours[b], boats.crane[b], boats.yard[b])
            cost += money * now[y]
    for p, y in zip(mine, when, strict=True):
        planned = parts.price[p] + parts.hours_down[p] * rate
        for s in range(min(y, boats.leaves[b])):
            extra = max(parts.unplanned[p] - planned, 0)
            wait = parts.chance[p, s] * extra + parts.failing[p, s] * parts.failure[p]
            cost += 0 if parts.condemned[p] else wait * grown[s] * now[s]
        if y == seasons:
            continue
        hours = parts.hours_down[p] if mast[y] else parts.hours_up[p]
        money = parts.price[p] + hours * rate + (0 if mast[y] else parts.up_price[p])
        money = round(money * grown[y])
        use[:2, y] += (money, hours)
        cost += money * now[y] - parts.worth[p, y] * grown[-1] * now[-1]
    waited = max((y for p, y in zip(mine, when, strict=True) if parts.condemned[p]), default=0)
    cost += sum(boats.idle[b] * grown[s] * now[s] for s in range(min(waited, boats.leaves[b])))
    return cost, use


class EveryPlan:
    """All plans of a small fleet: cost, and use of each limit, one row a combination of plans."""

    def __init__(self, problem: SeasonProblem) -> None:
        self.problem = problem
        boats = range(problem.boats.boat.size)
        found = [plans_of_boat(problem, b) for b in boats]
        rows = {k: table.shape[0] for k, table in problem.limits.tables().items()}
        self.cost, self.at_once = np.zeros(1), np.ones(1, dtype=bool)
        self.few = self.at_once
        self.use = {k: np.zeros((1, rows[k], problem.parts.seasons)) for k in KINDS}
        for b, (cost, use, at_once, few) in zip(boats, found, strict=True):
            self.cost = np.add.outer(self.cost, cost).ravel()
            self.at_once = np.logical_and.outer(self.at_once, at_once).ravel()
            self.few = np.logical_and.outer(self.few, few).ravel()
            for k, kind in enumerate(KINDS):
                mine = np.zeros((cost.size, *self.use[kind].shape[1:]))
                row = 0 if kind == "money" else int(problem.boats.base[b])
                mine[:, row] = use[:, k]
                both = self.use[kind][:, None] + mine[None]
                self.use[kind] = both.reshape(-1, *mine.shape[1:])

    def within(self, *, without: str = "") -> np.ndarray:
        """Which plans keep the limits and the rule, one kind of limit or the rule left out."""
        fits = self.few | (without == SINGLES)
        for kind, caps in self.problem.limits.tables().items():
            if kind != without:
                fits &= (self.use[kind] <= caps + 1e-9).all(axis=(1, 2))
        return fits

    def best(self, *, without: str = "") -> float:
        """The least cost: what is condemned at once if any plan can, else whenever; inf if none."""
        fits = self.within(without=without)
        strict = fits & self.at_once
        fits = strict if strict.any() else fits
        return float(self.cost[fits].min()) if fits.any() else np.inf

    def cheapest_relaxation(self) -> float:
        """The least that has to be paid for limits exceeded."""
        rules = self.problem.money
        price = {"money": 1.0, "hours": rules.over_hours, "crane": rules.over_crane,
                 "yard": rules.over_yard}  # fmt: skip
        paid = np.zeros(self.cost.size)
        for kind, caps in self.problem.limits.tables().items():
            paid += price[kind] * np.maximum(self.use[kind] - caps, 0).sum(axis=(1, 2))
        return float(paid[self.few].min())
