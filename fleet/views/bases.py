"""A base or a cruising ground, added or corrected by a manager."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from .. import base_forms
from ..access import member
from ..base_forms import BaseForm, GroundForm
from ..models import Base, Boat, CruisingGround, Membership

MANAGER = Membership.Role.MANAGER


@member(MANAGER)
def base_add(request: HttpRequest) -> HttpResponse:
    return base_page(request, None)


@member(MANAGER)
def base_edit(request: HttpRequest, pk: int) -> HttpResponse:
    return base_page(request, get_object_or_404(Base.objects.of(request.fleet), pk=pk))


@member(MANAGER)
def ground_add(request: HttpRequest) -> HttpResponse:
    return ground_page(request, None)


@member(MANAGER)
def ground_edit(request: HttpRequest, pk: int) -> HttpResponse:
    return ground_page(request, get_object_or_404(CruisingGround.objects.of(request.fleet), pk=pk))


def base_page(request: HttpRequest, base: Base | None) -> HttpResponse:
    """Ask what a base is; the first one of a fleet leads on to its first boat."""
    name = base.name if base else ""  # What is typed wrong does not rename the page.
    form = BaseForm(request.fleet, request.POST if request.method == "POST" else None, base)
    if request.method == "POST" and form.is_valid():
        saved = base_forms.save_base(form, request.user)
        if Boat.objects.of(request.fleet).exists():
            messages.success(request, f"{saved} is on record.")
            return redirect("fleet_settings", fleet=request.fleet.slug)
        messages.success(request, f"{saved} is on record. Add the first boat kept there.")
        return redirect("boat_add", fleet=request.fleet.slug)
    return render(request, "fleet/base.html", {"form": form, "name": name})


def ground_page(request: HttpRequest, ground: CruisingGround | None) -> HttpResponse:
    name = ground.name if ground else ""
    form = GroundForm(request.fleet, request.POST if request.method == "POST" else None, ground)
    if request.method == "POST" and form.is_valid():
        saved = base_forms.save_ground(form, request.user)
        messages.success(request, f"{saved} is on record. The next refresh uses it.")
        return redirect("fleet_settings", fleet=request.fleet.slug)
    return render(request, "fleet/ground.html", {"form": form, "name": name})
