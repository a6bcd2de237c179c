"""What people put on record: an inspection, a thing made good, a part renewed.

Verdicts and holds follow from the record (``judge``, ``settle``); nothing here lifts a hold by
saying so. Every function is one transaction and refuses with a sentence (ValidationError).
"""

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Max

from fleet.models import Boat, Fleet, Installation
from fleet.templatetags.wording import day

from .judgement.projection import Written, judge, settle
from .models import Finding, Hold, Inspection, PartVerdict

__all__ = [
    "Look",
    "Sight",
    "Written",
    "check_look",
    "judge",
    "make_good_done",
    "record",
    "record_renewal",
    "settle",
]

# What a new part takes over from the one before it, unless the renewal says otherwise.
SAME_AGAIN = (
    "construction",
    "alloy",
    "diameter_mm",
    "length_mm",
    "lower_terminal",
    "upper_terminal",
    "pin_mm",
    "thread",
    "hand",
    "mast_end",
    "adjuster",
)


@dataclass(frozen=True)
class Look:
    """Who looked at a boat, when, at what level and how."""

    on: dt.date
    level: str
    person: str
    competence: str
    method: str = "eye"
    note: str = ""
    turn_round: bool = False
    signed_at: dt.datetime | None = None


@dataclass(frozen=True)
class Sight:
    """One sign found at one place; sign ``not_seen`` with a note says why a spot was not seen."""

    sign: str
    place: str
    installation_id: int | None = None
    side: str = ""
    measure: float | None = None
    cleaned: bool | None = None
    note: str = ""


@transaction.atomic
def record(fleet: Fleet, boat: Boat, look: Look, sights: Sequence[Sight], user=None) -> Inspection:
    """Put one inspection of one boat on record, judge the boat, and return the inspection."""
    check_look(fleet, boat, look, sights)
    inspection = Inspection(boat=boat, recorded_by=user, **vars(look))
    inspection.full_clean(validate_unique=False, validate_constraints=False)
    inspection.save()
    Finding.objects.bulk_create(Finding(inspection=inspection, **vars(sight)) for sight in sights)
    judge([boat.pk])
    return inspection


def check_look(
    fleet: Fleet,
    boat: Boat,
    look: Look,
    sights: Sequence[Sight],
    besides: Inspection | None = None,
) -> None:
    """Lock the boat and refuse what cannot go on its record, in the place of ``besides`` or anew.

    Raises ValidationError.
    """
    # The lock makes two people recording the same boat take turns, so that neither is lost.
    if not Boat.objects.of(fleet).select_for_update().filter(pk=boat.pk).exists():
        raise ValidationError("This boat is not in this fleet.")
    _not_future(look.on, fleet, "The inspection")
    if boat.left and look.on > boat.left:
        raise ValidationError(f"{boat} left the fleet on {day(boat.left)}, before this date.")
    if not look.person.strip():
        raise ValidationError("Say who looked: the person signs what was seen.")
    same = {"boat": boat, "on": look.on, "level": look.level, "person": look.person}
    others = Inspection.objects.filter(**same).exclude(pk=besides.pk if besides else None)
    if others.exists():
        raise ValidationError(
            f"{look.person} has already recorded this level on {boat} for {day(look.on)}. "
            "Open that inspection, or correct the date."
        )
    own = Installation.objects.filter(stay__boat=boat).values_list("pk", flat=True)
    if {sight.installation_id for sight in sights} - {None, *own}:
        raise ValidationError("A finding names a part that is not on this boat.")


def _not_future(on: dt.date, fleet: Fleet, what: str) -> None:
    today = fleet.today()
    if on > today:
        raise ValidationError(
            f"{what} is dated {day(on)}; today is {day(today)}. Give the day it was done."
        )


