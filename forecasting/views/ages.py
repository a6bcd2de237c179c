"""At what age which parts are renewed at least cost, and how often to look; as pages and files."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from fleet.access import member

from .. import ages_charts, ages_words, reads
from ..models import AgeGroup, ConditionRun, LookCurve, ModelRun
from ..papers.ages_sheet import ages_csv, ages_workbook, looks_csv
from ..steps.ages import FEWEST, NO_LIFE_KNOWN
from .papers import CSV, XLSX, of_fleet

WHAT = "ages"


@member()
def ages(request: HttpRequest) -> HttpResponse:
    """Show one group with its cost curve, and all groups under it."""
    groups = list(AgeGroup.objects.of(request.fleet).select_related("base", "fleet"))
    named = {ages_words.key(group): group for group in groups}
    group = named.get(request.GET.get("group", "")) or ages_words.lead(groups)
    context = {
        "group": group,
        "groups": [ages_words.told(each) for each in groups],
        "chosen": ages_words.key(group) if group else "",
        "answer": ages_words.sentence(group) if group else "",
        "columns": ages_words.columns(group) if group else [],
        "lead": ages_words.lead_words(group) if group else "",
        "failure": ages_words.failure_words(request.fleet, group) if group else "",
        "chart": ages_charts.ages(group, request.fleet) if group else None,
        "fewest": FEWEST,
        "left_out": [each.label for each in NO_LIFE_KNOWN],
        "forecast": reads.has_outlook(request.fleet),
        "standing": standing(group) if group else "",
    }
    return render(request, "forecasting/ages.html", context)


def standing(group: AgeGroup) -> str:
    """Return what the life of such parts rests on."""
    runs = ModelRun.objects.of(group.fleet).in_force().filter(kind=group.kind)
    return ages_words.standing(group, runs.first())


@member()
def looks(request: HttpRequest) -> HttpResponse:
    """Show how often to look at one base from one level, and all of them under it."""
    rows = list(LookCurve.objects.of(request.fleet).select_related("base"))
    named = {ages_words.look_key(row): row for row in rows}
    row = named.get(request.GET.get("look", "")) or next(iter(rows), None)
    context = {
        "row": row,
        "rows": [ages_words.look_told(each) for each in rows],
        "chosen": ages_words.look_key(row) if row else "",
        "answer": ages_words.look_sentence(row) if row else "",
        "columns": ages_words.look_columns(row) if row else [],
        "chart": ages_charts.looks(row, request.fleet) if row else None,
        "refused": None if row else ConditionRun.objects.of(request.fleet).first(),
        "forecast": reads.has_outlook(request.fleet),
        "run": reads.wire_model(request.fleet),
    }
    return render(request, "forecasting/looks.html", context)


@member()
def ages_xlsx(request: HttpRequest) -> HttpResponse:
    return of_fleet(ages_workbook(request.fleet), XLSX, request.fleet, WHAT, "xlsx")


@member()
def ages_csv_file(request: HttpRequest) -> HttpResponse:
    return of_fleet(ages_csv(request.fleet), CSV, request.fleet, WHAT, "csv")


@member()
def looks_csv_file(request: HttpRequest) -> HttpResponse:
    return of_fleet(looks_csv(request.fleet), CSV, request.fleet, "looks", "csv")
