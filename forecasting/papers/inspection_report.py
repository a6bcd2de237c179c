"""The rig inspection report of one look at one boat: who saw what, and what it means."""

from collections.abc import Iterable, Sequence

from fleet.models import Installation
from fleet.templatetags.wording import SPOT_WORDS, day
from inspections.criteria import DEFAULT, STANDING, Criteria, Sign
from inspections.judgement.history import NOT_SEEN, criteria_of
from inspections.models import Finding, Inspection, PartVerdict, SpotState, VerdictValue
from inspections.wording import EVENTS, event_of, inspection_lead, left_out, places_found

from . import part_words
from .masthead import SHORT, WORK
from .photo_rows import photo_rows
from .press import press
from .rig_picture import in_words, rig_picture

NO_SURVEY = "A visual check in place by a lay person, not a survey. {person} signs what was seen."
CAUTION = (
    "A good inspection does not promise a life; what was not seen is no evidence of health. A "
    "part judged replace is not loaded. Insurers, flag state and class rules come first."
)
SEES = {
    Inspection.Level.DECK: "Lower ends and turnbuckles. Not the wire above the first metre, not "
    "the upper ends, not the chainplates.",
    Inspection.Level.ALOFT: "Wire and both ends; of a stay inside a furler foil the lower end "
    "only. Not the chainplates.",
    Inspection.Level.MAST_DOWN: "Everything, opened, with the chainplates drawn.",
}
# Worst first; of one verdict in the order of the boat's stays.
RANK = [
    VerdictValue.REPLACE, VerdictValue.MAKE_GOOD, VerdictValue.REFER, VerdictValue.WATCH,
    VerdictValue.NOT_ASSESSED, VerdictValue.NOT_SEEN, VerdictValue.KEEP,
]  # fmt: skip


def inspection_report(look: Inspection) -> bytes:
    """Return the PDF, dated the day of the inspection."""
    return press("inspection-report", contents(look), look.on)


def contents(look: Inspection) -> dict:
    """Return what the paper says, as words."""
    criteria = criteria_of(look.boat.fleet, look.on).completed_by(DEFAULT)
    said = sorted(
        look.verdicts.select_related("installation__stay"),
        key=lambda row: (row.installation.stay.mast, row.installation.stay_id, row.installation_id),
    )
    findings = list(look.findings.select_related("installation__stay"))
    out = left_out(said, findings)
    looked = [each for each in said if each.installation_id not in out]
    event = event_of(findings)
    told = {"event": event, "looked": bool(looked) or event is None}
    return heading(look, said, looked, **told) | {
        "boat": facts(look, **told),
        "cautions": cautions(look, told["looked"]),
        "holds": holds(look),
        **drawing(look, said),
        "found": [seen(each, criteria) for each in findings if on_a_part(each)],
        "places": [place(each, criteria) for each in places_found(findings, look, out)],
        "photos": photo_rows(look, criteria),
        "parts": [
            row(each, look) for each in sorted(looked, key=lambda row: RANK.index(row.value))
        ],
        "left_out": [part_words.name(e.installation) for e in said if e.installation_id in out],
        "signing": signing(look, told["looked"]),
    }


def heading(
    look: Inspection,
    said: Sequence[PartVerdict],
    seen: Sequence[PartVerdict],
    event: Finding | None,
    looked: bool,
) -> dict:
    """Return title, answer, day and the limits it was judged by."""
    limits, version = look.criteria, look.criteria_fingerprint[:SHORT]
    own = f"The fleet's limits since {day(limits.since)}" if limits else "The book's limits"
    kind = "Rig inspection report" if looked else EVENTS[event.sign].capitalize()
    return {
        "title": f"{kind}: {look.boat.name}",
        "answer": inspection_lead([row.value for row in said], len(said) - len(seen)),
        "fleet": look.boat.fleet.name,
        "as_of": day(look.on),
        "standing": STANDING,
        "limits": f"{own}{f', {version}' if version else ''}.",
        "caution": CAUTION,
    }


