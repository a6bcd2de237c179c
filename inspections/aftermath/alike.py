"""Parts like one that went: of its batch, of its fitter and day, in its place on sister boats.

The first two are listed for a look wherever they stand. Each comes with what was seen of it since.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from django.db.models import Q, QuerySet

from fleet.models import Fleet, Installation

from ..judgement.history import name_of
from ..models import PartVerdict, SpotState

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


def _like(gone: list[Gone], fleet: Fleet) -> list[Installation]:
    batches = {each.part.batch for each in gone} - {""}
    jobs = {job for each in gone if (job := _job(each.part))}
    rows = standing(fleet).filter(
        Q(batch__in=batches)
        | Q(fitter__in={fitter for fitter, _ in jobs}, fitted_on__in={on for _, on in jobs})
    )
    return list(rows) if batches or jobs else []


def standing(fleet: Fleet) -> QuerySet[Installation]:
    rows = Installation.objects.of(fleet).standing().filter(stay__boat__left__isnull=True)
    return rows.select_related("stay__boat__base").order_by("stay__boat__name", "stay", "pk")


def _job(part: Installation) -> tuple[str, dt.date] | None:
    """Return fitter and day, where both are known for certain."""
    known = part.fitter and part.fitted_on and part.fitted_certainty == DAY
    return (part.fitter, part.fitted_on) if known else None


def _pairs(part: Installation, others: list[Installation]) -> list[tuple[Installation, str]]:
    job = _job(part)
    found = []
    for other in others:
        if other.pk == part.pk or other.kind != part.kind:
            continue
        batch = bool(part.batch) and other.batch == part.batch
        if batch or (job and _job(other) == job):
            found.append((other, "same batch" if batch else "same fitter and day"))
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
