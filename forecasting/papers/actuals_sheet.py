"""What rigging really cost as CSV: invoices with their shares, and the audit's lines."""

from collections.abc import Iterable

from fleet.models import Fleet

from ..accounts import years
from ..accounts.audit import Line
from ..models import Invoice
from .csv_rows import csv_of
from .reserve_sheet import money

INVOICES = (
    "boat", "base", "invoice", "supplier", "work order", "order", "date", "place", "part", "share",
    "cost of the invoice", "tax recovered, left out",
)  # fmt: skip
AUDIT = (
    "boat", "base", "place", "part", "found on", "found", "found by", "why renewed", "job",
    "work order", "order", "invoice", "cost", "fitted on", "fitted by", "released on",
    "released by",
)  # fmt: skip


def invoices_csv_rows(fleet: Fleet, year: int) -> bytes:
    """Return a row a part of each invoice of that fiscal year; one not shared out has one row."""
    first, after = years.bounds(fleet, year)
    rows = Invoice.objects.of(fleet).standing().filter(on__gte=first, on__lt=after)
    rows = rows.select_related("boat__base", "work_order").prefetch_related(
        "shares__installation__stay"
    )
    return csv_of(fleet, INVOICES, [line for invoice in rows for line in _lines(fleet, invoice)])


def _lines(fleet: Fleet, invoice: Invoice) -> Iterable[tuple]:
    order = invoice.work_order.label if invoice.work_order else ""
    of = (invoice.boat.name, invoice.boat.base.name, invoice.number, invoice.supplier, order,
          invoice.order, invoice.on)  # fmt: skip
    whole = (money(invoice.cost_minor, fleet), money(invoice.recovered_minor, fleet))
    shares = list(invoice.shares.all())
    if not shares:
        yield (*of, "not shared out yet", "", "", *whole)
    for share in shares:
        part = share.installation
        yield (*of, part.stay.label, part.get_kind_display(), money(share.cost_minor, fleet),
               *whole)  # fmt: skip


def audit_csv_rows(fleet: Fleet, lines: Iterable[Line]) -> bytes:
    """Return the lines as CSV; what the record does not say is blank."""
    return csv_of(fleet, AUDIT, [audit_row(fleet, line) for line in lines])


def audit_row(fleet: Fleet, line: Line) -> tuple:
    part, boat = line.part, line.part.stay.boat
    cost = "" if line.cost is None else money(line.cost, fleet)
    work_order = line.work_order.label if line.work_order else ""
    return (boat.name, boat.base.name, part.stay.label, part.get_kind_display(), line.found_on,
            line.found, line.found_by, line.reason, line.job, work_order, line.order,
            line.invoice, cost,
            part.fitted_on, part.fitter, line.released_on, line.released_by)  # fmt: skip
