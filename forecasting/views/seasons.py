"""Plans over several off seasons: scenarios, what came of them, moves by hand, side by side."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from fleet.access import member
from fleet.models import WorkRow
from fleet.work import asking

from .. import reads, season_moves, season_planning, season_reads
from ..models import SeasonScenario
from ..season_forms import ScenarioForm, WhatIfForm
from .outlook import REFRESHERS

JOBS_A_PAGE = 50


@member()
def season_plans(request: HttpRequest) -> HttpResponse:
    scenarios = season_reads.scenarios(request.fleet)
    context = {
        "scenarios": scenarios,
        "cheapest": season_reads.cheapest(list(scenarios)),
        "forecast": reads.has_outlook(request.fleet),
        "may_plan": request.role in REFRESHERS,
    }
    return render(request, "forecasting/season_plans.html", context)


@member(*REFRESHERS)
def season_plan_new(request: HttpRequest) -> HttpResponse:
    form = ScenarioForm(request.POST or None, fleet=request.fleet)
    if request.method == "POST" and form.is_valid():
        return work_out(request, form.save(request.user))
    return render(request, "forecasting/season_limits.html", {"form": form})


@member(*REFRESHERS)
def season_plan_limits(request: HttpRequest, pk: int) -> HttpResponse:
    scenario = of(request, pk)
    form = ScenarioForm(request.POST or None, fleet=request.fleet, scenario=scenario)
    if request.method == "POST" and form.is_valid():
        return work_out(request, form.save(request.user))
    context = {"form": form, "scenario": scenario}
    return render(request, "forecasting/season_limits.html", context)


@member()
def season_plan(request: HttpRequest, pk: int) -> HttpResponse:
    """Show one plan: each season by base, then its jobs season by season, one page at a time."""
    scenario = of(request, pk)
    seasons = season_reads.by_season(scenario)
    chosen = season_reads.chosen_season(request.GET.get("season", ""))
    rows = season_reads.jobs(scenario).filter(season=chosen)
    context = {
        "scenario": scenario,
        "seasons": seasons,
        "few": season_reads.FEW_SINGLES,
        "chosen": chosen,
        "page": Paginator(rows, JOBS_A_PAGE).get_page(request.GET.get("page")),
        "lacking": season_reads.said_limits(scenario, "excess"),
        "binding": season_reads.worth_more(scenario),
        "fixed": season_moves.NOT_MOVED,
        "put_off": season_reads.put_off(scenario).count(),
        "moves": {move.installation_id for move in scenario.moves.all()},
        "behind": season_planning.is_behind(scenario),
        "may_plan": request.role in REFRESHERS,
        "what_if": WhatIfForm(scenario=scenario, initial={"name": f"{scenario.name}, what if"}),
        "changed": season_reads.change(scenario),
        "work": season_reads.work_under_way(scenario),
    }
    return render(request, "forecasting/season_plan.html", context)


@member(*REFRESHERS)
@require_POST
def season_plan_work_out(request: HttpRequest, pk: int) -> HttpResponse:
    return work_out(request, of(request, pk))


@member(*REFRESHERS)
@require_POST
def season_plan_copy(request: HttpRequest, pk: int) -> HttpResponse:
    """Make the what-if copy and work it out."""
    scenario = of(request, pk)
    form = WhatIfForm(request.POST, scenario=scenario)
    if form.is_valid():
        return work_out(request, form.save(request.user))
    return render(request, "forecasting/season_copy.html", {"form": form, "scenario": scenario})


@member(*REFRESHERS)
@require_POST
def season_plan_move(request: HttpRequest, pk: int) -> HttpResponse:
    """Keep a part in the season it was moved to, and have the plan priced anew."""
    scenario = of(request, pk)
    fault = season_moves.move(
        scenario, request.POST.get("part", ""), request.POST.get("to", ""), request.user
    )
    if fault:
        messages.error(request, fault)
        return redirect("season_plan", fleet=request.fleet.slug, pk=pk)
    return work_out(request, scenario)


@member(*REFRESHERS)
@require_POST
def season_plan_delete(request: HttpRequest, pk: int) -> HttpResponse:
    scenario = of(request, pk)
    messages.success(request, f"{scenario.name} is deleted.")
    scenario.delete()
    return redirect("season_plans", fleet=request.fleet.slug)


@member()
def season_plans_compare(request: HttpRequest) -> HttpResponse:
    """Show two or three plans side by side."""
    found = season_reads.chosen_scenarios(request.fleet, request.GET.getlist("plan"))
    context = {
        "scenarios": season_reads.scenarios(request.fleet).exclude(planned_at=None),
        "chosen": found,
        "answer": season_reads.difference(found) if len(found) > 1 else "",
        "rows": season_reads.compared(found),
        "moved": [season_reads.moved_between(found[0], other) for other in found],
    }
    return render(request, "forecasting/season_compare.html", context)


def of(request: HttpRequest, pk: int) -> SeasonScenario:
    return get_object_or_404(SeasonScenario.objects.of(request.fleet), pk=pk)


def work_out(request: HttpRequest, scenario: SeasonScenario) -> HttpResponse:
    """Ask for the plan to be worked out, and go to the page of that work."""
    row = asking.ask(
        request.fleet,
        WorkRow.Kind.SEASONS,
        request.user,
        key=f"{scenario.pk}",
        scenario=scenario.pk,
    )
    return redirect("work", fleet=request.fleet.slug, pk=row.pk)
