"""What calendars outside know of, kept as rows by the clock, so that a feed only reads.

RFC 5545, 3.8.4.7 and 3.8.7.4: an event keeps its UID for life, and its SEQUENCE goes up with every
change of what it says. RFC 5546, 3.2.5: an event that is off is said to be cancelled, under the
same UID; it is kept so for ninety days, by when every calendar that still asks has heard of it.
"""

import datetime as dt
from collections.abc import Iterable

from django.db import transaction
from django.db.models import Q
from django.utils.crypto import salted_hmac

from fleet.models import Boat, Fleet

from ..bookings import keeping
from ..due import Due, due
from ..models import CalendarEntry, CalendarRound
from .months import advice_of

KEPT = dt.timedelta(days=90)
EVERY = dt.timedelta(hours=1)
ROWS_AT_ONCE = 500
Key = tuple[int, str, str]
SAYS = ("on", "reason", "advice")


def uid_of(fleet: Fleet, key: Key) -> str:
    """Return the UID of a thing due: the same wherever it is worked out, and telling nothing."""
    said = "/".join(map(str, (fleet.pk, *key)))
    return f"{salted_hmac('calendar uid', said, algorithm='sha256').hexdigest()[:32]}@stayward"


def key_of(each: Due) -> Key:
    return (each.boat.pk, str(each.kind), each.about)


def keep(now: dt.datetime) -> None:
    """Bring each fleet's entries in line once an hour; two clocks do it once.

    A fleet's own transaction holds the mark and the entries: cut off, it is done again.
    """
    for fleet in Fleet.objects.all():
        with transaction.atomic():
            if _is_time(fleet, now):
                refresh(fleet, now)


def _is_time(fleet: Fleet, now: dt.datetime) -> bool:
    """Claim this hour's round; a mark from the future, of a clock set back, does not stop it."""
    rounds = CalendarRound.objects.filter(fleet=fleet)
    stale = Q(at__lte=now - EVERY) | Q(at__gt=now + EVERY)
    if rounds.filter(stale).update(at=now):
        return True
    if rounds.exists():
        return False
    return CalendarRound.objects.get_or_create(fleet=fleet, defaults={"at": now})[1]


@transaction.atomic
def refresh(fleet: Fleet, now: dt.datetime, dues: Iterable[Due] | None = None) -> int:
    """Bring the entries of a fleet in line with what is due; return how many changed.

    Doing it twice changes nothing. Demonstrations live on their fixed day, by the real clock.
    """
    Fleet.objects.select_for_update().get(pk=fleet.pk)
    today = fleet.today()
    away = keeping.away(fleet, today)
    known = {(r.boat_id, r.kind, r.about): r for r in CalendarEntry.objects.of(fleet)}
    wanted = {key_of(each): each for each in (due(fleet, today) if dues is None else dues)}
    new, changed = [], []
    for key, each in wanted.items():
        row, advice = known.get(key), advice_of(each, today, away.get(key[0], ()))
        told = (each.on, each.reason, advice.words if advice else "")
        if row is None:
            facts = {"boat": each.boat, "kind": key[1], "about": key[2], "uid": uid_of(fleet, key)}
            new.append(CalendarEntry(**facts, **dict(zip(SAYS, told, strict=True)), changed_at=now))
        elif row.cancelled_at or tuple(getattr(row, name) for name in SAYS) != told:
            changed.append(_said(row, told, now))
    changed += [_cancelled(row, now) for key, row in known.items() if _is_off(key, row, wanted)]
    CalendarEntry.objects.bulk_create(new, batch_size=ROWS_AT_ONCE)
    fields = [*SAYS, "sequence", "changed_at", "cancelled_at"]
    CalendarEntry.objects.bulk_update(changed, fields, batch_size=ROWS_AT_ONCE)
    CalendarEntry.objects.of(fleet).filter(cancelled_at__lt=now - KEPT).delete()
    return len(new) + len(changed)


def _is_off(key: Key, row: CalendarEntry, wanted: dict[Key, Due]) -> bool:
    return key not in wanted and row.cancelled_at is None


def _said(row: CalendarEntry, told: tuple, now: dt.datetime) -> CalendarEntry:
    for name, value in zip(SAYS, told, strict=True):
        setattr(row, name, value)
    row.sequence, row.changed_at, row.cancelled_at = row.sequence + 1, now, None
    return row


def _cancelled(row: CalendarEntry, now: dt.datetime) -> CalendarEntry:
    row.sequence, row.changed_at, row.cancelled_at = row.sequence + 1, now, now
    return row


def of_boats(boats: Iterable[Boat]) -> list[CalendarEntry]:
    """Return what a calendar of these boats is told, cancelled entries included."""
    rows = CalendarEntry.objects.filter(boat__in=boats).select_related("boat__fleet", "boat__base")
    return list(rows.order_by("on", "boat__name", "kind", "about", "pk"))
