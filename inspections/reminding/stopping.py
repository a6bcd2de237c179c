"""No more mail, by a signed link: one click in the mail reader (RFC 8058), or a page.

Owners and skippers may. Who is in charge of the fleet may not: somebody must hear of a mast.
"""

import datetime as dt
from dataclasses import dataclass

from django.conf import settings
from django.core import signing
from django.urls import reverse

from fleet.models import Fleet

from ..models import Addressee, Reminder
from . import addressees
from .recipients import Circle

SALT = "stayward.reminders.stop"


@dataclass(frozen=True)
class Asked:
    """Whose mail a link is about."""

    fleet: Fleet
    email: str

    @property
    def in_charge(self) -> bool:
        return Circle.of(self.fleet).in_charge(self.email)

    @property
    def stopped(self) -> bool:
        return addressees.of(self.fleet, self.email).stopped_at is not None


def link(fleet: Fleet, email: str) -> str:
    """Return the address by which this person asks for no more mail, without signing in."""
    token = signing.dumps([fleet.pk, addressees.normal(email)], salt=SALT, compress=True)
    return f"{settings.STAYWARD_SITE}{reverse('mail_stop', kwargs={'token': token})}"


def read(token: str) -> Asked | None:
    """Return whose mail the link is about; None for one that we did not sign."""
    try:
        pk, email = signing.loads(token, salt=SALT)
    except signing.BadSignature:
        return None
    fleet = Fleet.objects.filter(pk=pk).first()
    return Asked(fleet, email) if fleet else None


def headers(fleet: Fleet, email: str, told_as: str) -> dict[str, str]:
    """Return the headers of a message to an owner; none for somebody in charge.

    RFC 8058 wants HTTPS for the one click; without it the link alone is given (RFC 2369).
    """
    if told_as != Reminder.As.OWNER:
        return {}
    address = link(fleet, email)
    one_click = {"List-Unsubscribe-Post": "List-Unsubscribe=One-Click"}
    secure = address.startswith("https://")
    return {"List-Unsubscribe": f"<{address}>"} | (one_click if secure else {})


def stop(asked: Asked, now: dt.datetime) -> bool:
    """Record that this person wants no more mail; False for somebody in charge."""
    if asked.in_charge:
        return False
    row, _ = Addressee.objects.get_or_create(
        fleet=asked.fleet, email=addressees.normal(asked.email)
    )
    Addressee.objects.filter(pk=row.pk, stopped_at=None).update(stopped_at=now)
    return True


def begin_again(fleet: Fleet, email: str) -> bool:
    """Record that this person wants mail again; False if they never said otherwise."""
    stopped = Addressee.objects.of(fleet).filter(email=addressees.normal(email))
    return bool(stopped.exclude(stopped_at=None).update(stopped_at=None))
