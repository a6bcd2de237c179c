"""Something happened: an event, a part that let go, a move to the yard."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from fleet.access import member
from fleet.models import Boat
from fleet.templatetags.wording import day

from ..aftermath import alike, cut_sheet, happenings, store
from ..aftermath.forms import EventForm, FailureForm, MoveForm
from ..aftermath.no_override import own_slip
from ..followups import Failure
from ..judgement.history import name_of
from ..recording import place_is_empty
from .entry import boat_or_404
from .looks import WRITERS
from .writing import may_write


@member(*WRITERS)
def event(request: HttpRequest) -> HttpResponse:
    """Boat, what, when, a line."""
    usual = {"on": request.fleet.today(), "person": request.user.get_full_name()}
    asked = request.GET.get("boat", "")
    usual["boat"] = asked if asked.isdecimal() else None
    form = EventForm(request.fleet, request.POST or None, initial=usual)
    if request.method == "POST" and form.is_valid():
        boat: Boat = form.cleaned_data["boat"]
        try:
            happenings.record_event(request.fleet, boat, form.event(), request.user)
            messages.success(
                request,
                f"On record. {boat} is held until a rigger or surveyor has found its whole rig "
                "sound, aloft or mast-down, on a later day.",
            )
            return redirect("boat", fleet=request.fleet.slug, pk=boat.pk)
        except ValidationError as fault:
            form.add_error(None, fault)
    any_boat = form.fields["boat"].queryset.exists()
    return render(request, "inspections/after/event.html", {"form": form, "any_boat": any_boat})


@member(*WRITERS)
def failure_record(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask which part let go, then show what to order and whom to warn."""
    boat = boat_or_404(request, pk)
    usual = {"on": request.fleet.today(), "person": request.user.get_full_name()}
    asked = request.GET.get("part", "")
    usual["part"] = asked if asked.isdecimal() else None
    form = FailureForm(boat, request.POST or None, initial=usual)
    if request.method == "POST" and form.is_valid():
        given = form.cleaned_data
        try:
            made = happenings.record_failure(
                given["part"], given["on"], given["spot"], given["what"], given["person"],
                request.user,
            )  # fmt: skip
            return redirect("failure", fleet=request.fleet.slug, pk=made.pk)
        except ValidationError as fault:
            form.add_error(None, fault)
    context = {"form": form, "boat": boat, "any_part": form.fields["part"].queryset.exists()}
    return render(request, "inspections/after/failure_record.html", context)


@member()
def failure(request: HttpRequest, pk: int) -> HttpResponse:
    """The cut sheet, what in store fits, the parts like it, and the tag; POST takes it back."""
    rows = Failure.objects.of(request.fleet).select_related("installation__stay__boat__fleet")
    row = get_object_or_404(rows, pk=pk)
    part = row.installation
    if request.method == "POST" and may_write(request):
        return taken_back(request, row)
    gone = alike.Gone(part, part.removed_on, part.removal_spot) if part.removed_on else None
    context = {
        "failure": row,
        "part": part,
        "boat": part.stay.boat,
        "name": name_of(part),
        "sheet": cut_sheet.rows(part),
        "matches": store.matches(part, request.fleet),
        "like": alike.of_fleet([gone], request.fleet)[part.pk] if gone else [],
        "sisters": alike.sisters(part, gone.on, gone.spot) if gone else [],
        "empty": place_is_empty(part) if part.removed_on else False,
        "may_write": may_write(request),
        "own_slip": own_slip(row.by_id, row.at, request.user, timezone.now()),
    }
    return render(request, "inspections/after/failure.html", context)


def taken_back(request: HttpRequest, row: Failure) -> HttpResponse:
    boat = row.installation.stay.boat
    try:
        happenings.take_back_failure(row, request.user, timezone.now())
    except ValidationError as fault:
        messages.error(request, "Not taken back. " + " ".join(fault.messages))
        return redirect("failure", fleet=request.fleet.slug, pk=row.pk)
    messages.success(request, "Taken back: the part stands again.")
    return redirect("boat", fleet=request.fleet.slug, pk=boat.pk)


@member(*WRITERS)
def move(request: HttpRequest, pk: int) -> HttpResponse:
    """Record a move to the yard of a boat; it stays as it is, held or not."""
    boat = boat_or_404(request, pk)
    if request.POST.get("move", "").isdecimal():
        wrong = get_object_or_404(boat.yard_moves, pk=request.POST["move"])
        happenings.take_back_move(wrong, request.user)
        messages.success(request, "The move is off the record.")
        return redirect("yard_move", fleet=request.fleet.slug, pk=boat.pk)
    usual = {"on": request.fleet.today(), "origin": boat.base.name}
    form = MoveForm(request.POST or None, initial=usual)
    if request.method == "POST" and form.is_valid():
        try:
            made = happenings.record_move(boat, request.user, **form.facts())
            words = (
                f"Move of {day(made.on)} to {made.destination} is on record. It releases nothing."
            )
            messages.success(request, words)
            return redirect("not_released", fleet=request.fleet.slug)
        except ValidationError as fault:
            form.add_error(None, fault)
    holds = boat.holds.standing()
    context = {"form": form, "boat": boat, "holds": holds, "moves": boat.yard_moves.all()[:10]}
    return render(request, "inspections/after/move.html", context)
