"""A correction of the record is no release: what held the boat before it still holds it after it.

Verdicts and holds follow from facts, so whoever could change the facts at will could release a
boat by it. A slip of one's own, put right within a day, is let through.
"""

import datetime as dt
from collections.abc import Iterator
from contextlib import contextmanager

from django.core.exceptions import ValidationError

from fleet.models import Boat
from fleet.templatetags.wording import day

from ..models import Hold

SLIP = dt.timedelta(days=1)
# What waits to be made good may be corrected: a pin that was never missing.
CAUSES = (Hold.Cause.REPLACE, Hold.Cause.EVENT)
Held = dict[tuple[str, int | None], Hold]


def own_slip(recorded_by_id: int | None, recorded_at: dt.datetime, user, now: dt.datetime) -> bool:
    """Whether somebody puts right what they themselves put on record within the last day."""
    own = user is not None and recorded_by_id is not None and recorded_by_id == user.pk
    return own and now - recorded_at <= SLIP


@contextmanager
def kept(boat: Boat, *, slip: bool = False) -> Iterator[None]:
    """Refuse what is done within, if a condemned part or an event held the boat and no longer does.

    To add what was missing of a renewal is no correction of that kind: it proves the renewal.

    Raises ValidationError at its end, in a transaction of the caller's, which then undoes all of
    it. ``slip``: let it through (see ``own_slip``).
    """
    before = _holding(boat)
    yield
    now = _holding(boat)
    gone = [hold for key, hold in before.items() if key not in now and not _proved(hold)]
    if gone and not slip:
        words = " ".join(hold.reason for hold in gone)
        raise ValidationError(
            f"This correction would release {boat}, held since {day(gone[0].since)}: {words} "
            "Record the renewal or the inspection that ends it, or have a second person, a rigger "
            "or surveyor, judge the part again. Then correct the record."
        )


def _proved(before: Hold) -> bool:
    """Whether the renewal it waited for, on record without proof, is proved now."""
    rows = Hold.objects.filter(pk=before.pk, lifted_on__isnull=False)
    return before.unproved_id is not None and rows.exists()


def _holding(boat: Boat) -> Held:
    rows = Hold.objects.standing().filter(boat=boat, cause__in=CAUSES).order_by("since", "pk")
    held: Held = {}
    for row in rows:
        held.setdefault((row.cause, row.installation_id), row)
    return held
