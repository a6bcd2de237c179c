"""A boat added by hand, and corrected."""

import datetime as dt

import pytest
from django.urls import reverse

from fleet.models import Boat, Change
from tests import builders
from tests.inspections.docks import address, inspect, read, signed_in

pytestmark = pytest.mark.django_db
D = dt.date


def add_url(boat) -> str:
    return reverse("boat_add", kwargs={"fleet": boat.fleet.slug})


def sent(form) -> dict:
    """Return what a page's form would send if nothing on it were touched."""
    values = {field.html_name: field.value() for field in form}
    return {name: value for name, value in values.items() if value not in (None, False, "")}


def add(client, boat, **said):
    form = client.get(add_url(boat)).context["form"]
    usual = {"name": "Skua", "length_m": "11.6", "build_year": "2009"}
    return client.post(add_url(boat), sent(form) | usual | said)


def edit(client, boat, **said):
    url = address(boat, "boat_edit", boat.pk)
    values = sent(client.get(url).context["form"]) | said
    return client.post(url, {name: value for name, value in values.items() if value is not None})


def test_a_name_a_length_and_a_year_are_enough_and_the_rig_comes_next(boat, manager):
    answer = add(manager, boat)
    new = Boat.objects.get(name="Skua")
    assert answer.url == address(boat, "rig", new.pk)
    assert (new.base, new.rig, new.spreader_pairs, new.joined) == (
        boat.base, "sloop", 1, builders.TODAY,
    )  # fmt: skip
    assert new.service == "charter"
    assert Change.objects.get().what == "Boat added"


def test_a_clubs_new_boat_is_a_club_boat(boat, manager):
    boat.fleet.kind = "club"
    boat.fleet.save()
    add(manager, boat)
    assert Boat.objects.get(name="Skua").service == "club"


def test_where_there_are_two_bases_neither_is_guessed(boat, manager):
    builders.base(boat.fleet, "Far Quay")
    assert "Base: This field is required." in add(manager, boat).content.decode()


@pytest.mark.parametrize("name", ["Tern", "tern", "  TERN "])
def test_a_name_stands_once_in_a_fleet_however_it_is_written(boat, manager, name):
    page = add(manager, boat, name=name).content.decode()
    assert "in this fleet already" in page
    assert Boat.objects.count() == 1


def test_another_fleet_may_have_a_boat_of_that_name(boat, manager):
    builders.boat(builders.empty_fleet("estuary"), "Skua")
    assert add(manager, boat).status_code == 302


@pytest.mark.parametrize(
    ("fault", "sentence"),
    [
        ({"build_year": "2031"}, "Write the year it was built, to 2026."),
        ({"build_year": "209"}, "Write the year it was built"),
        ({"joined": "2027-01-01"}, "This day is still to come."),
        ({"joined": "2001-01-01"}, "It was built later, in 2009."),
        ({"length_m": "0"}, "greater than or equal to 2"),
        ({"owner_email": "nobody"}, "Enter a valid email address"),
    ],
)
def test_a_fault_is_said_in_words_and_nothing_typed_is_lost(boat, manager, fault, sentence):
    page = add(manager, boat, owner_name="I. Example", **fault).content.decode()
    assert sentence in page
    assert 'value="I. Example"' in page
    assert Boat.objects.count() == 1


def test_a_base_of_another_fleet_cannot_be_chosen(boat, manager):
    foreign = builders.base(builders.empty_fleet("estuary"))
    assert add(manager, boat, base=foreign.pk).status_code == 200
    assert Boat.objects.count() == 1


def test_a_boat_leaves_the_fleet_and_its_record_stays(boat, manager):
    inspect(boat, D(2026, 5, 1))
    assert edit(manager, boat, left="2026-09-30").status_code == 302
    boat.refresh_from_db()
    assert boat.left == D(2026, 9, 30)
    assert boat.inspections.exists()
    row = Change.objects.get()
    assert row.what == "Boat corrected: left the fleet"
    assert (row.before, row.after) == ({"left": None}, {"left": "2026-09-30"})
    page = read(manager, address(boat, "boat", boat.pk))
    assert "Left the fleet on 30 Sep 2026" in page
    assert "Boat corrected: left the fleet" in page


@pytest.mark.parametrize(
    ("fault", "sentence"),
    [
        ({"left": "2026-04-01"}, "It was inspected later, on 2026-05-01."),
        ({"left": "2027-01-01"}, "This day is still to come."),
        ({"left": "2010-01-01"}, "This is before it came into the fleet."),
        ({"planned_exit": "2010-01-01"}, "This is before it came into the fleet."),
    ],
)
def test_a_boat_cannot_leave_before_what_is_on_record(boat, manager, fault, sentence):
    inspect(boat, D(2026, 5, 1))
    assert sentence in edit(manager, boat, **fault).content.decode()
    boat.refresh_from_db()
    assert (boat.left, boat.planned_exit) == (None, None)


def test_a_boat_saved_as_it_is_leaves_no_trace(boat, manager):
    before = Boat.objects.values().get()
    assert edit(manager, boat).status_code == 302
    assert Boat.objects.values().get() == before
    assert not Change.objects.exists()


@pytest.mark.parametrize("role", ["bosun", "accountant"])
def test_only_a_manager_adds_or_edits_boats(boat, manager, role):
    client = signed_in(boat, role)
    for url in (add_url(boat), address(boat, "boat_edit", boat.pk)):
        assert client.get(url).status_code == 403
        assert client.post(url, {"name": "Skua"}).status_code == 403
    assert "Edit the boat" not in read(client, address(boat, "boat", boat.pk))
    assert "Edit the boat" in read(manager, address(boat, "boat", boat.pk))
