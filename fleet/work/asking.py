"""Ask for long work, and ask for it to be cancelled."""

import datetime as dt

from django.conf import settings
from django.db import IntegrityError, transaction
from django.utils import timezone

from ..models import Fleet, WorkRow
from ..tasks import do_work


def ask(
    fleet: Fleet | None,
    kind: str,
    by=None,
    *,
    key: str = "",
    day: dt.date | None = None,
    **arguments,
) -> WorkRow:
    """Return the row of the work asked for: a new one, or the one that says the same already.

    ``fleet`` is None for work of the whole installation.

    The same: one of this kind and key that waits; with ``day``, any of this kind and day, which
    makes it once a day. ``arguments`` must be plain JSON. In production the worker's bell is rung
    when the transaction commits; should that fail, the next tick rings again.
    """
    if day is not None and not key:
        key = day.isoformat()  # Yesterday's may still wait: a day's work is alike by its day alone.
    same = alike(fleet, kind, key, day)
    if same is not None:
        return same
    try:
        with transaction.atomic():
            row = WorkRow.objects.create(
                fleet=fleet, kind=kind, asked_by=by, asked_at=timezone.now(), key=key, day=day,
                arguments=arguments,
            )  # fmt: skip
    except IntegrityError:  # Somebody asked in between, and it may have been claimed already.
        return ask(fleet, kind, by, key=key, day=day, **arguments)

    def bell() -> None:  # Named: what Django logs of a bell that fails needs a function.
        ring(row.pk)

    transaction.on_commit(bell, robust=True)
    return row


def alike(fleet: Fleet | None, kind: str, key: str, day: dt.date | None) -> WorkRow | None:
    rows = WorkRow.objects.of(fleet).filter(kind=kind)
    rows = rows.filter(day=day) if day else rows.filter(key=key, state=WorkRow.State.WAITING)
    return rows.first()


def ring(pk: int) -> None:
    """Tell the workers of production; embedded, the ticker looks by itself."""
    if settings.CELERY_BROKER_URL:
        do_work.delay(pk)


def cancel(row: WorkRow, by) -> bool:
    """Cancel what waits, and ask what is under way to stop at its next step; False when over."""
    name = by.get_full_name() or by.get_username()
    same = WorkRow.objects.filter(pk=row.pk)
    waiting = same.filter(state=WorkRow.State.WAITING)
    ended = {"ended_at": timezone.now(), "outcome": f"Cancelled by {name} before it began."}
    if waiting.update(state=WorkRow.State.CANCELLED, cancel_asked=True, **ended):
        return True
    return bool(same.filter(state=WorkRow.State.RUNNING).update(cancel_asked=True))
