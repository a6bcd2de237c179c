"""The books of the demonstration: what its accountant would have answered, decided and entered."""

import datetime as dt
from decimal import Decimal

from fleet.models import Fleet

from .models import ReservePlan, ReturnTerms

ACCOUNTANT = "Joana Marchetto"
LEASE = (
    "Lease of the leased boats, 2021: wires no older than 12 years at return, nothing condemned."
)


def keep(fleet: Fleet) -> str:
    """Answer and decide for a demonstration fleet, once; return what there is, in words."""
    if not ReturnTerms.objects.of(fleet).exists():
        _reserve(fleet)
    return f"reserve kept since {ReservePlan.objects.of(fleet).first().on:%d %b %Y}"


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
