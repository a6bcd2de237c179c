"""Bookings from a sheet: boat, from, to. Every fault with its row, column and what to do."""

import datetime as dt
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from fleet.models import Boat, Fleet
from fleet.sheets import Column, Day, Fault, Layout, Table, Text, folded, read_sheet
from fleet.sheets.faults import nearest, shown
from fleet.spreadsheets.files import NamedFile
from fleet.spreadsheets.workbooks import open_book

from ..models import Booking
from .free_days import Span

NAME = "bookings"
LAYOUT = Layout(
    NAME,
    "When boats are away with guests.",
    (
        Column("boat", Text(80), "Its name as on the page of boats.", True, "Guillemot"),
        Column("from", Day(future=True), "First day away.", True, "2027-05-01"),
        Column("to", Day(future=True), "Last day away.", True, "2027-05-08"),
        Column("reference", Text(80), "A number; guests need not be named.", example="B-1042"),
    ),
)
LONGEST = 366  # Days: a longer one is a slip of the year.


@dataclass
class Found:
    """What a file holds: bookings, unsaved, and what is wrong with it."""

    bookings: list[Booking] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)


def read(fleet: Fleet, files: Sequence[NamedFile]) -> Found:
    """Read the first sheet of a workbook, or one CSV, whatever it is called."""
    table = table_of(files, LAYOUT, fleet.today())
    found = Found(faults=list(table.faults))
    boats = {folded(boat.name): boat for boat in Boat.objects.of(fleet)}
    for row in table.rows:
        boat = boats.get(folded(row["boat"]))
        problems = list(_problems(row, boat, boats))
        found.faults += [Fault(NAME, row.number, *each) for each in problems]
        if not problems:
            found.bookings.append(
                Booking(boat=boat, first=row["from"], last=row["to"], source=Booking.Source.SHEET,
                        reference=row.get("reference") or "")
            )  # fmt: skip
    found.faults.sort(key=lambda fault: fault.row)
    return found


def table_of(files: Sequence[NamedFile], layout: Layout, today: dt.date) -> Table:
    """Return the rows of the sheet called as the layout is, else of the first one."""
    book = open_book(files, None)
    sheet = book.sheets.get(layout.name) or next(iter(book.sheets.values()), None)
    if book.faults or sheet is None:
        needed = ", ".join(column.header for column in layout if column.needed)
        wrong, right = "There is no sheet in the file.", f"Hand in columns {needed}."
        faults = book.faults or [Fault(layout.name, 0, "", "", wrong, right)]
        return Table(layout.name, faults=tuple(faults))
    return read_sheet(layout, sheet, today)


def _problems(row, boat: Boat | None, boats: dict[str, Boat]) -> Iterator[tuple]:
    if boat is None:
        hint = nearest(row["boat"], [each.name for each in boats.values()])
        yield ("boat", shown(row["boat"]), "No boat of this fleet is called so.",
               hint or "Write its name as on the page of boats.")  # fmt: skip
    yield from wrong_days((row["from"], row["to"]))


def wrong_days(span: Span) -> Iterator[tuple]:
    first, last = span
    if last < first:
        yield ("to", str(last), f"It ends before it begins, {first}.", "Put the two days in order.")
    elif (last - first).days > LONGEST:
        yield ("to", str(last), "It is longer than a year.", "Check the year.")
