"""Export: a fleet as the workbook or the CSV files that the import takes, in a fixed order."""

import datetime as dt
import io
import zipfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import BinaryIO

from xlsxwriter import Workbook
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from ..importing import Sheet
from ..models import Fleet
from ..sheets import Layout
from ..sheets.kinds import Cell
from .csv_files import write_csv

# Text stays text: a name that looks like a formula, number or address is none.
PLAIN = {
    "strings_to_formulas": False,
    "strings_to_numbers": False,
    "strings_to_urls": False,
    "in_memory": True,
}
FIRST_DATE = dt.date(1900, 3, 1)  # Before it spreadsheet programs count days differently.
WIDEST = 40


def cells_of(fleet: Fleet, sheet: Sheet) -> Iterator[list[Cell]]:
    """Yield the header row of a sheet and then the fleet's rows."""
    yield list(sheet.layout.headers)
    for values in sheet.rows(fleet):
        yield sheet.layout.cells(values)


def write_workbook(
    fleet: Fleet,
    sheets: Sequence[Sheet],
    target: Path | str | BinaryIO,
    say: Callable[[str], None] = lambda step: None,
) -> None:
    """Write the fleet as one XLSX workbook; ``say`` hears of each sheet."""
    with new_workbook(target, fleet.name, fleet.today()) as book:
        day = book.add_format({"num_format": "yyyy-mm-dd"})
        for sheet in sheets:
            page, number = add_sheet(book, sheet.layout), 0
            for number, cells in enumerate(cells_of(fleet, sheet)):
                if number:
                    write_row(page, number, cells, day)
            say(f"{sheet.name}: {number} row{'' if number == 1 else 's'}")


def csv_files(
    fleet: Fleet, sheets: Sequence[Sheet], say: Callable[[str], None] = lambda step: None
) -> dict[str, str]:
    """Return the fleet as CSV text by file name; ``say`` hears of each sheet."""
    texts = {}
    for sheet in sheets:
        rows = list(cells_of(fleet, sheet))
        texts[f"{sheet.name}.csv"] = write_csv(rows)
        number = len(rows) - 1
        say(f"{sheet.name}: {number} row{'' if number == 1 else 's'}")
    return texts


def csv_archive(
    fleet: Fleet, sheets: Sequence[Sheet], say: Callable[[str], None] = lambda step: None
) -> bytes:
    """Return the CSV files in one ZIP."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in csv_files(fleet, sheets, say).items():
            member = zipfile.ZipInfo(name, fleet.today().timetuple()[:6])
            member.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(member, text.encode("utf-8-sig"))
    return packed.getvalue()


def new_workbook(target: Path | str | BinaryIO, title: str, day: dt.date) -> Workbook:
    """Return a workbook whose bytes depend on its contents and that day alone."""
    book = Workbook(target, PLAIN)
    created = dt.datetime.combine(day, dt.time(12))
    book.set_properties({"title": title, "created": created})
    return book


def add_sheet(book: Workbook, layout: Layout) -> Worksheet:
    """Add a sheet with its frozen header row; needed columns are bold."""
    page = book.add_worksheet(layout.name)
    page.freeze_panes(1, 1)
    needed = book.add_format({"bold": True, "bottom": 1})
    other = book.add_format({"bottom": 1})
    for place, column in enumerate(layout):
        page.write_string(0, place, column.header, needed if column.needed else other)
        widest = max(len(column.header), len(column.example))
        page.set_column(place, place, min(widest + 3, WIDEST))
    return page


def write_row(page: Worksheet, number: int, cells: Sequence[Cell], day: Format) -> None:
    for place, cell in enumerate(cells):
        if isinstance(cell, dt.date):
            if cell < FIRST_DATE:
                page.write_string(number, place, cell.isoformat())
            else:
                page.write_datetime(number, place, cell, day)
        elif isinstance(cell, str):
            if cell:
                page.write_string(number, place, cell)
        elif cell is not None:
            page.write_number(number, place, cell)
