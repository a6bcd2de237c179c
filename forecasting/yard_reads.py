"""What the board of an off season shows, read from its rows."""

import datetime as dt
import math
from dataclasses import dataclass, field

from django.db.models import QuerySet

from fleet.models import Base, Fleet
from inspections.models import Booking

from .models import LeadTime, RefitJob, ScenarioJob, YardBaseWeeks, YardBlock, YardPlan, YardVisit
from .planning.yard import WORKING_DAYS, Lead, working_days
from .yard_blocks import blocks_of, bookings_of, left_of
from .yard_leads import after, lead_of, leads_of

SET_UP = "mast_down"  # the code of a row that is no part, but the mast of its boat down
KINDS = ("hours", "masts", "berths")
Job = RefitJob | ScenarioJob


@dataclass
class WeekAtBase:
    """One week at one base. A ``has_`` of None is not limited; blocks are already taken off."""

    number: int
    monday: dt.date
    visits: list[YardVisit] = field(default_factory=list)  # that stand in it
    begun: list[YardVisit] = field(default_factory=list)  # those of them that begin in it
    blocks: list[YardBlock] = field(default_factory=list)
    bookings: list[Booking] = field(default_factory=list)  # of boats with a visit at this base
    days: int = WORKING_DAYS  # working days on which the yard is open
    hours: float = 0.0
    has_hours: float | None = None
    masts: int = 0
    has_masts: float | None = None
    berths: int = 0
    has_berths: float | None = None

    @property
    def friday(self) -> dt.date:
        return self.monday + dt.timedelta(days=WORKING_DAYS - 1)

    @property
    def over(self) -> list[str]:
        """Return which limits it goes over: of hours, masts, berths."""
        pairs = ((kind, getattr(self, kind), getattr(self, f"has_{kind}")) for kind in KINDS)
        return [kind for kind, used, has in pairs if has is not None and used > has + 1e-6]


@dataclass
class BaseBoard:
    """The weeks in which one base is open, and its boats no week was found for."""

    base: Base
    weeks: list[WeekAtBase]
    unplaced: list[YardVisit] = field(default_factory=list)


def yard_plans(fleet: Fleet) -> QuerySet:
    return YardPlan.objects.of(fleet).select_related("scenario", "fleet")


def visits(plan: YardPlan) -> QuerySet:
    """Return every visit with its boat and base, by base and week; those without a week last."""
    return plan.visits.select_related("boat__fleet", "base", "kept_by")


def unplaced(plan: YardPlan) -> QuerySet:
    return visits(plan).filter(first_week=None)


def jobs(plan: YardPlan) -> QuerySet:
    """Return the jobs the plan is made of: RefitJob rows, or ScenarioJob rows of its season.

    Both have boat, installation (None for the row of the mast set-up), code, reason, hours,
    cost_minor, put_off_minor, chance.
    """
    if plan.scenario_id is None:
        found = RefitJob.objects.of(plan.fleet)
    else:
        found = ScenarioJob.objects.filter(scenario=plan.scenario, season=plan.scenario_season)
    return found.select_related("boat__base__fleet", "boat__fleet", "installation__stay")


@dataclass(frozen=True)
class PartWanted:
    """A part to order. lead: None where nobody said how long it takes; ready: when it is there,
    ordered on the plan's day; begins: the Monday its boat does, None without a week; order_by: the
    last day to order it for that."""

    job: Job
    lead: LeadTime | None
    ready: dt.date | None
    begins: dt.date | None
    order_by: dt.date | None


def parts_wanted(plan: YardPlan) -> list[PartWanted]:
    """Return each part that the plan's jobs need, the first to order first, by boat."""
    if plan.first_monday is None:
        return []
    leads = leads_of(plan.fleet)
    weeks = dict(plan.visits.exclude(first_week=None).values_list("boat", "first_week"))
    found = [
        _wanted(plan, job, lead_of(leads, job.installation), weeks.get(job.boat_id))
        for job in jobs(plan).exclude(installation=None)
    ]
    return sorted(found, key=lambda each: (each.order_by or dt.date.max, each.job.boat.name,
                                           each.job.pk))  # fmt: skip


def _wanted(plan: YardPlan, job: Job, lead: Lead | None, week: int | None) -> PartWanted:
    begins = None if week is None else plan.monday(week)
    takes = dt.timedelta(days=0 if lead is None else math.ceil(7 * lead.weeks))
    return PartWanted(
        job, lead and lead.row, after(plan.as_of, lead), begins, begins and begins - takes
    )


def by_base_and_week(plan: YardPlan) -> list[BaseBoard]:
    """Return the board: the open weeks of each base with what stands in them, used and has."""
    if plan.first_monday is None:
        return []
    rows = list(visits(plan))
    return [
        _board(row, [visit for visit in rows if visit.base_id == row.base_id])
        for row in plan.bases.select_related("base", "plan__fleet")
    ]


def _board(row: YardBaseWeeks, at_base: list[YardVisit]) -> BaseBoard:
    plan = row.plan
    last = plan.monday(plan.weeks)
    blocks = blocks_of(plan.fleet, row.base_id, plan.first_monday, last)
    away = bookings_of([visit.boat_id for visit in at_base], plan.first_monday, last)
    left = left_of(row, blocks)
    weeks = [
        WeekAtBase(
            number, plan.monday(number), days=int(left.days[number]),
            **{f"has_{kind}": _limit(left[kind][number]) for kind in KINDS},
        )
        for number in range(row.opens, row.closes)
    ]  # fmt: skip
    for week in weeks:
        _fill(week, at_base)
        week.blocks = [each for each in blocks if _touches(each, week.monday)]
        week.bookings = [
            each for spans in away.values() for each in spans if _touches(each, week.monday)
        ]
    return BaseBoard(row.base, weeks, [each for each in at_base if each.first_week is None])


def _limit(number: float) -> float | None:
    return None if math.isinf(number) else float(number)


def _fill(week: WeekAtBase, at_base: list[YardVisit]) -> None:
    week.visits = [visit for visit in at_base if week.number in visit.stands_in]
    week.begun = [visit for visit in week.visits if visit.first_week == week.number]
    week.hours = sum(visit.hours / visit.weeks for visit in week.visits)
    week.masts = sum(visit.mast_down for visit in week.begun)
    week.berths = sum(visit.mast_down for visit in week.visits)


def _touches(span, monday: dt.date) -> bool:
    return bool(working_days(span.first, span.last, monday))
