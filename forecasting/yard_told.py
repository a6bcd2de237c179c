"""What pages and papers say of a board beside its drawing: of what it is, what is short."""

from django.db.models import Count, Q, QuerySet

from fleet.models import Boat, Fleet, WorkRow
from fleet.templatetags.wording import about, day, share

from . import yard_reads
from .models import YardPlan, YardVisit
from .planning.yard import Prices
from .yard_board import counted, number, visit_days
from .yard_problem import prices_of

ONE_MORE = {"hours": "hour", "masts": "mast down and up", "berths": "berth for a week"}
NOT_BEST = (
    "Not proven the best in all: the search ended before it was shown that no choice of weeks has "
    "fewer boats late for their guests, or boats that cannot wait lying for less long, or goes "
    "over less of what there is."
)


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


def limits(plan: YardPlan) -> dict[str, list[str] | str]:
    """Return what the planner found of the limits, as sentences, for the page and the paper.

    lacks: gone over in the plan. wish: to be opened for every boat to be in time. short: worth
    opening; not_short: that none is, of a plan that goes over none.
    """
    found = {what: plan.found.get(what, []) for what in ("lacks", "wish", "binding")}
    asked = found["binding"]
    prices = prices_of(plan.fleet) if asked else None
    worth = [each for each in asked if _pays(each, prices)]
    names = dict(plan.fleet.bases.values_list("pk", "name")) if any(found.values()) else {}
    return {
        "lacks": [_over(plan, each, names) for each in found["lacks"]],
        "wish": [_over(plan, each, names) for each in found["wish"]],
        "short": [_short(plan, each, names, prices) for each in worth],
        "not_short": "" if worth or found["lacks"] or found["wish"] else _not_short(plan),
    }


def _pays(each: dict, prices: Prices) -> bool:
    """Return whether opening a limit may pay.

    It opens by whole hours, masts and berths, and what is lost for want of room is counted boat by
    boat, all others as they are: opening it saves that at most. So where that is less than one more
    would cost, opening it never pays. What lies held for want of it is named whatever it costs.
    """
    return each["cost"] >= getattr(prices, each["kind"]) or each.get("held", 0) > 0


def _over(plan: YardPlan, each: dict, names: dict[int, str]) -> str:
    limit, cost = counted(each["limit"], each["kind"]), about(each["cost"], plan.fleet.currency)
    return (
        f"{_where(plan, each, names)}: {number(each['over'])} more than its {limit}, about {cost}"
    )


def _short(plan: YardPlan, each: dict, names: dict[int, str], prices: Prices) -> str:
    """Return what a limit costs beside the price of one more of it."""
    kind, currency = each["kind"], plan.fleet.currency
    boats = "1 boat comes" if each["boats"] == 1 else f"{each['boats']} boats come"
    cost, price = about(each["cost"], currency), about(getattr(prices, kind), currency)
    held = f", {each['held']} of them condemned or held," if each.get("held") else ""
    return (
        f"{_where(plan, each, names)}: {boats} later{held} because its "
        f"{counted(each['limit'], kind)} are taken, which is expected to cost {cost}; one more "
        f"{ONE_MORE[kind]} costs {price}"
    )


def _not_short(plan: YardPlan) -> str:
    if not plan.planned_at:
        return ""
    if not plan.found["binding"]:
        return "No boat comes later for want of hours, masts or berths."
    return (
        "No limit is worth opening: in no week do the boats that come later for want of room lose "
        "what one more hour, mast or berth would cost."
    )


def _where(plan: YardPlan, each: dict, names: dict[int, str]) -> str:
    return f"{names.get(each['base'], 'every base')}, week of {day(plan.monday(each['week']))}"


def proof(plan: YardPlan) -> str:
    """Return what the weeks are expected to cost and how far they are proven the best there are;
    blank before they are worked out.

    The planner asks in turn: limits, boats late, weeks of those that cannot wait, cost. The gap is
    of the cost, with what came before kept; ``unproven`` is what was not proven of that.
    """
    if not plan.planned_at:
        return ""
    cost, gap = about(plan.found["cost"], plan.fleet.currency), plan.found["gap"]
    within = f"within {share(gap)} of " if gap else ""
    said = (
        f"Waiting for these weeks is expected to cost {cost}, {within}the least that any choice "
        "of weeks within the same limits could cost; proven."
    )
    return f"{said} {NOT_BEST}" if plan.found.get("unproven") else said


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
