"""Notices go out as the reminders do: claimed, sent, recorded, tried again, missed in the end."""

import datetime as dt
from email.utils import formataddr

from django.db.models import F, Q, QuerySet

from fleet.models import Fleet

from .. import delivery
from ..letters import Letter
from ..models import Notice, ReminderRules
from . import back_off

State = Notice.State


def to_send(fleet: Fleet, now: dt.datetime) -> QuerySet[Notice]:
    """Return the notices that can go now: queued, failed long enough ago, or left half-sent."""
    gone = Q(claimed_at__lt=now - delivery.LEASE) | Q(claimed_at__gt=now + delivery.LEASE)
    half = Q(state=State.SENDING) & gone
    again = Q(state=State.FAILED) & (Q(next_try_at__lte=now) | Q(next_try_at=None))
    return Notice.objects.of(fleet).filter(Q(state=State.QUEUED) | half | again)


def send_notices(fleet: Fleet, now: dt.datetime) -> int:
    """Send what is to be told; return how many went out. They keep no quiet hours."""
    since = now - dt.timedelta(hours=ReminderRules.of(fleet).tried_for_hours)
    failed = Notice.objects.of(fleet).filter(state=State.FAILED)
    failed.filter(at__lt=since).update(state=State.MISSED, next_try_at=None)
    return sum(send(row, now) for row in to_send(fleet, now).select_related("fleet"))


def send(row: Notice, now: dt.datetime) -> bool:
    """Send one if it is still as we saw it: an update that must hit its row."""
    still = Notice.objects.filter(pk=row.pk, state=row.state, claimed_at=row.claimed_at)
    if row.claimed_at is None:
        still = Notice.objects.filter(pk=row.pk, state=row.state, claimed_at__isnull=True)
    row.message_id = row.message_id or delivery.message_id(
        "notice", row.fleet, row.to_email, str(row.pk)
    )
    ours = {"state": State.SENDING, "claimed_at": now, "message_id": row.message_id}
    if still.update(**ours, attempts=F("attempts") + 1) != 1:
        return False
    refusal = delivery.hand_over(letter(row))
    mine = Notice.objects.filter(pk=row.pk, state=State.SENDING)
    if refusal is None:
        return bool(mine.update(state=State.SENT, sent_at=now, failure=""))
    fields = {"state": State.REFUSED, "failure": refusal.words}
    if not refusal.for_good:
        next_try = back_off.next_try(now, row.attempts + 1)
        fields |= {"state": State.FAILED, "next_try_at": next_try}
    mine.filter(claimed_at=now).update(**fields)
    return False


def letter(row: Notice) -> Letter:
    return Letter(
        subject=row.subject,
        body=f"{row.to_name},\n\n{row.text}",
        to=[formataddr((row.to_name, row.to_email))],
        headers={"Message-ID": row.message_id, "Auto-Submitted": "auto-generated"},
    )
