"""An inspection corrected or withdrawn, and its earlier versions."""

from dataclasses import replace
from functools import partial

from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.db.models import QuerySet
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from fleet.access import member

from .. import corrections
from ..dock import form_photos
from ..dock.dock_form import DockForm
from ..dock.prefill import prefill
from ..judgement.history import criteria_of
from ..models import Inspection, InspectionVersion
from ..version_words import told
from .looks import WRITERS


@member(*WRITERS)
def correct(request: HttpRequest, pk: int) -> HttpResponse:
    """Show an inspection as the form it was entered by; a POST puts another in its place."""
    look = get_object_or_404(looks(request), pk=pk)
    if not corrections.may_correct(look, request.user, request.role):
        raise PermissionDenied("Who recorded it corrects it, or a manager.")
    form, faults = form_of(request, look), []
    if request.method == "POST":
        try:
            if done := changed(request, look, form):
                return done
        except ValidationError as fault:
            faults = fault.messages
    form.faults += faults
    context = {
        "look": look,
        "form": form,
        "level": Inspection.Level(form.level),
        "levels": Inspection.Level,
        "kept": [f"{each.sign.replace('_', ' ')} at {each.place}" for each in form.given.kept],
        "why": request.POST.get("why", ""),
        "withdrawing": "withdraw" in request.POST,
    }
    return render(request, "inspections/correct.html", context)


def looks(request: HttpRequest) -> QuerySet[Inspection]:
    return Inspection.objects.of(request.fleet).select_related("boat__fleet", "criteria")


def form_of(request: HttpRequest, look: Inspection) -> DockForm:
    level = request.GET.get("level", "")
    level = level if level in Inspection.Level.values else look.level
    criteria = criteria_of(request.fleet, look.on)
    given = prefill(look, level, criteria)
    data = request.POST if "correct" in request.POST else None
    today = request.fleet.today()
    photos = form_photos.take_in(request.fleet, request.user, today, request.POST, request.FILES)
    form = DockForm(look.boat, level, criteria, look.on, data=data, given=given, photos=photos)
    form.look.fields["signed"].label = "This is what was seen, and I answer for the correction"
    return form


def changed(request: HttpRequest, look: Inspection, form: DockForm) -> HttpResponse | None:
    """Correct or withdraw it; nothing where the form has faults of its own."""
    fleet, why = request.fleet.slug, request.POST.get("why", "")
    if "withdraw" in request.POST:
        corrections.withdraw(look, request.user, why, timezone.now())
        messages.success(request, "Withdrawn. It counts for nothing and stays readable here.")
        return redirect("inspection_versions", fleet=fleet, pk=look.pk)
    if not form.is_valid():
        return None
    turn_round = look.turn_round and form.level == Inspection.Level.DECK
    facts = replace(form.inspection(), signed_at=look.signed_at, turn_round=turn_round)
    attach = partial(form_photos.attach, form.photos, form.photographed())
    now = timezone.now()
    corrections.correct(look, facts, form.sights(), request.user, why, now, attach=attach)
    messages.success(request, "Corrected. What it said before stays readable.")
    return redirect("inspection", fleet=fleet, pk=look.pk)


@member()
def versions(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what an inspection said before it was corrected, or before it was withdrawn."""
    look = looks(request).filter(pk=pk).first()
    rows = list(InspectionVersion.objects.of(request.fleet).filter(was=pk).select_related("boat"))
    if look is None and not rows:
        raise Http404("No such inspection in this fleet.")
    now = corrections.snapshot(look) if look else None
    context = {
        "look": look,
        "boat": look.boat if look else rows[0].boat,
        "told": told(rows, now),
    }
    return render(request, "inspections/versions.html", context)