def facts(look: Inspection, event: Finding | None, looked: bool) -> list[list[str]]:
    """Return what boat, and who looked when and how; of an event what happened and who told."""
    boat = look.boat
    rows = [
        ["Boat", f"{boat.name}, {boat.design}" if boat.design else boat.name],
        ["Rig", f"{boat.get_rig_display()}, {boat.length_m:.1f} m, built {boat.build_year}"],
        ["Base", boat.base.name],
    ]
    happened = (
        [["What happened", f"{EVENTS[event.sign].capitalize()}. {event.note}".strip()]]
        if event
        else []
    )
    if not looked:
        return [*rows, ["Happened on", day(look.on)], ["Told by", look.person], *happened]
    rows += [
        ["Looked at", f"{day(look.on)}, {look.get_level_display()}"],
        ["By", f"{look.person}, {look.get_competence_display()}, {look.get_method_display()}"],
        ["What it can see", SEES[look.level]],
    ]
    return rows + happened + ([["Note", look.note]] if look.note else [])


def cautions(look: Inspection, looked: bool) -> list[str]:
    crew = look.competence == Inspection.Competence.CREW and looked
    return ([NO_SURVEY.format(person=look.person)] if crew else []) + [WORK[0]]


def holds(look: Inspection) -> list[dict]:
    """Return what this look holds the boat for, and what ended it since."""
    return [
        {
            "reason": hold.reason,
            "lifted": f"Ended {day(hold.lifted_on)}: {hold.lifted_how}" if hold.lifted_on else "",
        }
        for hold in look.holds.order_by("since", "pk")
    ]


def drawing(look: Inspection, said: Iterable[PartVerdict]) -> dict[str, str]:
    wires = [row for row in said if row.installation.kind == Installation.Kind.WIRE]
    by_stay = {row.installation.stay_id: row for row in wires}
    labels = {row.installation.stay_id: row.installation.stay.label for row in wires}
    return {"drawing": rig_picture(look.boat, by_stay), "drawn": in_words(by_stay, labels)}


def on_a_part(finding: Finding) -> bool:
    part = finding.installation
    return (
        part is not None
        and finding.sign != NOT_SEEN
        and finding.place in part_words.SPOTS[part.kind]
    )


def seen(finding: Finding, criteria: Criteria) -> dict[str, str]:
    sign = criteria.get(finding.sign)
    return {
        "where": f"{part_words.name(finding.installation)}, {SPOT_WORDS[finding.place]}",
        "sign": sign.label if sign else finding.sign,
        "detail": "; ".join(details(finding, sign)),
        "source": sign.source if sign else "",
        "done": made_good(finding),
    }


def details(finding: Finding, sign: Sign | None) -> list[str]:
    """Return what was measured, whether it came away when cleaned, and the note."""
    told = []
    if finding.measure is not None:
        unit = sign.measure.unit if sign and sign.measure else ""
        told.append(f"{finding.measure:g} {unit}".strip())
    if finding.cleaned is not None:
        told.append("came away when cleaned" if finding.cleaned else "stayed when cleaned")
    return told + ([finding.note] if finding.note else [])


def made_good(finding: Finding) -> str:
    return f"{day(finding.done_on)}, {finding.done_by}" if finding.done_on else ""


def place(found, criteria: Criteria) -> dict[str, str]:
    sign = criteria.get(found.finding.sign)
    return {
        "where": found.where,
        "words": found.words,
        "note": found.finding.note if sign else "",
        "source": sign.source if sign else "",
        "done": made_good(found.finding),
    }


def row(said: PartVerdict, look: Inspection) -> dict:
    part = said.installation
    return {
        "name": part_words.name(part),
        "what": part.description,
        "age": part_words.age_words(part, look.on),
        "fitted": part_words.fitted(part),
        "certainty": part.get_fitted_certainty_display(),
        "spots": spots(said),
        "reasons": [str(reason) for reason in said.reasons],
        "verdict": {
            "code": said.value,
            "word": said.get_value_display(),
            "note": f"again by {day(said.again_by)}" if said.again_by else "",
        },
    }


def spots(said: PartVerdict) -> list[str]:
    """Return the spots by what was said of them: ``seen good: lower end, wire``."""
    by_state: dict[str, list[str]] = {}
    for spot in part_words.SPOTS[said.installation.kind]:
        by_state.setdefault(getattr(said, spot), []).append(SPOT_WORDS[spot])
    told = {state: ", ".join(names) for state, names in by_state.items() if state}
    return [f"{SpotState(state).label}: {names}" for state, names in told.items()]


def signing(look: Inspection, looked: bool) -> list[str]:
    what = f"what was seen on {day(look.on)}" if looked else "what is told here"
    return [
        f"{look.person}, {look.get_competence_display()}, for {what}",
        "Received by, date",
    ]
