"""What is due on which boat, by when and why: the fleet's own intervals, risk, and what was found.

Pure questions to the record; the day is an argument. Where several rules ask for the same look the
earliest date counts, and its sentence is the one shown.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django.db.models import Max

from fleet.models import Boat, Fleet, Installation, Stay
from fleet.templatetags.wording import day

from .aftermath.waiting import waiting
from .judgement import standing_verdicts
from .judgement.history import name_of
from .models import Hold, InspectBy, Inspection, PartVerdict, Reminder, VerdictValue

Level = Inspection.Level
Kind = Reminder.Kind
# Which looks satisfy which interval: a deeper one does for all above it.
SATISFIED_BY = {
    Kind.DECK: (Level.DECK, Level.ALOFT, Level.MAST_DOWN),
    Kind.ALOFT: (Level.ALOFT, Level.MAST_DOWN),
    Kind.MAST_DOWN: (Level.MAST_DOWN,),
}
IN_FOIL = " Its wire inside the furler foil is seen no other way."
LOOKS = (*SATISFIED_BY, Kind.RECHECK)  # What asks for a look; the rest asks for work or a word.
OPEN = (VerdictValue.WATCH, VerdictValue.REFER)
NAMED = 2
LENGTH = Reminder._meta.get_field("reason").max_length


@dataclass(frozen=True)
class Due:
    """One thing due on one boat: ``kind`` as reminders have it, the day, and why in a sentence."""

    boat: Boat
    kind: str
    on: dt.date
    reason: str
    about: str = ""

    def late_by(self, today: dt.date) -> int:
        """Return the days it is late; negative while there is still time."""
        return (today - self.on).days


def due(fleet: Fleet, today: dt.date) -> list[Due]:
    """Return what is due on the boats now in the fleet, however far ahead, soonest first."""
    boats = {
        boat.pk: boat for boat in Boat.objects.of(fleet).standing(today).select_related("base")
    }
    found = [*_by_policy(fleet, boats), *_by_risk(boats)]
    earliest: dict[tuple[int, str], Due] = {}
    for each in sorted(found, key=lambda each: each.on):
        earliest.setdefault((each.boat.pk, each.kind), each)
    after = [Due(boats[each.boat], each.kind, each.on, each.reason) for each in waiting(boats)]
    everything = [*earliest.values(), *_rechecks(boats), *_held(boats), *after]
    return sorted(everything, key=lambda each: (each.on, each.boat.name, each.kind))


def months_after(day: dt.date, months: int) -> dt.date:
    """Return the same day so many months on; the last of the month where it has no such day."""
    year, month = divmod(day.month - 1 + months, 12)
    first_of_next = dt.date(day.year + year + (month + 1) // 12, (month + 1) % 12 + 1, 1)
    last = first_of_next - dt.timedelta(days=1)
    return last.replace(day=min(day.day, last.day))


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


def _rechecks(boats: dict[int, Boat]) -> Iterator[Due]:
    """Verdicts that said to look again by a day, on parts still up and not looked at since."""
    asked = PartVerdict.objects.filter(
        installation__stay__boat__in=boats,
        installation__removed_on=None,
        installation__condemned_on=None,
        again_by__isnull=False,
    )
    parts = Installation.objects.filter(pk__in=asked.values("installation")).select_related("stay")
    by_pk = parts.in_bulk()
    by_boat = defaultdict(list)
    for pk, verdict in standing_verdicts.of_parts(by_pk, with_reasons=False).items():
        if verdict.value in OPEN and verdict.again_by:
            by_boat[by_pk[pk].stay.boat_id].append((verdict, by_pk[pk]))
    for boat, rows in by_boat.items():
        rows.sort(key=lambda row: (row[0].again_by, row[1].pk))
        words = [f"{name_of(part)}: {row.get_value_display()}" for row, part in rows]
        reason = f"{_listed(words)}, since {day(rows[0][0].inspection.on)}."
        yield Due(boats[boat], Kind.RECHECK, rows[0][0].again_by, reason)


def _held(boats: dict[int, Boat]) -> Iterator[Due]:
    """Boats that do not sail until something is done."""
    by_boat = defaultdict(list)
    for hold in Hold.objects.standing().filter(boat__in=boats).order_by("since", "pk"):
        by_boat[hold.boat_id].append(hold)
    for boat, holds in by_boat.items():
        reason = _listed([hold.reason for hold in holds])[: LENGTH - 1] + "."
        yield Due(boats[boat], Kind.HELD, holds[0].since, reason)


def _listed(words: Iterable[str]) -> str:
    words = [each.rstrip(".") for each in words]
    rest = len(words) - NAMED
    return "; ".join(words[:NAMED]) + (f"; and {rest} more" if rest > 0 else "")
