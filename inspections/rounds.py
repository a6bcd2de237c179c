"""The daily round: queue what is due, then send it. Commands and work rows call it alike."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass

from fleet.models import Fleet

from .delivery import Delivered, send_due
from .reminders import Queued, queue


@dataclass(frozen=True)
class Round:
    """What one fleet's round did."""

    queued: Queued
    delivered: Delivered


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

    ``say`` hears of each of the two; ``pause`` is called before each message, and may raise.
    """
    queued = queue(fleet, fleet.today())
    say(f"Queued: {told(queued)}")
    delivered = send_due(fleet, now, pause)
    say(f"Sent: {sent(delivered)}")
    return Round(queued, delivered)


def told(queued: Queued) -> str:
    """Return the counts in words."""
    words = [f"{queued.new} queued", f"{queued.withdrawn} withdrawn"]
    return ", ".join(words + ([f"{queued.again} to be tried again"] if queued.again else []))


def sent(delivered: Delivered) -> str:
    """Return the counts in words."""
    words = [f"{delivered.reminders} sent in {delivered.mails} messages"]
    if delivered.failed:
        words.append(f"{delivered.failed} failed")
    if delivered.waiting:
        words.append(f"{delivered.waiting} wait for the next day's message")
    return ", ".join(words)
