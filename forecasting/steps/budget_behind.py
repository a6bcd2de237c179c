"""What is behind the budget's totals, as rows: each part, and each who pays."""

from collections.abc import Iterator

import numpy as np

from fleet.models import Installation

from ..models import BudgetDraws, PartMoney
from ..planning.budget import Budget
from ..planning.whole_cents import shared
from .budget_rows import PARTIES, payers, years_of
from .prospects import Prospects

FURTHEST = 60.0  # years ahead beyond which a renewal is not dated


def part_money(prospects: Prospects, found: Budget) -> Iterator[PartMoney]:
    """Yield a row for each part that stands: what its renewal costs, and when it comes."""
    table, parts = prospects.afloat.table, prospects.afloat.parts
    wire = (parts["kind"] == Installation.Kind.WIRE).to_numpy()
    cost = prospects.prices.planned(mast_down=wire)
    set_up = _set_ups(prospects, wire)
    ages = prospects.deciding_age
    for p, part in enumerate(table.parts.tolist()):
        remaining = float(found.remaining[p])
        yield PartMoney(
            boat_id=int(table.boats[table.boat_of_part[p]]),
            installation_id=part,
            as_of=prospects.as_of,
            age=None if np.isnan(ages[p]) else float(ages[p]),
            cost_minor=int(cost[p]),
            set_up_minor=int(set_up[p]),
            remaining=round(remaining, 4) if remaining <= FURTHEST else None,
            means=found.parts[p].tolist(),
        )


def _set_ups(prospects: Prospects, wire: np.ndarray) -> np.ndarray:
    """Return (P,) each wire's share of its boat's set-up; none where the mast is down anyway."""
    table, boats = prospects.afloat.table, prospects.afloat.boats
    unstepped = boats["mast_down"].to_numpy(dtype=bool)
    cost = np.where(unstepped, 0, prospects.prices.set_up_cost)
    share = np.zeros(table.parts.size, dtype=np.int64)
    for boat in range(table.boats.size):
        wires = np.flatnonzero(wire & (table.boat_of_part == boat))
        if wires.size:
            share[wires] = shared(int(cost[boat]), [1] * wires.size)
    return share


def payer_rows(prospects: Prospects, found: Budget) -> Iterator[BudgetDraws]:
    """Yield a row for each who pays: the rounded means of its boats, and its joint draws."""
    codes = payers(prospects)
    years, bounds = years_of(prospects.fleet, prospects.as_of)
    means = found.boat.mean[:, : len(years)]
    for k, code in enumerate(found.payers.tolist()):
        yield BudgetDraws(
            fleet=prospects.fleet,
            payer=PARTIES[code],
            years=years,
            first_length=round(float(bounds[1]), 4),
            mean=means[codes == code].sum(axis=0).tolist(),
            draws=found.payer_draws[k].tolist(),
        )
