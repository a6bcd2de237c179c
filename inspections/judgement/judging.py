"""Every inspection of a boat judged in order, in memory: the rows that follow from its record."""

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field

from ..criteria import RANK, SPOTS, Criteria
from ..models import LEFT_OUT, Finding, Inspection, SpotState, VerdictValue
from ..verdicts import FindingFacts, VerdictResult, judge, reach
from ..verdicts.reading import Reading, day, read
from .history import NOT_SEEN, BoatHistory, Span, is_part_finding

COMPREHENSIVE = (Inspection.Level.ALOFT, Inspection.Level.MAST_DOWN)
CONDEMNED_BEFORE = "Condemned on {} and still up: not to be loaded. A later look does not clear it."


@dataclass(slots=True)
class Verdict:
    """A ``PartVerdict`` to be: a fleet's history has too many of them to make a model of each."""

    inspection: Inspection
    installation_id: int
    value: str
    reasons: list[str]
    spot: str = ""
    watched: list[str] = field(default_factory=list)
    again_by: dt.date | None = None
    lower: str = ""
    run: str = ""
    upper: str = ""
    whole: str = ""

    @property
    def inspection_id(self) -> int:
        return self.inspection.pk


@dataclass
class Judged:
    """What follows from one boat's record, ``verdicts`` in the order of the looks.

    ``readings``: finding id -> how it reads by its sign. ``condemned``: part id -> day.
    ``unseen``: (inspection id, part id) -> the spots missed too often running by then.
    ``missed``: part id -> spot -> at how many comprehensive looks running it went unseen, so far.
    """

    history: BoatHistory
    verdicts: list[Verdict] = field(default_factory=list)
    readings: dict[int, Reading] = field(default_factory=dict)
    condemned: dict[int, dt.date] = field(default_factory=dict)
    unseen: dict[tuple[int, int], list[str]] = field(default_factory=dict)
    missed: dict[int, dict[str, int]] = field(default_factory=dict)

    def by_part(self) -> dict[int, list[Verdict]]:
        rows = defaultdict(list)
        for row in self.verdicts:
            rows[row.installation_id].append(row)
        return rows


class Bench:
    """Judges boat after boat, and remembers the verdicts on parts at which nothing was found."""

    def __init__(self) -> None:
        self._nothing_found: dict[tuple, VerdictResult] = {}

    def judge_boat(self, history: BoatHistory) -> Judged:
        judged = Judged(history)
        past = {span.part.pk: PartPast(span) for span in history.spans}
        for inspection in history.inspections:
            _, criteria = history.criteria_on(inspection.on)
            findings = defaultdict(list)
            for finding in history.findings.get(inspection.pk, ()):
                findings[finding.installation_id].append(finding)
            for span in history.looked_at(inspection):
                pk = span.part.pk
                row = past[pk].look(self, inspection, findings[pk], criteria, judged.readings)
                judged.verdicts += [row] if row else []
                judged.unseen[inspection.pk, pk] = past[pk].missed_often(criteria.missed_limit)
        judged.missed = {pk: dict(each.missed) for pk, each in past.items() if each.missed}
        judged.condemned = {pk: each.condemned_on for pk, each in past.items() if each.condemned_on}
        return judged

    def result(self, span: Span, seen: frozenset, found: Sequence, *rest) -> VerdictResult:
        """Return the verdict; the same part seen alike with nothing found is judged once."""
        previous, criteria, on, missed = rest
        if found:
            return judge(span.facts, seen, found, previous, criteria, on, missed)
        key = (span.facts, seen, tuple(sorted(missed.items())), criteria.version)
        if key not in self._nothing_found:
            self._nothing_found[key] = judge(span.facts, seen, (), (), criteria, on, missed)
        return self._nothing_found[key]


