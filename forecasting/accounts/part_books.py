"""One part in the books: its invoices, its lives, and every year's depreciation."""

from dataclasses import dataclass

from fleet.models import Fleet, Installation

from ..chart_titles import year_label
from ..models import AccountsPolicy, InvoiceShare
from ..planning.register import Component, Movement, month_after, movement
from . import years
from .register import capitalised, component_of, of_day, policies_of

MOST_YEARS = 61


@dataclass(frozen=True)
class Book:
    """What one invoice put into the books for a part. lines: year label -> its movement.

    threshold: minor units from which a part was an asset on the invoice's day.
    """

    share: InvoiceShare
    capitalised: bool
    threshold: int
    component: Component
    lines: list[tuple[str, Movement]]


def part_in_books(fleet: Fleet, part: Installation) -> list[Book]:
    """Return the part's books, an entry for each invoice; none where its cost is not on record."""
    shares = part.invoice_shares.select_related("invoice__boat", "installation__stay__boat")
    policies, rows = policies_of(fleet), list(shares.order_by("invoice__on", "pk"))
    cost = sum(share.cost_minor for share in rows)
    return [_book(fleet, share, policies, cost) for share in rows]


def _book(fleet: Fleet, share: InvoiceShare, policies: list[AccountsPolicy], cost: int) -> Book:
    """cost: of the part, by all its invoices."""
    policy = of_day(policies, share.invoice.on)
    asset = capitalised(cost, policy)
    component = component_of(share, policy)
    last = component.gone or max(component.ends, *(each.ends for each in component.reviews),
                                 component.ends)  # fmt: skip
    first, end = (years.year_of(fleet, day) for day in (component.since, month_after(last, -1)))
    end = max(end, years.year_of(fleet, component.gone)) if component.gone else end
    lines = [
        (year_label(year, fleet), movement(component, *years.bounds(fleet, year)))
        for year in range(first, min(end, first + MOST_YEARS) + 1)
    ]
    return Book(share, asset, policy.capital_from_minor, component, lines if asset else [])
