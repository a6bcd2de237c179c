"""Small fleets, how they are kept and what they pay, for the budget tests."""

import numpy as np

from forecasting.planning.budget import Prices, budget
from forecasting.planning.ledger import fiscal_years
from forecasting.planning.renewals import Policy
from tests.forecasting.planning.rigs import table, weibull, wire

TEN_YEARS = fiscal_years(0.0, [str(year) for year in range(2026, 2036)])
ALWAYS = 1e-4  # an interval so short that a condemned part is found at once


def policy(standing, every=0.5, levels=("deck", "aloft", "mast_down"), **given):
    p, b = standing.parts.size, standing.boats.size
    usual = {
        "renew_at": np.full(p, np.inf),
        "booked": np.zeros(p, bool),
        "renewed_with": standing.parts,
        "joins": np.zeros(b),
        "leaves": np.full(b, np.inf),
        "first_refit": np.full(b, 0.3),
        "inspections": {level: (np.full(b, every), np.full(b, every)) for level in levels},
    }
    return Policy(**{**usual, **given})


def prices(standing, **given):
    p, b = standing.parts.size, standing.boats.size
    usual = {
        "planned": np.full(p, 30_000),
        "unplanned": np.full(p, 50_000),
        "mast_down": np.zeros(p, bool),
        "set_up": np.full(b, 80_000),
    }
    return Prices(**{**usual, **given})


def project(rows, model=None, *, plan=None, cost=None, years=TEN_YEARS, draws=200, seed=1, **given):
    standing = table(rows)
    models = {"wire": model or weibull(3, 18)}
    plan = plan or policy(standing, **given)
    return budget(models, standing, plan, cost or prices(standing), years, draws=draws, seed=seed)


def fleet(boats=4, wires=6, age=9.0):
    return [
        row
        for boat in range(boats)
        for w in range(wires)
        for row in wire(part=100 * boat + w, boat=boat, age=age + w / 3, base=boat % 3)
    ]
