"""Pages of the fleet itself."""

from django.contrib.auth.decorators import login_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from .access import fleets_of


@login_required
def home(request: HttpRequest) -> HttpResponse:
    """Go to the reader's only fleet, or let them choose among several."""
    fleets = fleets_of(request.user)
    if len(fleets) == 1:
        return redirect("boats", fleet=fleets[0].slug)
    return render(request, "fleet/choose.html", {"fleets": fleets})
