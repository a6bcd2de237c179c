"""Parts like one that went, and not looked at since: of its batch, of its fitter and day, its pair;
and, where it let go in service, in its place on boats of the same design.

One row a boat. By when is the fleet's own rule (common practice, no source); the pair is now.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator

from django.db.models import Q

from fleet.models import Boat, Fleet, Installation
from fleet.templatetags.wording import day

from ..aftermath import alike
from ..judgement.history import name_of
from ..models import Hold, PartVerdict, VerdictValue
from .row import Due, Kind, fitted, listed

Removal = Installation.Removal
# What went before that has had a comprehensive look by the fleet's own interval since.
BACK = dt.timedelta(days=365)
SINCE = ". Nobody has looked there since."


def parts_alike(fleet: Fleet, boats: dict[int, Boat], today: dt.date) -> Iterator[Due]:
    """Yield one look a boat at its parts like those that went within the last year."""
    waiting = defaultdict(list)
    for gone, each in _listed(fleet, today):
        boat, part = each.part.stay.boat_id, each.part
        if boat in boats and each.looked is None and part.condemned_on is None:
            by = gone.on + dt.timedelta(days=fleet.alike_days)
            waiting[boat].append((by, part.pk, f"{each.name}: {_why(gone, each)}"))
    for boat, since, part, words in _pairs(boats):
        waiting[boat].append((since, part, words))
    for boat, rows in waiting.items():
        first: dict[int, tuple[dt.date, int, str]] = {}
        for row in sorted(rows):
            first.setdefault(row[1], row)
        found = sorted(first.values())
        words = fitted(listed(words for _, _, words in found), SINCE)
        yield Due(boats[boat], Kind.ALIKE, found[0][0], words)


def _listed(fleet: Fleet, today: dt.date) -> Iterator[tuple[alike.Gone, alike.Alike]]:
    gone = _gone(fleet, today)
    like = alike.of_fleet(gone, fleet)
    for each in gone:
        found = like[each.part.pk]
        if each.part.removal_reason == Removal.FAILED:
            found = [*found, *alike.sisters(each.part, each.on, each.spot)]
        for other in found:
            if not other.part.fitted_on or other.part.fitted_on <= each.on:
                yield each, other


def _gone(fleet: Fleet, today: dt.date) -> list[alike.Gone]:
    """Return what was condemned or let go within a year, with the spot where, if known."""
    since = today - BACK
    off = Q(removal_reason__in=(Removal.FAILED, Removal.CONDEMNED), removed_on__gte=since)
    rows = Installation.objects.of(fleet).filter(Q(condemned_on__gte=since) | off)
    parts = list(rows.select_related("stay__boat__fleet").order_by("pk"))
    found = PartVerdict.objects.filter(installation__in=parts, value=VerdictValue.REPLACE)
    spots = dict(found.order_by("-inspection__on", "-pk").values_list("installation", "spot"))
    return [
        alike.Gone(part, on, spots.get(part.pk) or part.removal_spot)
        for part in parts
        if (on := part.condemned_on or part.removed_on) and since <= on <= today
    ]


def _why(gone: alike.Gone, each: alike.Alike) -> str:
    part = gone.part
    how = "let go" if part.removal_reason == Removal.FAILED else "condemned"
    what = f"{name_of(part).lower()} of {part.stay.boat.name}"
    return f"{each.why} as the {what}, {how} {day(gone.on)}"


def _pairs(boats: dict[int, Boat]) -> Iterator[tuple[int, dt.date, int, str]]:
    """The wire opposite one that went: its boat is held until somebody has looked there."""
    rows = Hold.objects.standing().filter(boat__in=boats, cause=Hold.Cause.PAIR)
    for hold in rows.exclude(installation=None):
        yield hold.boat_id, hold.since, hold.installation_id, hold.reason
