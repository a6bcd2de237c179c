"""The verdict a part stands under today, from all its inspections.

A later look changes a verdict only where it looked: a *watch* at the upper end stays in force
after a deck check that passed the lower end.
"""

from collections.abc import Iterable

from ..models import PartVerdict, VerdictValue

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


def of_parts(
    installation_ids: Iterable[int], *, with_reasons: bool = True
) -> dict[int, PartVerdict]:
    """Return installation id -> the verdict in force, in one query. Never looked at: absent.

    Without the reasons and all but the day of each look, a fleet's are read in half the time.
    """
    verdicts = (
        PartVerdict.objects.filter(installation__in=installation_ids)
        .select_related("inspection")
        .order_by("installation", "-inspection__on", "-inspection__pk")
    )
    if not with_reasons:
        verdicts = verdicts.only(
            "installation_id", "value", "spot", "again_by", *SPOTS, "inspection__on"
        )
    by_part: dict[int, list[PartVerdict]] = {}
    for verdict in verdicts:
        by_part.setdefault(verdict.installation_id, []).append(verdict)
    return {part: in_force(newest_first) for part, newest_first in by_part.items()}


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
