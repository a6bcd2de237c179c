"""The books of the demonstration: what its accountant would have answered, decided and entered.

Amounts follow from the price list, the date and the invoice's number: the same every time.
"""

import datetime as dt
import zlib
from collections import defaultdict
from decimal import Decimal

from fleet.models import Fleet, Installation

from .accounts import consents, invoicing, versions
from .models import (
    AccountsPolicy,
    Invoice,
    InvoiceShare,
    PayConsent,
    RefitJob,
    ReservePlan,
    ReturnTerms,
)
from .steps.price_book import Item, PriceBook

ACCOUNTANT = "Joana Marchetto"
LEASE = (
    "Lease of the leased boats, 2021: wires no older than 12 years at return, nothing condemned."
)
TAX = Decimal("0.2")
SET_UP_FROM = 4  # wires of one invoice, from which the mast came down for them
DAYS_TO_BILL = 12
ENTERED_FOR = 12  # years; older invoices are not in the books
CODES = {
    "account_cost": "0420", "account_accumulated": "0429", "account_charge": "6220",
    "account_repairs": "6470", "account_disposal": "6895",
}  # fmt: skip


def decide(fleet: Fleet) -> None:
    """Decide once how a demonstration fleet accounts: its budget goes by that."""
    if not AccountsPolicy.objects.of(fleet).exists():
        _policy(fleet)


def keep(fleet: Fleet) -> str:
    """Answer and enter for a forecast demonstration fleet, once; return what there is, in words."""
    if not ReturnTerms.objects.of(fleet).exists():
        _reserve(fleet)
        _invoices(fleet)
        _on_account(fleet)
        _consents(fleet)
        versions.freeze(fleet, f"Board, autumn {fleet.today():%Y}", None, ACCOUNTANT)
    return f"{Invoice.objects.of(fleet).count()} invoices, a reserve, a frozen budget"


def _reserve(fleet: Fleet) -> None:
    on = fleet.today() - dt.timedelta(days=14)
    leased = fleet.boats.filter(owned_by="lessor").exists()
    ReturnTerms.objects.create(
        fleet=fleet, on=on, answered_by=ACCOUNTANT, owned_by=fleet.boats_owned_by,
        paid_by=fleet.rigging_paid_by, obliged="yes" if leased else "no",
        contract=LEASE if leased else "",
    )  # fmt: skip
    ReservePlan.objects.create(
        fleet=fleet, on=on, decided_by=ACCOUNTANT, payer=fleet.rigging_paid_by,
        opening_minor=18_450_000 if leased else 2_235_000, interest=Decimal("0.02"), chance=0.1,
    )  # fmt: skip


def _policy(fleet: Fleet) -> None:
    """A charter group recovers its tax; a club does not. Prices of the demonstration hold it."""
    AccountsPolicy.objects.create(
        fleet=fleet, since=dt.date(fleet.today().year - ENTERED_FOR, 1, 1), decided_by=ACCOUNTANT,
        capital_from_minor=25_000, tax_rate=0, tax_recovered=1, **CODES,
    )  # fmt: skip


def _invoices(fleet: Fleet) -> None:
    """One invoice for every number that parts of a boat name, if its day is known."""
    parts = Installation.objects.of(fleet).exclude(invoice="").select_related("stay__boat__fleet")
    since = fleet.today() - dt.timedelta(days=365 * ENTERED_FOR)
    known = list(parts.filter(fitted_certainty="day", fitted_on__gte=since).order_by("pk"))
    named = defaultdict(list)
    for part, price in zip(known, invoicing.weights(known), strict=True):
        named[part.stay.boat_id, part.invoice].append((part, price))
    down = _mast_down(fleet)
    paid = [(_invoice(fleet, number, rows, down), rows) for (_, number), rows in named.items()]
    Invoice.objects.bulk_create(invoice for invoice, _ in paid)
    InvoiceShare.objects.bulk_create(
        share
        for invoice, rows in paid
        for share in invoicing.shares_of(invoice, *zip(*rows, strict=True))
    )


def _mast_down(fleet: Fleet) -> int:
    book = PriceBook(fleet, fleet.prices.all())
    money, hours = book.single(Item.MAST_DOWN)
    return round(money + hours * book.single(Item.RIGGER_HOUR)[0])


def _invoice(
    fleet: Fleet, number: str, rows: list[tuple[Installation, int]], mast_down: int
) -> Invoice:
    first = min(part.fitted_on for part, _ in rows)
    years = (fleet.today() - first).days / 365.25
    price = sum(price for _, price in rows)
    if sum(part.kind == "wire" for part, _ in rows) >= SET_UP_FROM:
        price += mast_down
    swing = 0.94 + zlib.crc32(number.encode()) % 1201 / 10_000  # 0.94 to 1.06
    net = round(price * swing / (1 + fleet.price_growth) ** years)
    tax = int(net * TAX) if fleet.kind == Fleet.Kind.CHARTER else 0
    part = rows[0][0]
    return Invoice(
        boat=part.stay.boat, number=number, supplier=part.fitter, net_minor=net, tax_minor=tax,
        recovered_minor=tax, order=f"PO-{number}",
        on=min(first + dt.timedelta(days=DAYS_TO_BILL), fleet.today()),
    )  # fmt: skip


def _on_account(fleet: Fleet) -> None:
    """Wire and terminals bought ahead for the boat with the most to do this off season."""
    jobs = RefitJob.objects.of(fleet).exclude(installation=None).select_related("boat")
    costs = defaultdict(int)
    for job in jobs:
        costs[job.boat] += job.cost_minor
    if costs:
        boat = max(costs, key=lambda each: (costs[each], each.pk))
        Invoice.objects.create(
            boat=boat, number=f"A{fleet.today():%y}-0001", supplier="Tarn & Bight Wire",
            order=f"PO-A{fleet.today():%y}-0001", on=fleet.today() - dt.timedelta(days=9),
            net_minor=costs[boat] * 45 // 100, note="Wire and terminals ahead of the off season.",
        )  # fmt: skip


def _consents(fleet: Fleet) -> None:
    """Of the owners one in three agreed, one in three has not answered, the rest is to be asked."""
    on = fleet.today() - dt.timedelta(days=21)
    for number, row in enumerate(consents.asked(fleet)):
        if number % 3 == 2:
            continue
        of = row.boat.owner_name or f"Owner of {row.boat.name}"
        given = {"answer": "given", "answered_on": on + dt.timedelta(days=6), "answered_by": of}
        PayConsent.objects.create(
            boat=row.boat, year=row.figure.year, amount_minor=row.figure.mean_minor, asked_of=of,
            asked_on=on, **(given if number % 3 == 0 else {}),
        )  # fmt: skip
