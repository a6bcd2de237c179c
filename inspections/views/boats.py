"""A boat added to the fleet, or corrected."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from fleet.access import member
from fleet.models import Boat, Membership

from ..entry import boat_form
from ..entry.boat_form import BoatForm
from ..recording import judge


@member(Membership.Role.MANAGER)
def boat_add(request: HttpRequest) -> HttpResponse:
    """Ask what the boat is; then go on to its rig."""
    return boat_page(request, None)


@member(Membership.Role.MANAGER)
def boat_edit(request: HttpRequest, pk: int) -> HttpResponse:
    boats = Boat.objects.of(request.fleet).select_related("fleet")
    return boat_page(request, get_object_or_404(boats, pk=pk))


def boat_page(request: HttpRequest, boat: Boat | None) -> HttpResponse:
    name = boat.name if boat else ""  # What is typed wrong does not rename the page.
    form = BoatForm(request.fleet, request.POST if request.method == "POST" else None, boat)
    if request.method == "POST" and form.is_valid():
        saved = boat_form.save(form, request.user)
        judge([saved.pk])
        if boat is None:
            messages.success(request, f"{saved} is in the fleet. Say what its rig is made of.")
            return redirect("rig", fleet=request.fleet.slug, pk=saved.pk)
        messages.success(request, f"{saved} is corrected.")
        return redirect("boat", fleet=request.fleet.slug, pk=saved.pk)
    context = {"form": form, "name": name, "pk": boat.pk if boat else None}
    context["no_base"] = not form.fields["base"].queryset.exists()
    return render(request, "inspections/entry/boat.html", context)
