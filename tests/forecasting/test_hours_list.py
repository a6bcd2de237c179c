"""The page a bosun works down: which boats to look at in the hours there are."""

import csv
import io

import pytest
from django.test import Client
from django.urls import reverse
from python_calamine import load_workbook

from fleet.models import Fleet
from forecasting.hours_list import answer, hours_list, what_it_buys
from forecasting.models import BoatOutlook
from tests import builders
from tests.builders import TODAY

pytestmark = pytest.mark.django_db


@pytest.fixture
def fleet() -> Fleet:
    """Three boats on two bases. Deck 0.5 h, aloft 2.5 h, mast down 8 h.

    Tern: deck takes .10 off (.2 an hour), aloft .20 more in 2 h (.1 an hour). Gull: aloft .30 in
    2.5 h (.12 an hour). Wren: nothing to gain.
    """
    fleet = builders.empty_fleet("ledge")
    north, south = builders.base(fleet, "North"), builders.base(fleet, "South")
    outlook(fleet, "Tern", north, 0.4, {"deck": 0.3, "aloft": 0.1, "mast_down": 0.1})
    outlook(fleet, "Gull", south, 0.5, {"deck": 0.5, "aloft": 0.2, "mast_down": 0.2})
    outlook(fleet, "Wren", south, 0.01, {"deck": 0.01, "aloft": 0.01, "mast_down": 0.01})
    return fleet


def outlook(fleet, name, base, now, after) -> None:
    BoatOutlook.objects.create(
        boat=builders.boat(fleet, name, base=base), as_of=TODAY, parts=1, chance_now=now,
        chance_now_low=now, chance_now_high=now, chance_1y=now, chance_5y=now, chance_failing=0,
        after_level=after,
    )  # fmt: skip


@pytest.fixture
def client(fleet) -> Client:
    client = Client()
    user = builders.person("bo", fleet, "bosun")
    client.force_login(user, "django.contrib.auth.backends.ModelBackend")
    return client


def looks(found) -> list[tuple[str, str, float]]:
    return [(look.boat, look.level, look.hours) for look in found.looks]


def test_ten_hours_are_two_boats_and_the_title_says_so(fleet):
    found = hours_list(fleet, 10)
    assert looks(found) == [("Tern", "aloft", 2.5), ("Gull", "aloft", 2.5)]
    assert answer(found) == "The next 10 hours: these 2 boats"
    assert "from about 0.9 to 0.3" in what_it_buys(found)
    assert "no hour takes off as much as 0.5% of a boat" in what_it_buys(found)


def test_three_hours_leave_the_rest_for_later(fleet):
    found = hours_list(fleet, 3)
    assert looks(found) == [("Tern", "deck", 0.5), ("Gull", "aloft", 2.5)]
    assert "The next hour would take off 0.10 more." in what_it_buys(found)


def test_a_base_has_its_own_list(fleet):
    found = hours_list(fleet, 10, fleet.bases.get(name="North"))
    assert looks(found) == [("Tern", "aloft", 2.5)]
    assert answer(found) == "The next 10 hours at North: this boat"


def test_the_fleets_own_hours_decide(fleet):
    fleet.aloft_hours = 5
    assert looks(hours_list(fleet, 5.5)) == [("Tern", "deck", 0.5), ("Gull", "aloft", 5.0)]


def test_the_page_shows_the_list_and_keeps_what_was_asked_in_its_files(client, fleet):
    page = client.get(reverse("hours", kwargs={"fleet": fleet.slug}) + "?hours=3").content.decode()
    assert "The next 3 hours: these 2 boats" in page
    assert "outlook/hours.csv?hours=3" in page


@pytest.mark.parametrize("hours", ["many", "-1", "nan", "1e9"])
def test_hours_nobody_can_mean_are_said_to_be_wrong(client, fleet, hours):
    url = reverse("hours", kwargs={"fleet": fleet.slug})
    page = client.get(url, {"hours": hours}).content.decode()
    assert 'role="alert"' in page
    assert "Shown: 10 hours" in page


def test_a_base_of_another_fleet_is_no_choice(client, fleet):
    other = builders.base(builders.empty_fleet("elsewhere"), "Far")
    page = client.get(reverse("hours", kwargs={"fleet": fleet.slug}), {"base": other.pk})
    assert "Select a valid choice" in page.content.decode()
    assert "Far" not in page.content.decode()


def test_the_files_hold_the_same_rows(client, fleet):
    place = {"fleet": fleet.slug}
    text = client.get(reverse("hours_csv", kwargs=place), {"hours": 3}).content.decode()
    rows = list(csv.reader(io.StringIO(text)))
    at = {name: rows[0].index(name) for name in ("boat", "look", "hours", "chance after it")}
    assert [[row[i] for i in at.values()] for row in rows[1:3]] == [
        ["Tern", "deck check", "0.5", "0.3"],
        ["Gull", "aloft", "2.5", "0.2"],
    ]
    packed = client.get(reverse("hours_xlsx", kwargs=place), {"hours": 3}).content
    sheet = load_workbook(io.BytesIO(packed)).get_sheet_by_name("Looks").to_python()
    assert [row[1] for row in sheet[1:3]] == ["Tern", "Gull"]
    assert sheet[4][5] == 3.0


def test_a_boat_page_says_what_is_likely_by_when(rows_of_one):
    client, rows = rows_of_one
    place = {"fleet": rows.fleet.slug, "pk": rows.boat.pk}
    page = client.get(reverse("boat", kwargs=place)).content.decode()
    assert "Found at the next deck check" in page
    assert "Within a year" in page
    assert "This boat&#x27;s wires last about 0.9 times as long as others" in page
    assert "over 60" in page


@pytest.fixture
def rows_of_one():
    rows = builders.one_of_each("harbour")
    client = Client()
    user = builders.person("anna", rows.fleet, "accountant")
    client.force_login(user, "django.contrib.auth.backends.ModelBackend")
    return client, rows
