"""What to order by when as rows, workbook, CSV and paper: real numbers, sums that are formulas."""

from collections.abc import Sequence

from fleet.models import Fleet
from fleet.templatetags.wording import day, exact_money

from .. import yard_orders
from ..models import YardPlan
from ..yard_orders import Day, Line, Order
from .csv_rows import csv_of
from .masthead import masthead
from .press import press
from .workbook import Book, made, matching, rows_of, units, written
from .yard_rows import about_plan

NAME = "Orders"
# Header, width, and how the cells are shown.
COLUMNS = (
    ("supplier", 22, "plain"), ("order by", 11, "day"), ("days late", 8, "plain"),
    ("no day because", 18, "plain"), ("pieces", 7, "plain"), ("part", 12, "plain"),
    ("construction", 14, "plain"), ("diameter mm", 10, "plain"), ("pin to pin mm", 10, "plain"),
    ("lower terminal", 13, "plain"), ("upper terminal", 13, "plain"), ("pin mm", 8, "plain"),
    ("thread", 10, "plain"), ("thread hand", 12, "plain"), ("mast end fitting", 16, "plain"),
    ("adjuster setting", 18, "plain"), ("measure first", 34, "plain"),
    ("how to order", 22, "plain"), ("for", 50, "plain"), ("price", 13, "money"),
)  # fmt: skip
HEADERS = tuple(header for header, _, _ in COLUMNS)
PIECES, PRICE = HEADERS.index("pieces"), HEADERS.index("price")
NOTES = (
    "Sums are formulas. Order by: the Monday the boat comes in, less the lead time.",
    "Sizes are the record's, not a measurement: check each against the part that comes off.",
    "Price: the fleet's price list, material alone, with tax that is not recovered.",
)
NOTHING = "No part is on the list this board is made from."


def rows(orders: Sequence[Order], fleet: Fleet) -> list[tuple]:
    """Return a row a line, in the order of the page."""
    return [row(order, line, fleet) for order in orders for line in order.lines]


def row(order: Order, line: Line, fleet: Fleet) -> tuple:
    part = line.first.part
    return (
        order.supplier, line.by, line.late or None, "" if line.by else line.when, line.pieces,
        line.first.kind, part.get_construction_display(), part.diameter_mm, part.length_mm,
        part.get_lower_terminal_display(), part.get_upper_terminal_display(), part.pin_mm,
        part.thread, part.get_hand_display(), part.mast_end, part.adjuster, line.measure, line.how,
        line.for_words, units(line.price_minor, fleet),
    )  # fmt: skip


def found(plan: YardPlan) -> list[Order]:
    return yard_orders.orders(plan, plan.fleet.today())


def order_workbook(plan: YardPlan) -> bytes:
    """Return the orders as XLSX: lines with their sums, and the sums of each supplier."""
    orders = found(plan)
    lines = rows(orders, plan.fleet)
    title = f"What to order by when, {plan.season}, {plan.fleet.name}"
    with made(plan.fleet, title, (about_plan(plan), *NOTES)) as book:
        page = written(book, NAME, COLUMNS, lines, NOTHING)
        if lines:
            last = len(lines) + 2  # A row apart, so that sorting leaves it alone.
            book.write(page, last, 0, "Together", "words")
            for column, style in ((PIECES, "count"), (PRICE, "total")):
                block = rows_of(column, 1, len(lines))
                book.add(page, last, column, block, sum(each[column] for each in lines), style)
        supplier_sheet(book, orders, len(lines), plan.fleet)
    return book.content


def supplier_sheet(book: Book, orders: Sequence[Order], lines: int, fleet: Fleet) -> None:
    """Write the sums of each supplier; they hold however the lines are sorted."""
    heads = ("supplier", "first order by", "pieces", "price", "pieces late")
    page = book.sheet("By supplier", heads, (24, 13, 8, 14, 11))
    names = rows_of(0, 1, lines, NAME)
    for number, order in enumerate(orders, start=1):
        book.write(page, number, 0, order.supplier)
        book.write(page, number, 1, order.by)
        sums = (
            (2, PIECES, order.pieces, "plain"),
            (3, PRICE, units(order.price_minor, fleet), "money"),
        )
        for place, column, value, style in sums:
            summed = matching(names, f"A{number + 1}", rows_of(column, 1, lines, NAME))
            book.add(page, number, place, summed, value, style)
        book.write(page, number, 4, order.late)


def order_csv(plan: YardPlan) -> bytes:
    """Return the lines as CSV (RFC 4180, UTF-8), each naming fleet, day, currency, board."""
    said = about_plan(plan)
    lines = rows(found(plan), plan.fleet)
    return csv_of(plan.fleet, ("board", *HEADERS), [(said, *line) for line in lines])


def order_paper(plan: YardPlan) -> bytes:
    """Return the PDF, an order a supplier."""
    return press("orders", contents(plan), plan.fleet.today())


def contents(plan: YardPlan) -> dict:
    """Return what the paper says, as words."""
    orders, currency = found(plan), plan.fleet.currency
    total = yard_orders.total(orders)
    said = f"{answer(total, orders, currency)} {about_plan(plan)}"
    return masthead(plan.fleet, f"What to order by when, {plan.season}", said) | {
        "cautions": list(NOTES[1:]),
        "nothing": NOTHING,
        "orders": [of_supplier(order, currency) for order in orders],
        "total": exact_money(total.price_minor, currency),
        "pieces": str(total.pieces),
    }


def answer(total: yard_orders.Total, orders: Sequence[Order], currency: str) -> str:
    if not total.pieces:
        return NOTHING
    late = f"{total.late} should be ordered already. " if total.late else ""
    first = f"The first order goes out by {day(total.first)}. " if total.first else ""
    return (
        f"{late or first}{total.pieces} parts from {len(orders)} suppliers, "
        f"{exact_money(total.price_minor, currency)} {currency}. {total.twice}".rstrip()
    )


def of_supplier(order: Order, currency: str) -> dict:
    return {
        "supplier": order.supplier,
        "late": order.late,
        "pieces": str(order.pieces),
        "price": exact_money(order.price_minor, currency),
        "days": [of_day(day, currency) for day in order.days],
    }


def of_day(due: Day, currency: str) -> dict:
    return {
        "words": due.words,
        "late": bool(due.first.late),
        "pieces": str(due.pieces),
        "price": exact_money(due.price_minor, currency),
        "alike": [
            {
                "what": each.words, "ends": each.ends, "measure": each.first.measure,
                "how": each.first.how,
                "unsized": each.unsized,
                "pieces": str(each.pieces), "price": exact_money(each.price_minor, currency),
                "cuts": [[length, f"{who} ({pieces})" if pieces > 1 else who]
                         for length, who, pieces in each.cuts],
            }
            for each in due.alike
        ],
    }  # fmt: skip
