"""What a boat's record and its criteria say of a draft: faults, or the sights to be recorded."""

from collections.abc import Iterator

from fleet.templatetags.wording import day

from ..criteria import PLACES, SPOTS, Criteria, Sign, UnknownSign
from ..judgement.history import NOT_SEEN, BoatHistory, Span, name_of
from ..models import NOT_REACHED, SKIPPED
from ..recording import Look, Sight
from ..verdicts import reach
from .draft import Draft, DraftSight, Fault, Refused


def check(draft: Draft, history: BoatHistory) -> None:
    """Raise Refused with everything in the draft that cannot go on record of this boat."""
    _, criteria = history.criteria_on(draft.on)
    faults = [
        *_of_seen(draft, history),
        *_of_sights(draft, history, criteria),
        *_of_not_seen(draft, history),
    ]
    if faults:
        raise Refused(faults)


def look_of(draft: Draft) -> Look:
    names = ("on", "level", "person", "competence", "method", "note", "turn_round", "signed_at")
    return Look(**{name: getattr(draft, name) for name in names})


def sights_of(draft: Draft, history: BoatHistory) -> list[Sight]:
    """Return what was found and what was not seen, also of what the draft passes over."""
    found = [_found(sight) for sight in draft.sights]
    return [*found, *_said_unseen(draft), *_passed_over(draft, history)]


def _found(sight: DraftSight) -> Sight:
    facts = (sight.side, sight.measure, sight.cleaned, sight.note)
    return Sight(sight.sign, sight.place, sight.part, *facts)


def _said_unseen(draft: Draft) -> Iterator[Sight]:
    """Yield what was said not to be seen; a stay left out on purpose is so as a whole."""
    told = set()
    for unseen in draft.not_seen:
        place = "whole" if unseen.reason == SKIPPED and unseen.part else unseen.place
        if (unseen.part, place) not in told:
            told.add((unseen.part, place))
            yield Sight(NOT_SEEN, place, unseen.part, note=unseen.reason)


def _passed_over(draft: Draft, history: BoatHistory) -> Iterator[Sight]:
    """Yield what was within reach that day and the draft says nothing about."""
    said = draft.seen | {(each.part, each.place) for each in (*draft.sights, *draft.not_seen)}
    whole = {each.part for each in draft.not_seen if _means_whole(each, history)}
    for span in _asked(draft, history):
        part = span.part
        within = reach(draft.level, part.kind, part.stay.in_foil)
        for spot in span.facts.spots:
            if spot in within and (part.pk, spot) not in said and part.pk not in whole:
                note = SKIPPED if draft.turn_round else NOT_REACHED
                yield Sight(NOT_SEEN, spot, part.pk, note=note)


def _means_whole(unseen, history: BoatHistory) -> bool:
    span = history.span_of.get(unseen.part)
    return span is not None and (
        unseen.reason == SKIPPED or unseen.place not in SPOTS[span.part.kind]
    )


def _asked(draft: Draft, history: BoatHistory) -> list[Span]:
    """Return the parts up that day that no earlier look has condemned."""
    return [
        span
        for span in history.spans
        if span.up_on(draft.on)
        and (span.part.condemned_on is None or span.part.condemned_on > draft.on)
    ]


def _of_seen(draft: Draft, history: BoatHistory) -> Iterator[Fault]:
    both = {(each.part, each.place) for each in draft.not_seen} & draft.seen
    for pk, spot in sorted(draft.seen):
        span = history.span_of.get(pk)
        if span is None:
            yield Fault("seen", f"Part {pk} is not on {history.boat}: get the boats again.")
        elif spot not in span.facts.spots:
            yield Fault("seen", f"{name_of(span.part)} has no “{spot}”: get the boats again.")
        elif (pk, spot) in both:
            yield Fault("seen", f"{name_of(span.part)}, {spot}: either seen, or not seen.")


def _of_sights(draft: Draft, history: BoatHistory, criteria: Criteria) -> Iterator[Fault]:
    given = set()
    for number, sight in enumerate(draft.sights):
        where = f"sights.{number}"
        try:
            sign = criteria.sign(sight.sign)
        except UnknownSign as unknown:
            yield Fault(f"{where}.sign", str(unknown))
            continue
        key = (sight.part, sight.place, sight.sign, "" if sight.part else sight.side)
        if key in given:
            yield Fault(where, f"“{sign.label}” is given twice at the same place: give it once.")
        given.add(key)
        if sight.measure is not None and sign.measure is None:
            words = "This sign is not measured: put the number in the note."
            yield Fault(f"{where}.measure", words)
        yield from _of_place(draft, history, sight, sign, where)


def _of_place(
    draft: Draft, history: BoatHistory, sight: DraftSight, sign: Sign, where: str
) -> Iterator[Fault]:
    span = history.span_of.get(sight.part)
    if sight.part is not None and span is None:
        yield Fault(f"{where}.part", f"Part {sight.part} is not on {history.boat}.")
        return
    if span is not None and sight.place in SPOTS[span.part.kind]:
        fits = span.part.kind in sign.kinds and (not sign.spots or sight.place in sign.spots)
    else:
        fits = sight.place in sign.places
    if not fits:
        words = f"“{sign.label}” is not looked for there ({sign.where})."
        yield Fault(f"{where}.place", words)
    part = span.part if span else None
    if part and part.fitted_certainty == "day" and part.fitted_on > draft.on:
        yield Fault(
            where,
            f"{name_of(part)} was fitted on {day(part.fitted_on)}, after the day of this "
            "inspection. Correct the date, or leave it out.",
        )


def _of_not_seen(draft: Draft, history: BoatHistory) -> Iterator[Fault]:
    for number, unseen in enumerate(draft.not_seen):
        span = history.span_of.get(unseen.part)
        if unseen.part is None and unseen.place not in PLACES:
            yield Fault(f"not_seen.{number}.place", f"A boat has no place “{unseen.place}”.")
        elif unseen.part is not None and span is None:
            words = f"Part {unseen.part} is not on {history.boat}."
            yield Fault(f"not_seen.{number}.part", words)
        elif span and unseen.place not in (*span.facts.spots, "whole"):
            words = f"{name_of(span.part)} has no “{unseen.place}”."
            yield Fault(f"not_seen.{number}.place", words)
