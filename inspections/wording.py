"""What a page says of an inspection in a sentence or two."""

from collections import Counter
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass

from django.db.models import Exists, OuterRef, QuerySet, Subquery

from .criteria import DEFAULT, SPOTS, Criteria
from .judgement.history import NOT_SEEN, is_part_finding, name_of
from .models import LEFT_OUT, SKIPPED, Finding, Inspection, PartVerdict, VerdictValue
from .verdicts import FindingFacts, boat_level

# An event by its name, as a heading has it; its sign's label says more.
EVENTS = {
    sign.code: {"knock_down": "knock-down"}.get(sign.code, sign.code.replace("_", " "))
    for sign in DEFAULT.signs
    if sign.voids
}


def event_of(findings: Iterable[Finding]) -> Finding | None:
    """Return the event an inspection put on record; None for a look."""
    return next((each for each in findings if each.sign in EVENTS), None)


def told_apart(looks: QuerySet[Inspection]) -> QuerySet[Inspection]:
    """Add the code of the event a row put on record, and whether it saw any part to be kept."""
    of_look = {"inspection": OuterRef("pk")}
    events = Finding.objects.filter(**of_look, sign__in=list(EVENTS)).values("sign")[:1]
    kept = PartVerdict.objects.filter(**of_look, value=VerdictValue.KEEP)
    return looks.annotate(event=Subquery(events), kept=Exists(kept))


def look_words(look: Inspection) -> str:
    """Return what an inspection was, of a row of ``told_apart``: a level, an event, or both."""
    level = look.get_level_display()
    if not look.event:
        return level
    return f"{EVENTS[look.event]}; {level}" if look.kept else EVENTS[look.event]


def left_out(rows: Iterable[PartVerdict], findings: Iterable[Finding]) -> set[int]:
    """Return the parts (ids) of which a look left out all: nobody meant to look at them.

    Also parts of which that level could have said nothing, such as chainplates from the deck.
    """
    said = (each for each in findings if each.sign == NOT_SEEN and each.note in LEFT_OUT)
    named = {each.installation_id for each in said if each.installation_id}
    return named - {row.installation_id for row in rows if row.value != VerdictValue.NOT_SEEN}


def inspection_lead(values: Sequence[str], left_out: int = 0) -> str:
    """Return the answer of an inspection, from its verdicts, worst first.

    ``left_out``: how many of the parts not seen nobody meant to look at.
    """
    if values and left_out == len(values):
        return f"None of {len(values)} parts was looked at."
    count = Counter(values)
    count[VerdictValue.NOT_SEEN] -= left_out
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
    told += [f"{left_out} not looked at"] if left_out else []
    if not values:
        return "No part was up that this level can see."
    return f"{len(values)} parts: {'; '.join(told)}." if told else f"{len(values)} parts: all keep."


@dataclass(frozen=True)
class PlaceFound:
    """A finding that is at no part, or a spot not seen, as a page shows it."""

    finding: Finding
    where: str
    words: str


def places_found(
    findings: Iterable[Finding], look: Inspection, left_out: Collection[int] = ()
) -> list[PlaceFound]:
    """Return what was found beside the parts (tang, spreader, event), then what was not seen, but
    for the parts that were left out."""
    criteria = Criteria.from_dict(look.criteria.data) if look.criteria else DEFAULT
    found, unseen = [], []
    for finding in findings:
        if finding.sign == NOT_SEEN and _left_out(finding, left_out):
            continue
        if finding.sign == NOT_SEEN:
            unseen.append(PlaceFound(finding, _where(finding), f"Not seen: {finding.note}."))
        elif not is_part_finding(finding, finding.installation):
            facts = FindingFacts(finding.sign, "", finding.measure, finding.cleaned, look.on)
            [words] = boat_level([facts], criteria.completed_by(DEFAULT), look.on).reasons
            found.append(PlaceFound(finding, _where(finding), words))
    return found + unseen


def _left_out(finding: Finding, left_out: Collection[int]) -> bool:
    """Whether nobody meant to look; of a part condemned before, the verdict says no more of it."""
    whole = finding.place == "whole" and finding.note == SKIPPED
    return finding.installation_id in left_out or (whole and finding.installation_id is not None)


def _where(finding: Finding) -> str:
    place = finding.place.replace("_", " ")
    part = finding.installation
    if part is None:
        return f"{place} {finding.side}".strip().capitalize()
    whole = finding.place not in SPOTS[part.kind] or finding.place == "whole"
    return name_of(part) if whole else f"{name_of(part)}, {place}"
