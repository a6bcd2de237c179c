"""Calendars outside: valid by RFC 5545, read back by another library, and never written by a GET.

The reader is vobject, which shares nothing with the library that writes. The line rules are checked
here by themselves, on the bytes: CRLF (3.1), at most 75 octets a line (3.1), no byte of a letter
parted from the rest of it by a fold that is not undone.
"""

import datetime as dt

import pytest
import vobject
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from inspections import calendar_file
from inspections.calendar import entries, feeds
from inspections.due import Due, due
from inspections.models import Booking, CalendarEntry, CalendarFeed, Inspection, Reminder
from tests import builders
from tests.inspections.docks import address, inspect, read, rigged_boat, signed_in

pytestmark = pytest.mark.django_db
TODAY, NOON = builders.TODAY, builders.NOON
HOUR = dt.timedelta(hours=1)
DAY = dt.timedelta(days=1)


def read_back(content: bytes) -> dict[str, vobject.base.Component]:
    """Return UID -> event as another library reads it, after the rules of lines."""
    assert content.endswith(b"\r\n")
    assert b"\n" not in content.replace(b"\r\n", b"")
    lines = content.split(b"\r\n")
    assert max(map(len, lines)) <= 75
    content.replace(b"\r\n ", b"").decode()  # Unfolded, it is UTF-8.
    calendar = vobject.readOne(content.decode())
    calendar.validate(raiseException=True)
    assert (calendar.version.value, calendar.method.value) == ("2.0", "PUBLISH")
    return {event.uid.value: event for event in calendar.contents.get("vevent", ())}


def told(boat, now: dt.datetime = NOON) -> dict[str, vobject.base.Component]:
    entries.refresh(boat.fleet, now)
    rows = entries.of_boats([boat])
    return read_back(calendar_file.feed(boat.fleet, "Rigs", rows))


def of_kind(events: dict, kind: str) -> vobject.base.Component:
    [found] = [e for e in events.values() if e.categories.value == [Reminder.Kind(kind).label]]
    return found


def test_each_thing_due_is_an_all_day_event_with_its_reason():
    boat = rigged_boat()
    inspect(boat, TODAY - 30 * DAY)
    event = of_kind(told(boat), "aloft")
    assert event.dtstart.value == dt.date(2027, 9, 14)
    assert event.dtend.value == dt.date(2027, 9, 15)
    assert event.summary.value == "Tern: inspection aloft due"
    assert event.description.value.startswith("Last whole one 14 Sep 2026. The fleet's rule")
    assert (event.status.value, event.transp.value) == ("CONFIRMED", "TRANSPARENT")
    assert event.url.value.endswith(f"/harbour/boats/{boat.pk}/inspect/?level=aloft")


def test_names_no_ascii_and_no_comma_survive_the_way_there_and_back():
    boat = rigged_boat(name="Ærfugl; Öresund, " + "ß" * 40)
    event = of_kind(told(boat), "deck")
    assert event.summary.value == f"{boat.name}: deck check due"


def test_the_same_thing_keeps_its_uid_and_its_sequence_goes_up_as_it_moves():
    boat = rigged_boat()
    inspect(boat, TODAY - 400 * DAY)
    first = of_kind(told(boat), "aloft")
    assert entries.refresh(boat.fleet, NOON + HOUR) == 0
    inspect(boat, TODAY)
    second = of_kind(told(boat, NOON + 2 * HOUR), "aloft")
    assert second.uid.value == first.uid.value
    assert (first.sequence.value, second.sequence.value) == ("0", "1")
    assert second.dtstart.value > first.dtstart.value
    assert second.dtstamp.value > first.dtstamp.value


def test_what_is_due_no_more_is_cancelled_kept_ninety_days_and_can_come_back():
    boat = rigged_boat()
    dues = list(due(boat.fleet, TODAY))
    held = Due(boat, "held", TODAY, "Split pin missing.")
    entries.refresh(boat.fleet, NOON, [*dues, held])
    entries.refresh(boat.fleet, NOON + HOUR, dues)
    rows = entries.of_boats([boat])
    event = of_kind(read_back(calendar_file.feed(boat.fleet, "Rigs", rows)), "held")
    assert (event.status.value, event.sequence.value) == ("CANCELLED", "1")
    assert event.description.value == "Due no more."
    entries.refresh(boat.fleet, NOON + 89 * DAY, [*dues, held])
    assert CalendarEntry.objects.get(kind="held").sequence == 2
    assert CalendarEntry.objects.get(kind="held").cancelled_at is None
    entries.refresh(boat.fleet, NOON + 100 * DAY, dues)
    entries.refresh(boat.fleet, NOON + 191 * DAY, dues)
    assert not CalendarEntry.objects.filter(kind="held").exists()


def test_a_booking_is_said_in_the_event_and_moves_no_date():
    boat = rigged_boat()
    inspect(boat, TODAY - 30 * DAY)
    on = of_kind(told(boat), "aloft").dtstart.value
    Booking.objects.create(boat=boat, first=on - 3 * DAY, last=on + 3 * DAY)
    event = of_kind(told(boat, NOON + HOUR), "aloft")
    assert event.dtstart.value == on
    assert "the last free day before it is 10 Sep 2027" in event.description.value
    assert event.sequence.value == "1"


def test_the_file_beside_a_mail_is_the_event_of_the_feed():
    boat = rigged_boat()
    [row] = [each for each in due(boat.fleet, TODAY) if each.kind == "deck"]
    before = read_back(calendar_file.attachment(boat.fleet, [row], NOON))
    assert before.keys() == {of_kind(told(boat), "deck").uid.value}
    inspect(boat, TODAY, level="deck")
    entries.refresh(boat.fleet, NOON + HOUR)
    [row] = [each for each in due(boat.fleet, TODAY) if each.kind == "deck"]
    reminder = Reminder(boat=boat, kind="deck", due_on=row.on, reason=row.reason)
    [after] = read_back(calendar_file.attachment(boat.fleet, [reminder], NOON)).values()
    assert (after.sequence.value, after.dtstart.value) == ("1", row.on)


