"""What ends a hold: a thing made good, a part renewed."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from fleet.access import member
from fleet.models import Installation

from .. import recording
from ..aftermath import proving
from ..aftermath.fitting import fitted
from ..aftermath.forms import FittingForm
from ..dock.forms import MakeGoodForm
from ..judgement.history import name_of
from ..models import Finding, Hold
from .looks import WRITERS


@member(*WRITERS)
def make_good(request: HttpRequest, pk: int) -> HttpResponse:
    findings = Finding.objects.of(request.fleet).select_related("inspection__boat__fleet")
    finding = get_object_or_404(findings, pk=pk)
    form = MakeGoodForm(request.POST or None, initial={"on": request.fleet.today()})
    if request.method == "POST" and form.is_valid():
        try:
            recording.make_good_done(finding, form.cleaned_data["on"], form.cleaned_data["by"])
            messages.success(request, "On record as made good. Its hold is lifted.")
            return redirect("inspections", fleet=request.fleet.slug)
        except ValidationError as fault:
            form.add_error(None, fault)
    context = {
        "form": form,
        "finding": finding,
        "boat": finding.inspection.boat,
        "hold": finding.holds.filter(lifted_on=None).first(),
    }
    return render(request, "inspections/make_good.html", context)


@member(*WRITERS)
def renew(request: HttpRequest, pk: int) -> HttpResponse:
    """Record the new part, or what is missing of a renewal on record."""
    parts = Installation.objects.of(request.fleet).select_related("stay__boat__fleet")
    part = get_object_or_404(parts, pk=pk)
    waiting = proving.waiting(part)
    if waiting:
        return prove(request, part, waiting)
    gone = part.removed_on is not None
    empty = gone and recording.place_is_empty(part)
    form = FittingForm(
        request.POST or None,
        instance=part,
        condemned=part.condemned_on is not None or gone,
        initial={"fitted_on": request.fleet.today(), "fitter": "", "invoice": "", "batch": ""},
    )
    if request.method == "POST" and form.is_valid():
        try:
            fitted(part, form)
            messages.success(request, f"{name_of(part)} is on record as renewed.")
            return redirect("boat", fleet=request.fleet.slug, pk=part.stay.boat_id)
        except ValidationError as fault:
            form.add_error(None, fault.messages)
    context = {"form": form, "part": part, "name": name_of(part), "boat": part.stay.boat,
               "empty": empty}  # fmt: skip
    return render(request, "inspections/renew.html", context)


def prove(request: HttpRequest, part: Installation, hold: Hold) -> HttpResponse:
    """Ask for what is missing of a renewal on record; the boat is released by it."""
    form = proving.ProofForm(hold.unproved, request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            proving.prove(hold, form.proof(), request.user)
            messages.success(request, f"The renewal of {name_of(part)} is proved.")
            return redirect("boat", fleet=request.fleet.slug, pk=part.stay.boat_id)
        except ValidationError as fault:
            form.add_error(None, fault)
    context = {"form": form, "part": part, "name": name_of(part), "boat": part.stay.boat,
               "hold": hold}  # fmt: skip
    return render(request, "inspections/after/prove.html", context)
