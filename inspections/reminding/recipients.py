"""Who is told of a due thing: owner or skipper and bosun first, the manager when it is late.

Whoever cannot be told (an address that does not work, an owner who asked for no more mail) is
made up for: there is always somebody in charge who hears of it. Somebody who is several of these
hears once, as the one furthest in charge.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from fleet.models import Boat, Fleet, Membership

from ..models import Addressee, Reminder, ReminderRules
from . import addressees

As = Reminder.As
Role = Membership.Role
IN_CHARGE = (As.BOSUN, As.MANAGER)


@dataclass(frozen=True)
class Recipient:
    """Somebody who is told, and why they are."""

    name: str
    email: str
    told_as: str


@dataclass(frozen=True)
class Circle:
    """Everybody a fleet can tell, with its rules; asked once a round."""

    rules: ReminderRules
    bosuns: tuple[Recipient, ...]
    managers: tuple[Recipient, ...]
    known: dict[str, Addressee]

    @classmethod
    def of(cls, fleet: Fleet) -> "Circle":
        rules, known = ReminderRules.of(fleet), addressees.by_email(fleet)
        bosuns, managers = (
            tuple(_members(fleet, role, told_as))
            for role, told_as in ((Role.BOSUN, As.BOSUN), (Role.MANAGER, As.MANAGER))
        )
        return cls(rules, bosuns, managers, known)

    def told_of(self, boat: Boat, kind: str, late_by: int) -> list[Recipient]:
        """Return who hears of a thing of that boat, so many days late; nobody twice."""
        bosuns = [each for each in self.bosuns if self.reached(each.email)]
        owner = [each for each in _owner(boat) if self.may_have(each.email)]
        made_up_for = not bosuns or bool(_owner(boat) and not owner)
        escalated = self.manager_is_told(kind, late_by) or made_up_for
        managers = self.reachable_managers() if escalated else []
        return list({each.email.lower(): each for each in (*owner, *bosuns, *managers)}.values())

    def manager_is_told(self, kind: str, late_by: int) -> bool:
        holding = kind in (Reminder.Kind.HELD, Reminder.Kind.EVENT)
        if holding and self.rules.manager_of_holds:
            return True
        return late_by > 0 and late_by >= self.rules.manager_after_days

    def reachable_managers(self) -> list[Recipient]:
        """Return the managers whose mail arrives; all of them when no one's does."""
        return [m for m in self.managers if self.reached(m.email)] or list(self.managers)

    def reached(self, email: str) -> bool:
        row = self.known.get(addressees.normal(email))
        return row is None or row.broken_at is None

    def may_have(self, email: str) -> bool:
        """Whether an owner is written to: the address works, and they did not ask for silence.

        Somebody in charge of the fleet cannot ask for it, whatever they own.
        """
        row = self.known.get(addressees.normal(email))
        asked = row is not None and row.stopped_at is not None
        return self.reached(email) and (not asked or self.in_charge(email))

    def in_charge(self, email: str) -> bool:
        people = (*self.bosuns, *self.managers)
        return addressees.normal(email) in {addressees.normal(each.email) for each in people}


def _owner(boat: Boat) -> list[Recipient]:
    name = boat.owner_name or "Owner"
    return [Recipient(name, boat.owner_email, As.OWNER)] if boat.owner_email else []


def _members(fleet: Fleet, role: str, told_as: str) -> Iterator[Recipient]:
    members = fleet.memberships.filter(role=role).exclude(user__email="")
    for user in (member.user for member in members.select_related("user")):
        yield Recipient(user.get_full_name() or user.get_username(), user.email, told_as)
