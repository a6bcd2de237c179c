"""Larger invented fleets for the planner, and knapsacks put as fleets."""

import numpy as np

from forecasting.planning.seasons import Limits, MoneyRules, SeasonBoats, SeasonParts, SeasonProblem
from forecasting.planning.seasons.patterns import best_plans, priced, totals
from forecasting.planning.seasons.tableau import tableau

RULES = MoneyRules(discount=0.04, growth=0.03, single_jobs=4)


def fleet(
    boats: int, bases: int, *, stays: int = 12, seasons: int = 5, seed: int = 1, share: float = 0.6
) -> SeasonProblem:
    """Boats of every age with twelve stays; limits at `share` of what they would best have."""
    rng = np.random.default_rng(seed)
    parts, unlimited = _parts(rng, boats, stays, seasons), np.full((bases, seasons), np.inf)
    base = rng.integers(0, bases, boats)
    table = SeasonBoats(
        boat=np.arange(boats),
        base=base,
        set_up_cost=np.rint(rng.uniform(1200, 3000, boats)) * 100,
        set_up_hours=np.full(boats, 16.0),
        crane=np.ones(boats),
        yard=np.ones(boats),
        unstepped=rng.random(boats) < 0.1,
        hour_rate=np.full(boats, 7000.0),
        idle=np.full(boats, 3e6),
        leaves=np.where(rng.random(boats) < 0.1, rng.integers(1, seasons, boats), seasons),
    )
    free = Limits(np.arange(bases), unlimited[0], unlimited, unlimited, unlimited)
    t = tableau(SeasonProblem(parts, table, free, RULES))
    used = totals(t, best_plans(t, priced(t, np.zeros_like(t.caps)))[1].use)
    used[0] *= t.unit
    caps = share * np.maximum(used, used.mean(axis=1, keepdims=True))
    money, hours, crane, yard = np.split(np.ceil(caps), [1, 1 + bases, 1 + 2 * bases])
    limits = Limits(np.arange(bases), money[0], hours, crane, yard)
    return SeasonProblem(parts, table, limits, RULES)


def _parts(rng, boats: int, stays: int, seasons: int) -> SeasonParts:
    """Weibull lives of shape 3, scale 14 years, conditioned on a look within the last year."""
    n, y = boats * stays, np.arange(seasons)
    boat = np.repeat(np.arange(boats), stays)
    age = (rng.uniform(0, 18, boats)[boat] + rng.normal(0, 2, n)).clip(0, 25)

    def hazard(at: np.ndarray) -> np.ndarray:
        return (at / 14) ** 3

    seen = hazard(np.maximum(age - 1, 0))[:, None]
    gone = 1 - np.exp(seen - hazard(age[:, None] + np.arange(seasons + 1)))
    chance = np.diff(np.column_stack((np.zeros(n), gone[:, 1:])), axis=1)
    price = np.rint(rng.uniform(300, 1500, n)) * 100
    place = np.arange(n)
    return SeasonParts(
        part=place,
        boat=boat,
        pair=np.where(place % stays < 8, place // 2, -1),
        condemned=rng.random(n) < 0.004,
        due=np.where(rng.random(n) < 0.03, rng.integers(0, seasons, n), -1),
        due_code=np.full(n, "rule_age"),
        price=price,
        up_price=np.full(n, 5000.0),
        hours_down=np.full(n, 2.0),
        hours_up=np.full(n, 4.0),
        needs_mast_down=rng.random(n) < 0.05,
        unplanned=price * 1.3 + 80_000,
        failure=np.full(n, 6e6),
        chance=chance,
        failing=np.cumsum(chance, axis=1) / 60,
        worth=price[:, None] * np.maximum(0, 1 - (seasons - y) / 12),
        single=np.ones(n, dtype=bool),
        pinned=np.full(n, -1),
    )


def knapsack(weights: list[int], profits: list[int], capacity: int) -> SeasonProblem:
    """Each thing a boat with one stay: to renew it takes its weight of the money, to put it off
    costs its profit on top of what was saved. The dearest things to put off go in."""
    n, weight = len(weights), np.array(weights, dtype=float)
    none, one, zero = np.full(n, -1), np.ones(n), np.zeros(n)
    parts = SeasonParts(
        part=np.arange(n), boat=np.arange(n), pair=none, condemned=zero > 0, due=none,
        due_code=np.full(n, ""), price=weight, up_price=zero, hours_down=zero, hours_up=zero,
        needs_mast_down=zero > 0, unplanned=zero, failure=weight + np.array(profits),
        chance=np.zeros((n, 1)), failing=np.ones((n, 1)), worth=np.zeros((n, 1)), single=zero > 0,
        pinned=none,
    )  # fmt: skip
    boats = SeasonBoats(
        boat=np.arange(n), base=np.zeros(n, dtype=int), set_up_cost=zero, set_up_hours=zero,
        crane=one, yard=one, unstepped=zero > 0, hour_rate=zero, idle=zero,
        leaves=np.ones(n, dtype=int),
    )  # fmt: skip
    free = np.full((1, 1), np.inf)
    return SeasonProblem(
        parts, boats, Limits(np.array([0]), np.array([float(capacity)]), free, free, free)
    )
