"""Every work order and every line of it, as a workbook whose sums are formulas, and as CSV."""

from fleet.models import Fleet

from ..models import WorkOrderLine
from ..orders import reading
from ..orders.reading import Row
from .csv_rows import csv_of
from .reserve_sheet import money
from .workbook import Book, made, matching, rows_of, units, written

ORDERS, LINES = "Orders", "Lines"
ORDER_COLUMNS = (
    ("number", 12, "plain"), ("boat", 20, "plain"), ("base", 16, "plain"),
    ("off season", 10, "plain"), ("from", 18, "plain"), ("state", 14, "plain"),
    ("since", 11, "day"), ("given to", 20, "plain"), ("to be done by", 12, "day"),
    ("late", 7, "plain"), ("week in the yard, from", 12, "day"), ("lines", 8, "plain"),
    ("done", 8, "plain"), ("not done", 9, "plain"), ("hours", 9, "hours"),
    ("ordered", 13, "money"), ("invoiced", 13, "money"), ("invoiced less ordered", 13, "money"),
)  # fmt: skip
LINE_COLUMNS = (
    ("number", 12, "plain"), ("boat", 20, "plain"), ("part", 28, "plain"), ("what", 34, "plain"),
    ("why", 50, "plain"), ("found", 50, "plain"), ("cannot wait", 9, "plain"),
    ("hours", 9, "hours"), ("price when drawn up", 13, "money"), ("done on", 11, "day"),
    ("fitted by", 18, "plain"), ("released by", 18, "plain"), ("not done because", 30, "plain"),
)  # fmt: skip
NUMBER, HOURS, ORDERED, INVOICED, OVER = 0, 14, 15, 16, 17
LINE_HOURS, PRICE, WHY_NOT = 7, 8, 12
EMPTY = "No work order has been drawn up."


def notes(fleet: Fleet) -> list[str]:
    missing = reading.missing_numbers(fleet)
    gaps = f"Numbers missing: {', '.join(missing)}." if missing else "No number is missing."
    return [
        f"{gaps} One drawn up by mistake is withdrawn and keeps its number.",
        "Ordered: prices when it was drawn up, of all lines but those not done. Invoiced: cost of "
        "the invoices that name it, recoverable tax left out; empty without one.",
    ]


def order_cells(row: Row, fleet: Fleet) -> tuple:
    order = row.order
    amounts = (units(row.ordered, fleet), _known(row.invoiced, fleet), _known(row.over, fleet))
    return (order.label, order.boat.name, order.boat.base.name, order.season, order.source,
            order.get_state_display(), row.since, order.given_to, order.due_by,
            "yes" if row.late else "", order.week, row.lines, row.done, row.not_done,
            round(row.hours, 2), *amounts)  # fmt: skip


def _known(minor: int | None, fleet: Fleet):
    return None if minor is None else units(minor, fleet)


def line_cells(line: WorkOrderLine, amount) -> tuple:
    return (line.order.label, line.order.boat.name, line.what, line.size, line.reason,
            line.rests_on, "yes" if line.must else "no", round(line.hours, 2), amount,
            line.done_on, line.fitted_by, line.released_by, line.not_done)  # fmt: skip


def lines_of(fleet: Fleet) -> list[WorkOrderLine]:
    lines = WorkOrderLine.objects.of(fleet).select_related("order__boat")
    return list(lines.order_by("-order__year", "-order__number", "pk"))


def orders_workbook(fleet: Fleet) -> bytes:
    """Return the orders and their lines as XLSX; an order's sums are formulas over its lines."""
    rows = reading.rows(reading.orders(fleet), fleet.today())
    lines = lines_of(fleet)
    with made(fleet, f"Work orders of {fleet.name}", notes(fleet)) as book:
        _orders(book, fleet, rows, len(lines))
        cells = [line_cells(line, units(line.price_minor, fleet)) for line in lines]
        written(book, LINES, LINE_COLUMNS, cells, EMPTY)
    return book.content


def _orders(book: Book, fleet: Fleet, rows: list[Row], lines: int) -> None:
    page = written(book, ORDERS, ORDER_COLUMNS, [order_cells(row, fleet) for row in rows], EMPTY)
    if not rows:
        return
    names, why = (rows_of(column, 1, lines, LINES) for column in (NUMBER, WHY_NOT))
    for number, row in enumerate(rows, start=1):
        for column, summed, value, style in (
            (HOURS, LINE_HOURS, round(row.hours, 2), "hours"),
            (ORDERED, PRICE, units(row.ordered, fleet), "money"),
        ):
            asked = f'{rows_of(summed, 1, lines, LINES)}*({why}="")'
            book.add(page, number, column, matching(names, f"A{number + 1}", asked), value, style)
        if row.over is not None:
            n = number + 1
            page.write_formula(number, OVER, f"=Q{n}-P{n}", book.formats["money"],
                               float(units(row.over, fleet)))  # fmt: skip
    last = len(rows)
    book.write(page, last + 2, 0, "Together", "words")
    sums = ((HOURS, round(sum(row.hours for row in rows), 2), "sum"),
            (ORDERED, units(sum(row.ordered for row in rows), fleet), "total"),
            (INVOICED, units(sum(row.invoiced or 0 for row in rows), fleet), "total"))  # fmt: skip
    for column, value, style in sums:
        book.add(page, last + 2, column, rows_of(column, 1, last), value, style)


CSV_HEADERS = (
    *(header for header, _, _ in LINE_COLUMNS),
    "off season", "state", "given to", "to be done by", "invoices",
)  # fmt: skip


def orders_rows_csv(fleet: Fleet) -> bytes:
    """Return a row a line of each order as CSV, notes at the end."""
    lines = list(
        WorkOrderLine.objects.of(fleet)
        .select_related("order__boat")
        .prefetch_related("order__invoices")
        .order_by("-order__year", "-order__number", "pk")
    )
    rows = [(*line_cells(line, money(line.price_minor, fleet)), *_of_order(line)) for line in lines]
    empty = ("",) * (len(CSV_HEADERS) - 1)
    return csv_of(fleet, CSV_HEADERS, [*rows, *((note, *empty) for note in notes(fleet))])


def _of_order(line: WorkOrderLine) -> tuple:
    order = line.order
    invoices = ", ".join(invoice.number for invoice in order.invoices.all())
    return (order.season, order.get_state_display(), order.given_to, order.due_by, invoices)
