"""Which boats to look at first, and how the forecast was made."""

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST
from django_tables2 import RequestConfig

from fleet.access import member
from fleet.models import Boat, Membership, WorkRow
from fleet.work import asking

from .. import chart_titles, charts, curves, reads, rests_on, watched
from ..filters import BoatFilter
from ..life_data import LEFT_OUT
from ..models import ModelRun
from ..steps.wording import spread_words
from ..survival import POSTERIOR_FROM, LifeModel
from ..tables import OutlookTable

REFRESHERS = (Membership.Role.MANAGER, Membership.Role.BOSUN)


@member()
def outlook(request: HttpRequest) -> HttpResponse:
    today = request.fleet.today()
    everything = reads.boats(request.fleet, today).filter(outlook__isnull=False)
    narrowed = BoatFilter(request.GET, queryset=everything, request=request)
    table = OutlookTable(narrowed.qs.select_related("fleet", "base", "outlook", "inspect_by"))
    RequestConfig(request, paginate={"per_page": 50}).configure(table)
    run = reads.wire_model(request.fleet)
    context = {
        "table": table,
        "filter": narrowed,
        "boats": everything.count(),
        "late": everything.filter(inspect_by__date__lte=today).count(),
        "limit": request.fleet.risk_limit,
        "run": run,
        **standing_of_forecast(request, everything),
        "differ": spread_words(LifeModel.from_dict(run.model)) if run else "",
        "watched": watched.told(request.fleet),
        **(survival_chart(run) if run else {}),
    }
    return render(request, "forecasting/outlook.html", context)


@member()
def how(request: HttpRequest) -> HttpResponse:
    expected = reads.expected_in_a_year(request.fleet)
    kinds = [
        described(kind, **found, expected=expected.get(kind))
        for kind, found in reads.runs(request.fleet).items()
    ]
    run = reads.wire_model(request.fleet)
    chart = survival_chart(run) if run else {}
    context = {
        "kinds": kinds,
        "run": run,
        "watched": watched.told(request.fleet),
        "may_refresh": request.role in REFRESHERS,
        "may_decide": request.role == Membership.Role.MANAGER,
        **chart,
    }
    return render(request, "forecasting/how.html", context)


def standing_of_forecast(request: HttpRequest, boats: QuerySet[Boat]) -> dict[str, int | bool]:
    """Return how many of these boats were put on record anew since, and who may refresh."""
    return {"newer": reads.behind(boats), "may_refresh": request.role in REFRESHERS}


@member(*REFRESHERS)
@require_POST
def refresh(request: HttpRequest) -> HttpResponse:
    """Ask for a refresh of the forecast as work, and go to its page."""
    row = asking.ask(request.fleet, WorkRow.Kind.REFRESH, request.user)
    return redirect("work", fleet=request.fleet.slug, pk=row.pk)


def survival_chart(run: ModelRun) -> dict:
    model = LifeModel.from_dict(run.model)
    rows = curves.whole_part(model)
    hatched = run.state == ModelRun.State.RULE_OF_THUMB
    oldest = float(run.inputs.get("oldest_age", 0))
    headline = curves.headline(model)
    title = chart_titles.survival(headline, rows[-1]["age"], hatched)
    return {
        "chart": charts.survival(rows, oldest, hatched, title),
        "curve": [row for row in rows if row["age"] % 5 == 0 and row["age"] > 0],
        "headline": headline,
        "oldest": oldest,
    }


def left_out(run: ModelRun) -> list[tuple[str, float]]:
    """Return (reason in words, spots left out of the fit for it), most first."""
    counts = sorted(run.left_out.items(), key=lambda item: -item[1])
    return [(LEFT_OUT.get(reason, reason), count) for reason, count in counts]


def described(
    kind: str,
    in_force: ModelRun | None,
    refused: ModelRun | None,
    expected: dict[str, float] | None = None,
) -> dict:
    """Return one kind of part with its model: what it rests on, and as factors on life.

    ``expected``: how many are expected to be condemnable, now and in_1y.
    """
    if in_force is None:
        return {"kind": kind, "run": None, "refused": refused}
    model = LifeModel.from_dict(in_force.model)
    return {
        "kind": kind,
        "run": in_force,
        "refused": refused,
        "left_out": left_out(in_force),
        "factors": curves.factors(model) if rests_on.slopes_shown(model) else [],
        "rests_on": rests_on.words(model, kind),
        "picture": rests_on.picture(model, kind),
        "picture_id": f"evidence-{kind}-spec",
        "expected": expected if model.deaths >= POSTERIOR_FROM else None,
        "headline": curves.headline(model),
        "within": curves.gone_within(model, (1.0, 5.0)),
        "shape": 1 / model.sigma,
    }
