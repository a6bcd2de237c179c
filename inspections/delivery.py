"""Reminders become mail: one message per person and day, claimed, sent, recorded.

Queued -> being sent -> sent, each its own commit. Who is killed in between leaves rows *being
sent*; after a while they go out again as the same message, under the same Message-ID.
"""

import datetime as dt
import hashlib
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from email.utils import formataddr, parseaddr
from smtplib import SMTPException

from django.conf import settings
from django.db import transaction
from django.db.models import QuerySet
from django.template.loader import render_to_string
from django.urls import reverse

from fleet.models import Fleet
from fleet.templatetags.wording import day

from . import due_chart, mail_folder
from .due import LOOKS
from .letters import Letter, picture
from .models import Reminder
from .spans import when

State = Reminder.State
# A message takes seconds. Whoever holds one for longer is gone.
LEASE = dt.timedelta(minutes=15)
LENGTH = Reminder._meta.get_field("failure").max_length


@dataclass
class Delivered:
    """Messages and the reminders in them; those that failed, and those for the next day."""

    mails: int = 0
    reminders: int = 0
    failed: int = 0
    waiting: int = 0


def send_due(fleet: Fleet, now: dt.datetime, pause: Callable[[], None] = lambda: None) -> Delivered:
    """Send what is due today, to each person once; failures are recorded and stay visible."""
    today, delivered, start = fleet.today(), Delivered(), time.monotonic()
    for email in _recipients(fleet, today):
        while True:
            pause()
            # A round may outlast a lease: each message's begins when it is claimed.
            moment = now + dt.timedelta(seconds=time.monotonic() - start)
            rows = claim(fleet, email, today, moment)
            if not rows:
                break
            failure = _send(fleet, rows, today)
            _record(rows, moment, failure)
            delivered.mails += not failure
            delivered.reminders += 0 if failure else len(rows)
            delivered.failed += len(rows) if failure else 0
    delivered.waiting = _due(fleet, today).filter(state=State.QUEUED).count()
    return delivered


def half_sent(fleet: Fleet, now: dt.datetime) -> QuerySet[Reminder]:
    """Return the reminders whose sender was ended while it had them: nobody knows if they went."""
    return Reminder.objects.of(fleet).filter(state=State.SENDING, claimed_at__lt=now - LEASE)


def _due(fleet: Fleet, today: dt.date):
    return Reminder.objects.of(fleet).filter(send_on__lte=today)


def _recipients(fleet: Fleet, today: dt.date) -> list[str]:
    open_states = (State.QUEUED, State.SENDING)
    rows = _due(fleet, today).filter(state__in=open_states).order_by("to_email")
    return list(rows.values_list("to_email", flat=True).distinct())


def claim(fleet: Fleet, email: str, today: dt.date, now: dt.datetime) -> list[Reminder]:
    """Return the reminders of one person's message, now ours to send; none if not ours.

    Not ours: another worker has the message, or today's has gone out and the rest waits.
    """
    with transaction.atomic():
        # One claim at a time in a fleet, so that two workers cannot cut one message in two.
        # SQLite has no row locks: there the IMMEDIATE transaction does the same.
        Fleet.objects.select_for_update().get(pk=fleet.pk)
        message_id, rows = _claimable(fleet, email, today, now)
        taken = Reminder.objects.filter(pk__in=rows, state__in=(State.QUEUED, State.SENDING))
        if taken.update(state=State.SENDING, claimed_at=now, message_id=message_id) != len(rows):
            raise RuntimeError(f"Reminders to {email} changed hands while they were locked.")
    return list(Reminder.objects.filter(pk__in=rows).select_related("boat"))


def _claimable(fleet: Fleet, email: str, today: dt.date, now: dt.datetime) -> tuple[str, list[int]]:
    """Return the Message-ID and the rows: a message tried before first, else today's.

    A message that was half-sent or that failed may have arrived all the same, the answer alone
    being lost: it goes out again as what it was, so that a mailbox can tell the copy.
    """
    mine = Reminder.objects.of(fleet).filter(to_email=email)
    left = half_sent(fleet, now).filter(to_email=email).order_by("pk").first()
    if left:
        same = mine.filter(state=State.SENDING, message_id=left.message_id)
        return left.message_id, list(same.values_list("pk", flat=True))
    queued = mine.filter(state=State.QUEUED, send_on__lte=today)
    again = queued.exclude(message_id="").order_by("pk").first()
    if again:
        same = queued.filter(message_id=again.message_id)
        return again.message_id, list(same.values_list("pk", flat=True))
    message_id = message_id_of(fleet, email, today)
    if mine.filter(message_id=message_id).exists():
        return message_id, []
    return message_id, list(queued.values_list("pk", flat=True))


