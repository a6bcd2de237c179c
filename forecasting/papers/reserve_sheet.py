"""The reserve schedule as a workbook whose formulas give its cents, and as CSV."""

from decimal import Decimal

from xlsxwriter.worksheet import Worksheet

from fleet.models import Fleet
from fleet.templatetags.wording import WHOLE_UNITS, day, exact_money, one_in

from ..accounts.reserve import Reserve, funded_words
from .csv_rows import csv_of
from .workbook import Book, made, rows_of, units

NAME = "Reserve"
COLUMNS = (
    ("fiscal year", 12), ("opening", 15), ("contribution", 15), ("interest rate", 11),
    ("interest", 13), ("expenditure, mean", 16), ("closing", 15),
    ("chance of having run dry by then", 15),
)  # fmt: skip
HEADERS = tuple(header for header, _ in COLUMNS)
OPENING, CONTRIBUTION, RATE, INTEREST, SPENT, CLOSING, DRY = range(1, 8)
EMPTY = "No schedule yet: answer who owns the boats and who pays first, and make a forecast."


def notes(found: Reserve | None) -> list[str]:
    """Return what every file of the reserve says of itself."""
    if found is None:
        return [EMPTY]
    plan, terms, currency = found.plan, found.terms, found.fleet.currency
    chance = one_in(plan.chance) if plan.chance else "none"
    level = exact_money(found.level, currency)
    return [
        "Version: working schedule, not frozen.",
        f"Money of the {plan.get_payer_display()}. Chance of running dry at any of the year ends: "
        f"at most {chance}; the least level contribution for that is {level} {currency} a year.",
        "Interest is earned on the opening balance and half of what the year adds, none on a "
        "balance below nothing, rounded to the cent once a year.",
        funded_words(found),
        f"Asked on {day(terms.on)}, answered by {terms.answered_by}: "
        f"the {terms.get_owned_by_display()} owns, the {terms.get_paid_by_display()} pays, "
        f"{terms.get_obliged_display()}.",
        found.liability,
    ]


def reserve_workbook(fleet: Fleet, found: Reserve | None) -> bytes:
    """Return the schedule as XLSX: what adds is a formula, with the value the page shows."""
    with made(fleet, f"Reserve of {fleet.name}", notes(found)) as book:
        page = book.sheet(NAME, HEADERS, [width for _, width in COLUMNS])
        book.formats["rate"] = book.file.add_format({"num_format": "0.0000%"})
        if found is None:
            book.write(page, 1, 0, EMPTY)
        else:
            _lines(book, page, fleet, found)
    return book.content


def _lines(book: Book, page: Worksheet, fleet: Fleet, found: Reserve) -> None:
    places = 0 if fleet.currency in WHOLE_UNITS else 2
    money = book.formats["money"]

    def formula(row: int, column: int, text: str, minor: int, style=money) -> None:
        page.write_formula(row, column, text, style, float(units(minor, fleet)))

    for row, each in enumerate(found.rows, start=1):
        line, n = each["line"], row + 1
        book.write(page, row, 0, line.year)
        if row == 1:
            book.write(page, row, OPENING, units(line.opening, fleet), "money")
        else:
            formula(row, OPENING, f"=G{n - 1}", line.opening)
        book.write(page, row, CONTRIBUTION, units(line.contribution, fleet), "money")
        book.write(page, row, RATE, line.rate, "rate")
        earned = f"=ROUND(MAX(0,B{n}+(C{n}-F{n})/2)*D{n},{places})"
        formula(row, INTEREST, earned, line.interest)
        book.write(page, row, SPENT, units(line.expenditure, fleet), "money")
        formula(row, CLOSING, f"=B{n}+C{n}+E{n}-F{n}", line.closing)
        book.write(page, row, DRY, round(each["dry"], 4), "chance")
    last = len(found.rows)
    book.write(page, last + 1, 0, "Together", "words")
    sums = {CONTRIBUTION: "contribution", INTEREST: "interest", SPENT: "expenditure"}
    for column, name in sums.items():
        total = units(found.totals()[name], fleet)
        book.add(page, last + 1, column, rows_of(column, 1, last), total, "total")


def reserve_csv_rows(fleet: Fleet, found: Reserve | None) -> bytes:
    """Return the schedule as CSV; each row names fleet, day and currency, notes at the end."""
    rows = [] if found is None else [csv_row(fleet, each) for each in found.rows]
    empty = ("",) * (len(HEADERS) - 1)
    said = [(note, *empty) for note in notes(found)]
    return csv_of(fleet, HEADERS, [*rows, *said])


def csv_row(fleet: Fleet, each: dict) -> tuple:
    line = each["line"]
    amounts = {name: money(getattr(line, name), fleet) for name in
               ("opening", "contribution", "interest", "expenditure", "closing")}  # fmt: skip
    return (line.year, amounts["opening"], amounts["contribution"], line.rate,
            amounts["interest"], amounts["expenditure"], amounts["closing"],
            round(each["dry"], 4))  # fmt: skip


def money(minor: int, fleet: Fleet) -> Decimal:
    """Return an amount with all its decimals: 5.00, not 5."""
    amount = units(minor, fleet)
    return amount if fleet.currency in WHOLE_UNITS else amount.quantize(Decimal("0.01"))
