"""The accountant's pages: the reserve."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from fleet.access import member
from fleet.models import Membership

from .. import reads
from ..accounts import reserve as reserves
from ..accounts.reserve_forms import ReserveForm, ReturnForm
from ..models import ReservePlan, ReturnTerms
from ..papers.reserve_paper import reserve_paper
from ..papers.reserve_sheet import reserve_csv_rows, reserve_workbook
from .papers import CSV, PDF, XLSX, of_fleet

KEEPERS = (Membership.Role.MANAGER, Membership.Role.ACCOUNTANT)


def may_write(request: HttpRequest) -> bool:
    """Return whether this person keeps the books. Raises PermissionDenied where others write."""
    may = request.role in KEEPERS
    if request.method == "POST" and not may:
        raise PermissionDenied("Only a manager or accountant of this fleet keeps its books.")
    return may


def name_of(user) -> str:
    return user.get_full_name() or user.username


@member()
def reserve(request: HttpRequest) -> HttpResponse:
    """Ask who owns and pays first; then show the schedule, and take another way to keep it."""
    fleet, may = request.fleet, may_write(request)
    plan = reserves.plan_of(fleet)
    form = ReserveForm(request.POST or None, fleet=fleet, plan=plan)
    if request.method == "POST" and form.is_valid():
        person = {"by": request.user, "decided_by": name_of(request.user)}
        ReservePlan.objects.create(fleet=fleet, on=fleet.today(), **person, **form.values())
        messages.success(request, "Saved. The schedule follows it.")
        return redirect("reserve", fleet=fleet.slug)
    found = reserves.reserve_of(fleet)
    context = {
        "found": found,
        "asked": reserves.asked(fleet),
        "plan": plan,
        "form": form,
        "may_write": may,
        "forecast": reads.has_outlook(fleet),
        "chart": reserves.chart(found) if found else None,
        "funded": reserves.funded_words(found) if found else "",
        "run": reads.wire_model(fleet),
    }
    return render(request, "forecasting/accounts/reserve.html", context)


@member()
def reserve_questions(request: HttpRequest) -> HttpResponse:
    """Take the answers to who owns, who pays and what a contract obliges to; old ones stay."""
    fleet, may = request.fleet, may_write(request)
    usual = {"owned_by": fleet.boats_owned_by, "paid_by": fleet.rigging_paid_by}
    form = ReturnForm(request.POST or None, initial=usual)
    if request.method == "POST" and form.is_valid():
        answer = form.save(commit=False)
        answer.fleet, answer.on, answer.by = fleet, fleet.today(), request.user
        answer.answered_by = name_of(request.user)
        answer.save()
        return redirect("reserve", fleet=fleet.slug)
    answers = ReturnTerms.objects.of(fleet)
    context = {"form": form, "answers": answers, "may_write": may}
    return render(request, "forecasting/accounts/reserve_questions.html", context)


@member()
def reserve_pdf(request: HttpRequest) -> HttpResponse:
    found = reserves.reserve_of(request.fleet)
    return of_fleet(reserve_paper(request.fleet, found), PDF, request.fleet, "reserve", "pdf")


@member()
def reserve_xlsx(request: HttpRequest) -> HttpResponse:
    found = reserves.reserve_of(request.fleet)
    return of_fleet(reserve_workbook(request.fleet, found), XLSX, request.fleet, "reserve", "xlsx")


@member()
def reserve_csv(request: HttpRequest) -> HttpResponse:
    found = reserves.reserve_of(request.fleet)
    return of_fleet(reserve_csv_rows(request.fleet, found), CSV, request.fleet, "reserve", "csv")
