"""A fleet of one's own begins empty, with one manager who can sign in."""

import io

import pytest
from django.contrib.auth import get_user_model
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse

from fleet.models import Fleet, Membership

pytestmark = pytest.mark.django_db


def new_fleet(*arguments: str) -> str:
    said = io.StringIO()
    call_command("new_fleet", *arguments, stdout=said)
    return said.getvalue()


def test_the_manager_signs_in_with_the_password_that_is_said_once():
    said = new_fleet("Quiet Haven", "mara@example.org")
    password = said.rstrip(".\n").rpartition("password ")[2]
    client = Client()
    answer = client.post(
        reverse("account_login"), {"login": "mara@example.org", "password": password}, follow=True
    )
    assert answer.redirect_chain[-1][0].startswith("/quiet-haven/")
    assert "No boats yet" in answer.content.decode()
    assert "/quiet-haven/" in said


def test_the_fleet_has_its_own_calendar_and_money_and_no_fixed_date():
    new_fleet("Quiet Haven", "mara@example.org", "--kind", "charter", "--currency", "NOK",
              "--time-zone", "Europe/Oslo")  # fmt: skip
    fleet = Fleet.objects.get()
    assert (fleet.kind, fleet.currency, fleet.time_zone) == ("charter", "NOK", "Europe/Oslo")
    assert fleet.as_of is None
    assert fleet.memberships.get().role == Membership.Role.MANAGER


def test_someone_known_keeps_their_password_and_joins_the_second_fleet():
    new_fleet("Quiet Haven", "mara@example.org")
    said = new_fleet("Far Haven", "Mara@Example.org")
    assert "with the password you have" in said
    assert get_user_model().objects.get().memberships.count() == 2


WRONG = {
    "a name that gives no address": (("⛵", "m@example.org"), "no usable address"),
    "a name the program uses itself": (("Account", "m@example.org"), "choose another name"),
    "no e-mail address": (("Haven", "mara"), "'mara' is no e-mail address"),
    "no currency": (("Haven", "m@example.org", "--currency", "euro"), "ISO 4217"),
    "no time zone": (("Haven", "m@example.org", "--time-zone", "Oslo"), "Oslo is not a time zone"),
    "a name too long": (("H" * 130, "m@example.org"), "at most"),
}


@pytest.mark.parametrize(("arguments", "words"), WRONG.values(), ids=WRONG)
def test_what_is_wrong_is_said_and_nothing_is_written(arguments, words):
    with pytest.raises(CommandError, match=words):
        new_fleet(*arguments)
    assert not Fleet.objects.exists()
    assert not get_user_model().objects.exists()


def test_a_second_fleet_of_that_name_is_refused():
    new_fleet("Quiet Haven", "mara@example.org")
    with pytest.raises(CommandError, match="already exists"):
        new_fleet("Quiet Haven", "bo@example.org")
    assert get_user_model().objects.count() == 1
