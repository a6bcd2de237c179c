"""The summary by mail, for managers and accountants who ask: queued, being sent, sent.

Each its own commit, as in ``inspections.delivery``; what was half-sent goes out again, after the
lease, under the Message-ID it had.
"""

import datetime as dt

from django.db import IntegrityError, transaction
from django.db.models import Q, QuerySet

from fleet.models import Fleet, Membership
from inspections import delivery

from .models import SummaryMail
from .summary_letter import letter

State = SummaryMail.State
READERS = (Membership.Role.MANAGER, Membership.Role.ACCOUNTANT)


def ask(fleet: Fleet, user) -> SummaryMail:
    """Return the mail to send: a new one, or the newest of today that has not arrived yet.

    One that failed goes out again as what it was: its failure may be a lost answer alone.
    """
    mine = SummaryMail.objects.of(fleet).filter(user=user, on=fleet.today())
    newest = mine.order_by("-number").first()
    if newest and newest.state == State.FAILED:
        mine.filter(pk=newest.pk, state=State.FAILED).update(state=State.QUEUED, failure="")
    if newest and newest.state in (State.QUEUED, State.SENDING, State.FAILED):
        return newest
    number = newest.number + 1 if newest else 1
    day = fleet.today()
    try:
        with transaction.atomic():
            return SummaryMail.objects.create(
                fleet=fleet, user=user, on=day, number=number,
                to_name=user.get_full_name() or user.get_username(), to_email=user.email,
                message_id=delivery.message_id(
                    "summary", fleet, user.email, f"{user.pk}", day.isoformat(), f"{number}"
                ),
            )  # fmt: skip
    except IntegrityError:  # Asked for twice at once.
        return mine.get(number=number)


def half_sent(now: dt.datetime) -> QuerySet[SummaryMail]:
    """Return those whose sender was ended while it had them: nobody knows if they went."""
    gone = Q(claimed_at__lt=now - delivery.LEASE)
    return SummaryMail.objects.filter(gone, state=State.SENDING).select_related("fleet")


def may_go(mail: SummaryMail) -> bool:
    """Whether who asked is still a member who may have it."""
    members = mail.fleet.memberships.filter(user=mail.user, role__in=READERS)
    return members.filter(user__email=mail.to_email).exists()


def claim(mail: SummaryMail, now: dt.datetime) -> bool:
    """Return whether the mail is ours to send now: an update that must hit its one row."""
    lost = Q(state=State.SENDING, claimed_at__lt=now - delivery.LEASE)
    free = SummaryMail.objects.filter(Q(state=State.QUEUED) | lost, pk=mail.pk)
    return free.update(state=State.SENDING, claimed_at=now) == 1


def record(mail: SummaryMail, state: str, **fields) -> None:
    SummaryMail.objects.filter(pk=mail.pk).update(state=state, **fields)
    mail.refresh_from_db()


def write(mail: SummaryMail) -> delivery.Letter:
    """Return the message: chart and papers are drawn here, so only where mail is sent."""
    return letter(mail.fleet, mail.to_name, mail.to_email, mail.message_id)


def send(mail: SummaryMail, message: delivery.Letter, now: dt.datetime) -> bool:
    """Claim the mail, hand the message over, record what came of it; False if it is not ours."""
    if not claim(mail, now):
        return False
    refusal = delivery.hand_over(message)
    if refusal:
        record(mail, State.FAILED, failure=refusal.words)
    else:
        record(mail, State.SENT, sent_at=now, failure="")
    return True
