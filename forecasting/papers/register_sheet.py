"""The component register as a workbook whose formulas give its cents, and as CSV."""

from fleet.models import Installation

from ..accounts.register import Entry, Register, without_cost
from ..chart_titles import year_label
from .csv_rows import csv_of
from .reserve_sheet import money
from .workbook import Book, made, rows_of, units, written

NAME, MOVEMENTS, MISSING = "Components", "Movements", "No cost on record"
EXPENSED = "Expensed"
COLUMNS = (
    ("boat", 20, "plain"), ("base", 16, "plain"), ("place", 22, "plain"), ("part", 11, "plain"),
    ("invoice", 14, "plain"), ("placed in service", 12, "day"), ("life until", 12, "day"),
    ("life before review", 12, "day"), ("derecognised", 12, "day"), ("cost, opening", 13, "money"),
    ("additions", 13, "money"), ("derecognised cost", 13, "money"), ("cost, closing", 13, "money"),
    ("depreciation, opening", 13, "money"), ("charge of the year", 13, "money"),
    ("derecognised depreciation", 13, "money"), ("depreciation, closing", 13, "money"),
    ("carrying amount, closing", 13, "money"), ("proceeds", 12, "money"),
    ("gain or loss", 13, "money"),
)  # fmt: skip
HEADERS = tuple(header for header, _, _ in COLUMNS)
FIRST_MONEY = HEADERS.index("cost, opening")
AMOUNTS = (
    "cost_opening", "added", "cost_gone", "cost_closing", "worn_opening", "charge", "worn_gone",
    "worn_closing", "carrying_closing", "proceeds", "gain",
)  # fmt: skip
FORMULAS = {  # row number -> formula; the other amounts are entries
    "cost_closing": "=J{n}+K{n}-L{n}",
    "worn_closing": "=N{n}+O{n}-P{n}",
    "carrying_closing": "=M{n}-Q{n}",
    "gain": "=S{n}-(L{n}-P{n})",
}
EMPTY = "No part's cost is on record for this year: put invoices on record first."


def notes(found: Register) -> list[str]:
    """Return what every file of the register says of itself."""
    policy, currency = found.policy, found.fleet.currency
    codes = {
        "cost": policy.account_cost,
        "accumulated depreciation": policy.account_accumulated,
        "depreciation": policy.account_charge,
        "repairs": policy.account_repairs,
        "gain or loss": policy.account_disposal,
    }
    named = "; ".join(f"{what} {code}" for what, code in codes.items() if code)
    return [
        f"Fiscal year {year_label(found.year, found.fleet)}, {found.first} to {found.last_day}. "
        "Version: the books as they stand, not frozen.",
        "Boats whose rigging the "
        f"{found.fleet.get_rigging_paid_by_display()} pays for. Straight line by whole months, "
        "recoverable tax left out, after IAS 16.",
        f"Capitalised from {units(policy.capital_from_minor, found.fleet)} {currency} a part, all "
        "its invoices together; parts below that, placed in the year and expensed: "
        f"{units(found.expensed, found.fleet)} {currency}.",
        f"{found.no_cost} parts have no cost on record: not guessed, in no sum.",
        f"Accounts: {named}." if named else "No account codes are on record.",
    ]


def cells(entry: Entry) -> tuple:
    part, component = entry.part, entry.component
    boat = part.stay.boat
    gone = component.gone if entry.year.cost_gone else None
    amounts = [getattr(entry.year, name) for name in AMOUNTS]
    return (boat.name, entry.invoice.boat.base.name, part.stay.label, part.get_kind_display(),
            entry.invoice.number, component.since, entry.ends, entry.was, gone,
            *amounts)  # fmt: skip


def register_workbook(found: Register) -> bytes:
    """Return the register as XLSX: components, movements of the year, and what has no cost."""
    title = f"Component register of {found.fleet.name}, {year_label(found.year, found.fleet)}"
    with made(found.fleet, title, notes(found)) as book:
        _components(book, found)
        _movements(book, found)
        _expensed(book, found)
        rows = [missing_cells(part) for part in _missing(found)]
        columns = (("boat", 22, "plain"), ("place", 24, "plain"), ("part", 12, "plain"),
                   ("fitted", 12, "day"), ("invoice named", 16, "plain"))  # fmt: skip
        written(book, MISSING, columns, rows, "Every part's cost is on record.")
    return book.content


