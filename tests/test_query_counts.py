"""What a list costs does not grow with its rows."""

import pytest
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests import builders
from tests.crowds import crowd

pytestmark = pytest.mark.django_db
LISTS = (
    "fleet", "boats", "outlook", "how", "refit", "budget", "budget_csv", "inspections", "reminders",
    "import", "fleet_settings", "refit_pdf", "refit_xlsx", "refit_csv", "budget_pdf", "budget_xlsx",
    "hand_ins", "works", "signs",
)  # fmt: skip
MANY = 12


def client_of(fleet) -> Client:
    client = Client()
    client.force_login(
        builders.person(f"mara-of-{fleet.slug}", fleet), "django.contrib.auth.backends.ModelBackend"
    )
    return client


def queries(client: Client, url: str) -> list[str]:
    """Return what a page asks of the database, the second time it is opened."""
    assert client.get(url).status_code == 200
    with CaptureQueriesContext(connection) as asked:
        assert client.get(url).status_code == 200
    return [query["sql"] for query in asked]


@pytest.fixture(scope="module")
def fleets(django_db_setup, django_db_blocker):
    """One boat, and twelve; undone when this file is done."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield crowd("one", 1), crowd("many", MANY)
        transaction.set_rollback(True)


@pytest.mark.parametrize("name", LISTS)
def test_a_list_of_twelve_boats_costs_what_a_list_of_one_costs(fleets, name):
    one, many = (
        queries(client_of(fleet), reverse(name, kwargs={"fleet": fleet.slug})) for fleet in fleets
    )
    assert len(one) == len(many), "\n".join(sorted(set(many) - set(one)))
    assert len(many) <= 20


@pytest.mark.parametrize("name", ["boats", "outlook", "refit", "inspections", "reminders"])
def test_the_longer_list_does_have_more_rows(fleets, name):
    """Else equal counts would say nothing."""
    one, many = (
        client_of(fleet).get(reverse(name, kwargs={"fleet": fleet.slug})).context["table"]
        for fleet in fleets
    )
    assert len(many.rows) >= MANY * len(one.rows) > 0


def test_a_boat_with_more_parts_costs_no_more(fleets):
    counts = []
    for fleet, stays in zip(fleets, ([], ["intermediate", "lower_aft", "diamond"]), strict=True):
        boat = fleet.boats.first()
        for stay in stays:
            builders.wire(boat, stay=stay)
        url = reverse("boat", kwargs={"fleet": fleet.slug, "pk": boat.pk})
        counts.append(len(queries(client_of(fleet), url)))
    assert counts[0] == counts[1]
