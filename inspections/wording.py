"""What a page says of an inspection in a sentence or two."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from .criteria import DEFAULT, SPOTS, Criteria
from .judgement.history import NOT_SEEN, is_part_finding, name_of
from .models import Finding, Inspection, VerdictValue
from .verdicts import FindingFacts, boat_level


def inspection_lead(values: Sequence[str]) -> str:
    """Return the answer of an inspection, from its verdicts, worst first."""
    count = Counter(values)
    told = [
        f"{count[value]} {words}"
        for value, words in (
            (VerdictValue.REPLACE, "to replace, not to be loaded"),
            (VerdictValue.MAKE_GOOD, "to make good before sailing"),
            (VerdictValue.REFER, "for a rigger to look at"),
            (VerdictValue.WATCH, "to watch"),
            (VerdictValue.NOT_ASSESSED, "not assessed: no criteria"),
            (VerdictValue.NOT_SEEN, "not seen"),
        )
        if count[value]
    ]
    if not values:
        return "No part was up that this level can see."
    return f"{len(values)} parts: {'; '.join(told)}." if told else f"{len(values)} parts: all keep."


@dataclass(frozen=True)
class PlaceFound:
    """A finding that is at no part, or a spot not seen, as a page shows it."""

    finding: Finding
    where: str
    words: str


def places_found(findings: Iterable[Finding], look: Inspection) -> list[PlaceFound]:
    """Return what was found beside the parts (tang, spreader, event), then what was not seen."""
    criteria = Criteria.from_dict(look.criteria.data) if look.criteria else DEFAULT
    found, unseen = [], []
    for finding in findings:
        if finding.sign == NOT_SEEN:
            unseen.append(PlaceFound(finding, _where(finding), f"Not seen: {finding.note}."))
        elif not is_part_finding(finding, finding.installation):
            facts = FindingFacts(finding.sign, "", finding.measure, finding.cleaned, look.on)
            [words] = boat_level([facts], criteria.completed_by(DEFAULT), look.on).reasons
            found.append(PlaceFound(finding, _where(finding), words))
    return found + unseen


def _where(finding: Finding) -> str:
    place = finding.place.replace("_", " ")
    part = finding.installation
    if part is None:
        return f"{place} {finding.side}".strip().capitalize()
    whole = finding.place not in SPOTS[part.kind] or finding.place == "whole"
    return name_of(part) if whole else f"{name_of(part)}, {place}"