@dataclass
class PartPast:
    """What is known of one part up to the inspection at hand."""

    span: Span
    previous: list[FindingFacts] = field(default_factory=list)
    missed: Counter = field(default_factory=Counter)
    condemned_on: dt.date | None = None

    def look(
        self,
        bench: Bench,
        inspection: Inspection,
        findings: list[Finding],
        criteria: Criteria,
        readings: dict[int, Reading],
    ) -> Verdict | None:
        """Return the verdict of this inspection; None when its level cannot see the part at all."""
        part = self.span.part
        within = reach(inspection.level, part.kind, part.stay.in_foil)
        on_part = [each for each in findings if is_part_finding(each, part)]
        if not within and not on_part:
            return None
        own = {each.pk: _facts(each, inspection.on) for each in on_part}
        read_now = {
            pk: read(self.span.facts, facts, self.previous, criteria, inspection.on)
            for pk, facts in own.items()
        }
        readings.update(read_now)
        if self.condemned_on:
            return _still_up(inspection, self.span, self.condemned_on)
        seen = within - _not_seen(findings, part.kind)
        left_out = _not_seen([each for each in findings if each.note in LEFT_OUT], part.kind)
        sighted = seen | {facts.spot for facts in own.values()}
        self._count(inspection, within - left_out, sighted)
        rest = (self.previous, criteria, inspection.on, self.missed)
        result = bench.result(self.span, seen, list(own.values()), *rest)
        self.previous += own.values()
        if result.value == VerdictValue.REPLACE:
            self.condemned_on = inspection.on
        spot = result.spot or _worst_spot(read_now)
        return _row(inspection, self.span, result, spot, _watched(read_now))

    def missed_often(self, limit: int) -> list[str]:
        return [spot for spot, times in self.missed.items() if times >= limit]

    def _count(self, inspection: Inspection, within: frozenset, sighted: set[str]) -> None:
        for spot in sighted:
            self.missed.pop(spot, None)
        if inspection.level in COMPREHENSIVE:
            self.missed.update(within - sighted)


def _facts(finding: Finding, on: dt.date) -> FindingFacts:
    return FindingFacts(finding.sign, finding.place, finding.measure, finding.cleaned, on)


def _not_seen(findings: list[Finding], kind: str) -> frozenset[str]:
    """Return the spots reported as not seen; a place that is no spot means the whole part."""
    places = {each.place for each in findings if each.sign == NOT_SEEN}
    spots = frozenset(SPOTS[kind])
    return spots if places - spots else frozenset(places)


def _worst_spot(readings: dict[int, Reading]) -> str:
    """Return where the worst finding is, so that a later look elsewhere does not supersede it."""
    worst = max(readings.values(), key=lambda each: RANK[each.value], default=None)
    return worst.spot if worst else ""


def _watched(readings: dict[int, Reading]) -> list[str]:
    """Return the spots at which a sign is to be watched, and none condemns."""
    at = defaultdict(set)
    for each in readings.values():
        at[each.spot].add(each.value)
    watch, replace = VerdictValue.WATCH.value, VerdictValue.REPLACE.value
    return sorted(spot for spot, values in at.items() if watch in values and replace not in values)


def _row(
    inspection: Inspection, span: Span, result: VerdictResult, spot: str, watched: list[str]
) -> Verdict:
    return Verdict(
        inspection=inspection,
        installation_id=span.part.pk,
        value=result.value,
        spot=spot,
        reasons=list(result.reasons),
        watched=watched,
        again_by=result.again_by,
        **result.spots,
    )


def _still_up(inspection: Inspection, span: Span, condemned_on: dt.date) -> Verdict:
    """Return the standing condemnation: it moves no bound of the statistics a second time."""
    return Verdict(
        inspection=inspection,
        installation_id=span.part.pk,
        value=VerdictValue.REPLACE,
        reasons=[CONDEMNED_BEFORE.format(day(condemned_on))],
        **dict.fromkeys(SPOTS[span.part.kind], SpotState.NOT_SEEN),
    )
