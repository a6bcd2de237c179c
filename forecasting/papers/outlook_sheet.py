"""The outlook as rows: which boat to look at first and what each chance is, as XLSX and CSV."""

from fleet.models import Boat, Fleet
from inspections.models import Inspection

from .. import reads
from .csv_rows import csv_of
from .workbook import Book, made, written

NAME = "Outlook"
# Header, width, and how the cells are shown.
COLUMNS = (
    ("base", 16, "plain"), ("boat", 20, "plain"), ("design", 14, "plain"),
    ("held", 7, "plain"), ("why held", 40, "plain"), ("last inspected", 12, "plain"),
    ("level", 16, "plain"), ("inspect by", 12, "plain"), ("how", 16, "plain"),
    ("why then", 50, "plain"), ("condemned, unseen, today", 13, "chance"), ("from", 9, "chance"),
    ("to", 9, "chance"), ("after that look", 11, "chance"), ("within a year", 11, "chance"),
    ("within five years", 11, "chance"), ("fails in service, a season", 12, "rare"),
)  # fmt: skip
HEADERS = tuple(header for header, _, _ in COLUMNS)
NOTES = (
    "Chances are of a boat: that at least one of its parts would be condemned if all of it were "
    "looked at. They do not add and have no sum.",
    "'From' and 'to' hold today's chance nine times in ten.",
)
PLACES = 6  # Decimals of a chance: beyond them the draws say nothing.


def rows(fleet: Fleet) -> list[tuple]:
    """Return one row a boat with an outlook, in the order of the page: first to look at, first."""
    today = fleet.today()
    boats = reads.boats(fleet, today).filter(outlook__isnull=False)
    order = ("inspect_by__date", "-outlook__chance_now", "pk")
    return [row(boat) for boat in boats.order_by(*order)]


def row(boat: Boat) -> tuple:
    by, outlook = getattr(boat, "inspect_by", None), boat.outlook
    seen = Inspection.Level(boat.last_level).label if boat.last_level else "never"
    after = outlook.after_level.get(by.level) if by else None
    chances = (outlook.chance_now, outlook.chance_now_low, outlook.chance_now_high, after,
               outlook.chance_1y, outlook.chance_5y, outlook.chance_failing)  # fmt: skip
    due = (by.date, by.get_level_display(), by.reason) if by else (None, "", "")
    held = ("yes", boat.held_why) if boat.held else ("no", "")
    whose = (boat.base.name, boat.name, boat.design)
    return (
        *whose,
        *held,
        boat.last_on,
        seen,
        *due,
        *(None if chance is None else round(chance, PLACES) for chance in chances),
    )


def outlook_workbook(fleet: Fleet) -> bytes:
    """Return the XLSX."""
    with made(fleet, f"Outlook of {fleet.name}", NOTES) as book:
        fill(book, rows(fleet))
    return book.content


def fill(book: Book, boats: list[tuple]) -> None:
    empty = "No outlook yet: the fleet has not been forecast."
    written(book, NAME, COLUMNS, boats, empty)


def outlook_csv(fleet: Fleet) -> bytes:
    """Return the CSV (RFC 4180, UTF-8)."""
    return csv_of(fleet, HEADERS, rows(fleet))
