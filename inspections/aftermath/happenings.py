"""Something happened: an event, a part that let go, a move to the yard. Each is put on record once.

An event is an inspection that saw nothing but the event: its whole-rig sign voids what was seen
before. Every function is one transaction and refuses with a sentence (ValidationError).
"""

import datetime as dt
from dataclasses import dataclass

from django.core.exceptions import ValidationError
from django.db import transaction

from fleet.models import Boat, Change, Fleet, Installation
from fleet.templatetags.wording import day

from .. import recording
from ..criteria import DEFAULT
from ..entry.removals import following
from ..followups import Failure, YardMove
from ..judgement.history import NOT_SEEN, name_of
from ..models import SKIPPED, Finding, Inspection
from .no_override import own_slip

WHOLE_RIG = "whole_rig"
EVENTS = [(sign.code, sign.label) for sign in DEFAULT.signs if sign.voids]
CHECK = Inspection.Level.DECK


@dataclass(frozen=True)
class Event:
    """What happened to a boat, when, in a line, and who says so."""

    sign: str
    on: dt.date
    line: str
    person: str
    competence: str = Inspection.Competence.CREW


@transaction.atomic
def record_event(fleet: Fleet, boat: Boat, event: Event, user=None) -> Inspection:
    """Put an event on record; the boat is held from that day until its rig was inspected after it.

    Where that person has a deck check of that day on record, the event is added to it.
    """
    same = {"boat": boat, "on": event.on, "level": CHECK, "person": event.person}
    look = Inspection.objects.filter(**same).select_for_update().first()
    if look is None:
        return recording.record(fleet, boat, _look(event), _sights(boat, event), user)
    label = dict(EVENTS)[event.sign]
    if look.findings.filter(sign=event.sign, place=WHOLE_RIG).exists():
        raise ValidationError(f"“{label}” is already on record for {boat} on {day(event.on)}.")
    Finding.objects.create(inspection=look, place=WHOLE_RIG, sign=event.sign, note=event.line)
    noted(boat, f"{label}, added to the deck check of {day(event.on)}", user)
    recording.judge([boat.pk])
    return look


def _look(event: Event) -> recording.Look:
    label = dict(EVENTS)[event.sign]
    return recording.Look(event.on, CHECK, event.person, event.competence, note=f"{label}.")


def _sights(boat: Boat, event: Event) -> list[recording.Sight]:
    """Return the event, and that nothing was looked at: it is no inspection of any part."""
    up = Installation.objects.standing().filter(stay__boat=boat).order_by("pk")
    unseen = [
        recording.Sight(NOT_SEEN, "whole", pk, note=SKIPPED)
        for pk in up.values_list("pk", flat=True)
    ]
    # Without a part on record it is no whole look at the boat either.
    unseen = unseen or [recording.Sight(NOT_SEEN, WHOLE_RIG, note=SKIPPED)]
    return [recording.Sight(event.sign, WHOLE_RIG, note=event.line), *unseen]


def noted(boat: Boat, what: str, user, before: dict | None = None) -> Change:
    """Keep who entered or took back what."""
    return Change.objects.create(
        fleet_id=boat.fleet_id, boat=boat, what=what[:300], by=user, before=before or {}
    )


@transaction.atomic
def record_failure(
    part: Installation, on: dt.date, spot: str, what: str, person: str, user=None
) -> Failure:
    """End the life of a part that let go; the boat is held until another is in its place."""
    part = _locked(part)
    boat = part.stay.boat
    if part.removed_on:
        raise ValidationError(f"This part was already taken off on {day(part.removed_on)}.")
    if on > boat.fleet.today():
        raise ValidationError(f"{day(on)} is still to come. Give the day it let go.")
    if part.fitted_on and on < part.fitted_on:
        raise ValidationError(f"This part was itself fitted on {day(part.fitted_on)}.")
    found = part.findings.exclude(sign=NOT_SEEN).order_by("-inspection__on").first()
    if found and found.inspection.on > on:
        raise ValidationError(
            f"Something was found on this part on {day(found.inspection.on)}, after that day."
        )
    part.removed_on, part.removal_reason = on, Installation.Removal.FAILED
    part.removal_spot = spot
    part.full_clean(exclude=["stay"])
    part.save(update_fields=["removed_on", "removal_reason", "removal_spot"])
    # One that was taken back on the page of the boat's parts says nothing any more.
    Failure.objects.filter(installation=part).delete()
    failure = Failure.objects.create(
        installation=part, what=what.strip(), person=person.strip(), by=user
    )
    noted(boat, f"{name_of(part)} let go on {day(on)}: {what.strip()}", user)
    recording.judge([boat.pk])
    return failure


def _locked(part: Installation) -> Installation:
    parts = Installation.objects.select_for_update(of=("self",))
    return parts.select_related("stay__boat__fleet").get(pk=part.pk)


@transaction.atomic
def take_back_failure(failure: Failure, user, now: dt.datetime) -> None:
    """Strike a failure entered by mistake: the part stands again, while nothing rests on it.

    Only who entered it, within a day: anybody else would release a boat by it.
    """
    part = _locked(failure.installation)
    if not own_slip(failure.by_id, failure.at, user, now):
        raise ValidationError(
            "Only who entered it takes it back, within a day. After that the boat is released by "
            "the new part on record."
        )
    boat = part.stay.boat
    if part.removal_reason != Installation.Removal.FAILED:
        raise ValidationError("This part is not on record as failed any more.")
    places = Installation.objects.filter(stay=part.stay, kind=part.kind).select_related("stay")
    after = following(places).get(part.pk)
    if after:
        raise ValidationError(
            "Another part is on record in its place. Correct it on the page of the boat's parts."
        )
    look = boat.inspections.filter(on__gt=part.removed_on).order_by("on").first()
    if look:
        raise ValidationError(
            f"The boat was inspected since, on {day(look.on)}, and nobody looked at this part "
            "then: it cannot stand again as if nothing had been."
        )
    words = f"{name_of(part)}: stands again; it was on record as failed on {day(part.removed_on)}"
    before = {"what": failure.what, "person": failure.person, "on": part.removed_on}
    part.removed_on, part.removal_reason, part.removal_spot = None, "", ""
    part.save(update_fields=["removed_on", "removal_reason", "removal_spot"])
    failure.delete()
    noted(boat, words, user, before)
    recording.judge([boat.pk])


@transaction.atomic
def record_move(boat: Boat, user=None, **facts) -> YardMove:
    """Record that a boat was moved to a yard under engine, without guests. No hold lifts by it."""
    if facts["on"] > boat.fleet.today():
        raise ValidationError(f"{day(facts['on'])} is still to come. Record the move afterwards.")
    move = YardMove(boat=boat, by=user, **facts)
    move.full_clean()
    move.save()
    return move


@transaction.atomic
def take_back_move(move: YardMove, user=None) -> None:
    """Strike a move entered by mistake. Nothing rests on one."""
    words = f"Move of {day(move.on)} from {move.origin} to {move.destination} taken back"
    noted(move.boat, words, user, {"skipper": move.skipper, "weather": move.weather})
    move.delete()
