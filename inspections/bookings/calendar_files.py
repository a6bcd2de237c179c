"""Bookings from a calendar file (iCalendar, RFC 5545), as booking programs and calendars give it.

Each event is one booking. It is of the boat chosen on the page, or of the one that its summary or
location names. All-day events end, as that standard has it, on the day before their DTEND.
"""

import datetime as dt
from collections.abc import Iterable
from typing import Any
from zoneinfo import ZoneInfo

from fleet.models import Boat, Fleet
from fleet.sheets import Fault, folded
from fleet.sheets.faults import shown

from ..models import Booking
from .free_days import DAY, Span
from .sheet import Found, wrong_days

MOST_BYTES = 4 * 1024 * 1024
MOST_EVENTS = 5_000
SHEET = "calendar file"
UNREADABLE = "This is not a calendar file that can be read."
SAVE_IT = "Export it anew as iCalendar (.ics), or hand in a sheet with boat, from, to."


def is_calendar(name: str, content: bytes) -> bool:
    return name.casefold().endswith(".ics") or content.lstrip()[:15].upper() == b"BEGIN:VCALENDAR"


def read(fleet: Fleet, content: bytes, boat: Boat | None) -> Found:
    """Return its bookings; an event that is no booking of a boat here is a fault by its number."""
    events, faults = events_of(content)
    found, names = Found(faults=faults), names_of(fleet)
    zone = ZoneInfo(fleet.time_zone)
    for number, event in events:
        _take(found, number, event, boat or named(event, names), zone)
    return found


def events_of(content: bytes) -> tuple[list[tuple[int, Any]], list[Fault]]:
    """Return the events of a calendar file that are not cancelled, numbered from 1; or why it
    cannot be read."""
    if len(content) > MOST_BYTES:
        return _refused("It is larger than 4 MB.", "Export fewer years.")
    import icalendar  # Loads its time zones: only where a calendar file is read or written.

    try:
        calendars = icalendar.Calendar.from_ical(content, multiple=True)
        events = [event for each in calendars for event in each.walk("VEVENT")]
    except (ValueError, KeyError, IndexError, AttributeError, TypeError) as trouble:
        return _refused(UNREADABLE, f"{SAVE_IT} ({str(trouble)[:80]})")
    if len(events) > MOST_EVENTS:
        return _refused(f"It holds more than {MOST_EVENTS:,} events.", "Export fewer years.")
    if not events:
        return _refused("There is no event in it.", SAVE_IT)
    numbered = list(enumerate(events, 1))
    return [each for each in numbered if not _is_off(each[1])], []


def _is_off(event) -> bool:
    return str(event.get("STATUS", "")).upper() == "CANCELLED"


def _refused(wrong: str, right: str) -> tuple[list, list[Fault]]:
    return [], [Fault(SHEET, 0, "", "", wrong, right)]


def names_of(fleet: Fleet) -> list[tuple[str, Boat]]:
    """Return folded names, the longest first: "Tern Two" is not "Tern"."""
    boats = [(folded(boat.name), boat) for boat in Boat.objects.of(fleet)]
    return sorted(boats, key=lambda pair: -len(pair[0]))


def named(event, names: Iterable[tuple[str, Boat]]) -> Boat | None:
    """Return the boat that its summary or location names."""
    said = [f" {folded(str(event.get(key, '')))} " for key in ("SUMMARY", "LOCATION")]
    said = ["".join(c if c.isalnum() else " " for c in words) for words in said]
    for name, boat in names:
        plain = "".join(c if c.isalnum() else " " for c in name)
        if any(f" {plain} " in words for words in said):
            return boat
    return None


def _take(found: Found, number: int, event, boat: Boat | None, zone: dt.tzinfo) -> None:
    said = shown(str(event.get("SUMMARY", "")))
    if event.get("RRULE") or event.get("RDATE"):
        wrong, right = "It repeats, which a booking does not.", "Enter each booking by itself."
        found.faults.append(Fault(SHEET, number, "RRULE", said, wrong, right))
        return
    if boat is None:
        wrong = "It names no boat of this fleet."
        right = "Choose the boat of this file on the page, or name the boat in the summary."
        found.faults.append(Fault(SHEET, number, "SUMMARY", said, wrong, right))
        return
    span = span_of(event, zone)
    if span is None:
        wrong, right = "Its first or last day cannot be read.", "Give it a DTSTART and a DTEND."
        found.faults.append(Fault(SHEET, number, "DTSTART", said, wrong, right))
        return
    wrongs = [Fault(SHEET, number, *each) for each in wrong_days(span)]
    found.faults += wrongs
    if not wrongs:
        # What the event says may name a guest: it is not kept.
        found.bookings.append(
            Booking(boat=boat, first=span[0], last=span[1], source=Booking.Source.CALENDAR)
        )


def span_of(event, zone: dt.tzinfo) -> Span | None:
    """Return its first and last day, None where they cannot be read."""
    start, end, lasts = (event.get(key) for key in ("DTSTART", "DTEND", "DURATION"))
    first = getattr(start, "dt", None)
    if first is None:
        return None
    last = getattr(end, "dt", None)
    if last is None:
        length = getattr(lasts, "dt", None)
        last = first + length if isinstance(length, dt.timedelta) else first
    whole_days = not isinstance(last, dt.datetime)
    begins, ends = _day_of(first, zone), _day_of(last, zone)
    return begins, (ends - DAY if whole_days and ends > begins else ends)


def _day_of(when: dt.date | dt.datetime, zone: dt.tzinfo) -> dt.date:
    if not isinstance(when, dt.datetime):
        return when
    return (when.astimezone(zone) if when.tzinfo else when).date()
