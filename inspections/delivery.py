"""Reminders become mail: one message per person and day, claimed, sent, recorded.

**What is promised.** A reminder that is due is delivered to the mail server, and once. Each
message goes through three steps, each a commit of its own: *claim* (an update under the fleet's
lock, which must hit every row of the message or it is nobody's), *send*, *record*. A sender that
is ended before the claim is committed changed nothing. One that is ended after it leaves its rows
*being sent*; when its lease has run out they are claimed again, as the same message under the same
Message-ID. So nothing is lost, and the one way to a second copy is an end between the mail server's
"accepted" and our commit of *sent*: no program can close that window, since two machines cannot
commit at once. It is as long as one round trip and one commit, at most one message a sender is in
it, and the copy can be told from a second message by its Message-ID. A failed message of which the
server said itself that it did not take it is tried again, later and later, until it is *missed*;
one whose answer was lost is tried again as the same message. What is *sent* is never sent again.
"""

import datetime as dt
import logging
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from email.utils import parseaddr

from django.conf import settings
from django.db import transaction
from django.db.models import F, Q, QuerySet
from django.utils.crypto import salted_hmac

from fleet.models import Fleet

from . import mail_folder
from .letters import Letter
from .models import Reminder, ReminderRules
from .reminding import addressees, back_off, digest, notices
from .reminding.refusals import Refusal, of_fault

log = logging.getLogger(__name__)
State = Reminder.State
# A message takes seconds. Whoever holds one for longer is gone.
LEASE = dt.timedelta(minutes=15)
LEFT = "The boat left the fleet before it went out."


@dataclass
class Delivered:
    """Messages and the reminders in them; failed, missed, and those for the next day."""

    mails: int = 0
    reminders: int = 0
    failed: int = 0
    missed: int = 0
    waiting: int = 0

    def count(self, rows: Sequence[Reminder], refusal: Refusal | None) -> None:
        self.mails += refusal is None
        self.reminders += len(rows) if refusal is None else 0
        self.failed += len(rows) if refusal else 0


def send_due(fleet: Fleet, now: dt.datetime, pause: Callable[[], None] = lambda: None) -> Delivered:
    """Send what is due today, to each person once; failures are recorded and stay visible."""
    today, delivered, start = fleet.today(), Delivered(), time.monotonic()
    withdraw_left(fleet, today, now)
    delivered.missed = give_up(fleet, now)
    for email in ready(fleet, today, now):
        while True:
            pause()
            # A round may outlast a lease: each message's begins when it is claimed.
            moment = now + dt.timedelta(seconds=time.monotonic() - start)
            rows = claim(fleet, email, today, moment)
            if not rows:
                break
            refusal = _send(fleet, rows, today)
            record(rows, moment, refusal)
            delivered.count(rows, refusal)
            if refusal and refusal.everybody:
                delivered.failed += _put_off(fleet, today, moment, refusal)
    delivered.waiting = _due(fleet, today).filter(state=State.QUEUED).count()
    return delivered


# -- what is to be sent


def _due(fleet: Fleet, today: dt.date) -> QuerySet[Reminder]:
    return Reminder.objects.of(fleet).filter(send_on__lte=today)


def _gone(now: dt.datetime) -> Q:
    """Claims whose holder is gone. One from the future was made before the clock was put back."""
    return Q(claimed_at__lt=now - LEASE) | Q(claimed_at__gt=now + LEASE)


def half_sent(fleet: Fleet, now: dt.datetime) -> QuerySet[Reminder]:
    """Return the reminders whose sender was ended while it had them: nobody knows if they went."""
    return Reminder.objects.of(fleet).filter(_gone(now), state=State.SENDING)


def _waits(now: dt.datetime) -> Q:
    """Those whose next try is still to come; longer than any wait: the clock was put back."""
    return Q(next_try_at__gt=now) & Q(next_try_at__lte=now + back_off.WAITS[-1])


def _again(now: dt.datetime) -> Q:
    return Q(state=State.FAILED) & (Q(next_try_at=None) | ~_waits(now))


