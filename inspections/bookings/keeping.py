"""Bookings put on record. Handing a file in twice changes nothing."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from django.core.exceptions import ValidationError
from django.db import transaction

from fleet.models import Boat, Fleet
from fleet.sheets import Fault
from fleet.spreadsheets.files import NamedFile
from fleet.templatetags.wording import day

from ..models import Booking
from . import calendar_files, sheet
from .free_days import Span, joined


@dataclass(frozen=True)
class Written:
    """What became of a file: bookings new, known before, taken off; or its faults, then nothing."""

    new: int = 0
    known: int = 0
    gone: int = 0
    faults: tuple[Fault, ...] = ()


def take_in(
    fleet: Fleet, files: Sequence[NamedFile], boat: Boat | None, whole: bool, user=None
) -> Written:
    """Read a sheet or calendar file and write its bookings, all or, with a fault in it, none.

    ``whole``: the file names all that is to come of its boats, so what it lacks is taken off.
    """
    [*others, file] = files
    if others or not calendar_files.is_calendar(file.name, file.content):
        found = sheet.read(fleet, files)
    else:
        found = calendar_files.read(fleet, file.content, boat)
    if found.faults:
        return Written(faults=tuple(found.faults))
    return _written(fleet, found.bookings, whole, user)


@transaction.atomic
def _written(fleet: Fleet, bookings: list[Booking], whole: bool, user) -> Written:
    Fleet.objects.select_for_update().get(pk=fleet.pk)
    wanted = {(row.boat_id, row.first, row.last): row for row in bookings}
    rows = Booking.objects.filter(boat__in={row.boat_id for row in bookings})
    known = {(row.boat_id, row.first, row.last): row for row in rows}
    new = [row for key, row in wanted.items() if key not in known]
    for row in new:
        row.by = user
    today = fleet.today()
    gone = [row.pk for key, row in known.items() if key not in wanted and row.last >= today]
    Booking.objects.filter(pk__in=gone if whole else []).delete()
    Booking.objects.bulk_create(new, batch_size=500)
    return Written(len(new), len(wanted) - len(new), len(gone) if whole else 0)


@transaction.atomic
def add(boat: Boat, first: dt.date, last: dt.date, reference: str = "", user=None) -> Booking:
    """Put one booking on record by hand; the same days again are refused."""
    row = Booking(boat=boat, first=first, last=last, reference=reference.strip(), by=user)
    if last < first:
        raise ValidationError("It ends before it begins.")
    if Booking.objects.filter(boat=boat, first=first, last=last).exists():
        raise ValidationError(f"{boat} is booked on these very days already.")
    row.full_clean()
    row.save()
    return row


def take_off(row: Booking) -> str:
    """Take a booking off the record; return what it was, in words."""
    words = f"{row.boat}, {day(row.first)} to {day(row.last)}"
    row.delete()
    return words


def away(fleet: Fleet, since: dt.date) -> dict[int, list[Span]]:
    """Return boat id -> the days it is booked that are not over, joined, soonest first."""
    spans = defaultdict(list)
    rows = Booking.objects.of(fleet).filter(last__gte=since)
    for boat, first, last in rows.values_list("boat", "first", "last"):
        spans[boat].append((first, last))
    return {boat: joined(own) for boat, own in spans.items()}


def overlapping(rows: Iterable[Booking]) -> set[int]:
    """Return the ids of bookings that share days with another of the same boat."""
    found, last = set(), {}
    for row in sorted(rows, key=lambda row: (row.boat_id, row.first, row.last)):
        before = last.get(row.boat_id)
        if before and row.first <= before.last:
            found |= {before.pk, row.pk}
        if before is None or row.last > before.last:
            last[row.boat_id] = row
    return found
