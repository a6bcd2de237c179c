"""Everybody a fleet writes to, with what holds for each address: for the page about them."""

from collections import defaultdict
from dataclasses import dataclass

from fleet.models import Boat, Fleet

from ..models import Addressee, Reminder
from . import addressees
from .hours import Hours
from .recipients import Circle

As = Reminder.As


@dataclass(frozen=True)
class Person:
    """One address: who it is, as what they are told, of which boats, and how."""

    name: str
    email: str
    told_as: str
    boats: tuple[str, ...]
    row: Addressee
    hours: Hours

    @property
    def in_charge(self) -> bool:
        return self.told_as != As.OWNER


def everybody(fleet: Fleet) -> list[Person]:
    """Return managers, bosuns, then owners by name; nobody twice."""
    circle, of_owner = Circle.of(fleet), defaultdict(list)
    names = {}
    for boat in Boat.objects.of(fleet).standing(fleet.today()).exclude(owner_email=""):
        email = addressees.normal(boat.owner_email)
        of_owner[email].append(boat.name)
        names.setdefault(email, boat.owner_name or "Owner")
    found = {}
    for each in (*circle.managers, *circle.bosuns):
        email = addressees.normal(each.email)
        found.setdefault(email, (each.name, each.told_as))
    for email in sorted(names, key=lambda email: names[email].lower()):
        found.setdefault(email, (names[email], As.OWNER))
    rows = circle.known
    return [
        _person(fleet, name, email, told_as, of_owner[email], rows.get(email))
        for email, (name, told_as) in found.items()
    ]


def one(fleet: Fleet, email: str) -> Person | None:
    """Return the person of an address the fleet writes to, else None."""
    wanted = addressees.normal(email)
    return next((each for each in everybody(fleet) if each.email == wanted), None)


def _person(fleet, name, email, told_as, boats, row) -> Person:
    row = row or Addressee(fleet=fleet, email=email)
    row.fleet = fleet  # Asked once, not for each row.
    return Person(name, email, told_as, tuple(boats), row, addressees.hours(row))
