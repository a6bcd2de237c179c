"""Entry without much typing: a whole rig, what skippers hand in, the parts of a boat as a table."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from fleet import whole_rig
from fleet.access import member
from fleet.models import Boat, Membership

from ..aftermath import no_override, proving
from ..entry import hand_in, part_table, removals
from ..entry.rig_form import RigForm
from ..models import HandIn
from ..recording import judge
from .looks import WRITERS

MANAGER = Membership.Role.MANAGER
BOATS_A_PAGE = 50


def boat_or_404(request: HttpRequest, pk: int) -> Boat:
    return get_object_or_404(Boat.objects.of(request.fleet).select_related("fleet"), pk=pk)


@member(MANAGER)
def rig(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask for one description of a rig, show what it makes, and write it when confirmed."""
    boat = boat_or_404(request, pk)
    form = RigForm(boat, request.POST if request.method == "POST" else None)
    context = {"boat": boat, "form": form}
    if request.method == "POST" and form.is_valid():
        if request.POST.get("step") == "write":
            try:
                made = put_up(request, form)
                messages.success(request, added(made))
                for sentence in proving.unproved([plan.boat for plan in made]):
                    messages.warning(request, sentence)
                return redirect("boat", fleet=request.fleet.slug, pk=boat.pk)
            except ValidationError as fault:
                form.add_error(None, fault)
        elif request.POST.get("step") == "look":
            context["plans"] = form.plans()
            context["new"] = sum(len(plan.parts) for plan in context["plans"])
    return render(request, "inspections/entry/rig.html", context)


@transaction.atomic
def put_up(request: HttpRequest, form: RigForm) -> list[whole_rig.RigPlan]:
    made = whole_rig.put_up(
        request.fleet,
        form.boats(),
        form.said(),
        form.cleaned_data["kinds"],
        form.words,
        request.user,
    )
    judge(plan.boat.pk for plan in made if plan.parts)
    return made


def added(made: list[whole_rig.RigPlan]) -> str:
    counts = [f"{plan.boat} {len(plan.parts)}" for plan in made if plan.parts]
    return f"Parts put on record: {', '.join(counts)}."


@member(*WRITERS)
def hand_ins(request: HttpRequest) -> HttpResponse:
    """One line for each boat: miles, mast, damage. Only what was changed is saved."""
    today = request.fleet.today()
    boats = Boat.objects.of(request.fleet).standing(today).select_related("base")
    page = Paginator(boats.order_by("base__name", "name", "pk"), BOATS_A_PAGE).get_page(
        request.GET.get("page")
    )
    posted = request.POST if request.method == "POST" else None
    lines = hand_in.lines(page, today.year, posted)
    if posted is not None:
        changed = [line for line in lines if line.has_changed()]
        if all(line.is_valid() for line in changed):
            saved = hand_in.save(changed, today, request.user)
            names = ", ".join(boat.name for boat in saved)
            messages.success(request, f"Saved: {names}." if saved else "No line was changed.")
            return redirect(request.get_full_path())
    noted = HandIn.objects.of(request.fleet).unanswered()
    context = {
        "lines": lines,
        "wrong": [line for line in lines if line.is_bound and line.has_changed() and line.errors],
        "page": page,
        "season": today.year,
        "notes": noted.filter(boat__in=Boat.objects.standing(today)),
    }
    return render(request, "inspections/entry/hand_ins.html", context)


@member(MANAGER)
def parts_table(request: HttpRequest, pk: int) -> HttpResponse:
    """The standing parts of a boat, every cell open to correction."""
    boat = boat_or_404(request, pk)
    if request.method == "POST":
        return corrected(request, boat)
    return parts_page(request, boat, part_table.rows(boat), removals.rows(boat))


@transaction.atomic
def corrected(request: HttpRequest, boat: Boat) -> HttpResponse:
    # The lock makes two people correcting the same boat take turns, so that neither is lost.
    Boat.objects.select_for_update().get(pk=boat.pk)
    table, gone = part_table.rows(boat, request.POST), removals.rows(boat, request.POST)
    fitted, off = part_table.refitted(table), removals.corrected(gone)
    fine = [removals.check(boat, gone, fitted), part_table.check(boat, table, off)]
    if not all(fine):
        return parts_page(request, boat, table, gone)
    try:
        with transaction.atomic(), no_override.kept(boat):
            number = removals.save(boat, gone, request.user)
            number += part_table.save(boat, table, request.user)
    except ValidationError as fault:
        return parts_page(request, boat, table, gone, fault.messages)
    words = (
        f"{number} part{'' if number == 1 else 's'} corrected." if number else "Nothing changed."
    )
    messages.success(request, words)
    for sentence in proving.unproved([boat]):
        messages.warning(request, sentence)
    return redirect("boat", fleet=request.fleet.slug, pk=boat.pk)


def parts_page(
    request: HttpRequest,
    boat: Boat,
    table: list[part_table.PartRow],
    gone: list[removals.RemovalRow],
    refused: list[str] | None = None,
) -> HttpResponse:
    context = {
        "refused": refused,
        "boat": boat,
        "table": table,
        "groups": part_table.grouped(table),
        "gone": gone,
        "gone_columns": removals.COLUMNS,
        "gone_wrong": any(row.is_bound and row.errors for row in gone),
        "wrong": [row for row in (*table, *gone) if row.is_bound and row.errors],
    }
    return render(request, "inspections/entry/parts_table.html", context)
