"""The component register, its lives reviewed, one part in the books, and how a fleet accounts."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from fleet.access import member
from fleet.models import Installation

from ..accounts import life_review, register, years
from ..accounts.book_forms import AccountsForm, ProceedsForm
from ..accounts.part_books import part_in_books
from ..chart_titles import year_label
from ..models import AccountsPolicy, LifeReview, Proceeds
from ..papers.register_sheet import register_csv_rows, register_workbook
from .accounts import may_write, name_of
from .papers import CSV, XLSX, of_fleet

SETS_A_PAGE = 50


@member()
def component_register(request: HttpRequest) -> HttpResponse:
    fleet, may = request.fleet, may_write(request)
    found = register.register_of(fleet, years.chosen(fleet, request.GET.get("year")))
    page = Paginator(found.sets, SETS_A_PAGE).get_page(request.GET.get("page"))
    missing = register.without_cost(fleet, found.first, found.after)
    context = {
        "found": found,
        "label": year_label(found.year, fleet),
        "page": page,
        "years": _years(fleet),
        "missing": missing[:SETS_A_PAGE],
        "may_write": may,
        "reviewed": LifeReview.objects.of(fleet).filter(on=found.after).count(),
    }
    return render(request, "forecasting/accounts/register.html", context)


def _years(fleet) -> list[tuple[int, str]]:
    """Return the years a register can be asked for: the one under way and nine before."""
    now = years.year_of(fleet, fleet.today())
    return [(year, year_label(year, fleet)) for year in range(now, now - 10, -1)]


@member()
def review_lives(request: HttpRequest) -> HttpResponse:
    """Show what a review at a year end would change; put it on record when asked to."""
    fleet, may = request.fleet, may_write(request)
    found = register.register_of(fleet, years.chosen(fleet, request.GET.get("year")))
    changes = life_review.proposed(fleet, found)
    if request.method == "POST":
        basis = f"forecast as of {fleet.today()}, renewal as planned in half of the draws"
        count = life_review.review(changes, basis, request.user)
        messages.success(request, f"{count} lives reviewed.")
        return redirect(f"{reverse('register', kwargs={'fleet': fleet.slug})}?year={found.year}")
    page = Paginator(changes, SETS_A_PAGE).get_page(request.GET.get("page"))
    context = {"found": found, "page": page, "effect": life_review.effect(changes),
               "changes": changes, "label": year_label(found.year, fleet),
               "next_label": year_label(found.year + 1, fleet), "may_write": may}  # fmt: skip
    return render(request, "forecasting/accounts/review.html", context)


@member()
def part_books(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one part's cost, lives and depreciation; take what was got for it once it is off."""
    fleet, may = request.fleet, may_write(request)
    parts = Installation.objects.of(fleet).select_related("stay__boat__base")
    part = get_object_or_404(parts, pk=pk)
    form = ProceedsForm(request.POST or None, fleet=fleet)
    if request.method == "POST" and form.is_valid() and part.removed_on:
        values = {"minor": form.cleaned_data["minor"], "by": request.user}
        Proceeds.objects.update_or_create(installation=part, defaults=values)
        messages.success(request, "Saved.")
        return redirect("part_books", fleet=fleet.slug, pk=pk)
    context = {"part": part, "books": part_in_books(fleet, part), "form": form,
               "may_write": may}  # fmt: skip
    return render(request, "forecasting/accounts/part.html", context)


@member()
def accounts(request: HttpRequest) -> HttpResponse:
    """Show how the fleet accounts for rigging; a new decision takes over, the old ones stay."""
    fleet, may = request.fleet, may_write(request)
    policy = register.policy_of(fleet, fleet.today())
    form = AccountsForm(request.POST or None, fleet=fleet, policy=policy)
    if request.method == "POST" and form.is_valid():
        decided = form.decided()
        decided.fleet, decided.since, decided.by = fleet, fleet.today(), request.user
        decided.decided_by = name_of(request.user)
        decided.save()
        messages.success(request, "Saved. Plan anew for the budget to go by it.")
        return redirect("accounts", fleet=fleet.slug)
    history = AccountsPolicy.objects.of(fleet)
    context = {"form": form, "policy": policy, "history": history, "may_write": may}
    return render(request, "forecasting/accounts/policy.html", context)


@member()
def register_xlsx(request: HttpRequest) -> HttpResponse:
    found = _asked(request)
    return of_fleet(register_workbook(found), XLSX, request.fleet, f"register-{found.year}", "xlsx")


@member()
def register_csv(request: HttpRequest) -> HttpResponse:
    found = _asked(request)
    return of_fleet(register_csv_rows(found), CSV, request.fleet, f"register-{found.year}", "csv")


def _asked(request: HttpRequest) -> register.Register:
    year = years.chosen(request.fleet, request.GET.get("year"))
    return register.register_of(request.fleet, year)
