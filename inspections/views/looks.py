"""Inspections: all of them, one of them, and recording one on the dock."""

from dataclasses import replace

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Case, IntegerField, Prefetch, QuerySet, Value, When
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django_tables2 import RequestConfig

from fleet.access import member
from fleet.models import Boat

from .. import recording
from ..corrections import may_correct
from ..criteria import RANK, STANDING
from ..dock import form_photos
from ..dock.dock_form import DockForm
from ..dock.kit_words import LEVELS_SEE
from ..filters import InspectionFilter
from ..judgement.history import criteria_of, name_of
from ..models import (
    DockUpload,
    Finding,
    Hold,
    Inspection,
    InspectionVersion,
    PartVerdict,
    VerdictValue,
)
from ..photos.shown import photos_of, place_words
from ..tables import HoldTable, InspectionTable, VerdictTable
from ..wording import (
    EVENTS,
    event_of,
    inspection_lead,
    left_out,
    places_found,
    told_apart,
)

WRITERS = ("manager", "bosun")
WITHDRAWN_SHOWN = 20
QUIET = (VerdictValue.KEEP, VerdictValue.NOT_SEEN)


@member()
def inspections(request: HttpRequest) -> HttpResponse:
    may_write = request.role in WRITERS
    held = _holds(request).filter(boat__in=Boat.objects.standing(request.fleet.today()))
    holds = HoldTable(held, prefix="held-", may_write=may_write)
    loud = Prefetch("verdicts", PartVerdict.objects.exclude(value__in=QUIET))
    looks = Inspection.objects.of(request.fleet).select_related("boat__fleet", "boat__base")
    narrowed = InspectionFilter(request.GET, queryset=told_apart(looks), request=request)
    table = InspectionTable(narrowed.qs.prefetch_related(loud))
    for each, rows in ((holds, 20), (table, 25)):
        RequestConfig(request, paginate={"per_page": rows}).configure(each)
    context = {
        "holds": holds,
        "held": held.values("boat").distinct().count(),
        "table": table,
        "filter": narrowed,
        "any": looks.exists(),
        "withdrawn": InspectionVersion.objects.of(request.fleet).withdrawn()[:WITHDRAWN_SHOWN],
        "sent": DockUpload.objects.of(request.fleet).exists(),
        "to_decide": DockUpload.objects.of(request.fleet).to_decide().count(),
    }
    return render(request, "inspections/inspections.html", context)


def _holds(request: HttpRequest) -> QuerySet[Hold]:
    return (
        Hold.objects.of(request.fleet)
        .standing()
        .select_related("boat__fleet", "installation__stay")
    )


@member()
def inspection(request: HttpRequest, pk: int) -> HttpResponse:
    looks = Inspection.objects.of(request.fleet).select_related("boat__fleet", "criteria")
    look = looks.filter(pk=pk).first()
    versions = list(InspectionVersion.objects.of(request.fleet).filter(was=pk))
    if look is None and versions:
        return redirect("inspection_versions", fleet=request.fleet.slug, pk=pk)
    if look is None:
        raise Http404("No such inspection in this fleet.")
    context = {
        "look": look,
        **_verdicts(request, look),
        "holds": _holds(request).filter(inspection=look),
        "standing": STANDING,
        "may_write": request.role in WRITERS,
        "may_correct": may_correct(look, request.user, request.role),
        "versions": versions,
        "upload": look.uploads.first(),
    }
    return render(request, "inspections/inspection.html", context)


def _verdicts(request: HttpRequest, look: Inspection) -> dict:
    """Return the verdicts of a look, worst first, with what was found and photographed."""
    worst = Case(
        *(When(value=value, then=Value(rank)) for value, rank in RANK.items()),
        output_field=IntegerField(),
    )
    rows = look.verdicts.select_related("installation__stay").annotate(rank=worst)
    found = Finding.objects.of(request.fleet).filter(inspection=look)
    findings = list(found.select_related("installation__stay").order_by("pk"))
    criteria = criteria_of(request.fleet, look.on)
    photos = photos_of(look, criteria)
    out = left_out(rows, findings)
    looked = rows.exclude(installation__in=out)
    passed = [name_of(row.installation) for row in rows if row.installation_id in out]
    table = VerdictTable(looked, findings=findings, criteria=criteria, photos=photos)
    RequestConfig(request, paginate={"per_page": 60}).configure(table)
    return {
        "lead": inspection_lead([row.value for row in rows], len(passed)),
        "table": table,
        "looked": len(rows) > len(passed) or not rows,
        "left_out": passed,
        "places": places_found(findings, look, out),
        **_event(findings, len(rows) == len(passed)),
        "again": [
            (name_of(each.installation), each.get_value_display())
            for each in look.rejudgements.select_related("installation__stay")
        ],
        "made_good": [(place_words(each), each) for each in findings if each.done_on],
        "photos": photos,
    }


def _event(findings: list[Finding], nothing_seen: bool) -> dict:
    """Return the event a look put on record, and whether that is all there is to it."""
    event = event_of(findings)
    name = EVENTS[event.sign] if event else ""
    only = event is not None and nothing_seen
    return {"event": event, "event_name": name, "only_event": only}


@member(*WRITERS)
def inspect(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask for the level first; then what was found, stay by stay."""
    boat = get_object_or_404(Boat.objects.of(request.fleet), pk=pk)
    level = request.GET.get("level", "")
    if level not in Inspection.Level.values:
        return render(
            request, "inspections/level.html", {"boat": boat, "levels": LEVELS_SEE.items()}
        )
    form = _form(request, boat, level)
    if request.method == "POST" and form.is_valid():
        try:
            look = _recorded(request, boat, form)
            return redirect("inspection", fleet=request.fleet.slug, pk=look.pk)
        except ValidationError as fault:
            form.faults += fault.messages
    context = {"boat": boat, "form": form, "level": Inspection.Level(level), "standing": STANDING}
    return render(request, "inspections/inspect.html", context)


def _form(request: HttpRequest, boat: Boat, level: str) -> DockForm:
    fleet, sent = request.fleet, request.method == "POST"
    today = fleet.today()
    photos = form_photos.take_in(fleet, request.user, today, request.POST, request.FILES)
    return DockForm(
        boat,
        level,
        criteria_of(fleet, today),
        today,
        person=request.user.get_full_name(),
        data=request.POST if sent else None,
        photos=photos,
    )


@transaction.atomic
def _recorded(request: HttpRequest, boat: Boat, form: DockForm) -> Inspection:
    """Put the inspection on record, its photos with it or neither."""
    signed = replace(form.inspection(), signed_at=timezone.now())
    look = recording.record(request.fleet, boat, signed, form.sights(), request.user)
    form_photos.attach(form.photos, form.photographed(), look)
    return look
