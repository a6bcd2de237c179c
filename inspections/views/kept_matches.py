"""The fleet's kept matches: what each reads, its name, and how to forget it."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from fleet.access import member
from fleet.matching import Match
from fleet.models import Membership, SheetMatch

from ..spreadsheets import match_words
from .looks import WRITERS

LONGEST = 120


def of_fleet(request: HttpRequest) -> QuerySet[SheetMatch]:
    return SheetMatch.objects.of(request.fleet).select_related("made_by")


def may_delete(request: HttpRequest, kept: SheetMatch) -> bool:
    """A manager forgets any match, a bosun their own."""
    own = kept.made_by_id == request.user.pk and request.role in WRITERS
    return own or request.role == Membership.Role.MANAGER


@member()
def kept_matches(request: HttpRequest) -> HttpResponse:
    """List how the fleet's own sheets are read: who said so, when, and when last used."""
    rows = [
        {"kept": kept, "reads": match_words.short(Match.from_dict(kept.match))}
        for kept in of_fleet(request)
    ]
    return render(request, "inspections/kept_matches.html", {"rows": rows})


@member()
def kept_match(request: HttpRequest, pk: int) -> HttpResponse:
    """Show what a match reads, column by column; a new name on POST."""
    kept = get_object_or_404(of_fleet(request), pk=pk)
    if request.method == "POST":
        if request.role not in WRITERS:
            raise PermissionDenied("Managers and bosuns name matches.")
        name = " ".join(request.POST.get("name", "").split())
        if name and len(name) <= LONGEST:
            SheetMatch.objects.filter(pk=kept.pk).update(name=name)
            messages.success(request, f"The match is called “{name}” now.")
            return redirect("kept_matches", fleet=request.fleet.slug)
        messages.error(request, f"Not renamed. Write a name of 1 to {LONGEST} characters.")
    context = {
        "kept": kept,
        "name": request.POST.get("name", kept.name),
        "tables": match_words.in_words(Match.from_dict(kept.match)),
        "may_rename": request.role in WRITERS,
        "may_delete": may_delete(request, kept),
    }
    return render(request, "inspections/kept_match.html", context)


@member(*WRITERS)
def kept_match_delete(request: HttpRequest, pk: int) -> HttpResponse:
    """Ask whether a match is to be forgotten; on POST forget it."""
    kept = get_object_or_404(of_fleet(request), pk=pk)
    if not may_delete(request, kept):
        raise PermissionDenied("A bosun deletes their own matches; a manager any.")
    if request.method == "POST":
        kept.delete()
        messages.success(request, f"“{kept.name}” is forgotten. Nothing imported by it changed.")
        return redirect("kept_matches", fleet=request.fleet.slug)
    return render(request, "inspections/kept_match_delete.html", {"kept": kept})
