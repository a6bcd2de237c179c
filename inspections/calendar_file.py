"""What is due as an iCalendar object (RFC 5545), for a feed and for the file beside a mail.

All-day events (VALUE=DATE), which take no time of the day (TRANSP:TRANSPARENT): something is due
by that day, nobody is busy on it. The library folds lines at 75 octets and escapes text.
"""

import datetime as dt
import hashlib
from collections.abc import Iterable
from dataclasses import dataclass

from django.conf import settings
from django.urls import reverse

from fleet.models import Boat, Fleet

from .calendar.entries import uid_of
from .models import CalendarEntry, Reminder

Kind = Reminder.Kind
PRODUCT = "-//Stayward//What is due on the rigs of a fleet//EN"
AGAIN = dt.timedelta(hours=6)  # How often a program is asked to look anew (RFC 7986, 5.7).
DAY = dt.timedelta(days=1)
CAUTION = (
    "Insurers, flag state and class rules come before any date here; a forecast never clears a "
    "part."
)
LEVELS = (Kind.DECK, Kind.ALOFT, Kind.MAST_DOWN)


@dataclass(frozen=True)
class Event:
    """One event as it is written. ``stamp``: when it last changed, in UTC."""

    uid: str
    boat: Boat
    kind: str
    on: dt.date
    reason: str
    advice: str
    sequence: int
    stamp: dt.datetime
    cancelled: bool = False


def feed(fleet: Fleet, name: str, entries: Iterable[CalendarEntry]) -> bytes:
    """Return the calendar of these rows; the same rows give the same bytes."""
    return written(fleet, name, [of_entry(row) for row in entries], subscribed=True)


def mark(name: str, entries: Iterable[CalendarEntry]) -> str:
    """Return an entity tag (RFC 9110, 8.8.3) of what ``feed`` would write, without writing it.

    Writing 5,000 events takes seconds, and most programs ask for what they have already.
    """
    said = hashlib.sha256(f"{PRODUCT}/{settings.STAYWARD_SITE}/{name}".encode())
    for row in entries:
        facts = (row.uid, row.boat.name, row.boat.base.name, row.kind, row.on, row.reason,
                 row.advice, row.sequence, row.changed_at, row.cancelled_at)  # fmt: skip
        said.update(repr(facts).encode())
    return f'"{said.hexdigest()[:32]}"'


def attachment(fleet: Fleet, rows: Iterable, now: dt.datetime) -> bytes:
    """Return an .ics for a mail about these ``Due`` or ``Reminder`` rows.

    An event in it is the one of the feed: the same UID, and the SEQUENCE the feed has reached.
    """
    rows = list(rows)
    known = {
        (row.boat_id, row.kind, row.about): row
        for row in CalendarEntry.objects.filter(boat__in={row.boat.pk for row in rows})
    }
    events = {}
    for row in rows:
        key = (row.boat.pk, str(row.kind), getattr(row, "about", ""))
        events[key] = _of_row(fleet, row, key, known.get(key), now)
    return written(fleet, f"Due: {fleet.name}", list(events.values()), subscribed=False)


def of_entry(row: CalendarEntry) -> Event:
    off = row.cancelled_at is not None
    return Event(row.uid, row.boat, row.kind, row.on, row.reason, row.advice, row.sequence,
                 row.changed_at, off)  # fmt: skip


def _of_row(fleet: Fleet, row, key: tuple, entry: CalendarEntry | None, now: dt.datetime) -> Event:
    on = row.on if hasattr(row, "on") else row.due_on
    uid, sequence, stamp, advice = uid_of(fleet, key), 0, now, ""
    if entry:
        uid, sequence, advice = entry.uid, entry.sequence, entry.advice
        stamp = entry.changed_at if entry.on == on else now
    return Event(uid, row.boat, key[1], on, row.reason, advice, sequence, stamp)


def written(fleet: Fleet, name: str, events: list[Event], *, subscribed: bool) -> bytes:
    """Return the calendar as bytes, its lines ended by CRLF."""
    import icalendar  # Loads its time zones: only where a calendar file is read or written.

    calendar = icalendar.Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    calendar.add("method", "PUBLISH")
    if subscribed:
        called = icalendar.vText(name)  # Else its commas stay bare (RFC 5545, 3.3.11).
        calendar.add("name", called)  # RFC 7986, 5.1; the next line is what older programs read.
        calendar.add("x-wr-calname", called)
        calendar.add("refresh-interval", AGAIN, parameters={"VALUE": "DURATION"})
    for each in events:
        calendar.add_component(_component(icalendar.Event(), fleet, each))
    return calendar.to_ical()


def _component(event, fleet: Fleet, each: Event):
    stamp = each.stamp.astimezone(dt.UTC).replace(microsecond=0)
    event.add("uid", each.uid)
    event.add("dtstamp", stamp)
    event.add("last-modified", stamp)
    event.add("sequence", each.sequence)
    event.add("dtstart", each.on)
    event.add("dtend", each.on + DAY)
    event.add("summary", summary(each))
    event.add("description", description(each))
    event.add("url", settings.STAYWARD_SITE + page(fleet, each))
    event.add("categories", [Kind(each.kind).label])
    event.add("location", each.boat.base.name)
    event.add("transp", "TRANSPARENT")
    event.add("status", "CANCELLED" if each.cancelled else "CONFIRMED")
    return event


def summary(each: Event) -> str:
    """Return ``Tern: deck check due``, as a calendar has room for."""
    words = "held" if each.kind == Kind.HELD else Kind(each.kind).label
    return f"{each.boat.name}: {words}{' due' if each.kind in LEVELS else ''}"


def description(each: Event) -> str:
    if each.cancelled:
        return "Due no more."
    return "\n".join(filter(None, [each.reason, each.advice, CAUTION]))


def page(fleet: Fleet, each: Event) -> str:
    """Return where it is done: the boat's form for a look, else its page."""
    if each.kind in (*LEVELS, Kind.RECHECK, Kind.EVENT, Kind.ALIKE):
        address = reverse("inspect", args=[fleet.slug, each.boat.pk])
        return f"{address}?level={each.kind}" if each.kind in LEVELS else address
    if each.kind == Kind.DEMAND:
        return reverse("demands", args=[fleet.slug])
    return reverse("boat", args=[fleet.slug, each.boat.pk])
