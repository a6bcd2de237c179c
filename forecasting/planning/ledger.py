"""The books of a budget: what each boat, base and fleet spends, by fiscal year.

Means are rounded once, per boat, year and sort of cost, and every total sums those rounded lines.
Percentiles come from the joint draws of each total.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.sparse import csr_array

from .renewals import FAILED, Renewals, Units
from .spots import Standing
from .whole_cents import split

COSTS = ("planned", "condemned", "failed", "set_up")
CAUSES = ("planned", "condemned", "failed")
SHARES = (10, 50, 90)


@dataclass(frozen=True, eq=False)
class FiscalYears:
    """labels (Y,), and bounds (Y + 1,) in years from today; what falls outside is not counted."""

    labels: tuple[str, ...]
    bounds: np.ndarray

    def __post_init__(self) -> None:
        if len(self.bounds) != len(self.labels) + 1 or (np.diff(self.bounds) <= 0).any():
            raise ValueError("Fiscal years need rising bounds, one more than there are labels.")

    @property
    def size(self) -> int:
        return len(self.labels)

    def of(self, time: np.ndarray) -> np.ndarray:
        """Index of the year of each time; -1 or Y outside."""
        return np.searchsorted(self.bounds, time, side="right") - 1


@dataclass(frozen=True, eq=False)
class Lines:
    """Budget of S boats, bases or the fleet. Last axis: the Y fiscal years, then all of them.

    code          (S,) boat or base code, 0 for the fleet
    costs         (4, S, Y + 1) mean cost by COSTS, minor units; add up to `mean` to the cent
    mean          (S, Y + 1) minor units; adds over boats, bases and years to the cent
    percentiles   (3, S, Y + 1) P10, P50, P90 of each total's own draws; they do not add
    renewed       (3, S, Y + 1) expected number of parts renewed, by CAUSES
    renewed_percentiles  (3, S, Y + 1) P10, P50, P90 of the number renewed
    """

    code: np.ndarray
    costs: np.ndarray
    percentiles: np.ndarray
    renewed: np.ndarray
    renewed_percentiles: np.ndarray

    @property
    def mean(self) -> np.ndarray:
        return self.costs.sum(axis=0)


def fiscal_years(first: float, labels: Sequence[str]) -> FiscalYears:
    """Years that begin `first` years from today (negative if the first is under way)."""
    return FiscalYears(tuple(labels), first + np.arange(len(labels) + 1, dtype=float))


class Sheet:
    """Costs of the boats of one chunk, by boat, year and draw."""

    def __init__(self, standing: Standing, years: FiscalYears, draws: int) -> None:
        self.years = years
        self.shape = (standing.boats.size, years.size, draws)
        self.total, self.renewed = np.zeros(self.shape), np.zeros(self.shape)
        self.costs = np.zeros((3, *self.shape[:2]))  # summed over the draws
        self.counts = np.zeros_like(self.costs)
        self.mast_down = np.zeros(self.shape, dtype=bool)
        self.expensed = np.zeros(self.shape[:2])
        self.parts = np.zeros((standing.parts.size, years.size))
        self.first = np.full(standing.parts.size, np.inf)
        self.failures = np.zeros(self.shape[:0:-1])

    def enter(
        self,
        renewals: Renewals,
        year: np.ndarray,
        boat_of_unit: np.ndarray,
        cost: np.ndarray,
        count: np.ndarray,
        mast_down: np.ndarray,
    ) -> None:
        """year: (E,) index of each renewal's; cost: (E,) minor units of that year; count,
        mast_down: (U,) parts of a unit, and whether it brings the mast down."""
        unit, boat = renewals.unit, boat_of_unit[renewals.unit]
        of_year = boat * self.years.size + year
        cell = of_year * self.shape[2] + renewals.draw
        self.total += self._sum(cell, cost, self.shape)
        self.renewed += self._sum(cell, count[unit], self.shape)
        self.mast_down.reshape(-1)[cell[mast_down[unit]]] = True
        cell = renewals.cause * int(np.prod(self.shape[:2])) + of_year
        self.costs += self._sum(cell, cost, self.costs.shape)
        self.counts += self._sum(cell, count[unit], self.costs.shape)
        broke = renewals.cause == FAILED
        cell = renewals.draw[broke] * self.years.size + year[broke]
        self.failures += self._sum(cell, None, self.failures.shape)

    def share_out(
        self,
        renewals: Renewals,
        year: np.ndarray,
        units: Units,
        cost: np.ndarray,
        expensed: np.ndarray,
        share: np.ndarray,
    ) -> None:
        """Enters the same renewals by part, and what of them is expensed by boat.

        cost, expensed: (E,) minor units; share: (P,) of a part in its unit.
        """
        cell = renewals.unit * self.years.size + year
        of_unit = self._sum(cell, cost, (units.starts.size, self.years.size))
        self.parts[units.parts] += of_unit[units.of_part] * share[units.parts, None]
        cell = units.boat[renewals.unit] * self.years.size + year
        self.expensed += self._sum(cell, expensed, self.expensed.shape)

    @staticmethod
    def _sum(cell: np.ndarray, values: np.ndarray | None, shape: tuple[int, ...]) -> np.ndarray:
        return np.bincount(cell, values, minlength=int(np.prod(shape))).reshape(shape)


class Books:
    """Means by boat and year, and the draws of every total, collected over the chunks."""

    def __init__(
        self, standing: Standing, years: FiscalYears, draws: int, payers: np.ndarray
    ) -> None:
        self.standing, self.years, self.draws = standing, years, draws
        n, y = standing.boats.size, years.size
        self.payers, self.payer_of_boat = np.unique(payers, return_inverse=True)
        self._payer_draws = np.zeros((self.payers.size, y, draws))
        self.failures = np.zeros((draws, y))
        self.expensed = np.zeros((n, y), dtype=np.int64)
        self.parts = np.zeros((standing.parts.size, y), dtype=np.int64)
        self.first = np.full(standing.parts.size, np.inf)
        self.bases, self.base_of_boat = np.unique(standing.boat_bases, return_inverse=True)
        self.costs = np.zeros((4, n, y), dtype=np.int64)
        self.counts = np.zeros((3, n, y))
        self.boat_percentiles = np.zeros((2, 3, n, y + 1))
        self.base_draws = np.zeros((2, self.bases.size, y, draws))

    def enter(
        self, sheet: Sheet, set_up: np.ndarray, growth: float, parts: slice, boats: slice
    ) -> None:
        """Rounds the means of the chunk's boats, once, and keeps the draws of their bases."""
        yearly = set_up[:, None] * (1 + growth) ** np.arange(self.years.size)
        sheet.total += sheet.mast_down * yearly[:, :, None]
        set_ups = sheet.mast_down.sum(axis=2) * yearly
        costs = np.concatenate((sheet.costs, set_ups[None]))
        self.costs[:, boats] = np.rint(costs / self.draws).astype(np.int64)
        self.counts[:, boats] = sheet.counts / self.draws
        for i, drawn in enumerate((sheet.total, sheet.renewed)):
            self.boat_percentiles[i][:, boats] = percentiles(drawn)
            _add(self.base_draws[i], self.base_of_boat[boats], drawn)
        _add(self._payer_draws, self.payer_of_boat[boats], sheet.total)
        self.failures += sheet.failures
        of_part = self.standing.boat_of_part[parts] - boats.start
        self.parts[parts] = split(self.costs[:3, boats].sum(axis=0), sheet.parts, of_part)
        self.first[parts] = sheet.first
        spent = self.costs[:, boats].sum(axis=0)
        self.expensed[boats] = np.minimum(np.rint(sheet.expensed / self.draws), spent)

    @property
    def payer_draws(self) -> np.ndarray:
        """(K, D, Y) minor units of what each payer has to pay."""
        return np.swapaxes(self._payer_draws, 1, 2)

    def lines(self) -> tuple[Lines, Lines, Lines]:
        """Of the fleet, of its bases, of its boats."""
        base = np.stack([percentiles(drawn) for drawn in self.base_draws])
        fleet = np.stack([percentiles(drawn.sum(axis=0)[None]) for drawn in self.base_draws])
        everyone = np.zeros(self.standing.boats.size, dtype=np.int64)
        return (
            self._lines(np.array([0]), everyone, fleet),
            self._lines(self.bases, self.base_of_boat, base),
            self._lines(self.standing.boats, np.arange(everyone.size), self.boat_percentiles),
        )

    def _lines(self, code: np.ndarray, member: np.ndarray, drawn: np.ndarray) -> Lines:
        costs = np.zeros((4, code.size, self.years.size), dtype=np.int64)
        counts = np.zeros((3, code.size, self.years.size))
        np.add.at(costs, (slice(None), member), self.costs)
        np.add.at(counts, (slice(None), member), self.counts)
        money = np.rint(drawn[0]).astype(np.int64)
        return Lines(code, with_all(costs), money, with_all(counts), drawn[1])


def with_all(values: np.ndarray) -> np.ndarray:
    """The years, and their sum after them."""
    return np.concatenate((values, values.sum(axis=-1, keepdims=True)), axis=-1)


def percentiles(drawn: np.ndarray) -> np.ndarray:
    """(3, S, Y + 1) of (S, Y, D): of the years, and of their sum; between draws linear."""
    every = np.concatenate((drawn, drawn.sum(axis=1, keepdims=True)), axis=1)
    every.sort(axis=2)
    at = np.array(SHARES) / 100 * (drawn.shape[2] - 1)
    low = np.floor(at).astype(np.int64)
    below, above = every[:, :, low], every[:, :, np.ceil(at).astype(np.int64)]
    return np.moveaxis(below + (above - below) * (at - low), 2, 0)


def _add(sums: np.ndarray, member: np.ndarray, drawn: np.ndarray) -> None:
    """Adds the rows of `drawn` (B, Y, D) to those of `sums` (K, Y, D) they belong to (B,)."""
    of = (np.ones(member.size), (member, np.arange(member.size)))
    by_code = csr_array(of, shape=(len(sums), member.size))
    sums += (by_code @ drawn.reshape(member.size, -1)).reshape(sums.shape)
