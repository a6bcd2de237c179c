"""From the rows of a plan, the jobs, bookings, blocks and lead times to the planner's question."""

import datetime as dt
import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from fleet.models import Boat, Fleet, Price
from inspections.models import Booking, Hold

from .models import YardBaseWeeks, YardBlock, YardPlan, YardVisit
from .planning.yard import OUT, Lead, Left, Prices, Work, Yard, weeks_touched
from .steps.price_book import PriceBook
from .yard_blocks import blocks_of, bookings_of, left_of
from .yard_calendar import WEEK, span_of
from .yard_leads import leads_of, ready_on
from .yard_reads import SET_UP, Job

WEEKS_A_YEAR = 52
BERTH_SHARE = 0.25  # of mast down and up: a berth for a week; common practice, no source
AHEAD = dt.timedelta(weeks=13)  # bookings so long after the last week are named too


@dataclass
class BoatFacts:
    """What is known of one boat's visit, beside the numbers of its `work`."""

    boat: Boat
    work: Work
    must: bool
    parts_ready: dt.date | None
    new_season: dt.date | None
    bookings: list[Booking] = field(default_factory=list)


@dataclass
class BaseQuestion:
    row: YardBaseWeeks
    yard: Yard
    facts: dict[int, BoatFacts]
    blocks: list[YardBlock]


def by_boat(jobs: Iterable[Job]) -> dict[Boat, list[Job]]:
    found: dict[Boat, list[Job]] = defaultdict(list)
    for job in jobs:
        found[job.boat].append(job)
    return found


@dataclass(frozen=True)
class Kept:
    """A visit moved by hand, and its week on the plan's axis as it is now; OUT: in none."""

    visit: YardVisit
    week: int


def kept_by_hand(plan: YardPlan) -> dict[int, Kept]:
    """Return what was moved by hand, by boat; a week that is past is kept no longer."""
    if plan.pk is None:
        return {}
    stored = YardPlan.objects.values_list("first_monday", flat=True).get(pk=plan.pk)
    shift = (plan.first_monday - stored).days // 7 if stored else 0
    found = {}
    for visit in plan.visits.exclude(kept_at=None).select_related("kept_by"):
        week = OUT if visit.first_week is None else visit.first_week - shift
        if visit.first_week is None or week >= 0:
            found[visit.boat_id] = Kept(visit, week)
    return found


@dataclass(frozen=True)
class Known:
    """What is read once for all boats of a plan."""

    plan: YardPlan
    held: frozenset[int]
    leads: list[Lead]
    kept: dict[int, "Kept"]
    prices: Prices


def questions(plan: YardPlan, rows: list[YardBaseWeeks], jobs: list[Job]) -> list[BaseQuestion]:
    """Return one question a base. rows: of this plan, saved or not."""
    held = Hold.objects.of(plan.fleet).standing().values_list("boat", flat=True)
    leads, kept = leads_of(plan.fleet), kept_by_hand(plan)
    known = Known(plan, frozenset(held), leads, kept, prices_of(plan.fleet))
    boats = by_boat(jobs)
    return [
        _question(known, row, {b: own for b, own in boats.items() if b.base_id == row.base_id})
        for row in rows
    ]


def _question(known: Known, row: YardBaseWeeks, boats: dict[Boat, list[Job]]) -> BaseQuestion:
    plan = known.plan
    last = plan.monday(plan.weeks)
    blocks = blocks_of(plan.fleet, row.base_id, plan.first_monday, last)
    booked = bookings_of([boat.pk for boat in boats], plan.first_monday, last + AHEAD)
    ends = span_of(row.base, plan.as_of, plan.scenario_season or 0).season.ends
    left = left_of(row, blocks)
    pace = pace_of(plan, row, left)
    facts = {
        boat.pk: facts_of(known, boat, own, booked.get(boat.pk, []), blocks, ends, pace)
        for boat, own in boats.items()
    }
    works = tuple(each.work for each in facts.values())
    yard = Yard(row.base_id, row.opens, row.closes, left, works, known.prices)
    return BaseQuestion(row, yard, facts, blocks)


def pace_of(plan: YardPlan, row: YardBaseWeeks, left: Left) -> float:
    """Return the hours a boat gets in a week: no more than the base has in its best one."""
    best = float(left.hours[row.opens : row.closes].max(initial=0))
    return min(plan.hours_a_boat, best) if best > 0 else plan.hours_a_boat


def facts_of(
    known: Known, boat: Boat, jobs: list[Job], booked: list[Booking], blocks: list[YardBlock],
    season_ends: dt.date, pace: float,
) -> BoatFacts:  # fmt: skip
    """Return the work of one boat: its hours, the weeks they take, what keeps it out of which."""
    plan, kept = known.plan, known.kept.get(boat.pk)
    parts = [job.installation for job in jobs if job.installation_id]
    ready = ready_on(plan.as_of, known.leads, parts)
    hours = math.fsum(job.hours for job in jobs)
    must = boat.pk in known.held or any(condemned(job) for job in jobs)
    others = [(row.first, row.last) for row in blocks if row.boat_id == boat.pk]
    spans = [(row.first, row.last) for row in booked]
    after = [span for span in spans if span[0] > season_ends]
    new_season = weeks_touched(after, plan.first_monday, plan.weeks)
    work = Work(
        boat=boat.pk,
        hours=round(hours, 2),
        weeks=max(1, math.ceil(hours / pace - 1e-9)),
        mast_down=mast_comes_down(boat, jobs),
        must=must,
        week_cost=sum(max(job.put_off_minor or 0, 0) for job in jobs) / WEEKS_A_YEAR,
        ready=0 if ready is None else max(0, math.ceil((ready - plan.first_monday) / WEEK)),
        guests=weeks_touched(spans, plan.first_monday, plan.weeks),
        contractor=weeks_touched(others, plan.first_monday, plan.weeks),
        before=min(new_season) if new_season else None,
        kept=None if kept is None else kept.week,
    )
    first = min((span[0] for span in after), default=None)
    return BoatFacts(boat, work, must, ready, first, booked)


def condemned(job: Job) -> bool:
    return getattr(job, "must", False) or job.code == "condemned"


def mast_comes_down(boat: Boat, jobs: list[Job]) -> bool:
    """Whether it does: for these jobs, or every off season anyway."""
    return boat.mast_down_off_season or any(job.code == SET_UP for job in jobs)


def prices_of(fleet: Fleet) -> Prices:
    """Return what opening a limit by one costs, by the price list: an hour, mast down and up."""
    book = PriceBook(fleet, Price.objects.of(fleet))
    hour, _ = book.single(Price.Item.RIGGER_HOUR)
    lengths = [float(length) for length in fleet.boats.values_list("length_m", flat=True)]
    money, hours = book.mast_down(np.array([sum(lengths) / max(1, len(lengths))]))
    mast = float(money[0] + hours[0] * hour)
    return Prices(hours=hour, masts=mast, berths=BERTH_SHARE * mast)
