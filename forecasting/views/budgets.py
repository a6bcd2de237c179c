"""What is behind the budget: a boat's parts; versions frozen, and held against the actuals."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from fleet.access import member
from fleet.models import Boat

from .. import reads
from ..accounts import behind, versions
from ..chart_titles import year_label
from ..models import BudgetFigure, BudgetVersion
from ..papers.version_sheet import version_csv_rows, version_workbook
from .accounts import KEEPERS, may_write, name_of
from .papers import CSV, XLSX, of_fleet

BOATS_A_PAGE = 50
LONGEST_NAME = 80


@member()
def budget_boat(request: HttpRequest, pk: int) -> HttpResponse:
    """Show the parts behind a boat's budget, which add to it to the cent."""
    boats = Boat.objects.of(request.fleet).select_related("base")
    boat = get_object_or_404(boats, pk=pk)
    figures = list(BudgetFigure.objects.filter(boat=boat).order_by("year"))
    context = {
        "boat": boat,
        "figures": figures,
        "years": [year_label(figure.year, request.fleet) for figure in figures],
        "rows": behind.of_boat(boat),
        "total": sum(figure.mean_minor for figure in figures),
        "run": reads.wire_model(request.fleet),
    }
    return render(request, "forecasting/accounts/budget_boat.html", context)


@member()
def budget_versions(request: HttpRequest) -> HttpResponse:
    context = {
        "versions": BudgetVersion.objects.of(request.fleet).defer("figures"),
        "may_write": may_write(request),
        "forecast": reads.has_outlook(request.fleet),
    }
    return render(request, "forecasting/accounts/versions.html", context)


@member(*KEEPERS)
@require_POST
def freeze_budget(request: HttpRequest) -> HttpResponse:
    """Freeze the budget in place under a name, and go to that version."""
    fleet = request.fleet
    name = request.POST.get("name", "").strip()[:LONGEST_NAME]
    if not name or not BudgetFigure.objects.of(fleet).exists():
        missing = "Give the version a name, such as what it is for." if not name else (
            "There is no budget to freeze: make a forecast first."
        )  # fmt: skip
        messages.error(request, missing)
        return redirect("budget_versions", fleet=fleet.slug)
    version = versions.freeze(fleet, name, request.user, name_of(request.user))
    messages.success(request, f"Frozen as version {version.number}.")
    return redirect("budget_version", fleet=fleet.slug, pk=version.pk)


@member()
def budget_version(request: HttpRequest, pk: int) -> HttpResponse:
    """Show a frozen version against what was invoiced since, by year and by boat."""
    fleet, today = request.fleet, request.fleet.today()
    version = version_of(request, pk)
    years = [line["year"] for line in versions.lines(version, "fleet")]
    asked = request.GET.get("year", "")
    year = int(asked) if asked.isdigit() and int(asked) in years else years[0]
    boats = versions.by_boat(version, year, today)
    context = {
        "version": version,
        "whole": versions.is_whole(version),
        "rows": versions.by_year(version, today),
        "now": versions.changed_since(version),
        "page": Paginator(boats, BOATS_A_PAGE).get_page(request.GET.get("page")),
        "year": year,
        "label": year_label(year, fleet),
        "years": [(each, year_label(each, fleet)) for each in years],
    }
    return render(request, "forecasting/accounts/version.html", context)


def version_of(request: HttpRequest, pk: int) -> BudgetVersion:
    rows = BudgetVersion.objects.of(request.fleet).select_related("fleet")
    return get_object_or_404(rows, pk=pk)


@member()
def version_xlsx(request: HttpRequest, pk: int) -> HttpResponse:
    version = version_of(request, pk)
    content = version_workbook(version, request.fleet.today())
    return of_fleet(content, XLSX, request.fleet, f"budget-version-{version.number}", "xlsx")


@member()
def version_csv(request: HttpRequest, pk: int) -> HttpResponse:
    version = version_of(request, pk)
    name = f"budget-version-{version.number}"
    return of_fleet(version_csv_rows(version), CSV, request.fleet, name, "csv")
