"""Who is told of a due thing: owner or skipper and bosun first, the manager when it is late."""

import pytest
from django.utils import timezone

from inspections.models import Addressee, ReminderRules
from inspections.reminders import queue
from tests import builders
from tests.inspections.docks import inspect, part, rigged_boat, saw
from tests.inspections.test_reminders import boat_due_in, queued

TODAY = builders.TODAY
pytestmark = pytest.mark.django_db


def staffed(boat):
    """Give the boat's fleet a manager, a bosun and an accountant, and another fleet a manager."""
    for name, role in (("mona", "manager"), ("bo", "bosun"), ("anna", "accountant")):
        builders.person(name, boat.fleet, role)
    builders.person("stranger", builders.empty_fleet("estuary"))
    return boat


def told(boat) -> dict[str, str]:
    """Queue the day's and return who is told, as what."""
    queue(boat.fleet, TODAY)
    return {row.to_email.partition("@")[0]: row.told_as for row in queued(boat)}


def test_the_owner_and_the_bosun_are_told_in_time_and_nobody_else():
    assert told(staffed(boat_due_in(7))) == {"ida": "owner", "bo": "bosun"}


def test_the_manager_is_told_when_it_is_a_week_late():
    assert told(staffed(boat_due_in(-7))) == {"ida": "owner", "bo": "bosun", "mona": "manager"}


def test_a_fleet_says_from_how_many_days_late_its_manager_is_told():
    boat = staffed(boat_due_in(-14))
    ReminderRules.objects.filter(fleet=boat.fleet).update(manager_after_days=30)
    assert "mona" not in told(boat)


def test_the_manager_is_told_of_a_held_boat_at_once_unless_the_fleet_says_otherwise():
    boat = staffed(rigged_boat())
    inspect(boat, TODAY, saw(part(boat), "split_pin_missing"))
    told(boat)
    held = {row.to_email for row in queued(boat, kind="held")}
    assert held == {"mona@example.org", "bo@example.org"}
    ReminderRules.objects.filter(fleet=boat.fleet).update(manager_of_holds=False)
    told(boat)
    assert {row.to_email for row in queued(boat, kind="held")} == {"bo@example.org"}


def test_without_a_bosun_the_manager_is_told_from_the_beginning():
    boat = boat_due_in(60)
    builders.person("mona", boat.fleet)
    assert told(boat) == {"ida": "owner", "mona": "manager"}


def addressee(boat, name: str, **facts) -> None:
    Addressee.objects.create(fleet=boat.fleet, email=f"{name}@example.org", **facts)


def test_whom_mail_does_not_reach_somebody_in_charge_hears_for():
    boat = staffed(boat_due_in(7))
    addressee(boat, "ida", broken_at=timezone.now())
    assert told(boat) == {"bo": "bosun", "mona": "manager"}
    addressee(boat, "bo", broken_at=timezone.now())
    assert told(boat) == {"mona": "manager"}


def test_an_owner_may_ask_for_silence_and_the_bosun_may_not():
    boat = staffed(boat_due_in(7))
    addressee(boat, "ida", stopped_at=timezone.now())
    addressee(boat, "bo", stopped_at=timezone.now())
    assert told(boat) == {"bo": "bosun", "mona": "manager"}
    boat.owner_email = "bo@example.org"
    boat.save()
    assert "bo" in told(boat)