@transaction.atomic
def make_good_done(finding: Finding, on: dt.date, by: str) -> None:
    """Record that what was found has been made good, when and by whom; its hold lifts.

    A condemned part and an event are not made good: they end by renewal and by inspection.
    """
    boat = finding.inspection.boat
    hold = Hold.objects.standing().filter(finding=finding).first()
    if hold is None:
        raise ValidationError("Nothing waits to be made good here.")
    if hold.cause == Hold.Cause.EVENT:
        raise ValidationError(
            "After an event the rig is inspected, aloft or mast-down, by a rigger or surveyor. "
            "Record that inspection; this hold lifts by it alone."
        )
    if not by.strip():
        raise ValidationError("Say who made it good.")
    _not_future(on, boat.fleet, "The work")
    if on < finding.inspection.on:
        raise ValidationError(f"It was found on {day(finding.inspection.on)}, after that day.")
    finding.done_on, finding.done_by = on, by.strip()
    finding.save(update_fields=["done_on", "done_by"])
    settle([boat.pk])


@transaction.atomic
def record_renewal(
    part: Installation,
    *,
    fitted_on: dt.date,
    fitter: str,
    invoice: str = "",
    batch: str = "",
    reason: str = "",
    changes: Mapping[str, object] | None = None,
) -> Installation:
    """End a part's life on the day the new one is fitted in its place; return the new part.

    The new part takes over construction, sizes and terminals unless ``changes`` says otherwise.
    ``reason`` is needed for a part that was not condemned. A hold for it lifts by this. A part
    that is off already, its place empty since, keeps its own end.
    """
    parts = Installation.objects.select_for_update(of=("self",))
    old = parts.select_related("stay__boat__fleet").get(pk=part.pk)
    _check_renewal(old, fitted_on, reason)
    if old.removed_on is None:
        old.removed_on = fitted_on
        old.removal_reason = Installation.Removal.CONDEMNED if old.condemned_on else reason
        old.removal_spot = _condemned_spot(old)
        old.save(update_fields=["removed_on", "removal_reason", "removal_spot"])
    new = Installation(
        stay=old.stay,
        kind=old.kind,
        fitted_on=fitted_on,
        fitted_certainty=Installation.Certainty.DAY,
        fitter=fitter,
        invoice=invoice,
        batch=batch,
        **{name: getattr(old, name) for name in SAME_AGAIN} | dict(changes or {}),
    )
    new.full_clean()
    new.save()
    judge([old.stay.boat_id])
    return new


def _check_renewal(old: Installation, fitted_on: dt.date, reason: str) -> None:
    _not_future(fitted_on, old.stay.boat.fleet, "The renewal")
    if old.removed_on:
        _check_empty(old, fitted_on)
        return
    if old.condemned_on and fitted_on < old.condemned_on:
        raise ValidationError(
            f"This part was condemned on {day(old.condemned_on)}; the new one cannot have been "
            "fitted before that."
        )
    if old.fitted_on and fitted_on < old.fitted_on:
        raise ValidationError(f"This part was itself fitted on {day(old.fitted_on)}.")
    if not old.condemned_on and reason not in Installation.Removal.values:
        raise ValidationError("Say why a part that was not condemned is renewed.")


def place_is_empty(old: Installation) -> bool:
    """Whether the part came off and nothing stands in its place."""
    standing = Installation.objects.standing().filter(stay=old.stay_id, kind=old.kind)
    return old.removed_on is not None and not standing.exists()


def _check_empty(old: Installation, fitted_on: dt.date) -> None:
    if not place_is_empty(old):
        raise ValidationError(f"This part was already taken off on {day(old.removed_on)}.")
    parts = Installation.objects.filter(stay=old.stay_id, kind=old.kind)
    off = parts.aggregate(last=Max("removed_on"))["last"]
    if fitted_on < off:
        raise ValidationError(
            f"The part before it came off on {day(off)}; the new one cannot have been "
            "fitted before that."
        )


def _condemned_spot(old: Installation) -> str:
    row = (
        PartVerdict.objects.filter(installation=old, inspection__on=old.condemned_on)
        .exclude(spot="")
        .first()
    )
    return row.spot if row and old.condemned_on else ""
