"""What the clock asks for, and work whose bell was lost. Ticking twice asks for nothing twice."""

import datetime as dt
import logging
from collections.abc import Callable

from django.conf import settings
from django.utils import timezone
from django.utils.module_loading import import_string

from ..models import WorkRow
from . import claiming, doing

log = logging.getLogger(__name__)


def ask_due(now: dt.datetime) -> None:
    """Let each app ask for the work that is due by the clock."""
    for name in settings.STAYWARD_ROUNDS:
        import_string(name)(now)


def to_ring(now: dt.datetime) -> list[int]:
    """Return the work nobody has in hand: what waits, and what got stuck."""
    open_rows = WorkRow.objects.stuck(now) | WorkRow.objects.filter(state=WorkRow.State.WAITING)
    return list(open_rows.order_by("asked_at", "pk").values_list("pk", flat=True))


def work_through(stopping: Callable[[], bool] = lambda: False) -> int:
    """Claim and do all the work there is; return how many rows."""
    done = 0
    while not stopping() and (row := claiming.claim(timezone.now())):
        doing.do(row, stopping)
        done += 1
    return done
