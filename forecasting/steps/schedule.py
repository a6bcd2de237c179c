"""Days that planning turns on: the next planned looks, the coming off season, the fiscal years.

The day asked for is an argument; nothing here reads the clock.
"""

import datetime as dt
from dataclasses import dataclass

import numpy as np
import pandas as pd

from fleet.models import Fleet
from inspections.due import SATISFIED_BY, months_after

from ..life_data.records import YEAR_DAYS, Records
from ..planning.spots import LEVELS

SHORTEST_FIRST_YEAR = 0.25


def intervals(fleet: Fleet) -> dict[str, int]:
    """Return the months between looks of each level, by the fleet's own rules."""
    months = (fleet.deck_check_months, fleet.aloft_months, fleet.mast_down_months)
    return dict(zip(LEVELS, months, strict=True))


def look_hours(fleet: Fleet) -> dict[str, float]:
    """Return the hours of one look of each level, by the fleet's own count."""
    hours = (fleet.deck_check_hours, fleet.aloft_hours, fleet.mast_down_hours)
    return dict(zip(LEVELS, hours, strict=True))


def planned_looks(fleet: Fleet, records: Records, boats: pd.Index) -> pd.DataFrame:
    """Return when each boat's next look of each level is due: one row a boat, one column a level.

    A deeper look does for those above it, one that left a stay out for none; a boat never looked
    at is due from the day it joined.
    """
    due = pd.DataFrame(index=boats, columns=list(LEVELS), dtype=object)
    joined = records.boats["joined"].reindex(boats)
    for level, months in intervals(fleet).items():
        does = records.looks["level"].isin(SATISFIED_BY[level]) & records.looks["whole"]
        last = records.looks[does].groupby("boat")["day"].max().reindex(boats).fillna(joined)
        due[level] = [months_after(day.date(), months) for day in last]
    return due


@dataclass(frozen=True)
class OffSeason:
    """The off season at hand or to come: ``starts`` is not before the day asked for.

    ends: its last day. next_starts: when the one after it begins, up to which a job put off lasts.
    """

    starts: dt.date
    ends: dt.date
    next_starts: dt.date
    label: str


def off_season(first_month: int, last_month: int, today: dt.date) -> OffSeason:
    """Return the off season between two months that ``today`` lies in, else the next one."""
    begins, ends = _season(today.year - 1, first_month, last_month)
    year = today.year - 1
    while ends < today:
        year += 1
        begins, ends = _season(year, first_month, last_month)
    label = f"{year}" if ends.year == year else f"{year}/{ends.year % 100:02d}"
    return OffSeason(max(begins, today), ends, dt.date(year + 1, first_month, 1), label)


def _season(year: int, first_month: int, last_month: int) -> tuple[dt.date, dt.date]:
    """Return the first and the last day of the off season that begins in that year."""
    end_year = year + (last_month < first_month)
    after = dt.date(end_year + last_month // 12, last_month % 12 + 1, 1)
    return dt.date(year, first_month, 1), after - dt.timedelta(days=1)


def fiscal_years(first_month: int, today: dt.date, count: int) -> tuple[list[int], np.ndarray]:
    """Return the years in which the `count` fiscal years of a budget begin, and their bounds.

    The first is the year under way. Where less than a quarter of it is left it is the next one, and
    what is still due before that begins counts in it: the money for it is asked for there. Bounds:
    one more, in years of 365.25 days from today; the first is 0 or less.
    """
    first = today.year - (today.month < first_month)
    if years_from(today, dt.date(first + 1, first_month, 1)) < SHORTEST_FIRST_YEAR:
        first += 1
    years = list(range(first, first + count))
    starts = [dt.date(year, first_month, 1) for year in (*years, first + count)]
    bounds = np.array([years_from(today, start) for start in starts])
    bounds[0] = min(bounds[0], 0.0)
    return years, bounds


def years_from(today: dt.date, day: dt.date) -> float:
    return (day - today).days / YEAR_DAYS


def day_after(today: dt.date, years: float) -> dt.date:
    """Return the day so many years from today, to the day."""
    return today + dt.timedelta(days=round(years * YEAR_DAYS))
