"""A frozen budget and what it really cost, as a workbook and CSV."""

import datetime as dt

from fleet.templatetags.wording import rate

from ..accounts import versions
from ..accounts.versions import MONEY, SCOPES, Variance
from ..chart_titles import year_label
from ..models import BudgetVersion
from .csv_rows import csv_of
from .reserve_sheet import money
from .workbook import Book, made, rows_of, units

VARIANCE, FIGURES = "Variance", "Figures"
HEADERS = ("version", "frozen on", "scope", "base", "boat", "paid by", "fiscal year",
           "mean", "of it planned", "of it expensed", "P10", "P50", "P90",
           "parts renewed")  # fmt: skip
COLUMNS = ("fiscal year", "budget, mean", "P10", "P90", "actual", "actual less budget", "stands")


def notes(version: BudgetVersion) -> list[str]:
    """Return what every file of a version says of itself."""
    whole = "as frozen" if versions.is_whole(version) else "CHANGED SINCE IT WAS FROZEN"
    return [
        f"Version {version.number}, {version.name}; frozen on {version.on} by {version.frozen_by}, "
        f"{version.currency}, price growth {rate(version.growth)} a year.",
        f"Figures {version.figures_mark[:12]} ({whole}); data and models {version.data_mark[:12]}.",
        "Means add, boats to bases to fleet. Percentiles are each total's own and do not add.",
        "Actual: invoices by their date, recoverable tax left out.",
    ]


def figure_row(version: BudgetVersion, line: dict) -> tuple:
    amounts = (money(line[name], version.fleet) for name in MONEY)
    return (version.number, version.on, line["scope"], line["base"], line["boat"], line["payer"],
            year_label(line["year"], version.fleet), *amounts, line["renewals"])  # fmt: skip


def version_csv_rows(version: BudgetVersion) -> bytes:
    """Return every frozen line as CSV, notes at the end."""
    rows = [
        figure_row(version, line) for scope in SCOPES for line in versions.lines(version, scope)
    ]
    empty = ("",) * (len(HEADERS) - 1)
    said = [(note, *empty) for note in notes(version)]
    return csv_of(version.fleet, HEADERS, [*rows, *said])


def version_workbook(version: BudgetVersion, today: dt.date) -> bytes:
    """Return the version as XLSX: variance with its sums as formulas, and every frozen line."""
    title = f"Budget of {version.fleet.name}, version {version.number}, {version.name}"
    with made(version.fleet, title, notes(version)) as book:
        _variance(book, version, versions.by_year(version, today))
        _figures(book, version)
    return book.content


def _variance(book: Book, version: BudgetVersion, rows: list[Variance]) -> None:
    page = book.sheet(VARIANCE, COLUMNS, (12, 15, 15, 15, 15, 18, 22))
    fleet = version.fleet
    for number, row in enumerate(rows, start=1):
        book.write(page, number, 0, row.of)
        for column, minor in enumerate((row.budget, row.p10, row.p90), start=1):
            book.write(page, number, column, units(minor, fleet), "money")
        if row.actual is not None:
            book.write(page, number, 4, units(row.actual, fleet), "money")
            over, n = float(units(row.over, fleet)), number + 1
            page.write_formula(number, 5, f"=E{n}-B{n}", book.formats["money"], over)
        book.write(page, number, 6, row.within)
    last = len(rows)
    book.write(page, last + 1, 0, "Together", "words")
    budget, actual = sum(row.budget for row in rows), sum(row.actual or 0 for row in rows)
    for column, minor in ((1, budget), (4, actual)):
        book.add(page, last + 1, column, rows_of(column, 1, last), units(minor, fleet), "total")


def _figures(book: Book, version: BudgetVersion) -> None:
    page = book.sheet(FIGURES, HEADERS, (8, 11, 8, 18, 22, 10, 11, *[14] * 6, 12))
    row = 0
    for scope in SCOPES:
        for line in versions.lines(version, scope):
            row += 1
            for column, value in enumerate(figure_row(version, line)):
                style = "money" if 7 <= column < 13 else "plain"
                book.write(page, row, column, value, style)