def ready(fleet: Fleet, today: dt.date, now: dt.datetime) -> list[str]:
    """Return the addresses for which a message can go now: due, tried long enough ago, awake.

    Today's has gone already for some of them; their claim finds nothing.
    """
    half = Q(state=State.SENDING) & _gone(now)
    rows = _due(fleet, today).filter(Q(state=State.QUEUED) | half | _again(now))
    emails = list(rows.order_by("to_email").values_list("to_email", flat=True).distinct())
    return addressees.awake(fleet, emails, now) if emails else []


def can_go(fleet: Fleet, now: dt.datetime) -> bool:
    """Whether a round now would send something: for the clock, which asks often."""
    today = fleet.today()
    emails = ready(fleet, today, now)
    if not emails:
        return False
    half = Q(state=State.SENDING) & _gone(now)
    tried = Q(state__in=(State.QUEUED, State.FAILED)) & ~Q(message_id="") & ~_waits(now)
    if _due(fleet, today).filter(half | tried, to_email__in=emails).exists():
        return True
    todays = {message_id_of(fleet, email, today) for email in emails}
    gone = Reminder.objects.of(fleet).filter(message_id__in=todays)
    return gone.values("message_id").distinct().count() < len(todays)


def withdraw_left(fleet: Fleet, today: dt.date, now: dt.datetime) -> int:
    """Withdraw what is about a boat that left: not a word of it goes out, not even again."""
    open_rows = Q(state__in=(State.QUEUED, State.FAILED)) | Q(state=State.SENDING) & _gone(now)
    rows = Reminder.objects.of(fleet).filter(open_rows, boat__left__lte=today)
    return Reminder.objects.filter(pk__in=list(rows.values_list("pk", flat=True))).update(
        state=State.WITHDRAWN, failure=LEFT, next_try_at=None
    )


def give_up(fleet: Fleet, now: dt.datetime) -> int:
    """Call missed what has been tried for longer than the fleet's rule, and tell who is in charge.

    One that had its answer lost is missed too: nobody can say that it arrived.
    """
    hours = ReminderRules.of(fleet).tried_for_hours
    since = now - dt.timedelta(hours=hours)
    rows = Reminder.objects.of(fleet).filter(state=State.FAILED, first_tried_at__lt=since)
    missed = list(rows.select_related("boat"))
    with transaction.atomic():
        ours = Reminder.objects.filter(pk__in=[row.pk for row in missed], state=State.FAILED)
        ours.update(state=State.MISSED, next_try_at=None)
        if missed:
            notices.of_missed(fleet, missed, hours, now)
    return len(missed)


# -- claim


def claim(fleet: Fleet, email: str, today: dt.date, now: dt.datetime) -> list[Reminder]:
    """Return the reminders of one person's message, now ours to send; none if not ours.

    Not ours: another worker has the message, or today's has gone out and the rest waits.
    """
    with transaction.atomic():
        # One claim at a time in a fleet, so that two workers cannot cut one message in two.
        # SQLite has no row locks: there the IMMEDIATE transaction does the same.
        Fleet.objects.select_for_update().get(pk=fleet.pk)
        message_id, rows = _claimable(fleet, email, today, now)
        claimable = (State.QUEUED, State.SENDING, State.FAILED)
        taken = Reminder.objects.filter(pk__in=rows, state__in=claimable)
        taken.filter(first_tried_at=None).update(first_tried_at=now)
        ours = {"state": State.SENDING, "claimed_at": now, "message_id": message_id}
        if taken.update(**ours, attempts=F("attempts") + 1, next_try_at=None) != len(rows):
            raise RuntimeError(f"Reminders to {email} changed hands while they were locked.")
    return list(Reminder.objects.filter(pk__in=rows).select_related("boat"))


def _claimable(fleet: Fleet, email: str, today: dt.date, now: dt.datetime) -> tuple[str, list[int]]:
    """Return the Message-ID and the rows: a message tried before first, else today's.

    A message that was half-sent, or whose answer was lost, may have arrived all the same: it goes
    out again as what it was, so that a mailbox can tell the copy. What the server said it did not
    take has no Message-ID any more and goes with today's.
    """
    mine = Reminder.objects.of(fleet).filter(to_email=email)
    left = half_sent(fleet, now).filter(to_email=email).order_by("pk").first()
    if left:
        same = mine.filter(state=State.SENDING, message_id=left.message_id)
        return left.message_id, list(same.values_list("pk", flat=True))
    waiting = mine.filter(Q(state=State.QUEUED) | _again(now), send_on__lte=today)
    again = waiting.exclude(message_id="").order_by("pk").first()
    if again:
        same = waiting.filter(message_id=again.message_id)
        return again.message_id, list(same.values_list("pk", flat=True))
    message_id = message_id_of(fleet, email, today)
    if mine.filter(message_id=message_id).exists():
        return message_id, []
    return message_id, list(waiting.values_list("pk", flat=True))


