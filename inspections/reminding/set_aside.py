"""What nobody is reminded of for a while: snoozed, or done elsewhere and accepted.

Neither is a sight of any spot: the thing stays due on the pages, verdicts, holds and forecasts do
not change, and reminders of it begin again on the day said.
"""

import datetime as dt

from fleet.models import Fleet

from ..models import Reminder, SetAside

Kind = Reminder.Kind
NEVER = (Kind.HELD,)  # A held boat is released by facts alone, and heard of until then.
NEARER = dt.timedelta(days=7)  # A date that moved up by more is another matter.

Quiet = dict[tuple[int, str, str], SetAside]


def in_force(fleet: Fleet, today: dt.date) -> Quiet:
    """Return (boat, kind, about) -> what keeps its reminders back on that day."""
    rows = SetAside.objects.of(fleet).in_force(today).exclude(kind__in=NEVER)
    return {(row.boat_id, row.kind, row.about): row for row in rows.order_by("until", "pk")}


def keeps_back(quiet: Quiet, boat: int, kind: str, about: str, due_on: dt.date) -> bool:
    """Return whether nobody is told of that thing: set aside, and not due much earlier by now."""
    row = quiet.get((boat, kind, about))
    return row is not None and due_on >= row.due_on - NEARER
