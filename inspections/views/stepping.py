"""With the mast down: what to see. With the mast up again: who signed, and the re-tension."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from fleet.access import member
from fleet.templatetags.wording import day

from ..aftermath import mast_down as checklist
from ..aftermath import stepping as verbs
from ..aftermath.forms import SignForm, SteppingForm
from ..followups import Stepping
from .entry import boat_or_404
from .looks import WRITERS
from .writing import may_write


@member()
def mast_down(request: HttpRequest, pk: int) -> HttpResponse:
    """What can only be seen with this boat's mast out."""
    boat = boat_or_404(request, pk)
    groups = checklist.checklist(boat)
    items = [item for group in groups for item in group.items]
    context = {
        "boat": boat,
        "groups": groups,
        "count": len(items),
        "urgent": sum(item.urgent for item in items),
        "any_part": boat.stays.filter(installations__removed_on__isnull=True,
                                      installations__isnull=False).exists(),
        "may_write": may_write(request),
    }  # fmt: skip
    return render(request, "inspections/after/mast_down.html", context)


@member(*WRITERS)
def stepped(request: HttpRequest, pk: int) -> HttpResponse:
    """Record that the mast is up, with the first signature."""
    boat = boat_or_404(request, pk)
    usual = {"on": request.fleet.today(), "person": request.user.get_full_name()}
    form = SteppingForm(request.POST or None, initial=usual)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            made = verbs.step(
                boat, given["on"], given["person"], given["checks"], given["tune"], request.user
            )
            messages.success(request, "Stepped, on record. Another person signs second.")
            return redirect("stepping", fleet=request.fleet.slug, pk=made.pk)
        except ValidationError as fault:
            form.add_error(None, fault)
    context = {"form": form, "boat": boat, "earlier": boat.steppings.all()[:10]}
    return render(request, "inspections/after/stepped.html", context)


VERBS = {"second": verbs.sign_second, "retension": verbs.retension}
DONE = {"second": "The second signature is on record.", "retension": "Re-tensioned, on record."}


@member()
def stepping(request: HttpRequest, pk: int) -> HttpResponse:
    """One stepping: the two signatures, the re-tension; POST adds one, or takes it back."""
    rows = Stepping.objects.of(request.fleet).select_related("boat__fleet")
    row = get_object_or_404(rows, pk=pk)
    writes = may_write(request)
    step = request.POST.get("step", "")
    if request.method == "POST" and writes and step == "take_back":
        return taken_back(request, row)
    form = SignForm(request.POST or None, initial={"on": request.fleet.today()})
    if request.method == "POST" and writes and step in VERBS and form.is_valid():
        try:
            VERBS[step](row, form.cleaned_data["on"], form.cleaned_data["person"])
            messages.success(request, DONE[step])
            return redirect("stepping", fleet=request.fleet.slug, pk=row.pk)
        except ValidationError as fault:
            form.add_error(None, fault)
    context = {"stepping": row, "boat": row.boat, "form": form, "may_write": writes,
               "missing": verbs.MISSING, "days": verbs.RETENSION_DAYS}  # fmt: skip
    return render(request, "inspections/after/stepping.html", context)


def taken_back(request: HttpRequest, row: Stepping) -> HttpResponse:
    try:
        verbs.take_back(row, request.user)
    except ValidationError as fault:
        messages.error(request, "Not taken back. " + " ".join(fault.messages))
        return redirect("stepping", fleet=request.fleet.slug, pk=row.pk)
    messages.success(request, f"The stepping of {day(row.on)} is off the record.")
    return redirect("boat", fleet=request.fleet.slug, pk=row.boat_id)
