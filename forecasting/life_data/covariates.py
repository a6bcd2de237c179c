"""How hard a part was used: means over its life, day by day, of what each season was like.

A season is a calendar year. Before a boat's first season on record it lay at its base; after the
last one it goes on as in that one. Reference boat, all covariates 0: C4, 3,000 nautical miles a
year, 1x19, swaged, mast up in the off season, private.
"""

from dataclasses import dataclass
from weakref import WeakKeyDictionary

import numpy as np
import pandas as pd

from fleet.models import Boat, Installation

from .records import Records

REFERENCE_SEVERITY = 2  # C4 in ISO 9223:2012, counted from C2
REFERENCE_MILES = 3000.0
FEWEST_MILES = 200.0
USE_COLUMNS = ("severity", "log2_miles", "unstepped", "charter")
COLUMNS = ("severity", "log2_miles", "rod", "mechanical", "unstepped", "charter")


@dataclass(frozen=True, eq=False)
class Use:
    """Use of every boat, year by year. B boats, Y calendar years from ``first_year`` on.

    yearly   (B, Y, 4) the columns of USE_COLUMNS
    guessed  (B, Y) bool: the miles of that year are the fleet's median
    """

    boats: pd.Index
    first_year: int
    yearly: np.ndarray
    guessed: np.ndarray

    def means(self, boat: pd.Series, start: pd.Series, end: pd.Series) -> np.ndarray:
        """Return (n, 4) time-weighted means from ``start`` to ``end``.

        Where the two are the same day, or ``end`` is earlier, the values of ``start``'s year.
        """
        rows = self.boats.get_indexer(boat)
        span = ((end - start).dt.days).to_numpy(dtype=float)
        cumulated = np.cumsum(self.yearly * self._days()[None, :, None], axis=1)
        cumulated = np.concatenate([np.zeros_like(cumulated[:, :1]), cumulated], axis=1)
        gained = self._until(cumulated, rows, end) - self._until(cumulated, rows, start)
        at_start = self.yearly[rows, self._year(start)]
        lasting = span > 0
        return np.where(lasting[:, None], gained / np.where(lasting, span, 1.0)[:, None], at_start)

    def _days(self) -> np.ndarray:
        years = np.arange(self.first_year, self.first_year + self.yearly.shape[1] + 1)
        return np.diff(years.astype(str).astype("datetime64[D]")).astype(float)

    def _year(self, day: pd.Series) -> np.ndarray:
        return np.clip(day.dt.year.to_numpy() - self.first_year, 0, self.yearly.shape[1] - 1)

    def _until(self, cumulated: np.ndarray, rows: np.ndarray, day: pd.Series) -> np.ndarray:
        year = self._year(day)
        into = day.dt.dayofyear.to_numpy(dtype=float) - 1
        return cumulated[rows, year] + into[:, None] * self.yearly[rows, year]


def use(records: Records) -> Use:
    """Return the use of every boat from the first year anything of it can have stood.

    Worked out once for the records of a refresh, which ask for it for each kind of part.
    """
    if records not in _USES:
        _USES[records] = _use(records)
    return _USES[records]


_USES: WeakKeyDictionary[Records, Use] = WeakKeyDictionary()


def _use(records: Records) -> Use:
    first = _first_year(records)
    years = pd.RangeIndex(first, records.as_of.year + 1)
    boats, seasons = records.boats, records.seasons
    miles = _miles(seasons)
    known = pd.DataFrame(
        {
            "boat": seasons["boat"],
            "year": seasons["year"],
            "severity": seasons["severity"] - REFERENCE_SEVERITY,
            "log2_miles": _log2_miles(miles),
            "unstepped": seasons["mast_down"].astype(float),
            "charter": (seasons["service"] == Boat.Service.CHARTER).astype(float),
            "guessed": seasons["miles"].isna().astype(float),
        }
    )
    before = {
        "severity": boats["severity"] - REFERENCE_SEVERITY,
        "log2_miles": pd.Series(_log2_miles(median_miles(seasons)), boats.index),
        "unstepped": boats["mast_down"].astype(float),
        "charter": (boats["service"] == Boat.Service.CHARTER).astype(float),
        "guessed": pd.Series(1.0, boats.index),
    }
    grids = {name: _grid(known, name, column, years) for name, column in before.items()}
    return Use(
        boats=boats.index,
        first_year=first,
        yearly=np.stack([grids[name] for name in USE_COLUMNS], axis=2),
        guessed=grids["guessed"] > 0,
    )


def median_miles(seasons: pd.DataFrame) -> float:
    """Return the fleet's median miles a year; the reference boat's where nobody logged any."""
    known = seasons["miles"].dropna()
    return float(known.median()) if len(known) else REFERENCE_MILES


def _miles(seasons: pd.DataFrame) -> pd.Series:
    return seasons["miles"].fillna(median_miles(seasons))


def _log2_miles(miles: pd.Series | float) -> pd.Series | float:
    return np.log2(np.maximum(miles, FEWEST_MILES) / REFERENCE_MILES)


def _first_year(records: Records) -> int:
    oldest = records.parts["fitted"].min()
    years = [records.as_of.year, *records.boats["build_year"]]
    return int(min(years if pd.isna(oldest) else [*years, oldest.year]))


def _grid(known: pd.DataFrame, name: str, before: pd.Series, years: pd.RangeIndex) -> np.ndarray:
    """Return (B, Y): the seasons on record, carried on, with ``before`` ahead of the first."""
    table = known.pivot(index="boat", columns="year", values=name)
    table = table.reindex(index=before.index, columns=years).ffill(axis=1).to_numpy(dtype=float)
    return np.where(np.isnan(table), before.to_numpy(dtype=float)[:, None], table)


def of_parts(parts: pd.DataFrame, used: Use, end: pd.Series) -> pd.DataFrame:
    """Return the covariates of parts from fitting to ``end``, one column of COLUMNS each.

    parts: rows with boat, fitted, construction and lower_terminal; ``end`` has the same index.
    """
    frame = pd.DataFrame(
        used.means(parts["boat"], parts["fitted"], end), columns=USE_COLUMNS, index=parts.index
    )
    rod = parts["construction"] == Installation.Construction.ROD
    mechanical = parts["lower_terminal"] == Installation.Terminal.MECHANICAL
    frame["rod"], frame["mechanical"] = rod.astype(float), mechanical.astype(float)
    return frame[list(COLUMNS)]
