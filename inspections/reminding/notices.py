"""What the sender tells people in charge about itself: a row first, then mail, each once.

An address that does not work, reminders that were missed, a message that is stuck, a day on which
nothing ran: whoever should have been told by the broken way is told by another.
"""

import datetime as dt
import hashlib
from collections.abc import Iterator, Sequence

from django.conf import settings
from django.db import transaction
from django.urls import reverse

from fleet.models import Fleet

from ..models import Notice, Reminder
from . import addressees
from .recipients import Circle, Recipient

Kind = Notice.Kind
NAMED = 8


def broken(fleet: Fleet, name: str, email: str, words: str, now: dt.datetime) -> bool:
    """Record that an address does not work and tell who is in charge; False if it was known."""
    if not addressees.broke(fleet, email, words, now):
        return False
    text = (
        f"Mail to {name}, {email}, does not arrive: {words.rstrip('.')}.\n\nReminders for that "
        "address come to you until it is put right or somebody says that it works again. Tell them "
        "by another way."
    )
    tell(fleet, Kind.ADDRESS, f"{addressees.normal(email)}/{now.isoformat()}",
         f"mail to {email} does not arrive", text, now, but=email)  # fmt: skip
    return True


def of_missed(fleet: Fleet, rows: Sequence[Reminder], hours: int, now: dt.datetime) -> None:
    """Tell who is in charge what was never delivered."""
    lines = [f"- {r.boat}: {r.get_kind_display()}, to {r.to_name}. {r.failure}" for r in rows]
    more = [f"- and {len(rows) - NAMED} more"] if len(rows) > NAMED else []
    said = "\n".join(lines[:NAMED] + more)
    text = f"These could not be delivered within {hours} hours, and are missed:\n\n{said}\n"
    tell(fleet, Kind.MISSED, f"{min(row.pk for row in rows)}/{now.isoformat()}",
         f"{len(rows)} reminders were missed", text, now)  # fmt: skip


def tell(
    fleet: Fleet, kind: str, what: str, subject: str, text: str, now: dt.datetime, but: str = ""
) -> int:
    """Queue a notice to everybody in charge whose mail arrives; the same twice is queued once."""
    page = reverse("reminders", kwargs={"fleet": fleet.slug})
    whole = f"{text}\n{settings.STAYWARD_SITE}{page}\n"
    told = 0
    for person in in_charge(fleet, but):
        key = f"{kind}/{fleet.pk}/{digest(what)}/{digest(addressees.normal(person.email))}"
        row = {"fleet": fleet, "kind": kind, "subject": f"{fleet.name}: {subject}"[:200],
               "text": whole, "to_name": person.name, "to_email": person.email,
               "at": now}  # fmt: skip
        with transaction.atomic():
            told += Notice.objects.get_or_create(key=key, defaults=row)[1]
    return told


def digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def in_charge(fleet: Fleet, but: str = "") -> Iterator[Recipient]:
    """Yield managers first, then bosuns, without the address that a notice is about."""
    circle = Circle.of(fleet)
    for each in (*circle.managers, *circle.bosuns):
        if circle.reached(each.email) and addressees.normal(each.email) != addressees.normal(but):
            yield each
