"""What a person decides of an inspection that met a changed record: record it too, or set it aside.

Nothing sent is ever deleted: what is set aside stays readable, with who did so and why.
"""

import datetime as dt
from collections.abc import Callable

from django.core.exceptions import ValidationError
from django.db import transaction
from django.urls import reverse

from .. import corrections
from ..judgement.history import BoatHistory
from ..models import DockUpload, Inspection
from .conflicts import same_look
from .draft import Draft, Refused, read_draft
from .draft_check import look_of, sights_of
from .sending import put_on_record, record_of, recorded

State = DockUpload.State


@transaction.atomic
def record_as_well(upload: DockUpload, user, now: dt.datetime) -> Inspection:
    """Put it on record beside what is there; ValidationError with what speaks against it."""
    return _decided(upload, user, now, "Recorded as well.", put_on_record)


@transaction.atomic
def record_in_place(upload: DockUpload, user, role: str, why: str, now: dt.datetime) -> Inspection:
    """Put it in the place of the look by the same person, level and day, which stays readable."""

    def put(row: DockUpload, draft: Draft, history: BoatHistory) -> Inspection:
        other = same_look(draft, history)
        if other is None:
            raise ValidationError("There is no look of that person, level and day any more.")
        if not corrections.may_correct(other, user, role):
            raise ValidationError("Who recorded the other one may do this, or a manager.")
        sights = sights_of(draft, history)
        look = corrections.correct(other, look_of(draft), sights, user, why, now)
        recorded(row, draft, look)
        return look

    return _decided(upload, user, now, f"Recorded in place of another. {why}", put)


@transaction.atomic
def set_aside(upload: DockUpload, user, why: str, now: dt.datetime) -> None:
    """Keep it readable and off the record; ValidationError without a reason."""
    if not why.strip():
        raise ValidationError("Say why it is set aside: whoever signed it will ask.")
    row = _to_decide(upload)
    row.state = State.DROPPED
    _signed(row, user, now, why.strip())
    slug = row.boat.fleet.slug
    row.answer = {
        "inspection": None,
        "url": reverse("dock_upload", args=[slug, row.pk]),
        "set_aside": f"Set aside by {_name(user)}: {row.decided_why}",
        "verdicts": [],
        "holds": [],
    }
    row.save()


def _decided(
    upload: DockUpload,
    user,
    now: dt.datetime,
    why: str,
    put: Callable[[DockUpload, Draft, BoatHistory], Inspection],
) -> Inspection:
    row = _to_decide(upload)
    try:
        draft = read_draft(row.payload)
        look = put(row, draft, record_of(row, draft))
    except Refused as refused:
        raise ValidationError([each.sentence for each in refused.faults]) from refused
    _signed(row, user, now, why)
    row.save()
    return look


def _to_decide(upload: DockUpload) -> DockUpload:
    rows = DockUpload.objects.select_for_update(of=("self",)).select_related("boat__fleet")
    row = rows.get(pk=upload.pk)
    if row.state != State.CONFLICT:
        raise ValidationError(f"This is decided already: {row.get_state_display()}.")
    return row


def _signed(row: DockUpload, user, now: dt.datetime, why: str) -> None:
    row.decided_by, row.decided_at, row.decided_why = user, now, why[:300]


def _name(user) -> str:
    return user.get_full_name() or user.get_username()
