"""Workbooks to hand over: text stays text, numbers and dates are real, sums are formulas."""

import datetime as dt
import io
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from decimal import Decimal

from xlsxwriter import Workbook
from xlsxwriter.utility import xl_col_to_name
from xlsxwriter.worksheet import Worksheet

from fleet.models import Fleet
from fleet.spreadsheets.exporting import new_workbook
from fleet.templatetags.wording import WHOLE_UNITS

from .masthead import CAUTION, rests_on


class Book:
    """One workbook of one fleet being written; its first sheet says what the rest is."""

    def __init__(self, target: io.BytesIO, fleet: Fleet, title: str):
        self.file: Workbook = new_workbook(target, title, fleet.today())
        cents = "#,##0" if fleet.currency in WHOLE_UNITS else "#,##0.00"
        self.formats = {
            "head": self.file.add_format({"bold": True, "bottom": 1, "text_wrap": True}),
            "money": self.file.add_format({"num_format": cents}),
            "total": self.file.add_format({"num_format": cents, "bold": True, "top": 1}),
            "sum": self.file.add_format({"num_format": "#,##0.0", "bold": True, "top": 1}),
            "words": self.file.add_format({"bold": True, "top": 1}),
            "hours": self.file.add_format({"num_format": "0.0"}),
            "count": self.file.add_format({"num_format": "#,##0", "bold": True, "top": 1}),
            "chance": self.file.add_format({"num_format": "0.0%"}),
            "rare": self.file.add_format({"num_format": "0.00%"}),
            "day": self.file.add_format({"num_format": "yyyy-mm-dd"}),
            "plain": None,
        }

    def sheet(self, name: str, headers: Sequence[str], widths: Sequence[float]) -> Worksheet:
        """Add a sheet whose header row and first column stay in sight."""
        page = self.file.add_worksheet(name)
        page.freeze_panes(1, 1)
        page.repeat_rows(0)
        page.set_landscape()
        page.fit_to_pages(1, 0)
        for column, (header, width) in enumerate(zip(headers, widths, strict=True)):
            page.write_string(0, column, header, self.formats["head"])
            page.set_column(column, column, width)
        return page

    def write(self, page: Worksheet, row: int, column: int, value, style: str = "plain") -> None:
        """Write one value as what it is; an empty one is left out."""
        if isinstance(value, str):
            page.write_string(row, column, value, self.formats[style])
        elif isinstance(value, dt.date):
            page.write_datetime(row, column, value, self.formats["day"])
        elif value is not None:
            page.write_number(row, column, value, self.formats[style])

    def add(self, page: Worksheet, row: int, column: int, summed: str, value, style: str) -> None:
        """Write the sum of a range, or of what ``matching`` finds, with the value it has."""
        page.write_formula(row, column, f"=SUM({summed})", self.formats[style], float(value))


def written(
    book: Book,
    name: str,
    columns: Sequence[tuple[str, float, str]],
    rows: Sequence[Sequence],
    empty: str,
) -> Worksheet:
    """Add a sheet of rows that can be filtered. ``columns``: header, width, how cells are shown."""
    page = book.sheet(name, [head for head, _, _ in columns], [width for _, width, _ in columns])
    for number, row in enumerate(rows, start=1):
        for column, value in enumerate(row):
            book.write(page, number, column, value, columns[column][2])
    if rows:
        page.autofilter(0, 0, len(rows), len(columns) - 1)
    else:
        book.write(page, 1, 0, empty)
    return page


@contextmanager
def made(fleet: Fleet, title: str, notes: Sequence[str]) -> Iterator[Book]:
    """Give a Book to write sheets in; on leaving, ``content`` of it is the workbook's bytes."""
    packed = io.BytesIO()
    book = Book(packed, fleet, title)
    about(book, fleet, title, notes)
    yield book
    book.file.close()
    book.content = packed.getvalue()


def about(book: Book, fleet: Fleet, title: str, notes: Sequence[str]) -> None:
    """Write the sheet that names fleet, day, currency and models."""
    standing, models = rests_on(fleet)
    page = book.file.add_worksheet("About")
    page.set_column(0, 0, 18)
    page.set_column(1, 1, 100)
    wrapped = book.file.add_format({"text_wrap": True, "valign": "top", "align": "left"})
    rows = [
        ("File", title), ("Fleet", fleet.name), ("As of", fleet.today()),
        ("Currency", fleet.currency), ("Rests on", standing), ("Models", models or "none"),
        *[("Note", note) for note in notes], ("Caution", CAUTION),
    ]  # fmt: skip
    for number, (label, value) in enumerate(rows):
        page.write_string(number, 0, label, book.formats["head"])
        if isinstance(value, str):
            page.write_string(number, 1, value, wrapped)
        else:
            book.write(page, number, 1, value)


def matching(names: str, cell: str, summed: str) -> str:
    """Return what sums the cells beside one exact name, however the rows are sorted later.

    Not SUMIF: it would read a name such as ``=a*`` as a condition.
    """
    return f"SUMPRODUCT(EXACT({names},{cell})*{summed})"


def rows_of(column: int, first: int, last: int, sheet: str = "") -> str:
    """Return a range of one column by 0-based rows, e.g. ``'Jobs'!C2:C9``."""
    name = xl_col_to_name(column)
    where = f"'{sheet}'!" if sheet else ""
    return f"{where}{name}{first + 1}:{name}{last + 1}"


def units(minor: int, fleet: Fleet) -> Decimal:
    """Return an amount in whole units of the fleet's currency, exact."""
    return Decimal(minor) if fleet.currency in WHOLE_UNITS else Decimal(minor) / 100
