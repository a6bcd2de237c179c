"""What a list costs does not grow with its rows."""

import pytest
from django.db import connection, transaction
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests import builders
from tests.crowds import crowd
from tests.test_whose_data import addresses

pytestmark = pytest.mark.django_db
PAPERS = (
    "refit_pdf", "refit_xlsx", "budget_pdf", "budget_xlsx", "hours_pdf", "hours_xlsx",
    "fleet_schedule_pdf", "chase_list_pdf", "season_page_pdf", "reserve_pdf", "reserve_xlsx",
    "register_xlsx", "board_pdf", "orders_xlsx",
)  # fmt: skip
WRITE_ONLY = (
    "refresh", "test_again", "reminders_again", "import_undo", "import_encoding", "export_ask",
    "plan", "summary_ask", "freeze_budget", "dock_send", "dock_photos",
    "reminders_let_go", "reminders_hold_back", "reminders_test",
)  # fmt: skip
KITS = ("dock_kit",)
# Every address of a fleet that is read and names no single row: a new page is measured of itself.
NOT_HERE = (*PAPERS, *KITS, *WRITE_ONLY)
PAGES = [name for name, needs in addresses() if needs == ("fleet",) and name not in NOT_HERE]
OF_ONE = ("boat", "rig", "parts_table", "boat_edit", "inspect")  # They list sisters, bases, notes.
FEW, MANY = 10, 1000
ROWS_A_PAGE = 100


def client_of(fleet) -> Client:
    client = Client()
    user = fleet.memberships.filter(role="manager").first()
    mara = user.user if user else builders.person(f"mara-of-{fleet.slug}", fleet)
    client.force_login(mara, "django.contrib.auth.backends.ModelBackend")
    return client


def queries(client: Client, url: str) -> list[str]:
    """Return what a page asks of the database, the second time it is opened."""
    assert client.get(url).status_code in (200, 302)
    with CaptureQueriesContext(connection) as asked:
        assert client.get(url).status_code in (200, 302)
    return [query["sql"] for query in asked]


def undone(django_db_blocker, *sizes: int):
    """Yield fleets of these sizes, and take them back."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield tuple(crowd(f"of-{size}", size) for size in sizes)
        transaction.set_rollback(True)


@pytest.fixture(scope="module")
def fleets(django_db_setup, django_db_blocker):
    yield from undone(django_db_blocker, FEW, MANY)


@pytest.fixture(scope="module")
def small_fleets(django_db_setup, django_db_blocker):
    yield from undone(django_db_blocker, 1, 12)


def counted(fleet, name: str, **more) -> list[str]:
    return queries(client_of(fleet), reverse(name, kwargs={"fleet": fleet.slug} | more))


@pytest.mark.parametrize("name", PAGES)
def test_a_page_of_a_thousand_boats_asks_no_more_than_one_of_ten(fleets, name):
    few, many = (counted(fleet, name) for fleet in fleets)
    assert len(few) == len(many), "\n".join(sorted(set(many) - set(few)))
    assert len(many) <= 30


@pytest.mark.parametrize("name", OF_ONE)
def test_a_boat_among_a_thousand_costs_what_one_among_ten_costs(fleets, name):
    few, many = (counted(fleet, name, pk=fleet.boats.first().pk) for fleet in fleets)
    assert len(few) == len(many), "\n".join(sorted(set(many) - set(few)))


@pytest.mark.parametrize("name", [*PAPERS, *KITS])
def test_a_paper_of_twelve_boats_asks_no_more_than_one_of_one(small_fleets, name):
    one, many = (counted(fleet, name) for fleet in small_fleets)
    assert len(one) == len(many), "\n".join(sorted(set(many) - set(one)))


@pytest.mark.parametrize("name", ["boats", "outlook", "refit", "inspections", "reminders", "works"])
def test_a_long_list_has_all_rows_and_shows_a_page_of_them(fleets, name):
    """Else equal counts would say nothing."""
    few, many = (
        client_of(fleet).get(reverse(name, kwargs={"fleet": fleet.slug})).context["table"]
        for fleet in fleets
    )
    assert len(many.rows) >= MANY / FEW * len(few.rows) > 0
    assert len(list(many.paginated_rows)) <= ROWS_A_PAGE


def test_a_boat_with_more_parts_costs_no_more(small_fleets):
    counts = []
    for fleet, stays in zip(
        small_fleets, ([], ["intermediate", "lower_aft", "diamond"]), strict=True
    ):
        boat = fleet.boats.first()
        for stay in stays:
            builders.wire(boat, stay=stay)
        url = reverse("boat", kwargs={"fleet": fleet.slug, "pk": boat.pk})
        counts.append(len(queries(client_of(fleet), url)))
    assert counts[0] == counts[1]
