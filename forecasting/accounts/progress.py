"""Work in progress on a day: work orders begun and not done, and invoices ahead of their parts."""

import datetime as dt
from dataclasses import dataclass

from django.db.models import Q, Sum

from fleet.models import Boat, Fleet

from ..models import Invoice, WorkOrder
from ..orders import steps
from .register import own_boats

State = WorkOrder.State


@dataclass(frozen=True)
class Waiting:
    """Work not in service on a day; minor units.

    order: begun and not done, None for an invoice without one; ordered: its price, 0 without;
    invoices: of it, to that day; waiting: what of them was not in service; begun: whether the
    work was, else it is paid ahead.
    """

    boat: Boat
    order: WorkOrder | None
    ordered: int
    invoices: list[Invoice]
    waiting: int
    begun: bool

    @property
    def not_invoiced(self) -> int:
        """Return what of the order's price no invoice had asked for; 0 where they came to more."""
        return max(0, self.ordered - sum(each.cost_minor for each in self.invoices))


def in_progress(fleet: Fleet, on: dt.date) -> list[Waiting]:
    """Return what was not in service at the end of that day, by boat.

    An invoice that names a work order waits, whole, until that work is done; then, like one without
    an order, with the shares of parts fitted later, or all of it where it was not shared out. An
    order begun and not done is there without an invoice too: work without one to accrue for.
    """
    orders = {order.pk: order for order in _orders(fleet)}
    begun = {pk: _begun(order, on) for pk, order in orders.items()}
    by_order: dict[int, list[Invoice]] = {pk: [] for pk, now in begun.items() if now}
    rows = []
    for invoice in _invoices(fleet, on):
        pk = invoice.work_order_id
        if pk in by_order:
            by_order[pk].append(invoice)
        elif waiting := _waits(invoice, orders.get(pk), on):
            rows.append(Waiting(invoice.boat, orders.get(pk), 0, [invoice], waiting, False))
    for pk, invoices in by_order.items():
        cost = sum(invoice.cost_minor for invoice in invoices)
        order = orders[pk]
        rows.append(Waiting(order.boat, order, order.ordered or 0, invoices, cost, True))
    return sorted(rows, key=lambda row: (row.boat.name, str(row.order or ""), -row.waiting))


def _begun(order: WorkOrder, on: dt.date) -> bool:
    """Return whether it was under way at the end of that day."""
    days = steps.days(order)
    after = on + dt.timedelta(days=1)
    return days.get(State.UNDER_WAY, after) <= on < days.get(State.DONE, after)


def _waits(invoice: Invoice, order: WorkOrder | None, on: dt.date) -> int:
    """Return what of an invoice was not in service; of an order not done by then, all of it."""
    if order and not steps.days(order).get(State.DONE, on + dt.timedelta(days=1)) <= on:
        return invoice.cost_minor
    return invoice.cost_minor - (invoice.in_service or 0)


def _orders(fleet: Fleet):
    own = fleet.boats.filter(own_boats(fleet))
    orders = WorkOrder.objects.of(fleet).standing().filter(boat__in=own)
    orders = orders.select_related("boat").prefetch_related("steps")
    return orders.annotate(ordered=Sum("lines__price_minor", filter=Q(lines__not_done="")))


def _invoices(fleet: Fleet, on: dt.date):
    in_service = Q(shares__installation__fitted_on__lte=on)
    in_service |= Q(shares__installation__fitted_on__isnull=True)
    return (
        Invoice.objects.of(fleet)
        .standing()
        .filter(boat__in=fleet.boats.filter(own_boats(fleet)), on__lte=on)
        .select_related("boat")
        .annotate(in_service=Sum("shares__cost_minor", filter=in_service))
        .order_by("on", "pk")
    )
