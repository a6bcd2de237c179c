"""The register of a fleet: its parts as components, and what a fiscal year did to them.

Only boats are in it whose rigging the fleet's own party pays for. A part whose cost, all invoices
for it together, is below the threshold of capitalisation is expensed: the part is the unit of
account, here as in the forecast (``planning.budget``). Its cost is recognised when it is in place,
though its invoice came later; what was invoiced before is work in progress. A part without an
invoice has no cost on record and is not guessed: it is counted, and stays out of every sum.
"""

import datetime as dt
from collections import defaultdict
from dataclasses import dataclass, field

from django.db.models import Q, QuerySet, Sum

from fleet.models import Fleet, Installation

from ..models import AccountsPolicy, Invoice, InvoiceShare
from ..planning.register import (
    Component,
    Movement,
    Review,
    life_in_months,
    month_after,
    movement,
    together,
)
from . import years


@dataclass(frozen=True)
class Entry:
    """One part of the books: what it is, its component, and what the year did to it."""

    part: Installation
    invoice: Invoice
    component: Component
    year: Movement
    ends: dt.date

    @property
    def was(self) -> dt.date | None:
        """Return until when it was expected to serve before the last review, if there was one."""
        lives = [self.component.ends, *(each.ends for each in self.component.reviews)]
        return lives[-2] if len(lives) > 1 else None


@dataclass(frozen=True)
class Set:
    """The parts of one invoice on one boat, together."""

    invoice: Invoice
    entries: list[Entry]

    @property
    def year(self) -> Movement:
        return together(entry.year for entry in self.entries)

    @property
    def cost(self) -> int:
        return sum(entry.component.cost for entry in self.entries)

    @property
    def reviewed(self) -> bool:
        return any(entry.component.reviews for entry in self.entries)

    @property
    def ends(self) -> list[dt.date]:
        days = sorted({entry.ends for entry in self.entries})
        return days if len(days) < 2 else [days[0], days[-1]]


@dataclass(frozen=True)
class Register:
    """entries: in the books at some time of the year; small: shares of parts below the threshold
    placed in the year; no_cost: parts up in the year of which no cost is on record."""

    fleet: Fleet
    year: int
    first: dt.date
    after: dt.date
    policy: AccountsPolicy
    entries: list[Entry]
    small: list[InvoiceShare]
    no_cost: int
    total: Movement = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "total", together(entry.year for entry in self.entries))

    @property
    def expensed(self) -> int:
        """Return what the year's parts below the threshold came to, minor units."""
        return sum(share.cost_minor for share in self.small)

    @property
    def last_day(self) -> dt.date:
        return day_before(self.after)

    @property
    def sets(self) -> list[Set]:
        """Return the parts by invoice, the latest first."""
        found: dict[int, list[Entry]] = defaultdict(list)
        for entry in self.entries:
            found[entry.invoice.pk].append(entry)
        return [Set(rows[0].invoice, rows) for rows in found.values()]

    @property
    def derecognised(self) -> list[Entry]:
        return [entry for entry in self.entries if entry.year.cost_gone]


def policy_of(fleet: Fleet, on: dt.date) -> AccountsPolicy:
    """Return how the fleet accounts on that day; the usual, not saved, where nobody decided."""
    latest = AccountsPolicy.objects.of(fleet).filter(since__lte=on).first()
    return latest or AccountsPolicy(fleet=fleet, since=on)


def own_boats(fleet: Fleet) -> Q:
    """Return the condition on a boat that the fleet's own party pays for its rigging."""
    return Q(paid_by="") | Q(paid_by=fleet.rigging_paid_by)


