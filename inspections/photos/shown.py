"""Photos as the page of an inspection shows them: each beside the last one of the same place."""

import datetime as dt
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

from ..criteria import Criteria
from ..judgement.history import NOT_SEEN, name_of
from ..models import Finding, Inspection, Photo
from ..verdicts.facts import SPOT_WORDS


@dataclass
class Compared:
    """The photos of one finding, and of the same place the last time there were any."""

    where: str
    sign: str
    now: list[Photo]
    finding: Finding | None = None
    before: list[Photo] = field(default_factory=list)
    before_on: dt.date | None = None


def photos_of(look: Inspection, criteria: Criteria) -> list[Compared]:
    """Return the photos of a look by finding, in two queries; those of none come last."""
    photos = list(
        look.photos.select_related("finding__installation__stay").order_by("finding", "pk")
    )
    by_finding: dict[Finding | None, list[Photo]] = defaultdict(list)
    for photo in photos:
        by_finding[photo.finding].append(photo)
    earlier = _earlier(look, [finding for finding in by_finding if finding])
    shown = [
        Compared(
            place_words(finding), _label(finding, criteria), own, finding, *_last(finding, earlier)
        )
        for finding, own in by_finding.items()
        if finding
    ]
    loose = by_finding.get(None, [])
    return shown + ([Compared("The boat", "of no finding on record", loose)] if loose else [])


def place_words(finding: Finding) -> str:
    place = SPOT_WORDS.get(finding.place, finding.place.replace("_", " "))
    part = finding.installation
    if part is None:
        return f"{place} {finding.side}".strip().capitalize()
    return name_of(part) if finding.place == "whole" else f"{name_of(part)}, {place}"


def _label(finding: Finding, criteria: Criteria) -> str:
    if finding.sign == NOT_SEEN:
        return "Not seen"
    return criteria[finding.sign].label if finding.sign in criteria else finding.sign


def _key(finding: Finding) -> tuple:
    """Return what makes two findings of the same place, also when the part was renewed between."""
    part = finding.installation
    return (part.stay_id, part.kind) if part else (None, ""), finding.place, finding.side


def _earlier(look: Inspection, findings: Sequence[Finding]) -> dict[tuple, list[Photo]]:
    if not findings:
        return {}
    rows = Photo.objects.filter(
        finding__inspection__boat=look.boat_id, finding__inspection__on__lt=look.on
    ).select_related("finding__installation__stay", "finding__inspection")
    by_place = defaultdict(list)
    for photo in rows.order_by("-finding__inspection__on", "finding", "pk"):
        by_place[_key(photo.finding)].append(photo)
    return by_place


def _last(
    finding: Finding, earlier: dict[tuple, list[Photo]]
) -> tuple[list[Photo], dt.date | None]:
    photos = earlier.get(_key(finding), [])
    if not photos:
        return [], None
    day = photos[0].finding.inspection.on
    return [photo for photo in photos if photo.finding.inspection.on == day], day
