"""The replacement budget as rows: fiscal years, as many as it is set to, by fleet, base, boat."""

import datetime as dt
from collections.abc import Iterator

import numpy as np

from fleet.models import Fleet
from fleet.models.fleets import Party

from ..accounts import policy
from ..models import BudgetFigure
from ..planning.budget import Budget, Prices, budget
from ..planning.ledger import COSTS, SHARES, FiscalYears, Lines
from ..planning.renewals import Policy
from ..planning.spots import LEVELS
from ..planning.work import RefitList
from .prospects import SEED, Prospects, enough_draws
from .refit_rows import pairs
from .schedule import fiscal_years, intervals

DRAWS = 500
PARTIES = tuple(str(party) for party in Party.values)


def budgeted(prospects: Prospects, work: RefitList) -> Budget:
    """Return what renewals will cost: the coming refit list first, then age, finds and failures.

    Prices are today's, growing as the fleet expects; a boat counts until its planned exit.
    """
    years, bounds = years_of(prospects.fleet, prospects.as_of)
    return budget(
        prospects.models,
        prospects.afloat.table,
        plan_policy(prospects, work),
        plan_prices(prospects, work),
        FiscalYears(tuple(str(year) for year in years), bounds),
        draws=enough_draws(prospects.afloat, DRAWS),
        seed=SEED,
        records=prospects.records,
        payers=payers(prospects),
    )


def years_of(fleet: Fleet, as_of: dt.date) -> tuple[list[int], np.ndarray]:
    """Return the years in which the fleet's budget years begin, and their bounds."""
    return fiscal_years(fleet.fiscal_year_start, as_of, fleet.budget_years)


def payers(prospects: Prospects) -> np.ndarray:
    """Return (B,) who pays for each boat, as its place in ``Party``."""
    usual = prospects.fleet.rigging_paid_by
    paid_by = prospects.afloat.boats["paid_by"]
    return np.array([PARTIES.index(party or usual) for party in paid_by], dtype=np.int64)


def plan_policy(prospects: Prospects, work: RefitList) -> Policy:
    table, months = prospects.afloat.table, intervals(prospects.fleet)
    boats = len(prospects.afloat.boats)
    joins = [day.date() for day in prospects.afloat.boats["joined"]]
    starts = prospects.years_to([season.starts for season in prospects.seasons])
    return Policy(
        renew_at=np.minimum(prospects.rule_age, prospects.renewal.flat_until),
        booked=np.isin(table.parts, [job.part for job in work.jobs]),
        renewed_with=_together(pairs(prospects)),
        joins=np.maximum(prospects.years_to(joins), 0.0),
        leaves=_leaves(prospects),
        first_refit=np.maximum(starts, 0.0),
        inspections={
            level: (prospects.looks_ahead(level), np.full(boats, months[level] / 12))
            for level in LEVELS
        },
        breakage=prospects.breakage,
    )


def _together(pair: np.ndarray) -> np.ndarray:
    """Return (P,) codes: one for both sides of a pair, one of its own for any other part."""
    alone = pair.max(initial=-1) + 1 + np.arange(pair.size)
    return np.where(pair >= 0, pair, alone)


def _leaves(prospects: Prospects) -> np.ndarray:
    days = prospects.afloat.boats["planned_exit"]
    exits = [day.date() if day == day else None for day in days]
    return np.array([prospects.years_to([day])[0] if day else np.inf for day in exits])


def plan_prices(prospects: Prospects, work: RefitList) -> Prices:
    """A wire renewed with others on its refit list shares the set-up; any other goes mast-up."""
    prices, boats = prospects.prices, prospects.afloat.boats
    down = np.isin(prospects.afloat.table.parts, [job.part for job in work.jobs if job.mast_down])
    unstepped = boats["mast_down"].to_numpy(dtype=bool)
    return Prices(
        planned=prices.planned(down),
        unplanned=prices.in_season(),
        mast_down=down,
        set_up=np.where(unstepped, 0, prices.set_up_cost),
        failure=prices.failure,
        growth=prospects.fleet.price_growth,
        capital_from=policy.capital_from(prospects.fleet, prospects.as_of),
    )


def budget_rows(prospects: Prospects, found: Budget) -> Iterator[BudgetFigure]:
    """Yield a row for each year of the fleet, of each base and of each boat."""
    base_of = prospects.afloat.boats["base"].to_dict()
    fleet, years = prospects.fleet, [int(year) for year in found.years]
    bases = np.array([base_of[boat] for boat in found.boat.code.tolist()])
    by_base = np.array([found.expensed[bases == base].sum(axis=0) for base in found.base.code])
    everywhere = found.expensed.sum(axis=0)[None]
    yield from _rows(fleet, found.fleet, everywhere, years, lambda code: {})
    yield from _rows(fleet, found.base, by_base, years, lambda code: {"base_id": code})
    yield from _rows(
        fleet, found.boat, found.expensed, years,
        lambda code: {"base_id": base_of[code], "boat_id": code},
    )  # fmt: skip


def _rows(
    fleet: Fleet, lines: Lines, expensed: np.ndarray, years: list[int], whose
) -> Iterator[BudgetFigure]:
    planned = lines.costs[COSTS.index("planned")] + lines.costs[COSTS.index("set_up")]
    renewed = lines.renewed.sum(axis=0)
    for s, code in enumerate(lines.code.tolist()):
        for y, year in enumerate(years):
            yield BudgetFigure(
                fleet=fleet,
                **whose(code),
                year=year,
                mean_minor=int(lines.mean[s, y]),
                planned_minor=int(planned[s, y]),
                expensed_minor=int(expensed[s, y]),
                **{f"p{q}_minor": int(lines.percentiles[i, s, y]) for i, q in enumerate(SHARES)},
                renewals=float(renewed[s, y]),
            )


def nothing_rows(fleet: Fleet, as_of: dt.date) -> Iterator[BudgetFigure]:
    """Yield years of nothing to renew, for a fleet in which nothing stands yet."""
    years, _ = years_of(fleet, as_of)
    zero = dict.fromkeys(("mean_minor", "planned_minor", "p10_minor", "p50_minor", "p90_minor"), 0)
    for year in years:
        yield BudgetFigure(fleet=fleet, year=year, renewals=0.0, **zero)
