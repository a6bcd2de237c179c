"""Replacement budget: what the renewals to come cost, by fiscal year, boat, base and fleet.

Means add: each boat's year is rounded once, part by part of its cost, and every total is the sum of
those rounded lines. Percentiles do not add: each is taken from the joint draws of its own total.
A draw carries one set of parameters of each life model through all boats and years.
"""

from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np

from ..survival.model import LifeModel
from .ledger import CAUSES, COSTS, SHARES, Books, FiscalYears, Lines, Sheet
from .lifetimes import BoatRecords, LifeDraws, draw_lives, kinds_of
from .renewals import FAILED, PLANNED, Policy, Renewals, Simulation, Units, every_cycle
from .spots import Standing

_CELLS = 1_500_000  # rows x draws simulated at once
_THREADS = 2  # Most of the work is in NumPy, outside of Python's lock.


@dataclass(frozen=True, eq=False)
class Prices:
    """Integer minor units at today's prices. (P,) per part, (B,) per boat of the standing table.

    planned, unplanned  (P,) cost of renewing a part as planned, and when found condemned between
                        refits; set-up of the mast not in it
    mast_down           (P,) bool: its renewal brings the mast down, paid once per boat and year
    set_up              (B,) mast down and up again
    failure             cost of a failure in service on top of the unplanned renewal
    growth              of prices a year, 0.03 for 3 %
    """

    planned: np.ndarray
    unplanned: np.ndarray
    mast_down: np.ndarray
    set_up: np.ndarray
    failure: int = 0
    growth: float = 0.0
    capital_from: int = 0


@dataclass(frozen=True, eq=False)
class Budget:
    """years: the Y labels; fleet, base, boat: lines of each scope.

    parts        (P, Y) minor units, mean cost by part in the order of the standing table; with the
                 set-ups they add to their boat to the cent
    expensed     (B, Y) minor units of the boats' means that are expensed, not capitalised
    remaining    (P,) years from today to a part's next renewal in half of the draws; inf for never
    payers       (K,) codes, and payer_draws (K, D, Y) minor units of what each has to pay
    failures     (D, Y) stays of the fleet that failed in service
    """

    years: tuple[str, ...]
    fleet: Lines
    base: Lines
    boat: Lines
    draws: int
    seed: int
    parts: np.ndarray
    expensed: np.ndarray
    remaining: np.ndarray
    payers: np.ndarray
    payer_draws: np.ndarray
    failures: np.ndarray

    def rows(self) -> Iterator[dict[str, object]]:
        """One plain row per scope, code and year; year "all" sums the years."""
        for scope, lines in (("fleet", self.fleet), ("base", self.base), ("boat", self.boat)):
            for s, code in enumerate(lines.code.tolist()):
                for y, year in enumerate((*self.years, "all")):
                    yield {"scope": scope, "code": code, "year": year, **_row(lines, s, y)}


def _row(lines: Lines, s: int, y: int) -> dict[str, object]:
    row: dict[str, object] = {"mean": int(lines.mean[s, y])}
    row |= {f"p{q}": int(v) for q, v in zip(SHARES, lines.percentiles[:, s, y], strict=True)}
    row |= {name: int(v) for name, v in zip(COSTS, lines.costs[:, s, y], strict=True)}
    renewed = zip(CAUSES, lines.renewed[:, s, y], strict=True)
    return row | {f"renewed_{name}": float(v) for name, v in renewed}


