"""The inspection on the dock as a bosun does it: real phone browser, real server, no signal."""

import pytest

from tests.demonstration import sign_in
from tests.inspections.dock_phone import Phone, dock_server, fleet_on_disk, picture, wait_until
from tests.test_pages import too_small, too_wide

PHONE, DESK = 390, 1280
CLEAN_IN_TAPS = 40  # Aim of the product: a clean boat of twelve stays, every spot of it said seen.

# The database is marked for its set-up: the fleet is made in it, and served from a copy.
pytestmark = [pytest.mark.only_on("sqlite"), pytest.mark.django_db]


@pytest.fixture(scope="module")
def server(django_db_setup, django_db_blocker, tmp_path_factory):
    folder = tmp_path_factory.mktemp("dock")
    with django_db_blocker.unblock():
        fleet_on_disk(folder)
    with dock_server(folder) as running:
        yield running


@pytest.fixture
def phone(page_at, server, accessibility_faults, request):
    """A phone signed in as the bosun, on the page of the dock."""

    def check(page) -> list[str]:
        return accessibility_faults(page) + too_wide(page) + too_small(page)

    page = page_at(getattr(request, "param", PHONE), height=844, base_url=server.url)
    sign_in(page, "oskar")
    return Phone(page, check).open()


def test_a_clean_boat_of_twelve_stays_takes_forty_taps_at_most(phone, server):
    phone.tap("Tern", role="link").heading("Tern")
    phone.tap("Aloft").heading("lower end")
    while "/boat" not in phone.page.url:
        before = phone.page.url
        phone.tap()
        phone.page.wait_for_function("before => location.href !== before", arg=before)
    phone.heading("The mast and the boat").tap().heading("aloft").tap().heading("Tern")
    assert phone.taps <= CLEAN_IN_TAPS
    print("taps", phone.taps)
