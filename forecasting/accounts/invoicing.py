"""An invoice put on record and shared out to the parts it paid for, to the cent."""

import datetime as dt
from collections.abc import Sequence

import pandas as pd
from django.db import transaction
from django.db.models import QuerySet

from fleet.models import Boat, Installation

from ..models import Invoice, InvoiceShare, WorkOrder
from ..planning.whole_cents import shared
from ..steps.pricing import price

AROUND = dt.timedelta(days=90)
COLUMNS = {
    "boat": "stay__boat", "stay": "stay", "kind": "kind", "construction": "construction",
    "diameter": "diameter_mm", "pin": "pin_mm", "length": "length_mm",
}  # fmt: skip


def parts_of(boat: Boat, number: str, on: dt.date) -> QuerySet[Installation]:
    """Return the parts an invoice may have paid for: those that name it, else fitted around it.

    Parts that took a share of an invoice before are none of them.
    """
    parts = Installation.objects.filter(stay__boat=boat, invoice_shares=None)
    parts = parts.select_related("stay").order_by("stay", "kind", "pk")
    named = parts.filter(invoice=number) if number else parts.none()
    if named.exists():
        return named
    return parts.filter(fitted_on__range=(on - AROUND, on + AROUND))


def parts_for(invoice: Invoice) -> QuerySet[Installation]:
    """Return the parts an invoice may be shared to: of its work order, once the work is done.

    Until then all of it is work in progress. Without a work order as ``parts_of`` finds them.
    """
    order = invoice.work_order
    if order is None:
        return parts_of(invoice.boat, invoice.number, invoice.on)
    parts = Installation.objects.filter(order_lines__order=order).distinct()
    if order.state not in (WorkOrder.State.DONE, WorkOrder.State.CLOSED):
        return parts.none()
    return parts.select_related("stay").order_by("stay", "kind", "pk")


def weights(parts: Sequence[Installation]) -> list[int]:
    """Return what renewing each costs by the price list today, minor units and at least 1.

    parts: of one fleet. Labour with the mast down is in it; the list's hours share it out.
    """
    if not parts:
        return []
    order = [part.pk for part in parts]
    rows = Installation.objects.filter(pk__in=order).values("pk", *COLUMNS.values())
    frame = pd.DataFrame(list(rows)).set_index("pk").loc[order]
    frame = frame.rename(columns={field: name for name, field in COLUMNS.items()})
    numbers = {name: frame[name].astype(float) for name in ("diameter", "pin", "length")}
    lengths = {part.stay.boat_id: float(part.stay.boat.length_m) for part in parts}
    boats = pd.DataFrame({"length": pd.Series(lengths)})
    prices = price(parts[0].stay.boat.fleet, frame.assign(**numbers), boats)
    wire = (frame["kind"] == Installation.Kind.WIRE).to_numpy()
    return [max(1, int(cost)) for cost in prices.planned(mast_down=wire)]


@transaction.atomic
def record(invoice: Invoice, parts: Sequence[Installation]) -> Invoice:
    """Save an invoice and share its cost to the parts by price; without parts it waits for them.

    Tax that comes back is not in the cost. The cent left over goes to the dearest part.
    """
    invoice.save()
    share_out(invoice, parts)
    return invoice


def share_out_order(order: WorkOrder) -> None:
    """Share each invoice of a work order, now that its work is done, among the parts it renewed."""
    for invoice in order.invoices.standing().filter(shares=None).select_related("work_order"):
        share_out(invoice, list(parts_for(invoice).select_related("stay__boat__fleet")))


@transaction.atomic
def withdraw(invoice: Invoice, on: dt.date, by_name: str, why: str) -> None:
    """Withdraw an invoice entered wrongly: its shares go, it stays readable and counts nowhere.

    Raises ValueError, in words, without a reason, or where its work order is closed.
    """
    if not why.strip():
        raise ValueError("Say why it is withdrawn.")
    if invoice.work_order and invoice.work_order.state == WorkOrder.State.CLOSED:
        raise ValueError(f"Order {invoice.work_order} is closed: take that step back first.")
    share_out(invoice, [])
    invoice.withdrawn_on, invoice.withdrawn_by = on, by_name
    invoice.withdrawn_why, invoice.work_order = why.strip(), None
    invoice.save()


@transaction.atomic
def name_order(invoice: Invoice, order: WorkOrder | None) -> None:
    """Say which work order an invoice is for, or that it is for none; it is shared out anew.

    Raises ValueError where the order is of another boat or withdrawn.
    """
    if order and (order.boat_id != invoice.boat_id or order.state == WorkOrder.State.WITHDRAWN):
        raise ValueError("That work order is not one of this boat's.")
    invoice.work_order = order
    invoice.save(update_fields=["work_order"])
    share_out(invoice, [])
    share_out(invoice, list(parts_for(invoice)))


@transaction.atomic
def share_out(invoice: Invoice, parts: Sequence[Installation]) -> None:
    """Share an invoice anew among these parts; what it was shared to before is taken back."""
    invoice.shares.all().delete()
    if parts:
        InvoiceShare.objects.bulk_create(shares_of(invoice, parts, weights(parts)))


def shares_of(
    invoice: Invoice, parts: Sequence[Installation], by: Sequence[int]
) -> list[InvoiceShare]:
    """Return the shares, not yet saved, that add to the invoice's cost; by: a weight a part."""
    amounts = shared(invoice.cost_minor, by)
    return [
        InvoiceShare(invoice=invoice, installation=part, cost_minor=amount)
        for part, amount in zip(parts, amounts, strict=True)
    ]