def _expensed(book: Book, found: Register) -> None:
    """Write which parts of the year are below the threshold, with their sum."""
    columns = (("boat", 22, "plain"), ("place", 24, "plain"), ("part", 12, "plain"),
               ("invoice", 16, "plain"), ("fitted", 12, "day"), ("cost", 14, "money"))  # fmt: skip
    rows = [
        (share.installation.stay.boat.name, share.installation.stay.label,
         share.installation.get_kind_display(), share.invoice.number,
         share.installation.fitted_on, units(share.cost_minor, found.fleet))
        for share in found.small
    ]  # fmt: skip
    page = written(book, EXPENSED, columns, rows, "No part of the year is below the threshold.")
    if rows:
        book.write(page, len(rows) + 2, 0, "Together", "words")
        total = units(found.expensed, found.fleet)
        book.add(page, len(rows) + 2, 5, rows_of(5, 1, len(rows)), total, "total")


def _missing(found: Register) -> list[Installation]:
    return list(without_cost(found.fleet, found.first, found.after))


def missing_cells(part: Installation) -> tuple:
    return (part.stay.boat.name, part.stay.label, part.get_kind_display(), part.fitted_on,
            part.invoice)  # fmt: skip


def _components(book: Book, found: Register) -> None:
    page = book.sheet(NAME, HEADERS, [width for _, width, _ in COLUMNS])
    if not found.entries:
        book.write(page, 1, 0, EMPTY)
        return
    for row, entry in enumerate(found.entries, start=1):
        for column, value in enumerate(cells(entry)):
            name = AMOUNTS[column - FIRST_MONEY] if column >= FIRST_MONEY else ""
            if name in FORMULAS:
                amount = float(units(value, found.fleet))
                formula = FORMULAS[name].format(n=row + 1)
                page.write_formula(row, column, formula, book.formats["money"], amount)
            elif name:
                book.write(page, row, column, units(value, found.fleet), "money")
            else:
                book.write(page, row, column, value)
    last = len(found.entries)
    book.write(page, last + 2, 0, "Together", "words")
    for column, name in enumerate(AMOUNTS, start=FIRST_MONEY):
        total = units(getattr(found.total, name), found.fleet)
        book.add(page, last + 2, column, rows_of(column, 1, last), total, "total")


def _movements(book: Book, found: Register) -> None:
    """Write the reconciliation of IAS 16.73(e) (from memory): opening to closing, by formulas."""
    page = book.sheet(MOVEMENTS, ("", "cost", "depreciation", "carrying amount"), (26, 16, 16, 16))
    total = found.total
    rows = (
        ("Opening", total.cost_opening, total.worn_opening),
        ("Additions", total.added, 0),
        ("Depreciation of the year", 0, total.charge),
        ("Derecognised", -total.cost_gone, -total.worn_gone),
    )
    for row, (words, cost, depreciation) in enumerate(rows, start=1):
        book.write(page, row, 0, words)
        book.write(page, row, 1, units(cost, found.fleet), "money")
        book.write(page, row, 2, units(depreciation, found.fleet), "money")
        carrying = float(units(cost - depreciation, found.fleet))
        page.write_formula(row, 3, f"=B{row + 1}-C{row + 1}", book.formats["money"], carrying)
    book.write(page, 5, 0, "Closing", "words")
    closing = (total.cost_closing, total.worn_closing, total.carrying_closing)
    for column, minor in enumerate(closing, start=1):
        value = units(minor, found.fleet)
        book.add(page, 5, column, rows_of(column, 1, 4), value, "total")


def register_csv_rows(found: Register) -> bytes:
    """Return the components as CSV, then the parts without a cost, then notes."""
    rows = [
        (*cells(entry)[:FIRST_MONEY],
         *(money(getattr(entry.year, name), found.fleet) for name in AMOUNTS))
        for entry in found.entries
    ]  # fmt: skip
    width = len(HEADERS)
    for part in _missing(found):
        boat, place, kind, fitted, invoice = missing_cells(part)
        known = (boat, part.stay.boat.base.name, place, kind, invoice, fitted)
        rows.append((*known, *("",) * (FIRST_MONEY - len(known)), "not on record",
                     *("",) * (width - FIRST_MONEY - 1)))  # fmt: skip
    said = [(note, *("",) * (width - 1)) for note in notes(found)]
    return csv_of(found.fleet, HEADERS, [*rows, *said])
