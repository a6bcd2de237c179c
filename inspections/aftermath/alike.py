"""Parts like one that went: of its batch, of its fitter and day, in its place on sister boats.

The first two are listed for a look wherever they stand, however the find came on record. Each comes
with what was seen of it since.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Q, QuerySet
from django.db.models.functions import Lower

from fleet.models import Fleet, Installation

from ..judgement.history import name_of
from ..judgement.proof import says_something
from ..models import Inspection, PartVerdict, SpotState, VerdictValue

DAY = Installation.Certainty.DAY
SEEN = (SpotState.GOOD, SpotState.CONDEMNED, SpotState.UNRESOLVED)
SPOTS = ("lower", "run", "upper", "whole")


@dataclass(frozen=True)
class Alike:
    """A part that stands, why it is listed, and the first look at it since."""

    part: Installation
    why: str
    looked: PartVerdict | None = None

    @property
    def name(self) -> str:
        return name_of(self.part)


@dataclass(frozen=True)
class Gone:
    """A part that was condemned or let go, the day, and where (blank: not known)."""

    part: Installation
    on: dt.date
    spot: str = ""


def of_fleet(gone: Iterable[Gone], fleet: Fleet) -> dict[int, list[Alike]]:
    """Return part id -> the parts of its batch, or of its fitter and day, in three queries."""
    gone = list(gone)
    parts = _like(gone, fleet)
    found = {each.part.pk: _pairs(each.part, parts) for each in gone}
    listed = {part.pk for pairs in found.values() for part, _ in pairs}
    looks = _looks(listed, min((each.on for each in gone), default=dt.date.max))
    return {
        each.part.pk: [
            Alike(part, why, since(looks[part.pk], each)) for part, why in found[each.part.pk]
        ]
        for each in gone
    }


def of_look(look: Inspection) -> list[tuple[Installation, list[Alike]]]:
    """Return each part that a look condemned, with the parts like it, if there are any."""
    rows = look.verdicts.filter(value=VerdictValue.REPLACE).exclude(spot="")
    rows = rows.select_related("installation__stay__boat").order_by("installation")
    gone = [Gone(row.installation, look.on, row.spot) for row in rows]
    like = of_fleet(gone, look.boat.fleet)
    return [(each.part, like[each.part.pk]) for each in gone if like[each.part.pk]]


def _like(gone: list[Gone], fleet: Fleet) -> list[Installation]:
    """Return what may be of their batches or jobs; ``_pairs`` says which is."""
    batches = {each.part.batch for each in gone if _batch(each.part)}
    jobs = {(each.part.fitter, each.part.fitted_on) for each in gone if _job(each.part)}
    if not batches and not jobs:
        return []
    fitters, days = {fitter for fitter, _ in jobs}, {on for _, on in jobs}
    # A database lowers the letters of English only, so others are found as they are written.
    rows = standing(fleet).annotate(own_batch=Lower("batch"), own_fitter=Lower("fitter"))
    of_batch = Q(batch__in=batches) | Q(own_batch__in=[each.lower() for each in batches])
    by_fitter = Q(fitter__in=fitters) | Q(own_fitter__in=[each.lower() for each in fitters])
    return list(rows.filter(of_batch | (by_fitter & Q(fitted_on__in=days))))


def standing(fleet: Fleet) -> QuerySet[Installation]:
    rows = Installation.objects.of(fleet).standing().filter(stay__boat__left__isnull=True)
    return rows.select_related("stay__boat__base").order_by("stay__boat__name", "stay", "pk")


def _batch(part: Installation) -> str:
    """Return the batch as it is compared; a dash or a question mark is none."""
    return part.batch.casefold().strip() if says_something(part.batch) else ""


def _job(part: Installation) -> tuple[str, dt.date] | None:
    """Return fitter and day, where both are known for certain."""
    known = says_something(part.fitter) and part.fitted_on and part.fitted_certainty == DAY
    return (part.fitter.casefold().strip(), part.fitted_on) if known else None


def _pairs(part: Installation, others: list[Installation]) -> list[tuple[Installation, str]]:
    job, batch = _job(part), _batch(part)
    found = []
    for other in others:
        if other.pk == part.pk or other.kind != part.kind:
            continue
        same_batch = batch and _batch(other) == batch
        if same_batch or (job and _job(other) == job):
            found.append((other, "same batch" if same_batch else "same fitter and day"))
    return sorted(found, key=lambda pair: pair[1])


def sisters(part: Installation, on: dt.date, spot: str = "") -> list[Alike]:
    """Return what stands in the same place on boats of the same design."""
    stay, boat = part.stay, part.stay.boat
    if not boat.design.strip():
        return []
    rows = standing(boat.fleet).filter(
        kind=part.kind, stay__name=stay.name, stay__mast=stay.mast, stay__boat__design=boat.design
    )
    others = list(rows.exclude(stay__boat=boat))
    looks = _looks({other.pk for other in others}, on)
    gone = Gone(part, on, spot)
    return [Alike(other, "same design", since(looks[other.pk], gone)) for other in others]


def _looks(ids: set[int], since: dt.date) -> dict[int, list[PartVerdict]]:
    by_part = defaultdict(list)
    rows = PartVerdict.objects.filter(installation__in=ids, inspection__on__gte=since)
    rows = rows.select_related("inspection")
    for row in rows.order_by("inspection__on", "inspection__pk"):
        by_part[row.installation_id].append(row)
    return by_part


def since(rows: list[PartVerdict], gone: Gone) -> PartVerdict | None:
    """Return the first look, on the day or later, that saw the spot where the other one went."""
    spots = [gone.spot] if gone.spot else SPOTS
    for row in rows:
        if row.inspection.on >= gone.on and any(getattr(row, spot) in SEEN for spot in spots):
            return row
    return None
