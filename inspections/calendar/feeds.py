"""Secret addresses of calendars: made, found again by their digest, renewed, revoked.

The address carries a random secret signed with this installation's key. One that nobody here made
is told by its signature, before the database is asked; one that was made is found by the SHA-256
of its secret. The secret itself is shown once and kept nowhere.
"""

import datetime as dt
import hashlib
import secrets

from django.core.signing import BadSignature, Signer
from django.db import transaction

from fleet.models import Base, Boat, Fleet, Membership

from ..models import CalendarEntry, CalendarFeed
from . import entries

SIGNER = {"salt": "calendar feed", "sep": "~"}
BYTES = 24


def digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


@transaction.atomic
def make(
    fleet: Fleet, now: dt.datetime, *, by, user=None, boat: Boat | None = None,
    base: Base | None = None,
) -> tuple[CalendarFeed, str]:  # fmt: skip
    """Make an address, of a member's calendar or of one boat's; return its row and its token."""
    secret = secrets.token_urlsafe(BYTES)
    row = CalendarFeed.objects.create(
        fleet=fleet, user=user, boat=boat, base=base, digest=digest(secret), made_by=by, made_at=now
    )
    if not CalendarEntry.objects.of(fleet).exists():
        entries.refresh(fleet, now)
    return row, Signer(**SIGNER).sign(secret)


@transaction.atomic
def renew(row: CalendarFeed, now: dt.datetime, by) -> tuple[CalendarFeed, str]:
    """Make another address in place of one, which answers no more."""
    revoke(row, now)
    return make(row.fleet, now, by=by, user=row.user, boat=row.boat, base=row.base)


def revoke(row: CalendarFeed, now: dt.datetime) -> None:
    """End an address; ending it twice keeps the first day."""
    CalendarFeed.objects.filter(pk=row.pk).in_force().update(revoked_at=now)


def found(token: str) -> CalendarFeed | None:
    """Return the feed of an address in force; None for any other, and for who left the fleet."""
    try:
        secret = Signer(**SIGNER).unsign(token)
    except BadSignature:
        return None
    rows = CalendarFeed.objects.in_force().select_related("fleet", "user", "boat", "base")
    row = rows.filter(digest=digest(secret)).first()
    if row and row.user and not Membership.objects.filter(fleet=row.fleet, user=row.user).exists():
        return None
    return row


def name_of(row: CalendarFeed) -> str:
    """Return what the calendar is called in the reader's program."""
    if row.boat:
        return f"{row.boat.name}: rig"
    return f"{row.fleet.name}, {row.base.name}: rigs" if row.base else f"{row.fleet.name}: rigs"


def rows_of(row: CalendarFeed) -> list[CalendarEntry]:
    """Return what it tells of."""
    if row.boat:
        return entries.of_boats([row.boat])
    boats = Boat.objects.of(row.fleet)
    return entries.of_boats(boats.filter(base=row.base) if row.base else boats)