def test_the_clock_brings_entries_in_line_once_an_hour_and_after_it_was_set_back():
    boat = rigged_boat()
    entries.keep(NOON)
    assert CalendarEntry.objects.count() == 3
    inspect(boat, TODAY)
    entries.keep(NOON + HOUR / 2)
    assert not CalendarEntry.objects.filter(sequence=1).exists()
    entries.keep(NOON + HOUR)
    assert CalendarEntry.objects.filter(sequence=1).count() == 2
    Inspection.objects.all().delete()
    entries.keep(NOON - DAY)
    assert CalendarEntry.objects.filter(sequence=2).count() == 2


def made(boat, **whose) -> tuple[CalendarFeed, str]:
    row, token = feeds.make(boat.fleet, NOON, by=None, **(whose or {"boat": boat}))
    return row, f"/calendar/{token}.ics"


def test_the_address_opens_without_sign_in_answers_head_and_asks_to_write_nothing():
    boat = rigged_boat()
    row, url = made(boat)
    assert row.digest not in url
    client = Client()
    with CaptureQueriesContext(connection) as asked:
        response = client.get(url)
    assert {query["sql"].split()[0] for query in asked} == {"SELECT"}
    assert response.headers["Content-Type"] == "text/calendar; charset=utf-8"
    assert response.headers["Cache-Control"] == "private, max-age=900"
    assert "Set-Cookie" not in response.headers
    assert len(read_back(response.content)) == 3
    head = client.head(url)
    assert (head.status_code, head.content) == (200, b"")
    same = client.get(url, headers={"if-none-match": response.headers["ETag"]})
    assert (same.status_code, same.content) == (304, b"")
    assert client.get(url).content == response.content
    CalendarEntry.objects.filter(kind="deck").update(reason="Another one.")
    fresh = client.get(url, headers={"if-none-match": response.headers["ETag"]})
    assert b"Another one." in fresh.content
    assert client.post(url).status_code == 405


def test_an_address_revoked_renewed_forged_or_of_who_left_answers_nothing():
    boat = rigged_boat()
    user = builders.person("maren", boat.fleet)
    row, url = made(boat)
    _, own = made(boat, user=user)
    client = Client()
    again, token = feeds.renew(row, NOON, None)
    assert client.get(url).status_code == 404
    assert client.get(f"/calendar/{token}.ics").status_code == 200
    feeds.revoke(again, NOON)
    assert client.get(f"/calendar/{token}.ics").status_code == 404
    secret = token.split("~")[0]
    assert client.get(f"/calendar/{secret}~forged.ics").status_code == 404
    assert client.get(f"/calendar/{secret}.ics").status_code == 404
    assert client.get(own).status_code == 200
    user.memberships.all().delete()
    assert client.get(own).status_code == 404


def test_a_members_calendar_is_of_the_base_chosen_and_a_boats_of_that_boat():
    boat = rigged_boat()
    elsewhere = builders.boat(boat.fleet, "Gull", base=builders.base(boat.fleet, "Mill"))
    user = builders.person("maren", boat.fleet)
    _, own = made(boat, user=user, base=elsewhere.base)
    _, of_boat = made(boat)
    client = Client()
    for url, name in ((own, "Gull"), (of_boat, "Tern")):
        events = read_back(client.get(url).content).values()
        assert {event.summary.value.split(":")[0] for event in events} == {name}


def test_an_address_is_shown_once_and_only_its_owner_or_who_writes_ends_it():
    boat = rigged_boat()
    page = address(boat, "calendar_feeds")
    bosun, reader = signed_in(boat), signed_in(boat, "accountant")
    shown = bosun.post(page, {"step": "make", "boat": boat.pk}).content.decode()
    url = shown.split('value="http')[1].split('"')[0]
    assert "/calendar/" in url
    assert url not in read(bosun, page)
    feed = CalendarFeed.objects.get(boat=boat)
    assert reader.post(page, {"step": "revoke", "feed": feed.pk}).status_code == 404
    assert "boat" not in reader.get(page).context["form"].fields
    bosun.post(page, {"step": "revoke", "feed": feed.pk})
    feed.refresh_from_db()
    assert feed.revoked_at is not None


def test_the_calendar_page_narrows_by_base_kind_and_month_and_names_what_bookings_leave():
    boat = rigged_boat()
    builders.boat(boat.fleet, "Gull", base=builders.base(boat.fleet, "Mill"))
    inspect(boat, TODAY - 30 * DAY)
    Booking.objects.create(boat=boat, first=dt.date(2027, 3, 1), last=dt.date(2027, 3, 30))
    client, page = signed_in(boat), address(boat, "calendar")
    everything = read(client, page)
    assert "2 boats late for a look" in everything
    assert "the last free day before it is 28 Feb 2027" in everything
    month = read(client, f"{page}?month=2027-03")
    assert "Gull" not in month
    assert "deck check" in month
    assert "Tern" not in read(client, f"{page}?base={boat.fleet.bases.get(name='Mill').pk}")
    nothing = read(client, f"{page}?kind=demand")
    assert "Nothing due answers to that" in nothing
    assert "boat is late" not in nothing, "of the others nothing was asked"
    assert "Of what you chose: 1 boat late" in read(client, f"{page}?boat=gull")
    assert read(client, f"{page}?base=nonsense&kind=x&month=x&page=x")
