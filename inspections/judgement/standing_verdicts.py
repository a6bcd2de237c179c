"""The verdict a part stands under today, from all its inspections.

A later look changes a verdict only where it looked: a *watch* at the upper end stays in force
after a deck check that passed the lower end. An event (lightning, collision, ...) voids every
*keep* of that day and before; what asked for something still asks for it.
"""

import datetime as dt
from collections.abc import Iterable

from django.db.models import Max

from ..criteria import DEFAULT
from ..models import Finding, PartVerdict, VerdictValue

WORST_FIRST = (
    VerdictValue.REPLACE,
    VerdictValue.MAKE_GOOD,
    VerdictValue.REFER,
    VerdictValue.WATCH,
    VerdictValue.NOT_ASSESSED,
    VerdictValue.KEEP,
    VerdictValue.NOT_SEEN,
)
SPOTS = ("lower", "run", "upper", "whole")
VOIDING = [sign.code for sign in DEFAULT.signs if sign.voids]


def of_parts(
    installation_ids: Iterable[int], *, with_reasons: bool = True
) -> dict[int, PartVerdict]:
    """Return installation id -> the verdict in force, in two queries. Never looked at, or not
    since an event that voids what was seen: absent, or *not seen*.

    Without the reasons and all but the day of each look, a fleet's are read in half the time.
    """
    verdicts = (
        PartVerdict.objects.filter(installation__in=installation_ids)
        .select_related("inspection")
        .order_by("installation", "-inspection__on", "-inspection__pk")
    )
    if not with_reasons:
        verdicts = verdicts.only(
            *("installation_id", "value", "spot", "again_by", *SPOTS),
            *("inspection__on", "inspection__boat_id"),
        )
    voided_until = last_events()
    by_part: dict[int, list[PartVerdict]] = {}
    for verdict in verdicts:
        look = verdict.inspection
        until = voided_until.get(look.boat_id)
        if until and look.on <= until and verdict.value == VerdictValue.KEEP:
            continue
        by_part.setdefault(verdict.installation_id, []).append(verdict)
    return {part: in_force(newest_first) for part, newest_first in by_part.items()}


def last_events() -> dict[int, dt.date]:
    """Return boat id -> the day of the last event that voids what was seen of its rig before."""
    events = Finding.objects.filter(sign__in=VOIDING, place="whole_rig").order_by()
    rows = events.values_list("inspection__boat").annotate(last=Max("inspection__on"))
    return dict(rows)


def in_force(newest_first: list[PartVerdict]) -> PartVerdict:
    """Return the worst verdict whose own spot nobody has looked at since.

    ``newest_first`` holds at least one verdict. *Not seen* says nothing: it is returned only
    when there is nothing else.
    """
    looked_at: set[str] = set()
    open_verdicts = []
    for verdict in newest_first:
        seen = {spot for spot in SPOTS if getattr(verdict, spot) not in ("", "not_seen")}
        if not looked_at or (verdict.spot and verdict.spot not in looked_at):
            open_verdicts.append(verdict)
        looked_at |= seen
    return min(open_verdicts, key=lambda verdict: WORST_FIRST.index(verdict.value))
