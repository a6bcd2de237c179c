"""What nobody is reminded of for a while: snoozed, or done elsewhere and accepted.

Neither is a sight of any spot: the thing stays due on the pages, verdicts, holds and forecasts do
not change, and reminders of it begin again on the day said.
"""

import datetime as dt

from django.db import transaction

from fleet.models import Boat, Change, Fleet

from ..due import SATISFIED_BY, months_after
from ..models import Reminder, SetAside
from . import evidence

Kind = Reminder.Kind
How, State = SetAside.How, SetAside.State
NEVER = ("held", "event")  # Facts alone end these, and they are heard of until then.
NEARER = dt.timedelta(days=7)  # A date that moved by more is another matter.
LONGEST = dt.timedelta(days=60)
A_YEAR = 12

Quiet = dict[tuple[int, str, str], SetAside]


def in_force(fleet: Fleet, today: dt.date) -> Quiet:
    """Return (boat, kind, about) -> what keeps its reminders back on that day."""
    rows = SetAside.objects.of(fleet).in_force(today).exclude(kind__in=NEVER)
    return {(row.boat_id, row.kind, row.about): row for row in rows.order_by("until", "pk")}


def keeps_back(quiet: Quiet, boat: int, kind: str, about: str, due_on: dt.date) -> bool:
    """Return whether nobody is told of that thing: set aside, and still the same thing.

    A look asked for by an interval may move on; one due much earlier by now is said all the same,
    and so is another re-check than the one that was set aside.
    """
    row = quiet.get((boat, kind, about))
    if row is None or due_on < row.due_on - NEARER:
        return False
    return kind in SATISFIED_BY or due_on <= row.due_on + NEARER


@transaction.atomic
def snooze(boat: Boat, what: dict, until: dt.date, reason: str, user, now: dt.datetime) -> SetAside:
    """Keep reminders of a thing back until a day. ``what``: kind, about, due_on."""
    row = SetAside.objects.create(
        boat=boat, how=How.SNOOZE, state=State.STANDS, until=until, reason=reason,
        **what, **_by(user, now),
    )  # fmt: skip
    _log(row, f"not now, until {until:%d %b %Y}: {reason}", user)
    return row


@transaction.atomic
def offer(
    boat: Boat, what: dict, done_on: dt.date, reason: str, file, user, now: dt.datetime
) -> SetAside:
    """Say that a thing was done elsewhere. It waits until somebody in charge accepts it.

    Raises ValidationError for a file that is neither a PDF nor a photo.
    """
    row = SetAside(
        boat=boat, how=How.ELSEWHERE, state=State.OFFERED, done_on=done_on, reason=reason,
        until=until_of(boat.fleet, what["kind"], done_on), **what, **_by(user, now),
    )  # fmt: skip
    if file:
        row.evidence, row.evidence_name = evidence.keep(boat.fleet_id, file)
    row.save()
    _log(row, f"said to be done elsewhere on {done_on:%d %b %Y}: {reason}", user)
    return row


def until_of(fleet: Fleet, kind: str, done_on: dt.date) -> dt.date:
    """Return when people are reminded again: after the fleet's interval, for the rest a year."""
    months = {
        Kind.DECK: fleet.deck_check_months,
        Kind.ALOFT: fleet.aloft_months,
        Kind.MAST_DOWN: fleet.mast_down_months,
    }
    return months_after(done_on, months.get(kind, A_YEAR))


@transaction.atomic
def decide(row: SetAside, step: str, words: str, user, now: dt.datetime) -> bool:
    """Accept, decline or take back; False when it was over already. All of it is kept."""
    allowed = {
        "accept": ((State.OFFERED,), State.ACCEPTED),
        "decline": ((State.OFFERED,), State.DECLINED),
        "undo": ((State.STANDS, State.OFFERED, State.ACCEPTED, State.DECLINED), State.UNDONE),
    }
    before, after = allowed[step]
    still = SetAside.objects.filter(pk=row.pk, state__in=before)
    decided = {"decided_by": _name(user), "decided_at": now, "decision": words[:300]}
    if still.update(state=after, **decided) != 1:
        return False
    _log(row, f"{row.get_how_display()}: {State(after).label}. {words}".strip(), user)
    return True


def _by(user, now: dt.datetime) -> dict:
    return {"by": user, "by_name": _name(user), "at": now}


def _name(user) -> str:
    return user.get_full_name() or user.get_username()


def _log(row: SetAside, words: str, user) -> None:
    what = f"Reminder of {row.get_kind_display()}: {words}"
    Change.objects.create(fleet=row.boat.fleet, boat=row.boat, what=what[:200], by=user)
