"""Blocks of the yard and bookings of boats, as the pure planner and the board take them."""

import datetime as dt
from collections import defaultdict

from fleet.models import Fleet
from inspections.models import Booking

from .models import YardBlock
from .planning.yard.capacity import Block, Left, left_after

WEEK = dt.timedelta(weeks=1)


def blocks_of(fleet: Fleet, base_id: int, first: dt.date, last: dt.date) -> list[YardBlock]:
    """Return the blocks of a base in those days, those of every base among them."""
    found = YardBlock.objects.of(fleet).filter(first__lte=last, last__gte=first)
    rows = found.select_related("base", "boat", "by")
    return [row for row in rows if row.base_id in (None, base_id)]


def as_spans(rows: list[YardBlock]) -> list[Block]:
    return [
        Block(row.first, row.last, row.what == YardBlock.What.SHUT, row.hours, row.berths,
              row.boat_id)
        for row in rows
    ]  # fmt: skip


def left_of(base_weeks, rows: list[YardBlock]) -> Left:
    """Return what a row of YardBaseWeeks leaves week by week after these blocks."""
    plan = base_weeks.plan
    has = {kind: getattr(base_weeks, kind) for kind in ("hours", "masts", "berths")}
    return left_after(has, as_spans(rows), plan.first_monday, plan.weeks)


def bookings_of(boats: list[int], first: dt.date, last: dt.date) -> dict[int, list[Booking]]:
    """Return the bookings of these boats that touch those days, by boat, in order."""
    found: dict[int, list[Booking]] = defaultdict(list)
    rows = Booking.objects.filter(boat__in=boats, first__lte=last, last__gte=first)
    for row in rows.select_related("boat").order_by("first", "pk"):
        found[row.boat_id].append(row)
    return found
