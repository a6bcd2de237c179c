"""What is known of a fleet's addresses: their hours, their language, whether they work."""

import datetime as dt
from collections.abc import Iterable

from fleet.models import Fleet

from ..models import Addressee
from .hours import Hours


def normal(email: str) -> str:
    """Return an address as its row has it."""
    return email.strip().lower()


def of(fleet: Fleet, email: str) -> Addressee:
    """Return the row of an address; an unsaved usual one where there is none."""
    found = Addressee.objects.of(fleet).filter(email=normal(email)).first()
    return found or Addressee(fleet=fleet, email=normal(email))


def by_email(fleet: Fleet) -> dict[str, Addressee]:
    rows = Addressee.objects.of(fleet).select_related("fleet")
    return {row.email: row for row in rows}


def hours(row: Addressee) -> Hours:
    return Hours(row.time_zone or row.fleet.time_zone, row.quiet_from, row.quiet_until)


def awake(fleet: Fleet, emails: Iterable[str], now: dt.datetime) -> list[str]:
    """Return those who may be written to at that moment, in their order."""
    known = by_email(fleet)
    usual = Hours(fleet.time_zone)
    each_has = {email: known.get(normal(email)) for email in emails}
    return [e for e, row in each_has.items() if (hours(row) if row else usual).awake(now)]


def broke(fleet: Fleet, email: str, words: str, now: dt.datetime) -> bool:
    """Record that mail to an address is refused or came back for good; False if it was known."""
    row, _ = Addressee.objects.get_or_create(fleet=fleet, email=normal(email))
    works = Addressee.objects.filter(pk=row.pk, broken_at=None)
    return bool(works.update(broken_at=now, broken_words=words[:300]))


def works_again(fleet: Fleet, email: str) -> bool:
    """Record that somebody says the address works; False if nobody said otherwise."""
    broken = Addressee.objects.of(fleet).filter(email=normal(email), broken_at__isnull=False)
    return bool(broken.update(broken_at=None, broken_words=""))


def of_nobody(fleet: Fleet) -> Addressee:
    """Return what holds for an address of which nothing is on record."""
    return Addressee(fleet=fleet)
