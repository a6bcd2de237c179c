"""A row of work becomes one worker's, by an update that must hit exactly one row."""

import datetime as dt
import secrets
from collections.abc import Iterator

from django.db import IntegrityError, transaction
from django.db.models import Exists, F, OuterRef

from ..models import WorkRow

State = WorkRow.State
# Renewed while the work is done. Whoever has not renewed it for so long is gone.
LEASE = dt.timedelta(minutes=2)
TRIES = 3


def claim(now: dt.datetime, pk: int | None = None) -> WorkRow | None:
    """Return the oldest work to do, or the one of that key, as ours; None when there is none.

    Waiting work, unless one of its kind is under way in that fleet; and stuck work.
    """
    give_up(now)
    for row in claimable(now, pk):
        if take(row, now):
            row.refresh_from_db()
            return row
    return None


def claimable(now: dt.datetime, pk: int | None) -> Iterator[WorkRow]:
    """Yield stuck work first: what waits may wait for it."""
    rows = WorkRow.objects.filter(pk=pk) if pk else WorkRow.objects.all()
    rows = rows.select_related("fleet").order_by("asked_at", "pk")
    yield from rows.stuck(now)
    alike = WorkRow.objects.filter(
        fleet=OuterRef("fleet"), kind=OuterRef("kind"), state=State.RUNNING
    )
    yield from rows.filter(~Exists(alike), state=State.WAITING)


def take(row: WorkRow, now: dt.datetime) -> bool:
    """Return whether the row is ours now: nobody else took it, or began one of its kind."""
    still = WorkRow.objects.filter(
        pk=row.pk, state=row.state, claim=row.claim, lease_until=row.lease_until
    )
    if row.lease_until is None:
        still = WorkRow.objects.filter(pk=row.pk, state=row.state, lease_until__isnull=True)
    ours = {"claim": secrets.token_hex(16), "claimed_at": now, "lease_until": now + LEASE}
    begin = {"state": State.RUNNING, "steps_done": 0, "step": "", "tries": F("tries") + 1}
    try:
        with transaction.atomic():
            return still.update(**ours, **begin) == 1
    except IntegrityError:  # one_running_work_of_a_kind: another began in between
        return False


def renew(row: WorkRow, now: dt.datetime) -> bool:
    """Put off the end of our lease; False when the row is no longer ours."""
    ours = WorkRow.objects.filter(pk=row.pk, claim=row.claim, state=State.RUNNING)
    return ours.update(lease_until=now + LEASE) == 1


def give_up(now: dt.datetime) -> None:
    """End, in words, what was stuck too often and what was to be cancelled when it got stuck."""
    stuck = WorkRow.objects.stuck(now)
    stuck.filter(cancel_asked=True).update(
        state=State.CANCELLED, ended_at=now, outcome="Cancelled; who had it in hand was gone."
    )
    stuck.filter(tries__gte=TRIES).update(
        state=State.FAILED,
        ended_at=now,
        outcome=f"Begun {TRIES} times, and each time the program that did it was ended before it "
        "was through. Nothing half done was kept. Ask for it again, and tell who runs "
        "the server: memory may have run out.",
    )
