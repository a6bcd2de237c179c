"""Sheets of the budget's workbook on what is behind its totals; every sum is a formula."""

from collections.abc import Sequence

from fleet.models import Fleet

from .. import reads
from ..accounts import behind
from ..chart_titles import year_label
from ..models import BudgetFigure, PartMoney
from .workbook import Book, rows_of, units

PARTS, PAYERS, WAYS, CAPITAL = "Parts, mean", "Who pays, mean", "Ways compared", "Capitalised"


def behind_sheets(book: Book, fleet: Fleet, years: Sequence[str]) -> None:
    """Add what there is: parts, payers, ways to keep the rigs, capital and expense."""
    if PartMoney.objects.of(fleet).exists():
        _parts(book, fleet, years)
    _payers(book, fleet, years)
    _ways(book, fleet, years)
    _capital(book, fleet)


def _parts(book: Book, fleet: Fleet, years: Sequence[str]) -> None:
    """Write every part, and each boat's set-ups: a year's column adds to the fleet's mean."""
    headers = ("boat", "place", "part", *years, "together")
    page = book.sheet(PARTS, headers, (22, 24, 12, *[13] * (len(years) + 1)))
    row = 0
    for boat, rows in behind.of_boats(fleet, reads.budgeted_boats(fleet)):
        for each in rows:
            row += 1
            for column, words in enumerate((boat.name, each.name, each.kind)):
                book.write(page, row, column, words)
            _years(book, fleet, page, row, each)
    _together(book, fleet, page, row, years, 3)


def _years(book: Book, fleet: Fleet, page, row: int, each: behind.Behind, first: int = 3) -> None:
    for column, mean in enumerate(each.means, start=first):
        book.write(page, row, column, units(mean, fleet), "money")
    end = first + len(each.means)
    across = f"{_cell(row, first)}:{_cell(row, end - 1)}"
    book.add(page, row, end, across, units(each.total, fleet), "money")


def _cell(row: int, column: int) -> str:
    return rows_of(column, row, row).partition(":")[0]


def _together(book: Book, fleet: Fleet, page, last: int, years: Sequence[str], first: int) -> None:
    if not last:
        return
    book.write(page, last + 1, 0, "Together", "words")
    totals = [figure.mean_minor for figure in reads.budget(fleet, "fleet")]
    for column, minor in enumerate([*totals, sum(totals)], start=first):
        value = units(minor, fleet)
        book.add(page, last + 1, column, rows_of(column, 1, last), value, "total")


def _payers(book: Book, fleet: Fleet, years: Sequence[str]) -> None:
    rows = behind.by_payer(fleet)
    if not rows:
        return
    page = book.sheet(PAYERS, ("paid by", *years, "together"), (14, *[13] * (len(years) + 1)))
    for number, row in enumerate(rows, start=1):
        book.write(page, number, 0, row.name)
        _years(book, fleet, page, number, row, first=1)
    _together(book, fleet, page, len(rows), years, 1)


def _ways(book: Book, fleet: Fleet, years: Sequence[str]) -> None:
    rows = behind.ways(fleet)
    if not rows:
        return
    headers = ("rigs kept", "age rule, years", *years, "mean, together", "P10", "P90",
               "parts renewed", "stays failing in service", "chance of any in a year")  # fmt: skip
    page = book.sheet(WAYS, headers, (20, 10, *[13] * (len(years) + 6)))
    for number, row in enumerate(rows, start=1):
        book.write(page, number, 0, row.get_way_display())
        book.write(page, number, 1, row.age_rule)
        _years(book, fleet, page, number, behind.Behind("", "", row.by_year), first=2)
        column = 3 + len(row.by_year)
        book.write(page, number, column, units(row.p10_minor, fleet), "money")
        book.write(page, number, column + 1, units(row.p90_minor, fleet), "money")
        book.write(page, number, column + 2, round(row.renewals, 2), "hours")
        book.write(page, number, column + 3, round(row.failures, 2))
        book.write(page, number, column + 4, round(row.chance_failing, 4), "chance")


def _capital(book: Book, fleet: Fleet) -> None:
    figures: list[BudgetFigure] = list(reads.budget(fleet, "fleet"))
    if not figures:
        return
    page = book.sheet(CAPITAL, ("fiscal year", "capitalised", "expensed", "mean"), (12, 15, 15, 15))
    for number, figure in enumerate(figures, start=1):
        book.write(page, number, 0, year_label(figure.year, fleet))
        book.write(page, number, 1, units(figure.capital_minor, fleet), "money")
        book.write(page, number, 2, units(figure.expensed_minor, fleet), "money")
        value = units(figure.mean_minor, fleet)
        book.add(page, number, 3, f"B{number + 1}:C{number + 1}", value, "money")
    last = len(figures)
    book.write(page, last + 1, 0, "Together", "words")
    for column, field in ((1, "capital_minor"), (2, "expensed_minor"), (3, "mean_minor")):
        total = units(sum(getattr(figure, field) for figure in figures), fleet)
        book.add(page, last + 1, column, rows_of(column, 1, last), total, "total")
