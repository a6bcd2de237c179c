"""A boat with a pair of wires, an order of it half done, and who is signed in."""

import datetime as dt

import pytest

from forecasting.accounts import invoicing
from forecasting.models import Invoice
from forecasting.orders import ticking
from tests import builders
from tests.work_orders import WHO, given, job

TODAY = builders.TODAY


@pytest.fixture
def boat():
    fleet = builders.empty_fleet("harbour")
    own = builders.boat(fleet)
    builders.base(fleet)
    return own


@pytest.fixture
def pair(boat):
    return [builders.wire(boat, side=side) for side in ("port", "starboard")]


@pytest.fixture
def under_way(boat, pair):
    """An order with an invoice ahead of it: one of its two lines is done."""
    order = given(boat, *map(job, pair))
    line = order.lines.order_by("pk").first()
    old = line.installation
    old.removed_on, old.removal_reason = TODAY, "age_rule"
    old.save()
    builders.wire(boat, fitted_on=TODAY, fitter="Ilse")
    ticking.link(line, "Odd", **WHO)
    invoice = Invoice(boat=boat, number="A-1", on=TODAY - dt.timedelta(days=9), net_minor=50_001,
                      work_order=order)  # fmt: skip
    invoicing.record(invoice, list(invoicing.parts_for(invoice)))
    return order
