"""The daily round: queue what is due, then send it. Commands and work rows call it alike."""

import datetime as dt
import time
from collections.abc import Callable
from dataclasses import dataclass

from fleet.models import Fleet

from .delivery import Delivered, send_due
from .models import Reminder, ReminderRules, RoundRun
from .reminders import Queued, queue
from .reminding import health
from .reminding.notice_mail import send_notices


@dataclass(frozen=True)
class Round:
    """What one fleet's round did. ``held_back``: how many wait for the first to be let go."""

    queued: Queued
    delivered: Delivered
    held_back: int = 0

    def __str__(self) -> str:
        if self.held_back:
            return (
                f"{told(self.queued)}; {self.held_back} wait for somebody to look at the first "
                "sending and let it go, on the page Reminders"
            )
        return f"{told(self.queued)}; {sent(self.delivered)}"


def fleets(slug: str = "") -> list[Fleet]:
    """Return all fleets, or the one of that name in the address; LookupError when there is none."""
    found = list(Fleet.objects.filter(slug=slug) if slug else Fleet.objects.all())
    if slug and not found:
        known = ", ".join(Fleet.objects.values_list("slug", flat=True)) or "none yet"
        raise LookupError(f"There is no fleet '{slug}'. Fleets: {known}.")
    return found


def queue_and_send(
    fleet: Fleet,
    now: dt.datetime,
    say: Callable[[str], None] = lambda step: None,
    pause: Callable[[], None] = lambda: None,
) -> Round:
    """Queue today's reminders of a fleet and send what is due.

    ``say`` hears of each of the two; ``pause`` is called before each message, and may raise. What
    it did is kept as a row, which has no end when the round was cut off.
    """
    run, start = RoundRun.objects.create(fleet=fleet, begun_at=now), time.monotonic()
    queued = queue(fleet, fleet.today())
    say(f"Queued: {told(queued)}")
    if ReminderRules.of(fleet).approved_at is None:
        done = Round(queued, Delivered(), waiting(fleet))
    else:
        done = Round(queued, send_due(fleet, now, pause))
        health.tell_of_stuck(fleet, now)
        send_notices(fleet, now)
    ended = now + dt.timedelta(seconds=time.monotonic() - start)
    health.end(run, ended, str(done), queued.new, done.delivered)
    say(f"Sent: {sent(done.delivered)}")
    return done


def waiting(fleet: Fleet) -> int:
    return Reminder.objects.of(fleet).filter(state=Reminder.State.QUEUED).count()


def told(queued: Queued) -> str:
    """Return the counts in words."""
    words = [f"{queued.new} queued", f"{queued.withdrawn} withdrawn"]
    words += [f"{queued.again} to be said after all"] if queued.again else []
    return ", ".join(words + ([f"{queued.missed} missed"] if queued.missed else []))


def sent(delivered: Delivered) -> str:
    """Return the counts in words."""
    words = [f"{delivered.reminders} sent in {delivered.mails} messages"]
    if delivered.failed:
        words.append(f"{delivered.failed} failed")
    if delivered.missed:
        words.append(f"{delivered.missed} missed")
    if delivered.waiting:
        words.append(f"{delivered.waiting} wait for the next day's message")
    return ", ".join(words)
