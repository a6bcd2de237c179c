"""Finished work is taken out after a while; what waits or is in hand never is."""

import datetime as dt

from django.db.models import Q

from ..models import WorkRow
from . import files

State = WorkRow.State
KEPT = dt.timedelta(days=30)
FAILED_KEPT = dt.timedelta(days=180)  # Somebody may still have to find out why.


def prune(now: dt.datetime) -> None:
    """Delete rows that ended long ago, and files nobody will fetch any more."""
    done = Q(state__in=(State.DONE, State.CANCELLED), ended_at__lt=now - KEPT)
    failed = Q(state=State.FAILED, ended_at__lt=now - FAILED_KEPT)
    WorkRow.objects.filter(done | failed).delete()
    files.sweep(now)
