"""The form on the dock filled in with an inspection on record, to be corrected."""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass, field
from typing import Any

from fleet.models import Installation

from ..criteria import SPOTS, Criteria
from ..judgement.history import NOT_SEEN, facts_of, load
from ..models import SKIPPED, Finding, Inspection
from ..recording import Sight
from ..verdicts import reach
from .spot_forms import signs_at

LOOK = ("on", "person", "competence", "method", "note")


@dataclass
class Prefill:
    """What the form shows first: by spot, further rows, stays left out; ``parts`` up that day.

    ``kept`` are findings the form has no field for; they stay as they are.
    """

    look: dict[str, Any]
    parts: list[Installation]
    skipped: set[int] = field(default_factory=set)
    spots: dict[tuple[int, str], dict[str, Any]] = field(default_factory=dict)
    further: list[dict[str, Any]] = field(default_factory=list)
    further_spots: list[tuple[Installation, str]] = field(default_factory=list)
    kept: list[Sight] = field(default_factory=list)


def prefill(look: Inspection, level: str, criteria: Criteria) -> Prefill:
    """Return the fields of an inspection, as a form of that level asks for them."""
    [history] = load([look.boat_id])
    parts = {span.part.pk: span.part for span in history.looked_at(look)}
    filling = _Filling(
        Prefill({name: getattr(look, name) for name in LOOK}, list(parts.values())), level, criteria
    )
    by_part = defaultdict(list)
    for finding in look.findings.order_by("pk"):
        by_part[finding.installation_id].append(finding)
    for pk, findings in by_part.items():
        part = parts.get(pk)
        if part is None:
            filling.at_boat(findings)
        elif part.condemned_on and part.condemned_on < look.on:
            filling.made.kept += [_sight(each) for each in findings]
        else:
            filling.on_part(part, findings)
    return filling.made


@dataclass
class _Filling:
    """Puts each finding where the form has a field for it."""

    made: Prefill
    level: str
    criteria: Criteria

    def at_boat(self, findings: Collection[Finding]) -> None:
        for each in findings:
            sign = self.criteria.get(each.sign)
            if sign and each.place in sign.places and not each.installation_id:
                self.made.further.append(_fields(each) | {"where": f"place:{each.place}"})
            else:
                self.made.kept.append(_sight(each))

    def on_part(self, part: Installation, findings: list[Finding]) -> None:
        if any(each.sign == NOT_SEEN and each.note == SKIPPED for each in findings):
            self.made.skipped.add(part.stay_id)
            findings = [each for each in findings if each.sign != NOT_SEEN]
        within = reach(self.level, part.kind, part.stay.in_foil)
        # Not seen goes before what was found there: it has no place among the further rows.
        for each in sorted(findings, key=lambda each: each.sign != NOT_SEEN):
            if each.sign != NOT_SEEN:
                self.found(part, each, within)
                continue
            for spot in [each.place] if each.place in SPOTS[part.kind] else SPOTS[part.kind]:
                if spot in within:
                    self.made.spots.setdefault((part.pk, spot), _fields(each))

    def found(self, part: Installation, finding: Finding, within: Collection[str]) -> None:
        spot, sign = finding.place, self.criteria.get(finding.sign)
        fits = sign and part.kind in sign.kinds and (not sign.spots or spot in sign.spots)
        if not fits or spot not in SPOTS[part.kind]:
            self.made.kept.append(_sight(finding))
            return
        offered = spot in within and sign in signs_at(facts_of(part), spot, self.criteria)
        if offered and (part.pk, spot) not in self.made.spots:
            self.made.spots[part.pk, spot] = _fields(finding)
            return
        where = f"part:{part.pk}:{part.kind}:{spot}"
        self.made.further.append(_fields(finding) | {"where": where})
        if spot not in within:
            self.made.further_spots.append((part, spot))


def _fields(finding: Finding) -> dict[str, Any]:
    cleaned = {True: "yes", False: "no", None: ""}[finding.cleaned]
    measure = "" if finding.measure is None else f"{finding.measure:g}"
    return {"sign": finding.sign, "side": finding.side, "measure": measure, "cleaned": cleaned,
            "note": finding.note}  # fmt: skip


def _sight(finding: Finding) -> Sight:
    names = ("sign", "place", "installation_id", "side", "measure", "cleaned", "note")
    return Sight(**{name: getattr(finding, name) for name in names})
