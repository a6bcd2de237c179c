"""How long a budget of fifteen years for 120,000 stays takes, with draws.

10,000 boats of twelve wires, three spots each, as in the benchmark of the outlook; an age rule of
12 years, looks of three levels, failures in service, a pair one unit. Baseline of the same run:
drawing the random numbers of two cycles, without which none of it can be.

    python -m tests.benchmarks budget
"""

import resource

import numpy as np

from forecasting.planning.budget import Prices, budget
from forecasting.planning.failing import BreakageRate
from forecasting.planning.ledger import fiscal_years
from forecasting.planning.renewals import Policy
from forecasting.planning.spots import Standing
from forecasting.survival import rule_of_thumb

from .outlook import BOATS, SEED, fleet, timed

DRAWS, YEARS, BAR = 200, 15, 20.0
INTERVALS = {"deck": 0.5, "aloft": 1.0, "mast_down": 4.0}


def policy(standing: Standing) -> Policy:
    parts, boats = standing.parts.size, standing.boats.size
    rng = np.random.default_rng(SEED)
    looks = {
        level: (rng.uniform(0, every, boats), np.full(boats, every))
        for level, every in INTERVALS.items()
    }
    return Policy(
        renew_at=np.full(parts, 12.0), booked=np.zeros(parts, dtype=bool),
        renewed_with=np.arange(parts) // 2, joins=np.zeros(boats),
        leaves=np.where(rng.random(boats) < 0.3, rng.uniform(2, 15, boats), np.inf),
        first_refit=np.full(boats, 0.2), inspections=looks, breakage=BreakageRate(),
    )  # fmt: skip


def prices(standing: Standing) -> Prices:
    parts, boats = standing.parts.size, standing.boats.size
    cost = np.random.default_rng(SEED).integers(30_000, 90_000, parts)
    down = np.arange(parts) % 3 == 0
    return Prices(cost, cost + 42_000, down, np.full(boats, 205_600), 1_600_000, 0.03)


def main() -> int:
    """Time it, print what it took, and return 0 if the bar is kept."""
    standing = fleet()
    years = fiscal_years(0.0, [str(2027 + y) for y in range(YEARS)])
    payers = np.arange(BOATS) % 3
    given = {"draws": DRAWS, "seed": SEED, "payers": payers}
    models = {"wire": rule_of_thumb(kind="wire")}
    plan, paid = policy(standing), prices(standing)
    took, cpu, found = timed(lambda: budget(models, standing, plan, paid, years, **given))
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024
    rows = standing.part.size * DRAWS
    drawn, drawn_cpu, _ = timed(
        lambda: [np.random.default_rng(c).standard_exponential(rows).sum() for c in range(2)]
    )
    print(f"budget of {YEARS} years, {standing.parts.size:,} stays, {DRAWS} draws: {took:.1f} s, "
          f"processor {cpu:.1f} s, {memory:,} MB; random numbers alone {drawn:.1f} s, "
          f"processor {drawn_cpu:.1f} s")  # fmt: skip
    adds = found.parts.sum() + found.boat.costs[3, :, :-1].sum() == found.fleet.mean[0, -1]
    print(f"parts and set-ups add to the fleet to the cent: {adds}")
    return 0 if cpu <= BAR and adds else 1
