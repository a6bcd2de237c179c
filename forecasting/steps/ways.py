"""Three ways to keep the same rigs, compared: as planned, on condition alone, at a fixed age."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from fleet.models import Installation

from ..models import PolicyCost
from ..planning.budget import Budget, Prices, budget
from ..planning.ledger import FiscalYears
from ..planning.renewals import Policy
from ..planning.work import RefitList
from .budget_rows import plan_policy, plan_prices, years_of
from .prospects import SEED, Prospects, enough_draws

DRAWS = 100
USUAL_AGE = 10.0  # years; common practice of insurers and surveyors, no one source
Way = PolicyCost.Way


def way_rows(prospects: Prospects, work: RefitList) -> Iterator[PolicyCost]:
    """Yield a row for each way. All meet the same futures: one seed, one set of life models.

    On condition alone nothing is renewed before it is condemned, and then with the mast up. At a
    fixed age wires go at the fleet's or insurer's age, 10 years where it has none, with the mast
    down where that is cheaper for all wires of a boat; nothing is booked for another reason.
    """
    plan, cost = plan_policy(prospects, work), plan_prices(prospects, work)
    wire = (prospects.afloat.parts["kind"] == Installation.Kind.WIRE).to_numpy()
    nothing, never = np.zeros(wire.size, dtype=bool), np.full(wire.size, np.inf)
    rules = prospects.rule_age[wire]
    age = float(rules.min()) if rules.size and np.isfinite(rules).any() else USUAL_AGE
    yield _row(prospects, Way.PLAN, plan, cost)
    condition = replace(plan, renew_at=never, booked=nothing)
    yield _row(prospects, Way.CONDITION, condition, _with(prospects, cost, nothing))
    by_age = replace(plan, renew_at=np.where(wire, age, np.inf), booked=nothing)
    down = _cheaper_down(prospects, wire)
    yield _row(prospects, Way.AGE, by_age, _with(prospects, cost, down), age)


def _with(prospects: Prospects, cost: Prices, down: np.ndarray) -> Prices:
    return replace(cost, planned=prospects.prices.planned(down), mast_down=down)


def _cheaper_down(prospects: Prospects, wire: np.ndarray) -> np.ndarray:
    """Return (P,) bool: wires of boats on which renewing all of them pays for the set-up."""
    prices, table = prospects.prices, prospects.afloat.table
    saved = prices.planned(np.zeros(wire.size, dtype=bool)) - prices.planned(wire)
    by_boat = np.bincount(table.boat_of_part, saved, minlength=table.boats.size)
    return wire & (by_boat > prices.set_up_cost)[table.boat_of_part]


def _row(
    prospects: Prospects, way: str, policy: Policy, cost: Prices, age: float | None = None
) -> PolicyCost:
    found = _simulated(prospects, policy, cost)
    failed = found.failures
    low, _, high = found.fleet.percentiles[:, 0, -1].tolist()
    return PolicyCost(
        fleet=prospects.fleet,
        way=way,
        age_rule=age,
        mean_minor=int(found.fleet.mean[0, -1]),
        p10_minor=low,
        p90_minor=high,
        by_year=found.fleet.mean[0, :-1].tolist(),
        renewals=float(found.fleet.renewed[:, 0, -1].sum()),
        failures=float(failed.sum() / len(failed)),
        chance_failing=float((failed > 0).mean()),
    )


def _simulated(prospects: Prospects, policy: Policy, cost: Prices) -> Budget:
    years, bounds = years_of(prospects.fleet, prospects.as_of)
    return budget(
        prospects.models,
        prospects.afloat.table,
        policy,
        cost,
        FiscalYears(tuple(str(year) for year in years), bounds),
        draws=enough_draws(prospects.afloat, DRAWS),
        seed=SEED,
        records=prospects.records,
    )
