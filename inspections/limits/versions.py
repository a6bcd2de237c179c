"""The versions of a fleet's criteria in order: who changed what, since when, and why."""

import datetime as dt
from dataclasses import dataclass

from django.core.exceptions import ValidationError
from django.db import transaction

from fleet.models import Fleet
from fleet.templatetags.wording import day

from ..criteria import DEFAULT, Criteria, Sign
from ..criteria.changes import Difference, differences
from ..models import CriteriaVersion, Inspection

A_YEAR = dt.timedelta(days=366)


@dataclass(frozen=True)
class Decision:
    """One version as a page shows it: the row, and what it changed of the one before."""

    row: CriteriaVersion
    criteria: Criteria
    differences: list[Difference]


def decisions(fleet: Fleet) -> list[Decision]:
    """Return every change of the fleet's criteria, oldest first."""
    made, before = [], DEFAULT
    for row in fleet.criteria_versions.order_by("since", "pk"):
        after = Criteria.from_dict(row.data).completed_by(DEFAULT)
        made.append(Decision(row, after, differences(before, after)))
        before = after
    return made


def newest(fleet: Fleet) -> Criteria:
    """Return the criteria that a further change starts from, in force already or still to be."""
    made = decisions(fleet)
    return made[-1].criteria if made else DEFAULT


def own_since(made: list[Decision], today: dt.date) -> dict[str, dt.date]:
    """Return sign code -> since when the rule now in force is the fleet's own."""
    days: dict[str, dt.date] = {}
    for decision in made:
        if decision.row.since > today:
            break
        for each in decision.differences:
            days[each.code] = decision.row.since
            if _as_in_book(decision.criteria[each.code]):
                del days[each.code]
    return days


def _as_in_book(sign: Sign) -> bool:
    return sign.code in DEFAULT and not list(differences(Criteria((sign,)), DEFAULT))


def earliest(fleet: Fleet) -> dt.date:
    """Return the first day from which a new rule may hold, so that no verdict given changes.

    Not before today, not on a day of which an inspection is already judged, and not before a
    change entered earlier: that one would not hold this one's.
    """
    days = [fleet.today()]
    looks = Inspection.objects.of(fleet).order_by("-on").values_list("on", flat=True)
    if looks and looks[0] >= days[0]:
        days.append(looks[0] + dt.timedelta(days=1))
    days += fleet.criteria_versions.order_by("-since").values_list("since", flat=True)[:1]
    return max(days)


def check_since(fleet: Fleet, since: dt.date) -> None:
    """Refuse a day that would reach back, or one so far off that it is a slip; ValidationError."""
    first = earliest(fleet)
    if since < first:
        raise ValidationError(
            f"A rule cannot hold from {day(since)}: verdicts already given, and changes already "
            f"entered, stay as they are. The first day it can hold from is {day(first)}."
        )
    if since > max(first, fleet.today()) + A_YEAR:
        raise ValidationError(
            f"{day(since)} is more than a year ahead. Give a day within the year; enter a later "
            "change when it is nearer."
        )


@transaction.atomic
def decide(fleet: Fleet, code: str, change: dict, since: dt.date, reason: str, user) -> Criteria:
    """Put one change of one sign on record, in force from ``since``; return the new criteria.

    ``change`` holds ``limit``, ``again_days`` and ``outcome`` where they differ. Raises
    ValidationError for a day that reaches back and ValueError for what the criteria refuse.
    """
    # The lock makes two managers take turns, so that the second starts from what the first wrote.
    Fleet.objects.select_for_update().get(pk=fleet.pk)
    check_since(fleet, since)
    own = newest(fleet).changed(code, since=since, reason=reason, **change)
    CriteriaVersion.objects.create(
        fleet=fleet,
        since=since,
        reason=reason,
        decided_by=(user.get_full_name() or user.get_username())[:120],
        entered_on=fleet.today(),
        data=own.to_dict(),
    )
    return own
