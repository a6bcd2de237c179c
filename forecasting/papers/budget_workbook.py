"""The replacement budget as a workbook: means added by formulas, percentiles as they are."""

from collections import Counter

from xlsxwriter.utility import xl_rowcol_to_cell
from xlsxwriter.worksheet import Worksheet

from fleet.models import Fleet

from .. import budget_sheet, reads
from ..models import BudgetFigure
from .budget_behind_sheets import behind_sheets
from .workbook import Book, made, matching, rows_of, units

BOATS, BASES = "Boats, mean", "Bases, mean"
NOTES = (
    "Means are sums by formula: the boats' to their base's, the bases' to the fleet's, each year's "
    "to all years together.",
    "Percentiles do not add: each is its own total's, since not every boat has a bad year at once. "
    "They are given as numbers and have no sum.",
    "A forecast of cost, not a liability.",
    "Version: working figures, not frozen.",
)


def budget_workbook(fleet: Fleet) -> bytes:
    """Return the budget as XLSX: boats, bases and fleet by year, and every percentile."""
    figures = {scope: list(reads.budget(fleet, scope)) for scope in ("fleet", "base", "boat")}
    years = [budget_sheet.year_label(figure.year, fleet) for figure in figures["fleet"]]
    with made(fleet, f"Replacement budget of {fleet.name}", NOTES) as book:
        fleet_sheet(book, fleet, figures["fleet"], bases=len(budget_sheet.by_year(figures["base"])))
        boats = Counter(row["figures"][0].base_id for row in budget_sheet.by_year(figures["boat"]))
        base_sheet(book, fleet, figures["base"], years, boats)
        boat_sheet(book, fleet, figures["boat"], years)
        percentile_sheet(book, fleet, figures)
        behind_sheets(book, fleet, years)
    return book.content


def fleet_sheet(book: Book, fleet: Fleet, figures: list[BudgetFigure], bases: int) -> None:
    headers = ("fiscal year", "mean", "of it planned", "P10", "P50", "P90", "parts renewed")
    page = book.sheet("Fleet", headers, (12, 15, 15, 15, 15, 15, 13))
    for number, figure in enumerate(figures, start=1):
        book.write(page, number, 0, budget_sheet.year_label(figure.year, fleet))
        mean = units(figure.mean_minor, fleet)
        if bases:
            book.add(page, number, 1, rows_of(number + 1, 1, bases, BASES), mean, "money")
        else:
            book.write(page, number, 1, mean, "money")
        for column, field in enumerate(("planned", "p10", "p50", "p90"), start=2):
            minor = getattr(figure, f"{field}_minor")
            book.write(page, number, column, units(minor, fleet), "money")
        book.write(page, number, 6, figure.renewals, "hours")
    if not figures:
        book.write(page, 1, 0, "No budget yet: the fleet has not been forecast.")
        return
    last = len(figures)
    book.write(page, last + 1, 0, "Together", "words")
    for column, field in ((1, "mean_minor"), (2, "planned_minor")):
        total = units(sum(getattr(figure, field) for figure in figures), fleet)
        book.add(page, last + 1, column, rows_of(column, 1, last), total, "total")
    book.write(page, last + 1, 3, "percentiles do not add", "words")


def base_sheet(
    book: Book, fleet: Fleet, figures: list[BudgetFigure], years: list[str], boats: Counter
) -> None:
    """Write the bases' means, each year the sum of its boats'. ``boats``: how many a base has."""
    page = means_page(book, BASES, ("base", "boats"), years)
    rows = budget_sheet.by_year(figures)
    names = rows_of(1, 1, boats.total(), BOATS)
    for number, row in enumerate(rows, start=1):
        has_boats = boats[row["figures"][0].base_id]
        book.write(page, number, 0, row["of"].name)
        book.write(page, number, 1, has_boats)
        for column, figure in enumerate(row["figures"], start=2):
            mean = units(figure.mean_minor, fleet)
            if has_boats:
                own = matching(names, f"$A{number + 1}", rows_of(column, 1, boats.total(), BOATS))
                book.add(page, number, column, own, mean, "money")
            else:
                book.write(page, number, column, mean, "money")
    totals(book, page, fleet, rows, years)


def boat_sheet(book: Book, fleet: Fleet, figures: list[BudgetFigure], years: list[str]) -> None:
    page = means_page(book, BOATS, ("boat", "base"), years)
    rows = budget_sheet.by_year(figures)
    for number, row in enumerate(rows, start=1):
        book.write(page, number, 0, row["of"].name)
        book.write(page, number, 1, row["figures"][0].base.name)
        for column, figure in enumerate(row["figures"], start=2):
            book.write(page, number, column, units(figure.mean_minor, fleet), "money")
    totals(book, page, fleet, rows, years)


def means_page(book: Book, name: str, first: tuple[str, str], years: list[str]) -> Worksheet:
    widths = (24, 16, *[14] * len(years), 15)
    return book.sheet(name, (*first, *years, "together"), widths)


def totals(book: Book, page: Worksheet, fleet: Fleet, rows: list[dict], years: list[str]) -> None:
    """Write the sum of each row, then of each column."""
    if not rows:
        return
    end, bottom = 2 + len(years), len(rows) + 1
    for number, row in enumerate(rows, start=1):
        across = f"{xl_rowcol_to_cell(number, 2)}:{xl_rowcol_to_cell(number, end - 1)}"
        book.add(page, number, end, across, units(row["total"], fleet), "money")
    book.write(page, bottom, 0, "Together", "words")
    by_column = [sum(row["figures"][y].mean_minor for row in rows) for y in range(len(years))]
    for column, total in enumerate([*by_column, sum(by_column)], start=2):
        book.add(page, bottom, column, rows_of(column, 1, len(rows)), units(total, fleet), "total")


def percentile_sheet(book: Book, fleet: Fleet, figures: dict[str, list[BudgetFigure]]) -> None:
    headers = ("scope", "base", "boat", "fiscal year", "P10", "P50", "P90", "mean", "parts renewed")
    page = book.sheet("Percentiles", headers, (9, 18, 22, 12, 14, 14, 14, 14, 13))
    every = [(scope, figure) for scope, own in figures.items() for figure in own]
    for number, (scope, figure) in enumerate(every, start=1):
        base = figure.base.name if figure.base else ""
        boat = figure.boat.name if figure.boat else ""
        year = budget_sheet.year_label(figure.year, fleet)
        for column, words in enumerate((scope, base, boat, year)):
            book.write(page, number, column, words)
        for column, field in enumerate(("p10", "p50", "p90", "mean"), start=4):
            book.write(
                page, number, column, units(getattr(figure, f"{field}_minor"), fleet), "money"
            )
        book.write(page, number, 8, round(figure.renewals, 2))
    book.write(page, len(every) + 2, 0, NOTES[1])
