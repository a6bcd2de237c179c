"""A short mark of a boat's record: another mark, and a forecast made before is behind.

It counts what is put on record (inspections, parts on and off) and what is noted of each change
to it: an inspection corrected or withdrawn, parts or the boat corrected. So nothing that records
has to tell the forecast; whoever reads compares.
"""

from collections.abc import Iterable

from django.db.models import Count, Max, QuerySet

from fleet.models import Boat, Change, Installation
from inspections.models import Inspection


def marks(boats: QuerySet[Boat]) -> dict[int, str]:
    """Return boat -> mark of its record as it is, in three queries."""
    known = list(boats.order_by().values_list("pk", flat=True))
    among = boats.order_by().values("pk")
    looks = Inspection.objects.filter(boat__in=among).values_list("boat")
    parts = Installation.objects.filter(stay__boat__in=among).values_list("stay__boat")
    changes = Change.objects.filter(boat__in=among).values_list("boat")
    counts = (
        looks.annotate(Count("pk"), Max("pk")),
        parts.annotate(Count("pk"), Count("removed_on")),
        changes.annotate(Count("pk")),
    )
    counted = [_by_boat(rows.order_by()) for rows in counts]
    return {pk: " ".join(each.get(pk, "0") for each in counted) for pk in known}


def _by_boat(rows: Iterable[tuple]) -> dict[int, str]:
    return {boat: "-".join(map(str, numbers)) for boat, *numbers in rows}
