"""The long work of the whole installation, as rows of ``fleet.work`` ask for it."""

import datetime as dt

from django.conf import settings

from . import backup
from .models import WorkRow
from .work import asking
from .work.doing import Done, NotDone, Running


def back_up(running: Running) -> Done:
    """Keep a copy of the database for that day; begun again, it finds it there."""
    running.plan(1)
    day = running.row.day.isoformat()
    try:
        path = backup.daily(day, max(settings.STAYWARD_BACKUPS, 1), running.say)
    except backup.NotBackedUp as reason:
        raise NotDone(str(reason)) from reason
    return Done(f"The database of {day} is kept in {path}.")


def ask_for_backup(now: dt.datetime) -> None:
    """Ask once a day, unless it is turned off; no fleet's page shows it."""
    if settings.STAYWARD_BACKUPS:
        asking.ask(None, WorkRow.Kind.BACKUP, day=now.date())
