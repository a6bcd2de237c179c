"""Bookings and demands in the workbook: each fault with its place, and what is on record stays."""

import pytest

from fleet.spreadsheets import exporting
from fleet.spreadsheets.files import NamedFile
from inspections.demands import keeping
from inspections.importing import EVERY_SHEET, import_workbook
from inspections.models import Booking, Demand
from tests import builders

pytestmark = pytest.mark.django_db
HEAD = "who asks,name,clause,boats,asked on,deadline,what satisfies it"
USUAL = 'insurer,Mutual,renew old wires,"Tern; Sea; Pink",2026-09-30,2027-03-31,parts renewed'


@pytest.fixture
def fleet():
    made = builders.empty_fleet("harbour")
    for name in ("Tern", "Sea; Pink"):
        builders.wire(builders.boat(made, name))
    return made


def read(fleet, sheet: str, *lines: str, **how):
    file = NamedFile(f"{sheet}.csv", "\n".join(lines).encode())
    return import_workbook(fleet, [file], **({"dry_run": False} | how))


def places(report) -> list[tuple]:
    return [(fault.sheet, fault.row, fault.column) for fault in report.faults]


def with_more(header: str, *rows: str) -> list[str]:
    return [f"{HEAD},{header}", *(f"{USUAL},{row}" for row in rows)]


def test_bookings_come_in_once_and_say_which_row_is_wrong(fleet):
    lines = ["boat,from,to,reference", "tern,2027-05-01,2027-05-08,B-1",
             "Tarn,2027-05-01,2027-05-02,", "Tern,2027-06-09,2027-06-01,",
             "Tern,2027-05-01,2027-05-08,B-2"]  # fmt: skip
    report = read(fleet, "bookings", *lines)
    assert places(report) == [
        ("bookings", 3, "boat"),
        ("bookings", 4, "to"),
        ("bookings", 5, "boat"),
    ]
    assert not Booking.objects.exists()
    assert read(fleet, "bookings", *lines[:2], dry_run=True).new == 1
    assert not Booking.objects.exists()
    assert read(fleet, "bookings", *lines, take_good_rows=True).new == 1
    Booking.objects.update(source="hand")
    assert read(fleet, "bookings", lines[0], lines[1][:-1] + "9").changed == 1
    row = Booking.objects.get()
    assert (row.boat.name, row.reference, row.source) == ("Tern", "B-9", "hand")


def test_a_demand_names_its_boats_in_one_cell_whatever_they_are_called(fleet):
    both = USUAL.replace("Tern; Sea; Pink", "tern\nSea; Pink")
    report = read(fleet, "demands", HEAD, both)
    assert (report.faults, report.new) == ((), 1)
    assert {boat.name for boat in Demand.objects.get().boats.all()} == {"Tern", "Sea; Pink"}
    other = builders.empty_fleet("estuary")
    for name in ("Tern", "Sea; Pink"):
        builders.wire(builders.boat(other, name))
    book = exporting.csv_files(fleet, EVERY_SHEET)["demands.csv"]
    assert read(other, "demands", book).faults == ()
    assert exporting.csv_files(other, EVERY_SHEET)["demands.csv"] == book
    assert read(other, "demands", book).same == 1


@pytest.mark.parametrize(
    ("lines", "column", "words"),
    [
        (
            [HEAD, USUAL.replace("Sea; Pink", "Tarn")],
            "boats",
            "“Tarn”: There is no boat of that name",
        ),
        ([HEAD, USUAL.replace("Tern; Sea; Pink", ";")], "boats", "No boat is named."),
        (
            [HEAD, USUAL.replace("2027-03-31", "2026-03-31")],
            "deadline",
            "asked later, on 2026-09-30",
        ),
        (with_more("state", "answered"), "sent by", "answered, and not by whom"),
        (with_more("state", "accepted"), "closed on", "closed, and not when"),
        (with_more("closed by", "A. Broker"), "state", "closed, and not how"),
        (with_more("sent on", "2026-10-02"), "state", "not open"),
        (with_more("sent on", "2026-09-02"), "sent on", "before it was asked"),
        (with_more("older than years", "0.1"), "older than years", "outside what is possible"),
        ([HEAD, USUAL, USUAL], "who asks", "Row 2 says the same thing already"),
    ],
)
def test_a_demand_with_a_fault_is_refused_in_words(fleet, lines, column, words):
    tern = [line.replace("Tern; Sea; Pink", "Tern") for line in lines]
    report = read(fleet, "demands", *tern)
    assert words in " ".join(str(fault) for fault in report.faults if fault.column == column)
    assert not Demand.objects.exists()


def test_an_age_belongs_to_parts_to_be_renewed(fleet):
    lines = [
        line.replace("parts renewed", "report") for line in with_more("older than years", "12")
    ]
    assert ("demands", 2, "older than years") in places(read(fleet, "demands", *lines))


def test_a_demand_on_record_is_not_changed_by_a_file_and_the_import_says_so(fleet):
    facts = {"asker": "insurer", "asker_name": "Mutual", "clause": "renew  old wires",
             "asked_on": builders.TODAY, "deadline": builders.TODAY, "wanted": "renew"}  # fmt: skip
    tern = fleet.boats.get(name="Tern")
    for boats in ([tern], fleet.boats.all()):  # Entered twice, of other boats: two demands.
        keeping.add(fleet, boats, **facts)
    book = exporting.csv_files(fleet, EVERY_SHEET)["demands.csv"]
    report = read(fleet, "demands", book)
    assert (report.same, report.notes) == (2, ())
    report = read(fleet, "demands", book.replace("Tern,", "Sea; Pink,"))
    assert (report.new, report.changed) == (0, 0)
    [note] = report.notes
    assert "changed on its own page" in note
    assert Demand.objects.order_by("pk").first().boats.get() == tern
