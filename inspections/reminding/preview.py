"""Who would get what, before it goes: for the first sending of a fleet, and a test to oneself."""

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from email.utils import formataddr

from fleet.models import Fleet

from .. import delivery
from ..models import Reminder, ReminderRules
from ..reminders import to_say
from . import addressees, digest
from .hours import Hours
from .refusals import Refusal


@dataclass(frozen=True)
class Would:
    """What one person would get with the next round."""

    rows: Sequence[Reminder]
    language: str
    hours: Hours

    @property
    def first(self) -> Reminder:
        return self.rows[0]

    @property
    def boats(self) -> int:
        return len({row.boat_id for row in self.rows})


def who_gets_what(fleet: Fleet, today: dt.date) -> list[Would]:
    """Return each person's next message, unsaved, by name: what is new today and what waits."""
    open_states = (Reminder.State.QUEUED, Reminder.State.FAILED)
    wanted = {row.key: row for row in to_say(fleet, today)}
    known = Reminder.objects.of(fleet).filter(key__in=wanted).exclude(state__in=open_states)
    over = set(known.values_list("key", flat=True))
    by_person = defaultdict(list)
    for key, row in wanted.items():
        if key not in over:
            by_person[addressees.normal(row.to_email)].append(row)
    rows = addressees.by_email(fleet)
    said = [would(fleet, rows.get(email), each) for email, each in by_person.items()]
    return sorted(said, key=lambda each: (each.first.to_name.lower(), each.first.to_email))


def would(fleet: Fleet, row, reminders: Sequence[Reminder]) -> Would:
    row = row or addressees.of_nobody(fleet)
    return Would(reminders, row.language, addressees.hours(row))


def text(fleet: Fleet, each: Would, today: dt.date) -> dict:
    """Return what that person's message would say, without its picture."""
    return digest.content(fleet, each.rows, today, each.language)


def with_words(
    fleet: Fleet, today: dt.date, language: str, texts: Mapping[str, str]
) -> dict | None:
    """Return the fullest message of the day as it would read with these words; None with none."""
    wanted = sorted(who_gets_what(fleet, today), key=lambda each: -len(each.rows))
    try:
        return digest.content(fleet, wanted[0].rows, today, language, texts) if wanted else None
    except ValueError:  # A text with faults is not shown: its form says them.
        return None


def approve(fleet: Fleet, by: str, now: dt.datetime) -> bool:
    """Let the first sending go; False if somebody did before."""
    rules, _ = ReminderRules.objects.get_or_create(fleet=fleet)
    waits = ReminderRules.objects.filter(pk=rules.pk, approved_at=None)
    return bool(waits.update(approved_at=now, approved_by=by))


def hold_back(fleet: Fleet) -> bool:
    """Take the approval back: nothing more goes until somebody lets it go again."""
    let = ReminderRules.objects.filter(fleet=fleet, approved_at__isnull=False)
    return bool(let.update(approved_at=None, approved_by=""))


def send_test(fleet: Fleet, user, number: int) -> Refusal | None:
    """Send somebody the message they would get today, or another's with most in it, as a test.

    Only where mail is sent. It goes to who asks alone, and no reminder is recorded by it.
    """
    today = fleet.today()
    wanted = who_gets_what(fleet, today)
    mine = [w for w in wanted if addressees.normal(w.first.to_email) == user.email.lower()]
    fullest = mine or sorted(wanted, key=lambda each: -len(each.rows))
    if not fullest:
        return Refusal("Nothing is due, so there is nothing to show in a test.")
    message = digest.letter(fleet, fullest[0].rows, today)
    message.subject = f"[Test] {message.subject}"
    message.to = [formataddr((user.get_full_name() or user.get_username(), user.email))]
    message.extra_headers["Message-ID"] = delivery.message_id(
        "test", fleet, user.email, str(number)
    )
    return delivery.hand_over(message)
