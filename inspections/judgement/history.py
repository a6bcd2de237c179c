"""A boat's record in the order things happened, read once for all its rules.

Who was up when: a part is looked at from the day it was fitted (unknown: since the part before it
came off, or since the boat was built) to the day it was removed. On the day of a change the part
inspected is the old one.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise

from fleet.models import Boat, Fleet, Installation

from ..criteria import DEFAULT, SPOTS, Criteria
from ..followups import Rejudgement
from ..models import CriteriaVersion, Finding, Inspection
from ..verdicts import PartFacts

NOT_SEEN = "not_seen"
LEVEL_ORDER = list(Inspection.Level)
DAY = dt.timedelta(days=1)


def facts_of(part: Installation) -> PartFacts:
    """Return what the rules need to know of a part; its ``stay`` must be loaded."""
    return PartFacts(
        kind=part.kind,
        construction=part.construction,
        lower_terminal=part.lower_terminal,
        upper_terminal=part.upper_terminal,
        diameter_mm=part.diameter_mm,
        pin_mm=part.pin_mm,
        stay=part.stay.name,
        side=part.stay.side,
        mast=part.stay.mast,
    )


def name_of(part: Installation) -> str:
    """Return what a sentence calls a part: ``Cap shroud, port`` or ``Backstay, turnbuckle``."""
    wire = part.kind == Installation.Kind.WIRE
    return part.stay.label if wire else f"{part.stay.label}, {part.get_kind_display()}"


def is_part_finding(finding: Finding, part: Installation | None) -> bool:
    """Whether it was found on the part itself, and not on a tang or spreader near it."""
    return part is not None and finding.sign != NOT_SEEN and finding.place in SPOTS[part.kind]


@dataclass(eq=False)
class Span:
    """A part with the days on which it could be looked at, and what came after it."""

    part: Installation
    first_day: dt.date
    successor: "Span | None" = None

    @cached_property
    def facts(self) -> PartFacts:
        return facts_of(self.part)

    def up_on(self, day: dt.date) -> bool:
        removed = self.part.removed_on
        return self.first_day <= day and (removed is None or day <= removed)

    def renewed_on(self, after: "Span | None" = None) -> dt.date | None:
        """Return when this part was off and another in its place, the next one or that said; None
        while that is not so."""
        after = after or self.successor
        if self.part.removed_on is None or after is None:
            return None
        return max(self.part.removed_on, after.part.fitted_on or self.part.removed_on)

    def followed_by(self) -> "Iterator[Span]":
        """Yield the parts put up in its place after it, one after the other."""
        after = self.successor
        while after is not None:
            yield after
            after = after.successor

    def standing_now(self) -> "Span | None":
        """Return the part that stands in its place since; None if it stands itself or none does."""
        return next((each for each in self.followed_by() if each.part.removed_on is None), None)


@dataclass
class BoatHistory:
    """Everything about one boat that its verdicts and holds follow from."""

    boat: Boat
    criteria: list[tuple[CriteriaVersion | None, Criteria]]
    spans: list[Span] = field(default_factory=list)
    inspections: list[Inspection] = field(default_factory=list)
    findings: dict[int, list[Finding]] = field(default_factory=dict)
    rejudged: dict[tuple[int, int], Rejudgement] = field(default_factory=dict)

    @cached_property
    def span_of(self) -> dict[int, Span]:
        return {span.part.pk: span for span in self.spans}

    def looked_at(self, inspection: Inspection) -> list[Span]:
        """Return the parts up that day, and any other that something was found on all the same."""
        found = {each.installation_id for each in self.findings.get(inspection.pk, ())}
        return [s for s in self.spans if s.up_on(inspection.on) or s.part.pk in found]

    def criteria_on(self, day: dt.date) -> tuple[CriteriaVersion | None, Criteria]:
        """Return the limits in force that day: a fleet's change does not reach back."""
        return next(pair for pair in self.criteria if pair[0] is None or pair[0].since <= day)


