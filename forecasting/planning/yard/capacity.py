"""What a base has left in each week, once the days that are taken are off. Weeks begin on Mondays.

Riggers work from Monday to Friday; a week of which a part is shut has that much less of everything
that is counted by the week. ``inf`` stands for what is not limited.
"""

import datetime as dt
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

WORKING_DAYS = 5
WEEK = dt.timedelta(weeks=1)
DAY = dt.timedelta(days=1)


@dataclass(frozen=True)
class Block:
    """Days taken at a base, both ends included. hours: of riggers a full week; berths: it takes."""

    first: dt.date
    last: dt.date
    shut: bool = False
    hours: float = 0.0
    berths: int = 0
    boat: int | None = None


@dataclass(frozen=True)
class Left:
    """What is left week by week, arrays of one length: hours, masts begun, berths, days open."""

    hours: np.ndarray
    masts: np.ndarray
    berths: np.ndarray
    days: np.ndarray  # 0 to 5

    def __getitem__(self, kind: str) -> np.ndarray:
        return {"hours": self.hours, "masts": self.masts, "berths": self.berths}[kind]


def working_days(first: dt.date, last: dt.date, monday: dt.date) -> set[dt.date]:
    """Return the days from Monday to Friday of that week that lie in the span."""
    week = (monday + n * DAY for n in range(WORKING_DAYS))
    return {day for day in week if first <= day <= last}


def weeks_touched(
    spans: Iterable[tuple[dt.date, dt.date]], first_monday: dt.date, weeks: int
) -> frozenset[int]:
    """Return the weeks of which a working day lies in one of the spans, both ends included."""
    found: set[int] = set()
    for first, last in spans:
        begin = max(0, (first - first_monday).days // 7)
        end = min(weeks - 1, (last - first_monday).days // 7)
        for week in range(begin, end + 1):
            if working_days(first, last, first_monday + week * WEEK):
                found.add(week)
    return frozenset(found)


def left_after(
    has: dict[str, Sequence[float]], blocks: Sequence[Block], first_monday: dt.date, weeks: int
) -> Left:
    """Return what is left of what a base has: has["hours"] and so on, empty where not limited."""
    hours, masts, berths = (_full(has.get(kind), weeks) for kind in ("hours", "masts", "berths"))
    days = np.full(weeks, WORKING_DAYS)
    for week in range(weeks):
        monday = first_monday + week * WEEK
        shut: set[dt.date] = set()
        for block in blocks:
            taken = working_days(block.first, block.last, monday)
            shut |= taken if block.shut else set()
            hours[week] -= block.hours * len(taken) / WORKING_DAYS
            berths[week] -= block.berths if taken else 0
        days[week] -= len(shut)
    share = days / WORKING_DAYS
    closed = days == 0
    hours, masts = (np.where(closed, 0.0, each * np.maximum(share, 0.2)) for each in (hours, masts))
    return Left(np.maximum(hours, 0), np.maximum(masts, 0), np.maximum(berths, 0), days)


def _full(numbers: Sequence[float] | None, weeks: int) -> np.ndarray:
    return np.array(numbers, float) if numbers else np.full(weeks, np.inf)
