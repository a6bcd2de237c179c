"""An inspection corrected or withdrawn, never silently: what it said before stays readable.

The inspection keeps its number and is judged as it is now; verdicts and holds follow. What it said
before is kept as a version, in words, with who changed it, when and why.
"""

import datetime as dt
from collections import defaultdict
from collections.abc import Callable, Sequence
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction

from fleet.models import Change, Membership
from fleet.templatetags.wording import day

from .aftermath import no_override
from .criteria import DEFAULT, SPOTS, Criteria
from .judgement.history import NOT_SEEN, name_of
from .models import Finding, Inspection, InspectionVersion, Photo
from .recording import Look, Sight, check_look, judge
from .verdicts.facts import SPOT_WORDS

LOOK = ("on", "level", "person", "competence", "method", "turn_round", "note", "signed_at")


def may_correct(look: Inspection, user, role: str) -> bool:
    """Return whether this person may: who recorded it, and the fleet's managers."""
    if role == Membership.Role.MANAGER:
        return True
    return role == Membership.Role.BOSUN and look.recorded_by_id == user.pk


@transaction.atomic
def correct(
    look: Inspection,
    facts: Look,
    sights: Sequence[Sight],
    user,
    why: str,
    now: dt.datetime,
    *,
    attach: Callable[[Inspection], None] = lambda look: None,
) -> Inspection:
    """Put other facts in the place of an inspection's, keep the old ones, and judge the boat.

    A finding that stays keeps what was made good of it, and its photos; ``attach`` gives it those
    that came with the correction. Raises ValidationError, also where the boat would be released by
    it (see ``no_override``).
    """
    _check_why(why)
    check_look(look.boat.fleet, look.boat, facts, sights, besides=look)
    look = Inspection.objects.select_related("boat__fleet", "criteria").get(pk=look.pk)
    before = snapshot(look)
    with no_override.kept(look.boat, slip=_slip(look, user, now)):
        for name, value in vars(facts).items():
            setattr(look, name, value)
        look.full_clean(validate_unique=False, validate_constraints=False)
        _replace_findings(look, sights)
        look.save()
        attach(look)
        judge([look.boat_id])
    if _without_signature(snapshot(look)) == _without_signature(before):
        raise ValidationError("Nothing is different from what is on record. Change it first.")
    _version(look, before, user, why)
    return look


@transaction.atomic
def withdraw(look: Inspection, user, why: str, now: dt.datetime) -> InspectionVersion:
    """Take an inspection off the record, e.g. entered on the wrong boat; it stays readable.

    Raises ValidationError as ``correct`` does.
    """
    _check_why(why)
    type(look.boat).objects.select_for_update().get(pk=look.boat_id)
    look = Inspection.objects.select_related("boat__fleet", "criteria").get(pk=look.pk)
    version = _version(look, snapshot(look), user, why, withdrawn=True)
    Photo.objects.filter(inspection=look).update(version=version)
    boat = look.boat
    with no_override.kept(boat, slip=_slip(look, user, now)):
        look.delete()
        judge([boat.pk])
    return version


def _slip(look: Inspection, user, now: dt.datetime) -> bool:
    return no_override.own_slip(look.recorded_by_id, look.recorded_at, user, now)


def _check_why(why: str) -> None:
    if not why.strip():
        raise ValidationError("Say why: whoever reads the old version will ask.")


def _version(look: Inspection, data: dict, user, why: str, **how) -> InspectionVersion:
    what = "withdrawn" if how.get("withdrawn") else "corrected"
    words = f"{look.get_level_display()} of {day(look.on)} by {look.person} {what}: {why.strip()}"
    Change.objects.create(
        fleet=look.boat.fleet, boat=look.boat, what=f"{words[:1].upper()}{words[1:300]}", by=user
    )
    return InspectionVersion.objects.create(
        boat=look.boat,
        inspection=look,
        was=look.pk,
        number=InspectionVersion.objects.filter(was=look.pk).count() + 1,
        data=data,
        why=why.strip()[:300],
        by=user,
        by_name=(user.get_full_name() or user.get_username())[:120],
        **how,
    )


def _replace_findings(look: Inspection, sights: Sequence[Sight]) -> None:
    """Make the findings the sights; rows that stay are changed and keep their number."""
    old = defaultdict(list)
    for finding in look.findings.order_by("pk"):
        old[_key(finding)].append(finding)
    fresh = []
    for sight in sights:
        rows = old[_key(sight)]
        if not rows:
            fresh.append(Finding(inspection=look, **vars(sight)))
            continue
        finding = rows.pop(0)
        _check_done(finding, look.on)
        finding.measure, finding.cleaned, finding.note = sight.measure, sight.cleaned, sight.note
        finding.save(update_fields=["measure", "cleaned", "note"])
    gone = [finding.pk for rows in old.values() for finding in rows]
    look.findings.filter(pk__in=gone).delete()
    Finding.objects.bulk_create(fresh)


def _key(row: Finding | Sight) -> tuple:
    return row.installation_id, row.place, row.sign, "" if row.installation_id else row.side


def _check_done(finding: Finding, on: dt.date) -> None:
    if finding.done_on and finding.done_on < on:
        raise ValidationError(
            f"What was found was made good on {day(finding.done_on)}, before {day(on)}. "
            "Correct the date."
        )


def snapshot(look: Inspection) -> dict[str, Any]:
    """Return an inspection as it stands, in words that need no other row to be read."""
    criteria = Criteria.from_dict(look.criteria.data) if look.criteria else DEFAULT
    findings = look.findings.select_related("installation__stay").prefetch_related("photos")
    verdicts = look.verdicts.select_related("installation__stay").order_by("installation")
    return {
        "look": {name: _plain(getattr(look, name)) for name in LOOK},
        "recorded_by": look.recorded_by.get_full_name() if look.recorded_by else "",
        "recorded_at": look.recorded_at.isoformat(),
        "criteria": look.criteria_fingerprint,
        "findings": [_finding(each, criteria) for each in findings.order_by("pk")],
        "verdicts": [
            {
                "part": name_of(row.installation),
                "value": row.value,
                "spots": {s: getattr(row, s) for s in SPOTS[row.installation.kind]},
                "reasons": row.reasons,
                "again_by": _plain(row.again_by),
            }
            for row in verdicts
        ],
    }


def _finding(finding: Finding, criteria: Criteria) -> dict[str, Any]:
    part, place = finding.installation, SPOT_WORDS.get(finding.place, finding.place)
    where = [name_of(part)] if part else []
    where += [f"{place} {finding.side}".replace("_", " ").strip()]
    sign = criteria.completed_by(DEFAULT).get(finding.sign)
    label = "Not seen" if finding.sign == NOT_SEEN else sign.label if sign else finding.sign
    return {
        "where": ", ".join(where),
        "sign": finding.sign,
        "label": label,
        "measure": finding.measure,
        "unit": sign.measure.unit if sign and sign.measure else "",
        "cleaned": finding.cleaned,
        "note": finding.note,
        "done_on": _plain(finding.done_on),
        "done_by": finding.done_by,
        "photos": [str(photo.pk) for photo in finding.photos.all()],
    }


def _plain(value: object) -> object:
    return value.isoformat() if isinstance(value, dt.date) else value


def _without_signature(data: dict[str, Any]) -> dict[str, Any]:
    return data | {"look": data["look"] | {"signed_at": None}}
