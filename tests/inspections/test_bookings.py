"""Bookings from a sheet or a calendar file: all of a file or none, each fault with its place."""

import datetime as dt

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from fleet.spreadsheets.files import NamedFile
from inspections.bookings import keeping
from inspections.models import Booking
from tests import builders
from tests.inspections.docks import address, read, signed_in

pytestmark = pytest.mark.django_db


@pytest.fixture
def fleet():
    made = builders.empty_fleet("harbour", time_zone="Europe/Lisbon")
    for name in ("Tern", "Tern Two"):
        builders.boat(made, name)
    return made


def sheet(*rows: str) -> list[NamedFile]:
    return [NamedFile("charters.csv", "\n".join(["boat,from,to,reference", *rows]).encode())]


def ics(*events: str) -> list[NamedFile]:
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//x//y//EN"]
    for number, event in enumerate(events):
        lines += ["BEGIN:VEVENT", f"UID:{number}@x", *event.split("|"), "END:VEVENT"]
    return [NamedFile("out.ics", "\r\n".join([*lines, "END:VCALENDAR", ""]).encode())]


def booked() -> list[tuple]:
    rows = Booking.objects.order_by("boat__name", "first")
    return [(row.boat.name, f"{row.first:%m-%d}", f"{row.last:%m-%d}") for row in rows]


def test_a_sheet_is_taken_in_once_however_often_it_is_handed_in(fleet):
    rows = sheet("Tern,2026-11-01,2026-11-08,B-1", "tern two,2026-11-03,2026-11-03,")
    made = keeping.take_in(fleet, rows, None, whole=False)
    assert (made.new, made.known, made.faults) == (2, 0, ())
    again = keeping.take_in(fleet, rows, None, whole=False)
    assert (again.new, again.known) == (0, 2)
    assert booked() == [("Tern", "11-01", "11-08"), ("Tern Two", "11-03", "11-03")]


def test_a_file_with_a_fault_writes_nothing_and_names_row_column_and_cure(fleet):
    made = keeping.take_in(
        fleet,
        sheet("Tern,2026-11-01,2026-11-08,", "Tarn,2026-11-09,2026-11-12,",
              "Tern,2026-12-09,2026-12-01,", "Tern,2026-13-09,2026-12-01,",
              "Tarn,2026-11-09,2026-11-12,"),
        None, whole=False,
    )  # fmt: skip
    places = [(fault.sheet, fault.row, fault.column) for fault in made.faults]
    assert places == [("bookings", row, column) for row, column in
                      ((3, "boat"), (4, "to"), (5, "from"), (6, "boat"))]  # fmt: skip
    assert "Did you mean" in str(made.faults[0])
    assert booked() == []


def test_a_whole_file_takes_off_what_it_lacks_of_its_boats_and_nothing_past(fleet):
    keeping.take_in(
        fleet,
        sheet("Tern,2026-11-01,2026-11-08,", "Tern Two,2026-11-01,2026-11-02,",
              "Tern,2026-09-01,2026-09-08,"),
        None, whole=False,
    )  # fmt: skip
    made = keeping.take_in(fleet, sheet("Tern,2026-12-01,2026-12-08,"), None, whole=True)
    assert (made.new, made.gone) == (1, 1)
    assert booked() == [("Tern", "09-01", "09-08"), ("Tern", "12-01", "12-08"),
                        ("Tern Two", "11-01", "11-02")]  # fmt: skip


def test_an_all_day_event_ends_on_the_day_before_its_dtend(fleet):
    """RFC 5545, 3.6.1: DTEND is the non-inclusive end; without it a DATE event lasts one day."""
    made = keeping.take_in(
        fleet,
        ics("SUMMARY:Charter Tern Two|DTSTART;VALUE=DATE:20261101|DTEND;VALUE=DATE:20261108",
            "SUMMARY:Tern, week|DTSTART;VALUE=DATE:20261103",
            "LOCATION:Tern|SUMMARY:x|DTSTART:20261110T223000Z|DTEND:20261112T100000Z",
            "SUMMARY:Tern off|STATUS:CANCELLED|DTSTART;VALUE=DATE:20261201",
            "SUMMARY:Tern|DTSTART;VALUE=DATE:20261220|DURATION:P2D"),
        None, whole=False,
    )  # fmt: skip
    assert made.faults == ()
    assert booked() == [("Tern", "11-03", "11-03"), ("Tern", "11-10", "11-12"),
                        ("Tern", "12-20", "12-21"), ("Tern Two", "11-01", "11-07")]  # fmt: skip


def test_an_event_of_no_boat_is_asked_about_unless_the_file_is_of_one(fleet):
    events = ics("SUMMARY:A. Guest|DTSTART;VALUE=DATE:20261101")
    [fault] = keeping.take_in(fleet, events, None, whole=False).faults
    assert (fault.row, fault.wrong) == (1, "It names no boat of this fleet.")
    boat = fleet.boats.get(name="Tern")
    assert keeping.take_in(fleet, events, boat, whole=False).new == 1
    assert Booking.objects.get().reference == ""  # A guest's name is not kept.


@pytest.mark.parametrize(
    ("files", "words"),
    [
        (ics("SUMMARY:Tern|DTSTART;VALUE=DATE:20261101|RRULE:FREQ=DAILY"), "It repeats"),
        (ics(), "no event in it"),
        ([NamedFile("x.ics", b"BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\n")], "calendar file"),
        ([NamedFile("x.ics", b"\xff\xfe nonsense")], "calendar file"),
        ([NamedFile("x.csv", b"a,b\n1,2\n")], "boat"),
    ],
)
def test_a_file_that_is_no_list_of_bookings_is_refused_in_words(fleet, files, words):
    made = keeping.take_in(fleet, files, None, whole=False)
    assert words in " ".join(map(str, made.faults))
    assert booked() == []


def test_a_bosun_hands_in_a_file_enters_one_by_hand_and_takes_one_off(fleet):
    boat = fleet.boats.get(name="Tern")
    client, page = signed_in(boat), address(boat, "bookings")
    [file] = sheet("Tern,2026-11-01,2026-11-08,B-1")
    client.post(page, {"file": SimpleUploadedFile(file.name, file.content)})
    [bad] = sheet("Nobody,2026-11-01,2026-11-08,B-1")
    refused = client.post(page, {"file": SimpleUploadedFile(bad.name, bad.content)})
    assert "Nothing was written: 1 thing to put right" in refused.content.decode()
    one = {"step": "one", "boat": boat.pk, "first": "2026-11-05", "last": "2026-11-09"}
    client.post(page, one)
    assert "on these very days already" in client.post(page, one).content.decode()
    said = read(client, page)
    assert "2 bookings from today on" in said
    assert said.count("overlaps another of this boat") == 2
    client.post(address(boat, "booking_off", Booking.objects.latest("pk").pk))
    assert booked() == [("Tern", "11-01", "11-08")]
    assert dt.date(2026, 11, 1) == Booking.objects.get().first