def criteria_of(fleet: Fleet, day: dt.date) -> Criteria:
    """Return the limits that a fleet judges by on that day."""
    versions = _criteria({fleet.pk})[fleet.pk]
    return next(own for row, own in versions if row is None or row.since <= day)


def load(boat_ids: Iterable[int]) -> Iterator[BoatHistory]:
    """Yield each boat's history, in seven queries for all of them. Unknown ids yield nothing."""
    boats = Boat.objects.filter(pk__in=list(boat_ids)).select_related("fleet").in_bulk()
    criteria = _criteria({boat.fleet_id for boat in boats.values()})
    parts, looks, findings = _parts(boats), _inspections(boats), _findings(boats)
    rejudged = _rejudged(boats)
    for pk, boat in sorted(boats.items()):
        history = BoatHistory(boat, criteria[boat.fleet_id], _spans(parts[pk]), looks[pk])
        history.findings = {look.pk: findings[look.pk] for look in looks[pk] if look.pk in findings}
        history.rejudged = rejudged[pk]
        yield history


def _criteria(fleet_ids: set[int]) -> dict[int, list[tuple[CriteriaVersion | None, Criteria]]]:
    """Return each fleet's criteria, newest first, ending on the ones every fleet starts with."""
    versions = defaultdict(list)
    for row in CriteriaVersion.objects.filter(fleet__in=fleet_ids).order_by("-since", "-pk"):
        stored = Criteria.from_dict(row.data).completed_by(DEFAULT)
        versions[row.fleet_id].append((row, stored))
    return {pk: [*versions[pk], (None, DEFAULT)] for pk in fleet_ids}


def _parts(boats: dict[int, Boat]) -> dict[int, list[Installation]]:
    by_boat = defaultdict(list)
    rows = Installation.objects.filter(stay__boat__in=boats).select_related("stay").order_by("pk")
    for part in rows:
        by_boat[part.stay.boat_id].append(part)
    return by_boat


def _inspections(boats: dict[int, Boat]) -> dict[int, list[Inspection]]:
    """Return them in an order that does not depend on the order they were typed in."""
    by_boat = defaultdict(list)
    for row in Inspection.objects.filter(boat__in=boats).order_by("on", "person", "pk"):
        by_boat[row.boat_id].append(row)
    for rows in by_boat.values():
        rows.sort(key=in_order)
    return by_boat


def in_order(look: Inspection) -> tuple:
    """Return the key that puts looks in the order in which they are judged."""
    return look.on, LEVEL_ORDER.index(look.level), look.person


def _findings(boats: dict[int, Boat]) -> dict[int, list[Finding]]:
    by_inspection = defaultdict(list)
    for row in Finding.objects.filter(inspection__boat__in=boats).order_by("pk"):
        by_inspection[row.inspection_id].append(row)
    return by_inspection


def _rejudged(boats: dict[int, Boat]) -> dict[int, dict[tuple[int, int], Rejudgement]]:
    """Return by boat (inspection id, part id) -> what was said of a condemned part then."""
    by_boat = defaultdict(dict)
    rows = Rejudgement.objects.filter(inspection__boat__in=boats)
    for row in rows.select_related("inspection").order_by("pk"):
        by_boat[row.inspection.boat_id][row.inspection_id, row.installation_id] = row
    return by_boat


def _spans(parts: list[Installation]) -> list[Span]:
    """Return the parts of a boat with their first days, each linked to the one fitted after it."""
    places = defaultdict(list)
    for part in parts:
        places[part.stay_id, part.kind].append(part)
    spans = []
    for rows in places.values():
        rows.sort(key=lambda part: (part.removed_on or dt.date.max, part.fitted_on or dt.date.min))
        chain = [Span(part, _first_day(part, rows[:place])) for place, part in enumerate(rows)]
        for span, successor in pairwise(chain):
            span.successor = successor
        spans += chain
    return spans


def _first_day(part: Installation, before: list[Installation]) -> dt.date:
    off = max((each.removed_on for each in before if each.removed_on), default=None)
    if off is None:
        return part.fitted_on or dt.date.min
    return max(off + DAY, part.fitted_on or dt.date.min)
