"""What an hour buys as rows: a workbook and CSV."""

from fleet.models import Fleet
from fleet.spreadsheets.csv_files import write_csv

from ..hours_list import BoatLook, HoursList, what_it_buys
from .masthead import CAUTION, rests_on
from .workbook import made, rows_of

NAME = "Looks"
# Header, width, and how the cells are shown.
COLUMNS = (
    ("place", 7, "plain"), ("boat", 22, "plain"), ("base", 18, "plain"), ("look", 22, "plain"),
    ("held", 7, "plain"), ("hours", 8, "hours"), ("chance today", 10, "chance"),
    ("chance after it", 10, "chance"), ("boats with something unseen after it", 14, "plain"),
    ("done on", 12, "plain"),
)  # fmt: skip
HEADERS = tuple(header for header, _, _ in COLUMNS)
HOURS = HEADERS.index("hours")


def row(look: BoatLook) -> tuple:
    held = "yes" if look.held else "no"
    chances = (round(look.before, 4), round(look.after, 4), round(look.left, 3))
    return (look.place, look.boat, look.base, look.look, held, round(look.hours, 2), *chances, "")


def hours_workbook(fleet: Fleet, found: HoursList) -> bytes:
    """Return the list as XLSX, with an empty column to tick off in."""
    notes = (what_it_buys(found), "Chance: that any part of the boat stands condemned, unseen.")
    with made(fleet, f"What an hour buys, {fleet.name}", notes) as book:
        page = book.sheet(NAME, HEADERS, [width for _, width, _ in COLUMNS])
        for number, look in enumerate(found.looks, start=1):
            for column, value in enumerate(row(look)):
                book.write(page, number, column, value, COLUMNS[column][2])
        total = len(found.looks) + 2  # A row apart, so that sorting leaves it alone.
        if found.looks:
            page.autofilter(0, 0, len(found.looks), len(COLUMNS) - 1)
            book.write(page, total, 0, "Together", "words")
            summed = rows_of(HOURS, 1, len(found.looks))
            book.add(page, total, HOURS, summed, found.plan.hours, "sum")
        else:
            book.write(page, 1, 0, "No look is worth its hours today.")
    return book.content


def hours_csv(fleet: Fleet, found: HoursList) -> bytes:
    """Return the list as CSV (RFC 4180, UTF-8), each row naming fleet and day."""
    standing, models = rests_on(fleet)
    lines = [("fleet", "as of", *HEADERS)]
    lines += [(fleet.name, fleet.today(), *row(look)) for look in found.looks]
    notes = (what_it_buys(found), " ".join(filter(None, [standing, models])), CAUTION)
    padded = [("note", note, *("",) * (len(lines[0]) - 2)) for note in notes]
    return write_csv(lines + padded).encode()
