"""A boat as a phone keeps it: its stays in the order of work, each part with all that was found.

Everything here is put together in memory from a boat's judged record; it asks no database.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from fleet.models import Boat, Installation, Stay
from fleet.rig_drawing import HEIGHT, WIDTH, RigStay, draw

from ..judgement.history import Span, is_part_finding
from ..judgement.judging import Judged, Verdict
from ..judgement.standing_verdicts import in_force
from ..models import Finding, Inspection, VerdictValue
from ..verdicts import reach
from .record_mark import mark_of

# From the deck up: water collects at the bottom, and most go there first.
BOTTOM_UP = ("chainplate", "turnbuckle", "wire")
# From the bow round clockwise, looking down: starboard going aft, port coming forward.
OUTWARD = ("lower_forward", "cap_shroud", "intermediate", "diamond", "lower_aft")
ROUND = (
    ("forestay", ""),
    ("inner_forestay", ""),
    *((name, "starboard") for name in OUTWARD),
    ("running_backstay", "starboard"),
    ("backstay", ""),
    ("running_backstay", "port"),
    *((name, "port") for name in reversed(OUTWARD)),
)


@dataclass
class BoatRecord:
    """What is known of one boat: its judged record, why it is held, photos by finding id."""

    judged: Judged
    held: Sequence[str] = ()
    photos: Mapping[int, Sequence[str]] = field(default_factory=dict)

    @property
    def boat(self) -> Boat:
        return self.judged.history.boat

    def standing(self) -> dict[Stay, list[Span]]:
        """Return the parts up now by stay, the stays in the order of work, parts bottom up."""
        by_stay = defaultdict(list)
        for span in self.judged.history.spans:
            if span.part.removed_on is None:
                by_stay[span.part.stay].append(span)
        for spans in by_stay.values():
            spans.sort(key=lambda span: BOTTOM_UP.index(span.part.kind))
        return {stay: by_stay[stay] for stay in sorted(by_stay, key=place_in_round)}


def place_in_round(stay: Stay) -> tuple:
    """Return the key that puts stays in the order of work, the main mast before the mizzen."""
    where = (stay.name, stay.side)
    number = ROUND.index(where) if where in ROUND else len(ROUND)
    return stay.mast, number, stay.name, stay.side, stay.pk


def boat_in_kit(record: BoatRecord) -> dict[str, Any]:
    """Return one boat of the kit as plain JSON values."""
    boat, stays = record.boat, record.standing()
    findings = _findings(record)
    verdicts = {pk: in_force(rows[::-1]) for pk, rows in record.judged.by_part().items()}
    return {
        "id": boat.pk,
        "name": boat.name,
        "design": boat.design,
        "rig": boat.rig,
        "held": list(record.held),
        "record": str(mark_of(record.judged.history)),
        "levels": {str(level): within(stays, level) for level in Inspection.Level},
        "drawing": drawing(boat, stays, verdicts),
        "stays": [_stay(record, stay, spans, verdicts, findings) for stay, spans in stays.items()],
    }


def within(stays: Mapping[Stay, Sequence[Span]], level: str) -> list[list]:
    """Return [part id, spot] of all that a look of this level can see, in the order of work.

    A condemned part is not asked about again.
    """
    return [
        [span.part.pk, spot]
        for stay, spans in stays.items()
        for span in spans
        if span.part.condemned_on is None
        for spot in span.facts.spots
        if spot in reach(level, span.part.kind, stay.in_foil)
    ]


def drawing(
    boat: Boat, stays: Mapping[Stay, Sequence[Span]], verdicts: Mapping[int, Verdict]
) -> dict[str, Any]:
    """Return the rig as lines in two views; ``stay`` of a line is the id of its stay."""
    ids = {(stay.name, stay.side, stay.mast): stay.pk for stay in stays}
    drawn = [_drawn(stay, spans, verdicts) for stay, spans in stays.items()]
    views = draw(
        drawn, rig=boat.rig, fractional=boat.fractional, spreader_pairs=boat.spreader_pairs
    )
    return {
        "width": WIDTH,
        "height": HEIGHT,
        "views": [
            {
                "caption": view.caption,
                "hull": view.hull,
                "spars": list(view.spars),
                "lines": [
                    {
                        "stay": ids[line.stay.name, line.stay.side, line.stay.mast],
                        "path": line.path,
                        "points": [list(point) for point in line.points],
                        "crosses": [list(cross) for cross in line.crosses],
                        "label_at": list(line.label_at),
                        "anchor": line.anchor,
                        "words": line.words,
                        "verdict": line.stay.verdict,
                    }
                    for line in view.lines
                ],
            }
            for view in views
        ],
    }


def _drawn(stay: Stay, spans: Sequence[Span], verdicts: Mapping[int, Verdict]) -> RigStay:
    wire = next((span.part for span in spans if span.part.kind == Installation.Kind.WIRE), None)
    standing = verdicts.get(wire.pk) if wire else None
    value = standing.value if standing else VerdictValue.NOT_SEEN.value
    if wire and wire.condemned_on:
        value = VerdictValue.REPLACE.value
    words = str(VerdictValue(value).label) if wire else "nothing fitted"
    return RigStay(stay.name, stay.side, stay.mast, str(value), words, "", stay.label)


def _stay(record: BoatRecord, stay: Stay, spans, verdicts, findings) -> dict[str, Any]:
    return {
        "id": stay.pk,
        "label": stay.label,
        "name": stay.name,
        "side": stay.side,
        "mast": stay.mast,
        "in_foil": stay.in_foil,
        "parts": [
            _part(span, record.judged, verdicts.get(span.part.pk), findings[span.part.pk])
            for span in spans
        ],
    }


def _part(span: Span, judged: Judged, verdict: Verdict | None, findings: list) -> dict[str, Any]:
    part, facts = span.part, span.facts
    return {
        "id": part.pk,
        "kind": part.kind,
        "description": part.description,
        "construction": part.construction,
        "diameter_mm": part.diameter_mm,
        "pin_mm": part.pin_mm,
        "lower_terminal": part.lower_terminal,
        "upper_terminal": part.upper_terminal,
        "fitted": _iso(part.fitted_on),
        "fitted_certainty": part.fitted_certainty,
        "condemned_on": _iso(part.condemned_on),
        "last": _last(verdict, findings),
        "missed": judged.missed.get(part.pk, {}),
        "references": {of: facts.reference_mm(of) for of in ("wire", "pin", "thread")},
    }


def _last(verdict: Verdict | None, findings: list) -> dict[str, Any] | None:
    """Return the verdict in force and every finding on the part so far, oldest first."""
    if verdict is None:
        return None
    look = verdict.inspection
    return {
        "on": look.on.isoformat(),
        "level": look.level,
        "person": look.person,
        "competence": look.competence,
        "verdict": str(verdict.value),
        "spot": verdict.spot,
        "reasons": list(verdict.reasons),
        "again_by": _iso(verdict.again_by),
        "findings": findings,
    }


def _findings(record: BoatRecord) -> dict[int, list[dict[str, Any]]]:
    """Return part id -> what was ever found on it, in the order of the looks."""
    history, by_part = record.judged.history, defaultdict(list)
    for look in history.inspections:
        for finding in history.findings.get(look.pk, ()):
            span = history.span_of.get(finding.installation_id)
            if span and is_part_finding(finding, span.part):
                by_part[span.part.pk].append(_finding(finding, look, record))
    return by_part


def _finding(finding: Finding, look: Inspection, record: BoatRecord) -> dict[str, Any]:
    photos = list(record.photos.get(finding.pk, ()))
    return {
        "sign": finding.sign,
        "spot": finding.place,
        "measure": finding.measure,
        "cleaned": finding.cleaned,
        "note": finding.note,
        "on": look.on.isoformat(),
        "person": look.person,
        "photo": photos[0] if photos else None,
        "photos": photos,
    }


def _iso(day: dt.date | None) -> str | None:
    return day.isoformat() if day else None
