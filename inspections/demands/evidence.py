"""What on record satisfies a demand, boat by boat. Worked out each time, never entered.

- *Parts renewed*: every part asked for was fitted, by invoice or log, since the day that counts, or
  is by its date too young for the clause; none is condemned, and none that went is still missing.
- *A report*: one of a rigger or surveyor is attached, or they inspected the whole boat aloft or
  with the mast down.
- *Mast out*: the whole boat was inspected with the mast down.

What satisfies it here is what the fleet can show. Whether that is enough, who asked decides.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field

from fleet.models import Boat, Installation
from fleet.templatetags.wording import day

from ..followups import Report
from ..judgement.history import name_of
from ..models import Demand, Inspection

DAYS_A_YEAR = 365.25
Certainty = Installation.Certainty
WENT = (Installation.Removal.FAILED, Installation.Removal.CONDEMNED)
QUALIFIED = (Inspection.Competence.RIGGER, Inspection.Competence.SURVEYOR)
NAMED = 3
NO_PART = "No such part is on record on this boat: enter its rig first."


@dataclass(frozen=True)
class Answer:
    """How one boat stands to one demand; ``shown`` are the rows that say so, in words."""

    satisfied: bool
    shown: tuple[str, ...] = ()
    missing: str = ""
    parts: tuple[Installation, ...] = ()
    looks: tuple[Inspection, ...] = ()
    reports: tuple[Report, ...] = ()


@dataclass
class _Record:
    """What is on record of the boats of some demands, read once for all."""

    parts: dict[int, list[Installation]] = field(default_factory=lambda: defaultdict(list))
    missing: dict[int, list[Installation]] = field(default_factory=lambda: defaultdict(list))
    looks: dict[int, list[Inspection]] = field(default_factory=lambda: defaultdict(list))
    reports: dict[int, list[Report]] = field(default_factory=lambda: defaultdict(list))


def of_demands(demands: Iterable[Demand]) -> dict[int, dict[int, Answer]]:
    """Return demand id -> boat id -> how it stands, in a few queries for any number."""
    demands = list(demands)
    boats = {boat.pk: boat for demand in demands for boat in demand.boats.all()}
    record = _read(boats, min((d.counts_from for d in demands), default=dt.date.max))
    return {
        demand.pk: {boat.pk: _answer(demand, boat, record) for boat in demand.boats.all()}
        for demand in demands
    }


def of_demand(demand: Demand) -> list[tuple[Boat, Answer]]:
    """Return the boats of one demand by name, each with how it stands."""
    found = of_demands([demand])[demand.pk]
    return [(boat, found[boat.pk]) for boat in sorted(demand.boats.all(), key=lambda b: b.name)]


def _read(boats: Iterable[int], since: dt.date) -> _Record:
    record, boats = _Record(), list(boats)
    if not boats:
        return record
    parts = Installation.objects.standing().filter(stay__boat__in=boats).select_related("stay")
    for part in parts.order_by("stay__mast", "stay", "kind", "pk"):
        record.parts[part.stay.boat_id].append(part)
    up = {(part.stay_id, part.kind) for own in record.parts.values() for part in own}
    gone = Installation.objects.filter(stay__boat__in=boats, removal_reason__in=WENT)
    for part in gone.select_related("stay").order_by("stay", "kind", "pk"):
        if (part.stay_id, part.kind) not in up:
            record.missing[part.stay.boat_id].append(part)
            up.add((part.stay_id, part.kind))  # Each empty place once.
    looks = Inspection.objects.whole().filter(boat__in=boats, on__gte=since)
    for look in looks.exclude(level=Inspection.Level.DECK).order_by("on", "pk"):
        record.looks[look.boat_id].append(look)
    for report in Report.objects.filter(boat__in=boats, on__gte=since).order_by("on", "pk"):
        record.reports[report.boat_id].append(report)
    return record


def _answer(demand: Demand, boat: Boat, record: _Record) -> Answer:
    looks = [look for look in record.looks[boat.pk] if look.on >= demand.counts_from]
    reports = [row for row in record.reports[boat.pk] if row.on >= demand.counts_from]
    parts = [part for part in record.parts[boat.pk] if _asked_for(demand, part)]
    if demand.wanted == Demand.Wanted.RENEW:
        missing = [part for part in record.missing[boat.pk] if _asked_for(demand, part)]
        return _renewed(demand, parts, missing, reports)
    if demand.wanted == Demand.Wanted.MAST_OUT:
        return _mast_out(demand, parts, looks, reports)
    return _reported(demand, parts, looks, reports)


def _asked_for(demand: Demand, part: Installation) -> bool:
    return (not demand.part_kind or part.kind == demand.part_kind) and (
        not demand.stay_name or part.stay.name == demand.stay_name
    )


def _renewed(
    demand: Demand,
    parts: list[Installation],
    gone: list[Installation],
    reports: list[Report],
) -> Answer:
    new = [part for part in parts if not part.condemned_on and _is_new(demand, part)]
    young = [p for p in parts if not p.condemned_on and p not in new and _is_young(demand, p)]
    old = [*gone, *(part for part in parts if part not in new and part not in young)]
    shown = [f"{name_of(p)}: fitted {day(p.fitted_on)}, {_proof(p)}" for p in new]
    if young:
        shown.append(
            f"{len(young)} not older than {demand.older_than_years:g} years on the deadline"
        )
    missing = NO_PART if not parts else ""
    if old:
        one = len(old) == 1
        missing = f"Still to be renewed: {_named(old)}." + (
            "" if all(p.fitted_on for p in old) else f" Of {'it' if one else 'some'} no date "
            "of fitting is on record."
        )  # fmt: skip
    return Answer(bool(parts) and not old, tuple(shown), missing, tuple(parts), (), tuple(reports))


def _is_new(demand: Demand, part: Installation) -> bool:
    """Fitted since the day that counts; a date that is not of an invoice or log proves nothing."""
    sure = part.fitted_certainty == Certainty.DAY
    return bool(sure and part.fitted_on and part.fitted_on >= demand.counts_from)


def _is_young(demand: Demand, part: Installation) -> bool:
    """Not older than the clause allows on the deadline, by a date known at least to the year."""
    years = demand.older_than_years
    known = part.fitted_certainty in (Certainty.DAY, Certainty.YEAR) and part.fitted_on
    if years is None or not known:
        return False
    earliest = part.fitted_on
    if part.fitted_certainty == Certainty.YEAR:
        earliest = dt.date(part.fitted_on.year, 1, 1)  # The worst that "known to the year" allows.
    return (demand.deadline - earliest).days <= years * DAYS_A_YEAR


def _proof(part: Installation) -> str:
    return f"invoice {part.invoice}" if part.invoice else "no invoice number on record"


def _named(parts: list[Installation]) -> str:
    rest = len(parts) - NAMED
    words = "; ".join(name_of(part) for part in parts[:NAMED])  # Names hold commas.
    return words + (f" and {rest} more" if rest > 0 else "")


def _mast_out(demand, parts, looks: list[Inspection], reports: list[Report]) -> Answer:
    down = [look for look in looks if look.level == Inspection.Level.MAST_DOWN]
    missing = "" if down else f"No inspection with the mast out since {day(demand.counts_from)}."
    shown = tuple(_look_words(look) for look in down)
    return Answer(bool(down), shown, missing, tuple(parts), tuple(down), tuple(reports))


def _reported(demand, parts, looks: list[Inspection], reports: list[Report]) -> Answer:
    own = [look for look in looks if look.competence in QUALIFIED]
    shown = [_report_words(report) for report in reports] + [_look_words(look) for look in own]
    missing = "" if shown else f"No rigger's or surveyor's report since {day(demand.counts_from)}."
    return Answer(bool(shown), tuple(shown), missing, tuple(parts), tuple(own), tuple(reports))


def _look_words(look: Inspection) -> str:
    who = f"{look.person} ({look.get_competence_display()})"
    return f"Inspected {look.get_level_display()} by {who}, {day(look.on)}"


def _report_words(report: Report) -> str:
    who = f"{report.author} ({report.get_competence_display()})"
    return f"Report of {who}, {day(report.on)}, attached"
