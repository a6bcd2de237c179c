"""Reminders as rows: who is told what, when. Queueing twice queues nothing twice."""

import datetime as dt
import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from django.db import transaction

from fleet.models import Boat, Fleet, Membership

from .due import SATISFIED_BY, Due, due
from .models import Reminder

State = Reminder.State
# Days before the day; afterwards once a week for as long as it is late.
STEPS = (60, 30, 7, 0)
WEEK = 7
ROWS_AT_ONCE = 500


@dataclass(frozen=True)
class Queued:
    """How many reminders were queued, put back after a failure, and withdrawn."""

    new: int = 0
    again: int = 0
    withdrawn: int = 0


@dataclass(frozen=True)
class Recipient:
    """Somebody who is told."""

    name: str
    email: str


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
        wanted = {row.key: row for row in _wanted(fleet, today)}
        known = _known(fleet, wanted)
        new = [row for key, row in wanted.items() if key not in known]
        Reminder.objects.bulk_create(new, batch_size=ROWS_AT_ONCE)
        return Queued(len(new), _put_back(known.values()), _withdraw(fleet, wanted))


def _wanted(fleet: Fleet, today: dt.date) -> Iterator[Reminder]:
    """Yield today's reminders, unsaved."""
    crew, told = _crew(fleet), _told_this_week(fleet, today)
    for each in due(fleet, today):
        reached = step(each.on, today)
        if reached is None:
            continue
        for recipient in _recipients(each.boat, crew):
            before = told.get((each.boat.pk, each.kind, recipient.email))
            if before is None or before[0] == each.on or reached < before[1]:
                yield _reminder(each, reached, recipient)


def _told_this_week(fleet: Fleet, today: dt.date) -> dict[tuple, tuple[dt.date, int]]:
    """Return (boat, kind, address) -> due day and step of what went out within the last week.

    The risk date moves a little with every refresh of the forecast. A date that moved is no reason
    to write again: only a more urgent step is, or another week.
    """
    since = today - dt.timedelta(days=WEEK)
    zone = ZoneInfo(fleet.time_zone)
    rows = Reminder.objects.of(fleet).filter(state=State.SENT, kind__in=SATISFIED_BY)
    told = {}
    for row in rows.filter(sent_at__date__gte=since).order_by("sent_at", "pk"):
        if since < row.sent_at.astimezone(zone).date() <= today:
            told[row.boat_id, row.kind, row.to_email] = (row.due_on, row.days_before)
    return told


def _crew(fleet: Fleet) -> list[Recipient]:
    """Return the managers and bosuns of the fleet who have an address."""
    roles = (Membership.Role.MANAGER, Membership.Role.BOSUN)
    members = fleet.memberships.filter(role__in=roles).exclude(user__email="")
    users = [member.user for member in members.select_related("user")]
    return [Recipient(user.get_full_name() or user.get_username(), user.email) for user in users]


def _recipients(boat: Boat, crew: list[Recipient]) -> list[Recipient]:
    """Return the owner and the crew, nobody twice."""
    owner = [Recipient(boat.owner_name or "Owner", boat.owner_email)] if boat.owner_email else []
    return list({each.email.lower(): each for each in [*owner, *crew]}.values())


def _reminder(each: Due, reached: int, recipient: Recipient) -> Reminder:
    # Addresses may be longer than a key; sixteen hex digits tell a fleet's people apart.
    person = hashlib.sha256(recipient.email.lower().encode()).hexdigest()[:16]
    return Reminder(
        boat=each.boat,
        kind=each.kind,
        due_on=each.on,
        days_before=reached,
        send_on=each.on - dt.timedelta(days=reached),
        to_name=recipient.name,
        to_email=recipient.email,
        reason=each.reason,
        key=f"{each.boat.pk}/{each.kind}/{each.on.isoformat()}/{reached}/{person}",
    )


def _known(fleet: Fleet, wanted: dict[str, Reminder]) -> dict[str, Reminder]:
    """Return those of the wanted reminders that are on record already, by key."""
    since = min((row.send_on for row in wanted.values()), default=dt.date.max)
    rows = Reminder.objects.of(fleet).filter(send_on__gte=since)
    return {row.key: row for row in rows if row.key in wanted}


def _put_back(known: Iterable[Reminder]) -> int:
    """Queue again what failed or was withdrawn and is called for after all.

    It keeps its Message-ID: a message whose failure was only a lost answer has arrived.
    """
    again = [row for row in known if row.state in (State.FAILED, State.WITHDRAWN)]
    for row in again:
        row.state, row.failure, row.claimed_at = State.QUEUED, "", None
    fields = ["state", "failure", "claimed_at"]
    Reminder.objects.bulk_update(again, fields, batch_size=ROWS_AT_ONCE)
    return len(again)


def _withdraw(fleet: Fleet, wanted: dict[str, Reminder]) -> int:
    """Withdraw what has not gone out and is no longer so: done, renewed, left, or a later step."""
    waiting = Reminder.objects.of(fleet).filter(state__in=(State.QUEUED, State.FAILED))
    gone = [row for row in waiting if row.key not in wanted]
    for row in gone:
        row.state = State.WITHDRAWN
    Reminder.objects.bulk_update(gone, ["state"], batch_size=ROWS_AT_ONCE)
    return len(gone)
