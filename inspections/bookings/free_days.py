"""The last free day before a date that a booking takes. Pure: days in, a day and words out.

The date itself never moves, and nothing later than it is ever proposed.
"""

import datetime as dt
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from fleet.templatetags.wording import day

DAY = dt.timedelta(days=1)
Span = tuple[dt.date, dt.date]


@dataclass(frozen=True)
class Advice:
    """What the bookings leave: the day to look, None where there is none; and why in a sentence."""

    on: dt.date | None
    words: str


def joined(spans: Iterable[Span]) -> list[Span]:
    """Return the days away as spans without gaps between them, soonest first."""
    found: list[Span] = []
    for first, last in sorted(spans):
        if found and first <= found[-1][1] + DAY:
            found[-1] = (found[-1][0], max(found[-1][1], last))
        else:
            found.append((first, last))
    return found


def around(on: dt.date, away: Sequence[Span]) -> Span | None:
    """Return the span of ``joined`` that a day falls into."""
    place = bisect_right(away, (on, dt.date.max)) - 1
    return away[place] if place >= 0 and away[place][1] >= on else None


def advice(on: dt.date, today: dt.date, away: Sequence[Span]) -> Advice | None:
    """Return what to do about a due date that bookings take; None where nothing is in its way.

    ``away`` as ``joined`` gives it. A day before today is no proposal.
    """
    if on < today:
        return _late(today, away)
    span = around(on, away)
    if span is None:
        return None
    first, last = span
    booked = f"Booked {day(first)} to {day(last)}"
    before = first - DAY
    if before < today:
        until = f"no day is free before it; free again from {day(last + DAY)}"
        return Advice(None, f"{booked}: {until}. The date stands.")
    return Advice(before, f"{booked}: the last free day before it is {day(before)}.")


def grounded(today: dt.date, away: Sequence[Span]) -> Advice | None:
    """Return what a held boat's next booking means: it does not sail."""
    first, last = next((span for span in away if span[1] >= today), (None, None))
    if first is None:
        return None
    return Advice(None, f"Booked {day(first)} to {day(last)}: a held boat does not sail.")


def _late(today: dt.date, away: Sequence[Span]) -> Advice | None:
    span = around(today, away)
    if span is None:
        return None
    return Advice(None, f"Late, and booked to {day(span[1])}: free from {day(span[1] + DAY)}.")