def message_id_of(fleet: Fleet, email: str, day: dt.date) -> str:
    """Return the one Message-ID that this person's message of that day can have."""
    return message_id("reminders", fleet, email, day.isoformat())


def message_id(what: str, fleet: Fleet, email: str, *more: str) -> str:
    """Return a Message-ID that tells what, fleet, person and whatever more tells messages apart.

    Nobody outside can work it out: mail that came back is known by it.
    """
    person = salted_hmac("message-id", email.lower()).hexdigest()[:16]
    domain = parseaddr(settings.DEFAULT_FROM_EMAIL)[1].partition("@")[2] or "localhost"
    return f"<{'.'.join([what, str(fleet.pk), *more, person])}@{domain}>"


# -- send


def _send(fleet: Fleet, rows: Sequence[Reminder], today: dt.date) -> Refusal | None:
    try:
        message = digest.letter(fleet, rows, today)
    except Exception as fault:  # One message that cannot be written must not keep the others.
        log.exception("The message %s could not be written.", rows[0].message_id)
        said = f"A fault in the program, for who runs the server: {type(fault).__name__}: {fault}"
        return Refusal(said[:300], not_there=True)
    return hand_over(message)


def hand_over(message: Letter) -> Refusal | None:
    """Hand a message over, a copy kept; return why it failed, None when it did not."""
    try:
        mail_folder.keep(message)
        message.send()
    except (OSError, ValueError) as fault:  # smtplib's own are OSErrors; ValueErrors are ours.
        return of_fault(fault)
    return None


# -- record


def record(rows: Sequence[Reminder], now: dt.datetime, refusal: Refusal | None) -> None:
    """Record what came of a message; of a failure only while its claim is still ours."""
    ours = Reminder.objects.filter(pk__in=[row.pk for row in rows], state=State.SENDING)
    if refusal is None:
        ours.update(state=State.SENT, sent_at=now, failure="")
        return
    fleet, fields = rows[0].boat.fleet, failed(refusal, now, rows[0].attempts)
    with transaction.atomic():
        ours.filter(claimed_at=now).update(**fields)
        if refusal.address:
            notices.broken(fleet, rows[0].to_name, rows[0].to_email, refusal.words, now)


def failed(refusal: Refusal, now: dt.datetime, attempts: int) -> dict:
    """Return the fields of a message that was not taken."""
    fields = {"failure": refusal.words, "state": State.FAILED, "next_try_at": None}
    if refusal.for_good:
        fields["state"] = State.REFUSED
    else:
        fields["next_try_at"] = back_off.next_try(now, attempts)
    # What has certainly not arrived may go with the next message; one that may have keeps its ID.
    return fields | ({"message_id": ""} if refusal.not_there and not refusal.for_good else {})


def _put_off(fleet: Fleet, today: dt.date, now: dt.datetime, refusal: Refusal) -> int:
    """Put off all that is still queued: what stopped one message would stop each of them."""
    queued = _due(fleet, today).filter(state=State.QUEUED, message_id="")
    rows = Reminder.objects.filter(pk__in=list(queued.values_list("pk", flat=True)))
    rows.filter(first_tried_at=None).update(first_tried_at=now)
    wait = {"state": State.FAILED, "next_try_at": back_off.next_try(now, 1)}
    return rows.filter(state=State.QUEUED).update(
        **wait, failure=f"Not tried, since another just failed: {refusal.words}"[:300]
    )


def try_now(fleet: Fleet) -> int:
    """Let everything that failed be tried at once: somebody says the cause is gone."""
    rows = Reminder.objects.of(fleet).filter(state=State.FAILED)
    return Reminder.objects.filter(pk__in=list(rows.values_list("pk", flat=True))).update(
        next_try_at=None
    )
