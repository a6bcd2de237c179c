"""What waits on a boat besides looks: a recommendation, a second signature, a re-tension."""

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby

from fleet.templatetags.wording import day

from ..followups import Recommendation, Stepping
from ..models import Reminder
from .stepping import RETENSION_DAYS

Kind = Reminder.Kind
LENGTH = Reminder._meta.get_field("reason").max_length


@dataclass(frozen=True)
class Waiting:
    """One thing waiting on one boat, with the day by which it is to be done."""

    boat: int
    kind: str
    on: dt.date
    reason: str


def waiting(boats: Iterable[int]) -> list[Waiting]:
    """Return what waits on these boats (ids), in two queries; of a kind the most urgent one."""
    ids = list(boats)
    return [*_recommended(ids), *_stepped(ids)]


def _recommended(ids: list[int]) -> Iterator[Waiting]:
    rows = Recommendation.objects.open().filter(report__boat__in=ids).select_related("report")
    for boat, own in groupby(rows.order_by("report__boat", "by_when", "pk"), _boat):
        first, *more = own
        rest = f"; and {len(more)} more" if more else ""
        said = f"“{first.text}” ({first.report.author}, {day(first.report.on)}){rest}."
        tail = f" {first.answers} answers for it."
        yield Waiting(boat, Kind.ADVICE, first.by_when, said[: LENGTH - len(tail)] + tail)


def _boat(row: Recommendation) -> int:
    return row.report.boat_id


def _stepped(ids: list[int]) -> Iterator[Waiting]:
    latest: dict[int, Stepping] = {}
    for row in Stepping.objects.filter(boat__in=ids).order_by("on", "pk"):
        latest[row.boat_id] = row
    for row in latest.values():
        said = f"Stepped {day(row.on)}, signed by {row.person}"
        if row.second_on is None:
            yield Waiting(row.boat_id, Kind.SIGNATURE, row.on, f"{said}; nobody signed second.")
        if row.retensioned_on is None:
            reason = f"{said}; re-tension after the first hard sail is not on record."
            by = row.on + dt.timedelta(days=RETENSION_DAYS)
            yield Waiting(row.boat_id, Kind.RETENSION, by, reason)
