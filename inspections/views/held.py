"""The boats that are not released, and a condemned part judged by a second person."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from fleet.access import member
from fleet.models import Installation

from ..aftermath import not_released as reads
from ..aftermath import second_look as second
from ..aftermath.forms import SecondLookForm
from ..criteria import STANDING
from ..judgement.history import name_of
from .looks import WRITERS
from .writing import may_write

BOATS_A_PAGE = 25


@member()
def not_released(request: HttpRequest) -> HttpResponse:
    """Each held boat: who found it, when, why, what lifts it, and what else to look at."""
    fleet, today = request.fleet, request.fleet.today()
    held = reads.boats(fleet, today)
    context = {
        "page": Paginator(held, BOATS_A_PAGE).get_page(request.GET.get("page")),
        "held": len(held),
        "unsigned": reads.unsigned(fleet, today),
        "unlooked": reads.unlooked(fleet, today),
        "may_write": may_write(request),
    }
    return render(request, "inspections/after/not_released.html", context)


@member(*WRITERS)
def second_look(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask what a second person saw of a condemned part, beside what the first saw."""
    parts = Installation.objects.of(request.fleet).select_related("stay__boat__fleet")
    part = get_object_or_404(parts, pk=pk)
    first = None if part.removed_on else second.first_judgement(part)
    form = SecondLookForm(request.POST or None, initial={"on": request.fleet.today()})
    if request.method == "POST" and form.is_valid():
        try:
            look = second.judge_again(part, form.look(), form.second(), request.user)
            messages.success(request, "The second look is on record, beside the first.")
            return redirect("inspection", fleet=request.fleet.slug, pk=look.pk)
        except ValidationError as fault:
            form.add_error(None, fault)
    context = {
        "form": form,
        "part": part,
        "boat": part.stay.boat,
        "name": name_of(part),
        "first": first,
        "found": first.inspection.findings.filter(installation=part) if first else (),
        "standing": STANDING,
    }
    return render(request, "inspections/after/second_look.html", context)