def budget(
    models: Mapping[str, LifeModel],
    standing: Standing,
    policy: Policy,
    prices: Prices,
    years: FiscalYears,
    *,
    draws: int = 500,
    seed: int = 0,
    records: Mapping[str, BoatRecords] | None = None,
    payers: np.ndarray | None = None,
) -> Budget:
    """Budget of the parts standing today and of those that will replace them.

    models: kind -> life model; records: kind -> the lives it was fitted to, from which boats on
    record get their own effect; every other boat gets one of its own; payers: (B,) int codes of who
    pays for each boat, all alike where None. The same inputs and seed give the same budget to the
    cent. ValueError for a kind without a model, a covariate a part does not
    carry, or bad lengths.
    """
    _check(standing, policy, prices)
    lives = draw_lives(models, draws, seed, records=records, apart=standing.boats)
    payers = np.zeros(standing.boats.size, dtype=np.int64) if payers is None else payers
    books = Books(standing, years, draws, payers)
    chunks = list(enumerate(standing.chunks(max(1, _CELLS // draws))))

    def simulated(numbered: tuple[int, tuple[Standing, slice, slice]]) -> Sheet:
        i, (chunk, parts, boats) = numbered
        sheet = Sheet(chunk, years, draws)
        for kind in kinds_of(lives, chunk):
            rng = np.random.default_rng(np.random.SeedSequence([seed, i, *kind.encode()]))
            part = policy.of(parts, boats), _of(prices, parts, boats)
            _simulate(sheet, lives[kind], chunk, kind, *part, rng)
        return sheet

    with ThreadPoolExecutor(_THREADS) as pool:  # Chunks have random numbers of their own.
        sheets = pool.map(simulated, chunks)
        for (_, (_, parts, boats)), sheet in zip(chunks, sheets, strict=True):
            books.enter(sheet, prices.set_up[boats], prices.growth, parts, boats)
    return Budget(
        years.labels, *books.lines(), draws, seed, books.parts, books.expensed, books.first,
        books.payers, np.rint(books.payer_draws).astype(np.int64), books.failures,
    )  # fmt: skip


def _check(standing: Standing, policy: Policy, prices: Prices) -> None:
    per_part = (policy.renew_at, policy.booked, policy.renewed_with)
    per_part += (prices.planned, prices.unplanned, prices.mast_down)
    per_boat = (policy.joins, policy.leaves, policy.first_refit, prices.set_up)
    per_boat += tuple(when for plan in policy.inspections.values() for when in plan)
    _check_length(per_part, standing.parts.size, "parts")
    _check_length(per_boat, standing.boats.size, "boats")


def _check_length(arrays: Sequence[np.ndarray], n: int, what: str) -> None:
    if any(np.shape(values) != (n,) for values in arrays):
        raise ValueError(f"Prices and policy need one value for each of the {n} {what}.")


def _of(prices: Prices, parts: slice, boats: slice) -> Prices:
    part = prices.planned[parts], prices.unplanned[parts], prices.mast_down[parts]
    return Prices(*part, prices.set_up[boats], prices.failure, prices.growth,
                  prices.capital_from)  # fmt: skip


def _simulate(
    sheet: Sheet,
    life: LifeDraws,
    standing: Standing,
    kind: str,
    policy: Policy,
    prices: Prices,
    rng: np.random.Generator,
) -> None:
    """Enters the renewals of the parts of one kind."""
    units = Units(standing, policy, kind)
    count = units.sums(np.ones(standing.parts.size))
    planned = units.sums(prices.planned)
    dearer = units.sums(prices.unplanned - prices.planned) / count  # one of a pair is found
    mast_down = units.any(prices.mast_down)
    # The part is the unit of account, also where a pair goes together.
    small = units.sums(np.where(prices.planned < prices.capital_from, prices.planned, 0.0))
    simulation = Simulation(life, standing, policy, units, sheet.years.bounds[-1], rng)
    renewals, year = _within(sheet.years, every_cycle(simulation.run()))
    unit, growth = renewals.unit, (1 + prices.growth) ** np.arange(sheet.years.size)
    extra = np.where((renewals.cause == PLANNED) | renewals.known, 0.0, dearer[unit])
    extra += prices.failure * (renewals.cause == FAILED)
    cost, extra = (planned[unit] + extra) * growth[year], extra * growth[year]
    sheet.enter(renewals, year, units.boat, cost, count, mast_down)
    expensed = small[unit] * growth[year] + extra
    sheet.share_out(renewals, year, units, cost, expensed, _share_of_unit(units, prices.planned))
    sheet.first[units.parts] = _medians(simulation.first_ends())[units.of_part]


def _within(years: FiscalYears, renewals: Renewals) -> tuple[Renewals, np.ndarray]:
    """The renewals that fall into the years, and (E,) the year of each."""
    year = years.of(renewals.time)
    within = (year >= 0) & (year < years.size)
    return renewals.take(within), year[within]


def _medians(times: np.ndarray) -> np.ndarray:
    """(U,) of (U, D); inf where half of the draws or more are."""
    draws, ordered = times.shape[1], np.sort(times, axis=1)
    return (ordered[:, (draws - 1) // 2] + ordered[:, draws // 2]) / 2


def _share_of_unit(units: Units, planned: np.ndarray) -> np.ndarray:
    """(P,) share of each part of a kind in the cost of its unit: by price, else alike."""
    count, cost = units.sums(np.ones(planned.size)), units.sums(planned)
    share = np.zeros(planned.size)
    of = units.of_part
    share[units.parts] = np.where(
        cost[of] > 0, planned[units.parts] / np.maximum(cost[of], 1e-9), 1 / count[of]
    )
    return share
