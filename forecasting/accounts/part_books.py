"""One part in the books: its invoices, its lives, and every year's depreciation."""

from dataclasses import dataclass

from fleet.models import Fleet, Installation

from ..chart_titles import year_label
from ..models import AccountsPolicy, InvoiceShare
from ..planning.register import Component, Movement, month_after, movement
from . import years
from .register import component_of, of_day, policies_of

MOST_YEARS = 61


@dataclass(frozen=True)
class Book:
    """What one invoice put into the books for a part. lines: year label -> its movement."""

    share: InvoiceShare
    capitalised: bool
    component: Component
    lines: list[tuple[str, Movement]]


def part_in_books(fleet: Fleet, part: Installation) -> list[Book]:
    """Return the part's books, an entry for each invoice; none where its cost is not on record."""
    shares = part.invoice_shares.select_related("invoice__boat", "installation__stay__boat")
    policies = policies_of(fleet)
    return [_book(fleet, share, policies) for share in shares.order_by("invoice__on", "pk")]


def _book(fleet: Fleet, share: InvoiceShare, policies: list[AccountsPolicy]) -> Book:
    policy = of_day(policies, share.invoice.on)
    capitalised = share.invoice.cost_minor >= policy.capital_from_minor
    component = component_of(share, policy)
    last = component.gone or max(component.ends, *(each.ends for each in component.reviews),
                                 component.ends)  # fmt: skip
    first, end = (years.year_of(fleet, day) for day in (component.since, month_after(last, -1)))
    end = max(end, years.year_of(fleet, component.gone)) if component.gone else end
    lines = [
        (year_label(year, fleet), movement(component, *years.bounds(fleet, year)))
        for year in range(first, min(end, first + MOST_YEARS) + 1)
    ]
    return Book(share, capitalised, component, lines if capitalised else [])
