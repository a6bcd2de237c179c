"""What the fleet's own intervals ask for, and what risk asks for before them."""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterator

from django.db.models import Max

from fleet.models import Boat, Fleet, Installation, Stay
from fleet.templatetags.wording import day

from ..judgement.history import name_of
from ..models import InspectBy, Inspection
from .row import SATISFIED_BY, Due, Kind, fitted, listed

IN_FOIL = " Its wire inside the furler foil is seen no other way."


def months_after(day: dt.date, months: int) -> dt.date:
    """Return the same day so many months on; the last of the month where it has no such day."""
    year, month = divmod(day.month - 1 + months, 12)
    first_of_next = dt.date(day.year + year + (month + 1) // 12, (month + 1) % 12 + 1, 1)
    last = first_of_next - dt.timedelta(days=1)
    return last.replace(day=min(day.day, last.day))


def earliest(fleet: Fleet, boats: dict[int, Boat]) -> list[Due]:
    """Return one row a boat and level: where interval and risk both ask, what comes first."""
    found = [*_by_policy(fleet, boats), *_by_risk(boats)]
    first: dict[tuple[int, str], Due] = {}
    for each in sorted(found, key=lambda each: each.on):
        first.setdefault((each.boat.pk, each.kind), each)
    return list(first.values())


def _by_policy(fleet: Fleet, boats: dict[int, Boat]) -> Iterator[Due]:
    """The fleet's intervals, from the last whole look of at least that level, else from joining."""
    looks = defaultdict(dict)
    rows = Inspection.objects.filter(boat__in=boats).whole().order_by().values_list("boat", "level")
    for boat, level, last in rows.annotate(last=Max("on")):
        looks[boat][level] = last
    months = {
        Kind.DECK: fleet.deck_check_months,
        Kind.ALOFT: fleet.aloft_months,
        Kind.MAST_DOWN: fleet.mast_down_months,
    }
    hidden = set(Stay.objects.filter(boat__in=boats, in_foil=True).values_list("boat", flat=True))
    for pk, boat in boats.items():
        for kind, levels in SATISFIED_BY.items():
            seen = [looks[pk][level] for level in levels if level in looks[pk]]
            why = IN_FOIL if kind == Kind.MAST_DOWN and pk in hidden else ""
            yield _of_interval(boat, kind, max(seen, default=None), months[kind], why)


def _of_interval(boat: Boat, kind: str, last: dt.date | None, months: int, why: str) -> Due:
    rule = f"The fleet's rule is every {months} months."
    if last:
        reason = f"Last whole one {day(last)}. {rule}"
    else:
        reason = f"None on record since the boat joined on {day(boat.joined)}. {rule}"
    return Due(boat, kind, months_after(last or boat.joined, months), reason + why)


def _by_risk(boats: dict[int, Boat]) -> Iterator[Due]:
    """The forecast's date, only while it rests on the boat's latest inspection."""
    rows = Inspection.objects.filter(boat__in=boats).order_by("on", "pk")
    latest = dict(rows.values_list("boat", "pk"))
    for row in InspectBy.objects.filter(boat__in=boats):
        if row.rests_on_id == latest.get(row.boat_id):
            yield Due(boats[row.boat_id], row.level, row.date, row.reason)


def by_insurer(fleet: Fleet, boats: dict[int, Boat]) -> Iterator[Due]:
    """Wires that reach the age up to which the insurer covers them, as the fleet's rules have it.

    A date known to the year counts from its January; one that is only estimated, as it stands.
    """
    years = fleet.insurer_age_years
    if not years:
        return
    wires = Installation.objects.standing().filter(kind=Installation.Kind.WIRE)
    reached = defaultdict(list)
    for part in wires.filter(stay__boat__in=boats, fitted_on__isnull=False).select_related("stay"):
        since = part.fitted_on
        if part.fitted_certainty == Installation.Certainty.YEAR:
            since = since.replace(month=1, day=1)
        reached[part.stay.boat_id].append((months_after(since, round(years * 12)), part))
    for boat, rows in reached.items():
        rows.sort(key=lambda row: (row[0], row[1].pk))
        words = listed(f"{name_of(part)} {day(on)}" for on, part in rows)
        rule = f"The insurer covers wires up to {years:g} years, as the fleet's rules have it"
        yield Due(boats[boat], Kind.AGE, rows[0][0], fitted(f"{rule}: {words}."))
