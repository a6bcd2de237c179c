"""How far to trust the forecast: past ones beside what was found, the curve beside the seen."""

from collections.abc import Mapping, Sequence

import numpy as np
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from fleet.access import member
from fleet.models import Fleet, WorkRow
from fleet.work import asking

from .. import trust_charts, trust_words
from ..models import BackTest
from .outlook import REFRESHERS

GROUPS = {
    "age": "Age at the look",
    "spot": "Where on the wire",
    "ground": "Ground",
    "mast": "Mast in the off season",
    "construction": "Construction",
}
NORMAL_90 = 1.645


@member()
def trust(request: HttpRequest) -> HttpResponse:
    tests = {row.kind: row for row in BackTest.objects.of(request.fleet)}
    row = tests.get(request.GET.get("kind", "")) or tests.get("wire")
    seen = row.seen if row else {}
    context = {
        "row": row,
        "kinds": [(row, trust_words.summary(row.result)) for row in tests.values()],
        "may_test": request.role in REFRESHERS,
        "under_way": under_way(request.fleet),
        "curves": curves(seen, request.GET.get("by", "")),
        "residuals": residuals(seen),
        **(tested(row.result, request.fleet.age_rule_years) if row and row.result else {}),
    }
    return render(request, "forecasting/trust.html", context)


def under_way(fleet: Fleet) -> WorkRow | None:
    """Return the test that waits or is being made, the one begun first."""
    tests = WorkRow.objects.of(fleet).filter(kind=WorkRow.Kind.BACK_TEST).unfinished()
    return tests.order_by("asked_at").first()


@member(*REFRESHERS)
@require_POST
def test_again(request: HttpRequest) -> HttpResponse:
    """Ask for the test as work, and go to its page."""
    row = asking.ask(request.fleet, WorkRow.Kind.BACK_TEST, request.user)
    return redirect("work", fleet=request.fleet.slug, pk=row.pk)


def tested(result: Mapping, rule_years: float | None) -> dict:
    """Return what the page shows of a test that had something to test."""
    years = [{**year, "year": str(year["year"])} for year in result["years"]]
    ages = [bounded(group) for group in result["groups"].get("age", [])]
    return {
        "result": result,
        "headline": trust_words.summary(result),
        "judgement": trust_words.judgement(result),
        "against_rule": trust_words.against_rule(result, rule_years),
        "years_chart": trust_charts.counts(years, "year", trust_words.years_title(years)),
        "years": [(year, trust_words.year_words(year)) for year in years],
        "ages_chart": bool(ages)
        and trust_charts.counts(ages, "name", trust_words.ages_title(result["groups"]["age"])),
        "groups": [
            (GROUPS[name], [(group, trust_words.group_words(group)) for group in rows])
            for name, rows in result["groups"].items()
        ],
        "rivals": [
            (row, trust_words.RIVALS[row["name"]], trust_words.VERDICTS.get(row.get("verdict"), ""))
            for row in result["rivals"]
        ],
    }


def bounded(group: Mapping) -> dict:
    """Return a group with the bounds nine times in ten of its count, by its standard error."""
    reach = NORMAL_90 * group["error"]
    low, high = max(group["expected"] - reach, 0), group["expected"] + reach
    name = group["name"].removesuffix(" years").replace(" years and over", "+").replace(" to ", "-")
    name = name.replace("under ", "0-")
    return {**group, "name": name, "low": round(low, 1), "high": round(high, 1)}


def curves(seen: Mapping, by: str) -> dict:
    """Return the groupings there are, the one shown, and its charts with their groups."""
    groups = seen.get("groups") or {}
    shown = by if by in groups else next(iter(groups), "")
    return {
        "shown": shown,
        "others": [(name, GROUPS[name]) for name in groups],
        "charts": [
            (
                f"curve-{k}",
                trust_charts.beside(group, trust_words.curve_title(group)),
                group
                | {"points_sure": max(round(200 * group["error"]), 1), "rows": read_off(group)},
            )
            for k, group in enumerate(groups.get(shown, []))
        ],
    }


def read_off(group: Mapping) -> list[tuple[int, float, float]]:
    """Return age, percent seen not condemned and percent forecast, at about six whole ages."""
    first, last = group["steps"][0][0], group["steps"][-1][0]
    every = max(1, round((last - first) / 6))
    return read_at(group, [age for age in range(every, int(last) + 1, every) if age >= first])


def read_at(group: Mapping, places: Sequence[float]) -> list[tuple[float, float, float]]:
    """Return each place across, percent seen not condemned there, and percent forecast."""
    across, seen = np.array(group["steps"]).T
    along, forecast = np.array(group["curve"]).T
    at = np.searchsorted(across, places, side="right") - 1
    return list(zip(places, seen[at], np.interp(places, along, forecast), strict=True))


def residuals(seen: Mapping) -> dict | None:
    """Return the chart of the residual intervals and its table, at about six hazards."""
    found = seen.get("residuals")
    if not found:
        return None
    title = trust_words.residuals_title(found)
    chart = trust_charts.beside(found, title, "hazard the forecast had laid up by then")
    first, last = found["steps"][0][0], found["steps"][-1][0]
    places = np.unique(np.linspace(first, last, 7)[1:].round(2))
    rows = read_at(found, places[(places >= first) & (places <= last)].tolist())
    return {"chart": chart, "found": found, "rows": rows}
