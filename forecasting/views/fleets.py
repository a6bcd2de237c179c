"""How a fleet stands: the page a member lands on."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fleet.access import member
from fleet.models import Base, Boat
from inspections.models import HandIn

from .. import budget_sheet, reads
from ..models import RefitJob

FIRST = 5


@member()
def fleet(request: HttpRequest) -> HttpResponse:
    """Say what holds, what is due, what the winter brings and what next year costs."""
    today = request.fleet.today()
    bases = reads.bases(request.fleet, today)
    keys = ("boats", "are_held", "are_due", "parts", "hours", "cost")
    boats = reads.boats(request.fleet, today)
    forecast = reads.has_outlook(request.fleet)
    first = reads.budget(request.fleet, "fleet").first() if forecast else None
    context = {
        "bases": bases,
        "has_base": Base.objects.of(request.fleet).exists(),
        "total": {key: sum(base[key] or 0 for base in bases) for key in keys},
        "notes": HandIn.objects.of(request.fleet)
        .unanswered()
        .filter(boat__in=Boat.objects.standing(today)),
        "held": boats.filter(held=True).order_by("name", "pk"),
        "due": boats.filter(inspect_by__isnull=False).order_by(
            "inspect_by__date", "-outlook__chance_now", "pk"
        )[:FIRST],
        "season": RefitJob.objects.of(request.fleet).values_list("season", flat=True).first(),
        "budget": first,
        "year": budget_sheet.year_label(first.year, request.fleet) if first else "",
        "run": reads.wire_model(request.fleet),
    }
    return render(request, "forecasting/fleet.html", context)
