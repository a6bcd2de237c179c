"""What pages and papers say of a board beside its drawing: of what it is, what is short."""

from django.db.models import Count, Q, QuerySet

from fleet.models import Boat, Fleet, WorkRow
from fleet.templatetags.wording import about, day

from . import yard_reads
from .models import YardPlan, YardVisit
from .yard_board import counted, number, visit_days


def listed(fleet: Fleet) -> QuerySet:
    """Return the boards of a fleet, each with its boats and how many of them have no week."""
    return yard_reads.yard_plans(fleet).annotate(
        boats=Count("visits"), without=Count("visits", filter=Q(visits__first_week=None))
    )


def made_from(plan: YardPlan) -> str:
    return f"{plan.scenario}, {plan.season}" if plan.scenario else "the refit list"


def work_under_way(plan: YardPlan) -> WorkRow | None:
    """Return the work that is working its weeks out, if any."""
    rows = WorkRow.objects.of(plan.fleet).filter(kind=WorkRow.Kind.YARD)
    return rows.filter(key=f"{plan.pk}").unfinished().first()


def said(plan: YardPlan, what: str) -> list[str]:
    """Return the limits that bind or lack as sentences: base, week, kind, how much."""
    found = plan.found.get(what, [])
    names = dict(plan.fleet.bases.values_list("pk", "name")) if found else {}
    return [_said(plan, each, names) for each in found]


def _said(plan: YardPlan, each: dict, names: dict[int, str]) -> str:
    where = f"{names.get(each['base'], 'every base')}, week of {day(plan.monday(each['week']))}"
    limit, cost = counted(each["limit"], each["kind"]), about(each["cost"], plan.fleet.currency)
    if "over" in each:
        return f"{where}: {number(each['over'])} more than its {limit}, about {cost}"
    boats = "1 boat comes" if each["boats"] == 1 else f"{each['boats']} boats come"
    return f"{where}: {boats} later for want of more than its {limit}, which costs {cost}"


def of_boat(boat: Boat) -> list[YardVisit]:
    """Return when the boat is in the yard by each board, ``words`` set, those to come alone."""
    rows = boat.yard_visits.exclude(first_week=None).select_related("plan__scenario", "base")
    coming = [(visit_days(visit), visit) for visit in rows.order_by("-plan_id", "pk")]
    for days, visit in coming:
        visit.words = f"{day(days[0])} to {day(days[1])} at {visit.base}"
    today = boat.fleet.today()
    return [visit for days, visit in coming if days[1] >= today]


def yard_words(boat: Boat) -> str:
    """Return its weeks on the board of the refit list; blank where it has none."""
    return next((visit.words for visit in of_boat(boat) if visit.plan.scenario_id is None), "")
