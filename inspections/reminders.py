"""Reminders as rows: who is told what, when. Queueing twice queues nothing twice."""

import datetime as dt
import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.db import transaction

from fleet.models import Fleet

from .due import SATISFIED_BY, Due, due
from .models import Reminder, ReminderRules
from .reminding import set_aside
from .reminding.recipients import Circle, Recipient

State = Reminder.State
# Days before the day; afterwards once a week for as long as it is late.
STEPS = (60, 30, 7, 0)
WEEK = 7
ROWS_AT_ONCE = 500
TOO_LATE = "A later step took its place before it could be sent."


@dataclass(frozen=True)
class Queued:
    """How many reminders were queued, put back, withdrawn, and missed for good."""

    new: int = 0
    again: int = 0
    withdrawn: int = 0
    missed: int = 0


def step(on: dt.date, today: dt.date) -> int | None:
    """Return the newest step reached: 60, 30, 7, 0, then -7, -14, ...; None while it is early."""
    left = (on - today).days
    if left < 0:
        return -(-left // WEEK) * WEEK
    return min((each for each in STEPS if each >= left), default=None)


def queue(fleet: Fleet, today: dt.date) -> Queued:
    """Queue what is to be said today, withdraw what is no longer so.

    Of each thing only the newest step is queued: a fleet that has just been imported hears of
    each late boat once, not of every week it was late.
    """
    with transaction.atomic():
        Fleet.objects.select_for_update().get(pk=fleet.pk)
        wanted = {row.key: row for row in to_say(fleet, today)}
        known = _known(fleet, wanted)
        new = [row for key, row in wanted.items() if key not in known]
        Reminder.objects.bulk_create(new, batch_size=ROWS_AT_ONCE)
        withdrawn, missed = _take_out(fleet, wanted)
        ReminderRules.objects.update_or_create(fleet=fleet, defaults={"queued_on": today})
        return Queued(len(new), _put_back(known.values()), withdrawn, missed)


def to_say(fleet: Fleet, today: dt.date) -> Iterator[Reminder]:
    """Yield today's reminders, unsaved."""
    circle, told = Circle.of(fleet), _told_this_week(fleet, today)
    quiet = set_aside.in_force(fleet, today)
    for each in due(fleet, today):
        reached = step(each.on, today)
        if reached is None or set_aside.keeps_back(quiet, *_what(each), each.on):
            continue
        for recipient in circle.told_of(each.boat, each.kind, each.late_by(today)):
            before = told.get((*_what(each), recipient.email))
            if before is None or before[0] == each.on or reached < before[1]:
                yield _reminder(each, reached, recipient)


def _what(each: Due) -> tuple[int, str, str]:
    return each.boat.pk, each.kind, each.about


def _told_this_week(fleet: Fleet, today: dt.date) -> dict[tuple, tuple[dt.date, int]]:
    """Return (boat, kind, about, address) -> due day and step of what went out in the last week.

    The risk date moves a little with every refresh of the forecast. A date that moved is no reason
    to write again: only a more urgent step is, or another week.
    """
    since = today - dt.timedelta(days=WEEK)
    zone = ZoneInfo(fleet.time_zone)
    rows = Reminder.objects.of(fleet).filter(state=State.SENT, kind__in=SATISFIED_BY)
    told = {}
    for row in rows.filter(sent_at__date__gte=since).order_by("sent_at", "pk"):
        if since < row.sent_at.astimezone(zone).date() <= today:
            what = (row.boat_id, row.kind, row.about, row.to_email)
            told[what] = (row.due_on, row.days_before)
    return told


def _reminder(each: Due, reached: int, recipient: Recipient) -> Reminder:
    # Addresses may be longer than a key; sixteen hex digits tell a fleet's people apart.
    person = hashlib.sha256(recipient.email.lower().encode()).hexdigest()[:16]
    what = "/".join(part for part in (each.kind, each.about) if part)
    return Reminder(
        boat=each.boat,
        kind=each.kind,
        about=each.about,
        due_on=each.on,
        days_before=reached,
        send_on=each.on - dt.timedelta(days=reached),
        to_name=recipient.name,
        to_email=recipient.email,
        told_as=recipient.told_as,
        reason=each.reason,
        key=f"{each.boat.pk}/{what}/{each.on.isoformat()}/{reached}/{person}",
    )


def _known(fleet: Fleet, wanted: dict[str, Reminder]) -> dict[str, Reminder]:
    """Return those of the wanted reminders that are on record already, by key."""
    since = min((row.send_on for row in wanted.values()), default=dt.date.max)
    rows = Reminder.objects.of(fleet).filter(send_on__gte=since)
    return {row.key: row for row in rows if row.key in wanted}


def _put_back(known: Iterable[Reminder]) -> int:
    """Queue again what was withdrawn and is called for after all.

    What failed is not put back: it waits for its next try.
    """
    again = [row for row in known if row.state == State.WITHDRAWN]
    for row in again:
        row.state, row.failure, row.claimed_at = State.QUEUED, "", None
    fields = ["state", "failure", "claimed_at"]
    Reminder.objects.bulk_update(again, fields, batch_size=ROWS_AT_ONCE)
    return len(again)


def _take_out(fleet: Fleet, wanted: dict[str, Reminder]) -> tuple[int, int]:
    """Take out what has not gone out and is no longer so; return how many withdrawn and missed.

    Withdrawn: done, renewed, set aside, left, or a later step came before it was tried. Missed: it
    was tried in vain, and by now a later step of the same thing is to be said.
    """
    later = {(row.boat_id, row.kind, row.about, row.to_email) for row in wanted.values()}
    waiting = Reminder.objects.of(fleet).filter(state__in=(State.QUEUED, State.FAILED))
    gone = [row for row in waiting if row.key not in wanted]
    for row in gone:
        superseded = (row.boat_id, row.kind, row.about, row.to_email) in later
        missed = superseded and row.state == State.FAILED
        row.state = State.MISSED if missed else State.WITHDRAWN
        row.failure = f"{TOO_LATE} {row.failure}"[:300] if missed else row.failure
        row.next_try_at = None
    fields = ["state", "failure", "next_try_at"]
    Reminder.objects.bulk_update(gone, fields, batch_size=ROWS_AT_ONCE)
    missed = sum(row.state == State.MISSED for row in gone)
    return len(gone) - missed, missed