def register_of(fleet: Fleet, year: int) -> Register:
    """Return the register of a fiscal year: `year` is the one in which it begins."""
    first, after = years.bounds(fleet, year)
    policies = policies_of(fleet)
    entries, small = [], []
    shares = list(_shares(fleet, after))
    costs = part_costs(fleet)
    for share in shares:
        invoice = share.invoice
        policy = of_day(policies, invoice.on)
        component = component_of(share, policy)
        if not capitalised(costs[share.installation_id], policy):
            small += [share] if first <= component.since < after else []
            continue
        moved = movement(component, first, after)
        if moved.cost_opening or moved.added:
            ends = component.life_ends(day_before(after))
            entries.append(Entry(share.installation, invoice, component, moved, ends))
    policy = of_day(policies, day_before(after))
    missing = without_cost(fleet, first, after).count()
    return Register(fleet, year, first, after, policy, entries, small, missing)


def policies_of(fleet: Fleet) -> list[AccountsPolicy]:
    """Return every decision, the latest first; the usual, not saved, where there is none."""
    return list(AccountsPolicy.objects.of(fleet)) or [policy_of(fleet, fleet.today())]


def of_day(policies: list[AccountsPolicy], on: dt.date) -> AccountsPolicy:
    """Return the policy of that day; before the first decision, the first."""
    return next((policy for policy in policies if policy.since <= on), policies[-1])


def part_costs(fleet: Fleet) -> dict[int, int]:
    """Return part id -> what all its invoices together came to, minor units."""
    rows = InvoiceShare.objects.of(fleet).order_by().values_list("installation")
    return dict(rows.annotate(cost=Sum("cost_minor")))


def capitalised(cost: int, policy: AccountsPolicy) -> bool:
    """Return whether a part of that cost is an asset; cost: of all its invoices together.

    The part is the unit of account: IAS 16.9 leaves what an item is to judgement, 43 depreciates
    parts with a cost that is significant by themselves, 13 recognises a replaced part (numbers
    from memory).
    """
    return cost >= policy.capital_from_minor


def _shares(fleet: Fleet, before: dt.date) -> QuerySet[InvoiceShare]:
    """Return the shares of parts in place before that day; of an unknown day, the invoice's."""
    own = Q(invoice__boat__in=fleet.boats.filter(own_boats(fleet)))
    placed = Q(installation__fitted_on__lt=before)
    placed |= Q(installation__fitted_on__isnull=True, invoice__on__lt=before)
    return (
        InvoiceShare.objects.of(fleet)
        .filter(own & placed)
        .select_related("invoice__boat__base", "installation__stay__boat")
        .select_related("installation__proceeds")
        .prefetch_related("installation__life_reviews")
        .order_by("-invoice__on", "invoice__boat__name", "invoice", "installation")
    )


def component_of(share: InvoiceShare, policy: AccountsPolicy) -> Component:
    """Return one part as a component: placed in service when fitted, gone when off the boat.

    A day of fitting nobody knows is taken as the invoice's.
    """
    part, boat = share.installation, share.invoice.boat
    since = part.fitted_on or share.invoice.on
    off = min((day for day in (part.removed_on, boat.left) if day), default=None)
    reviews = sorted(part.life_reviews.all(), key=lambda review: review.on)
    proceeds = getattr(part, "proceeds", None)
    return Component(
        cost=share.cost_minor,
        since=since,
        ends=month_after(since, life_in_months(policy.life_of(part.kind))),
        reviews=tuple(Review(each.on, each.ends) for each in reviews),
        gone=off,
        proceeds=proceeds.minor if proceeds else 0,
    )


def without_cost(fleet: Fleet, first: dt.date, after: dt.date) -> QuerySet[Installation]:
    """Return the parts up at some time of the year of which no invoice says what they cost."""
    up = Q(removed_on__isnull=True) | Q(removed_on__gte=first)
    fitted = Q(fitted_on__isnull=True) | Q(fitted_on__lt=after)
    boats = fleet.boats.filter(own_boats(fleet)).filter(Q(left__isnull=True) | Q(left__gte=first))
    return (
        Installation.objects.filter(up & fitted, stay__boat__in=boats, invoice_shares=None)
        .select_related("stay__boat__base")
        .order_by("stay__boat__name", "stay", "kind", "pk")
    )


def day_before(day: dt.date) -> dt.date:
    return day - dt.timedelta(days=1)
