"""The daily round: queue what is due, then send it. Commands and Celery ring here alike."""

import datetime as dt
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


def queue_and_send(fleet: Fleet, now: dt.datetime) -> Round:
    """Queue today's reminders of a fleet and send what is due."""
    return Round(queue(fleet, fleet.today()), send_due(fleet, now))
