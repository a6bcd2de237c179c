"""Files to hand over: of a plan of off seasons, of a frozen budget, for the board of directors."""

from django.http import HttpRequest, HttpResponse
from django.utils.text import slugify

from fleet.access import member
from fleet.models import Fleet

from .. import season_reads
from ..models import SeasonScenario
from ..papers.board_paper import board_paper
from ..papers.season_paper import season_paper
from ..papers.season_sheet import season_rows_csv, season_workbook
from ..papers.version_paper import version_paper
from .budgets import version_of
from .papers import CSV, PDF, XLSX, of_fleet
from .seasons import of


def name_of(scenario: SeasonScenario) -> str:
    return f"plan-{slugify(scenario.name) or scenario.pk}"


@member()
def season_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    plan = of(request, pk)
    return of_fleet(season_paper(plan), PDF, request.fleet, name_of(plan), "pdf")


@member()
def season_xlsx(request: HttpRequest, pk: int) -> HttpResponse:
    plan = of(request, pk)
    return of_fleet(season_workbook(plan), XLSX, request.fleet, name_of(plan), "xlsx")


@member()
def season_csv(request: HttpRequest, pk: int) -> HttpResponse:
    plan = of(request, pk)
    return of_fleet(season_rows_csv(plan), CSV, request.fleet, name_of(plan), "csv")


@member()
def board_pdf(request: HttpRequest) -> HttpResponse:
    """With ``?plan=`` that plan of off seasons, else the one worked out last."""
    plans = chosen_plans(request.fleet, request.GET.getlist("plan"))
    return of_fleet(board_paper(request.fleet, plans), PDF, request.fleet, "board", "pdf")


def chosen_plans(fleet: Fleet, asked: list[str]) -> list[SeasonScenario]:
    """Return the plan the report tells, and those it is compared with: three at most."""
    found = season_reads.chosen_scenarios(fleet, asked)
    latest = season_reads.scenarios(fleet).exclude(planned_at=None).order_by("-planned_at")
    return list(dict.fromkeys([*found, *latest]))[: season_reads.MOST_COMPARED]


@member()
def version_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    version = version_of(request, pk)
    content = version_paper(version, request.fleet.today())
    return of_fleet(content, PDF, request.fleet, f"budget-version-{version.number}", "pdf")
