"""Pages of the fleet itself."""

from django.contrib import messages
from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from ..access import fleets_of, member
from ..forms import RulesForm
from ..models import Base, Change, CruisingGround, Membership, Price


@login_required
def home(request: HttpRequest) -> HttpResponse:
    """Go to the reader's only fleet, or let them choose among several."""
    fleets = fleets_of(request.user)
    if len(fleets) == 1:
        return redirect("fleet", fleet=fleets[0].slug)
    return render(request, "fleet/choose.html", {"fleets": fleets})


@member()
def fleet_settings(request: HttpRequest) -> HttpResponse:
    """Show the fleet's rules, bases, prices and members; a manager may change the rules."""
    may_change = request.role == Membership.Role.MANAGER
    if request.method == "POST" and not may_change:
        raise PermissionDenied("Only a manager of this fleet changes its rules.")
    form = RulesForm(request.POST or None, instance=request.fleet)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(
            request,
            "Saved. Refit list and budget follow when they are planned anew, on the page Refit; a "
            "new rule of thumb follows with the next refresh of the forecast.",
        )
        return redirect("fleet_settings", fleet=request.fleet.slug)
    context = {
        "form": form,
        "may_change": may_change,
        "bases": Base.objects.of(request.fleet).select_related("ground"),
        "grounds": CruisingGround.objects.of(request.fleet).filter(bases=None),
        "changes": Change.objects.of(request.fleet).filter(boat=None).select_related("by")[:20],
        "prices": Price.objects.of(request.fleet),
        "members": Membership.objects.filter(fleet=request.fleet).select_related("user"),
    }
    return render(request, "fleet/settings.html", context)