def message_id_of(fleet: Fleet, email: str, day: dt.date) -> str:
    """Return the one Message-ID that this person's message of that day can have."""
    return message_id("reminders", fleet, email, day.isoformat())


def message_id(what: str, fleet: Fleet, email: str, *more: str) -> str:
    """Return a Message-ID that tells what, fleet, person and whatever more tells messages apart."""
    person = hashlib.sha256(email.lower().encode()).hexdigest()[:16]
    domain = parseaddr(settings.DEFAULT_FROM_EMAIL)[1].partition("@")[2] or "localhost"
    return f"<{'.'.join([what, str(fleet.pk), *more, person])}@{domain}>"


def _send(fleet: Fleet, rows: Sequence[Reminder], today: dt.date) -> str:
    return hand_over(letter(fleet, rows, today))


def hand_over(message: Letter) -> str:
    """Hand a message over, a copy kept; return why it failed, blank when it did not."""
    try:
        mail_folder.keep(message)
        message.send()
    except (SMTPException, OSError) as fault:
        return f"{type(fault).__name__}: {fault}"[:LENGTH]
    return ""


def _record(rows: Sequence[Reminder], now: dt.datetime, failure: str) -> None:
    ours = Reminder.objects.filter(pk__in=[row.pk for row in rows], state=State.SENDING)
    if failure:
        ours.update(state=State.FAILED, failure=failure)
    else:
        ours.update(state=State.SENT, sent_at=now, failure="")


def letter(fleet: Fleet, rows: Sequence[Reminder], today: dt.date) -> Letter:
    """Return the message that says these reminders, all of one person and claimed.

    With three boats or more due it shows them in a chart: only where mail is sent.
    """
    lines = [_line(fleet, row, today) for row in sorted(rows, key=_urgency)]
    late = sum(line["late"] for line in lines)
    about = {"fleet": fleet, "name": rows[0].to_name, "lines": lines, "late": late, "today": today}
    about |= _chart(rows, today)
    subject = render_to_string("mail/reminders_subject.txt", about)
    message = Letter(
        subject=" ".join(subject.split()),
        body=render_to_string("mail/reminders.txt", about),
        to=[formataddr((rows[0].to_name, rows[0].to_email))],
        headers={"Message-ID": rows[0].message_id, "Auto-Submitted": "auto-generated"},
        pictures=[about["picture"]] if about["picture"] else [],
    )
    message.attach_alternative(render_to_string("mail/reminders.html", about), "text/html")
    return message


def _chart(rows: Sequence[Reminder], today: dt.date) -> dict:
    """Return the picture of which boat is due when, and how many boats it leaves out."""
    looks = [row for row in rows if row.kind in LOOKS]
    dues = ((row.boat_id, row.boat.name, row.due_on) for row in looks)
    shown = due_chart.shown(dues, today, due_chart.IN_MESSAGE)
    return shown | {"picture": picture(shown["chart"]) if shown["chart"] else None}


def _urgency(row: Reminder) -> tuple:
    return row.kind != Reminder.Kind.HELD, row.due_on, row.boat.name, row.kind


def _line(fleet: Fleet, row: Reminder, today: dt.date) -> dict:
    """Return what a template says of one reminder: boat, what, when in words, reason, link."""
    held = row.kind == Reminder.Kind.HELD
    page = reverse("inspections", kwargs={"fleet": fleet.slug})
    if not held:
        page = reverse("inspect", kwargs={"fleet": fleet.slug, "pk": row.boat_id})
    return {
        "boat": row.boat.name,
        "what": row.get_kind_display(),
        "held": held,
        "late": not held and row.due_on < today,
        "when": f"since {day(row.due_on)}" if held else when(row.due_on, today),
        "reason": row.reason,
        "link": f"{settings.STAYWARD_SITE}{page}",
    }
