"""A draft from a phone put on record exactly once, or kept for a person to decide.

The row of the upload and the inspection are written in one transaction. The id is the phone's: the
same one again, however often and however soon, is answered as it was the first time.
"""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Q
from django.urls import reverse

from fleet.models import Boat, Fleet

from .. import recording
from ..judgement.history import BoatHistory, load
from ..models import DockUpload, Hold, Inspection, Photo, PhotoQuerySet
from .conflicts import conflict
from .draft import Draft, Fault, Refused, number_of, read_draft
from .draft_check import check, look_of, sights_of

State = DockUpload.State
RECORDED, RECORDED_BEFORE, CONFLICT, FAULTY = 201, 200, 409, 422


@dataclass(frozen=True)
class Reply:
    """What the phone is told: an HTTP status and a body of JSON."""

    status: int
    body: dict[str, Any]


def receive(fleet: Fleet, user, payload: object, now: dt.datetime) -> Reply:
    """Take one draft in; whatever is wrong with it is said, and nothing of it is lost."""
    try:
        number, boat = number_of(payload), _boat(fleet, payload)
    except Refused as refused:
        return Reply(FAULTY, _faults(refused.faults))
    with transaction.atomic():
        first = {"boat": boat, "by": user, "received_at": now, "payload": payload}
        rows = DockUpload.objects.select_for_update(of=("self",)).select_related("boat")
        upload, _ = rows.get_or_create(pk=number, defaults=first)
        if upload.boat.fleet_id != fleet.pk:
            words = "This number is taken. Make the inspection anew from this phone's copy."
            return Reply(FAULTY, _faults([Fault("id", words)]))
        if upload.state != State.RECEIVED:
            return told_before(upload)
        upload.boat, upload.payload, upload.by = boat, payload, user
        reply = _take(fleet, upload, user)
        upload.save()
        return reply


def told_before(upload: DockUpload) -> Reply:
    """Return the answer to a draft that is sent again."""
    if upload.state == State.CONFLICT:
        return Reply(CONFLICT, upload.answer)
    return Reply(RECORDED_BEFORE, upload.answer)


def _boat(fleet: Fleet, payload: dict[str, Any]) -> Boat:
    pk = payload.get("boat")
    known = type(pk) is int and 0 < pk < 2**63
    boat = Boat.objects.of(fleet).filter(pk=pk).first() if known else None
    if boat is None:
        raise Refused([Fault("boat", "This boat is not in this fleet: get the boats again.")])
    return boat


def _faults(faults: list[Fault]) -> dict[str, Any]:
    return {"faults": [vars(each) for each in faults]}


def _take(fleet: Fleet, upload: DockUpload, user) -> Reply:
    """Record it, or say why not; sets the state of the upload, which the caller saves."""
    draft = None
    try:
        draft = read_draft(upload.payload)
        history = record_of(upload, draft)
        _check_photos(upload, draft)
        upload.sentence = conflict(draft, history, user, fleet.today())
        if not upload.sentence:
            put_on_record(upload, draft, history)
            return Reply(RECORDED, upload.answer)
    except Refused as refused:
        upload.sentence = refused.faults[0].sentence[:500]
        if draft:
            _keep_photos(upload, draft)  # The phone does not send them twice.
        return Reply(FAULTY, _faults(refused.faults))
    page = reverse("dock_upload", args=[fleet.slug, upload.pk])
    upload.state, upload.answer = State.CONFLICT, {"conflict": upload.sentence, "url": page}
    _keep_photos(upload, draft)
    return Reply(CONFLICT, upload.answer)


def record_of(upload: DockUpload, draft: Draft) -> BoatHistory:
    """Return the record of its boat, which is locked; Refused where the draft does not fit it."""
    # Two drafts of one boat take turns, so that the second sees what the first put on record.
    Boat.objects.select_for_update().get(pk=upload.boat_id)
    [history] = load([upload.boat_id])
    check(draft, history)
    return history


def put_on_record(upload: DockUpload, draft: Draft, history: BoatHistory) -> Inspection:
    """Record the draft as whoever sent it; Refused with what the record has against it."""
    fleet = history.boat.fleet
    try:
        with transaction.atomic():
            look = recording.record(
                fleet, history.boat, look_of(draft), sights_of(draft, history), upload.by
            )
    except ValidationError as fault:
        raise Refused([Fault("draft", words) for words in fault.messages]) from fault
    recorded(upload, draft, look)
    return look


def recorded(upload: DockUpload, draft: Draft, look: Inspection) -> None:
    """Note on the upload what became of it, and give its photos to their findings."""
    upload.state, upload.inspection, upload.sentence = State.RECORDED, look, ""
    upload.answer = answer(look)
    _keep_photos(upload, draft, look)


def answer(look: Inspection) -> dict[str, Any]:
    """Return what the phone shows when somebody steps off: verdicts, and what holds the boat."""
    verdicts = look.verdicts.order_by("installation").values_list(
        "installation", "value", "reasons", "again_by"
    )
    holds = Hold.objects.standing().filter(boat=look.boat_id).values("cause", "reason")
    return {
        "inspection": look.pk,
        "url": reverse("inspection", args=[look.boat.fleet.slug, look.pk]),
        "verdicts": [
            {"part": part, "value": value, "reasons": reasons,
             "again_by": again.isoformat() if again else None}
            for part, value, reasons, again in verdicts
        ],
        "holds": list(holds),
    }  # fmt: skip


def _free_photos(upload: DockUpload) -> PhotoQuerySet:
    """Return the fleet's photos that no look or version has, nor another draft to be decided."""
    waiting = Q(upload=None) | Q(upload=upload) | Q(upload__state=State.RECEIVED)
    return Photo.objects.of(upload.boat.fleet).filter(waiting, inspection=None, version=None)


def _check_photos(upload: DockUpload, draft: Draft) -> None:
    """Refuse a draft whose photos have not all arrived, or are another inspection's."""
    named = draft.photos
    known = set(_free_photos(upload).filter(pk__in=named).values_list("pk", flat=True))
    faults = [
        Fault(f"sights.{number}.photos", f"Photo {photo} has not arrived: send it first.")
        for number, sight in enumerate(draft.sights)
        for photo in sight.photos
        if photo not in known
    ]
    if len(set(named)) < len(named):
        faults.append(Fault("sights", "One photo is given to two findings: give it to one."))
    if faults:
        raise Refused(faults)


def _keep_photos(upload: DockUpload, draft: Draft, look: Inspection | None = None) -> None:
    upload.save()
    found = {
        (each.installation_id, each.place, each.sign, each.side): each.pk
        for each in (look.findings.all() if look else ())
    }
    for sight in draft.sights:
        finding = found.get((sight.part, sight.place, sight.sign, sight.side))
        rows = _free_photos(upload).filter(pk__in=sight.photos)
        rows.update(upload=upload, inspection=look, finding=finding)
