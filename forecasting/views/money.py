"""The refit list and the replacement budget."""

import csv

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST
from django_tables2 import RequestConfig

from fleet.access import member
from fleet.models import Fleet, WorkRow
from fleet.work import asking

from .. import budget_sheet, reads
from ..accounts import behind, policy
from ..filters import RefitFilter
from ..models import BudgetVersion, RefitJob
from ..orders.reading import with_orders
from ..steps.basis import is_behind
from ..tables import RefitTable
from .outlook import REFRESHERS

BOATS_A_PAGE = 100


@member()
def refit(request: HttpRequest) -> HttpResponse:
    jobs = with_orders(reads.refit_jobs(request.fleet).select_related("boat__fleet"))
    narrowed = RefitFilter(request.GET, queryset=jobs, request=request)
    table = RefitTable(narrowed.qs)
    RequestConfig(request, paginate={"per_page": 100}).configure(table)
    bases = reads.refit_totals(request.fleet)
    keys = ("boats", "parts", "must", "hours", "cost", "put_off")
    context = {
        "table": table,
        "filter": narrowed,
        "bases": bases,
        "total": {key: sum(base[key] or 0 for base in bases) for key in keys},
        "forecast": reads.has_outlook(request.fleet),
        "season": RefitJob.objects.of(request.fleet).values_list("season", flat=True).first(),
        "run": reads.wire_model(request.fleet),
        **standing_of_plan(request),
    }
    return render(request, "forecasting/refit.html", context)


@member()
def budget(request: HttpRequest) -> HttpResponse:
    figures = list(reads.budget(request.fleet, "fleet"))
    boats = Paginator(reads.budgeted_boats(request.fleet), BOATS_A_PAGE)
    page = boats.get_page(request.GET.get("page"))
    context = {
        "figures": figures,
        "first": figures[0] if figures and reads.has_outlook(request.fleet) else None,
        "bases": budget_sheet.by_year(reads.budget(request.fleet, "base")),
        "boats": budget_sheet.by_year(reads.budget(request.fleet, "boat").filter(boat__in=page)),
        "page": page,
        "paged": "page" in request.GET,
        "years": [budget_sheet.year_label(figure.year, request.fleet) for figure in figures],
        "chart": budget_sheet.chart(figures, request.fleet),
        "run": reads.wire_model(request.fleet),
        **behind_totals(request.fleet),
        **standing_of_plan(request),
    }
    return render(request, "forecasting/budget.html", context)


def behind_totals(fleet: Fleet) -> dict:
    """Return who pays, the other ways to keep the rigs, and the version frozen last."""
    ways = behind.ways(fleet)
    return {
        "payers": behind.by_payer(fleet),
        "ways": ways,
        "ways_words": behind.ways_words(fleet, ways),
        "ways_note": behind.ways_note(ways),
        "capital_from": policy.capital_from(fleet, fleet.today()),
        "version": BudgetVersion.objects.of(fleet).defer("figures").first(),
    }


@member(*REFRESHERS)
@require_POST
def plan(request: HttpRequest) -> HttpResponse:
    """Ask for the refit list and the budget to be made anew, and go to the page of that work."""
    row = asking.ask(request.fleet, WorkRow.Kind.PLAN, request.user)
    return redirect("work", fleet=request.fleet.slug, pk=row.pk)


def standing_of_plan(request: HttpRequest) -> dict[str, bool]:
    """Return whether rules or prices changed since the plan shown, and who may plan anew."""
    return {"behind": is_behind(request.fleet), "may_plan": request.role in REFRESHERS}


@member()
def budget_csv(request: HttpRequest) -> HttpResponse:
    response = HttpResponse(content_type="text/csv; charset=utf-8")
    name = f"{request.fleet.slug}-budget-{request.fleet.today()}.csv"
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    csv.writer(response).writerows(budget_sheet.rows(request.fleet))
    return response
