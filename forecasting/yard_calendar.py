"""The weeks of an off season: when each base is open, and what it has in each week.

A base is open from the first Monday of its off season that is to come. Where fewer weeks than
FEWEST are left of it, it stays open for so many, between the bookings: what a fleet has to do does
not stop at a month's end.
"""

import datetime as dt
from dataclasses import dataclass

from fleet.models import Base

from .models import ScenarioBase, YardBaseWeeks, YardPlan
from .steps.schedule import OffSeason, off_season

FEWEST = 8  # weeks
WEEK = dt.timedelta(weeks=1)
KINDS = ("hours", "masts", "berths")


@dataclass(frozen=True)
class BaseSpan:
    """A base, the off season planned for, its first Monday, the Monday after its last week, and
    how many weeks its whole off season has."""

    base: Base
    season: OffSeason
    first: dt.date
    after: dt.date
    whole: int

    @property
    def weeks(self) -> int:
        return (self.after - self.first).days // 7


def span_of(
    base: Base, as_of: dt.date, seasons_on: int = 0, until: dt.date | None = None
) -> BaseSpan:
    """Return the weeks of the off season at hand or to come, or of one so many seasons on.

    until: the last day on which boats are worked on, where somebody said so.
    """
    season = off_season(*base.off_season(), as_of)
    for _ in range(seasons_on):
        season = off_season(*base.off_season(), season.next_starts)
    begins = season.next_starts.replace(year=season.next_starts.year - 1)
    first, after = _monday_from(season.starts), _monday_from(season.ends + dt.timedelta(days=1))
    if until is not None and until >= first:
        after = _monday_from(until + dt.timedelta(days=1))
    elif not seasons_on:
        after = max(after, first + FEWEST * WEEK)
    return BaseSpan(base, season, first, after, max(1, round((season.ends - begins).days / 7)))


def _monday_from(day: dt.date) -> dt.date:
    return day + dt.timedelta(days=-day.weekday() % 7)


def set_out(plan: YardPlan, bases: list[Base], as_of: dt.date) -> list[YardBaseWeeks]:
    """Set the plan's axis and return a row a base, unsaved: what was typed in is kept by Monday.

    The plan itself is changed, and not saved.
    """
    old = {row.base_id: row for row in plan.bases.all()} if plan.pk else {}
    until = {pk: row.until for pk, row in old.items()}
    spans = [span_of(base, as_of, plan.scenario_season or 0, until.get(base.pk)) for base in bases]
    old_monday = plan.first_monday
    plan.first_monday = min(span.first for span in spans)
    plan.weeks = (max(span.after for span in spans) - plan.first_monday).days // 7
    plan.as_of = as_of
    return [_row(plan, span, old.get(span.base.pk), old_monday) for span in spans]


def _row(
    plan: YardPlan, span: BaseSpan, old: YardBaseWeeks | None, old_monday: dt.date | None
) -> YardBaseWeeks:
    opens = (span.first - plan.first_monday).days // 7
    row = YardBaseWeeks(plan=plan, base=span.base, opens=opens, closes=opens + span.weeks)
    usual = usual_limits(plan, span)
    for kind in KINDS:
        setattr(row, kind, usual[kind])
    row.until = old.until if old is not None else None
    if old is not None and old.by_hand:
        row.by_hand = True
        shift = (plan.first_monday - old_monday).days // 7
        for kind in KINDS:
            setattr(row, kind, _shifted(getattr(old, kind), shift, plan.weeks))
    return row


def _shifted(numbers: list[float], by: int, weeks: int) -> list[float]:
    """Return the numbers on an axis that begins so many weeks later; the last one goes on."""
    if not numbers:
        return []
    last = len(numbers) - 1
    return [numbers[min(max(week + by, 0), last)] for week in range(weeks)]


def usual_limits(plan: YardPlan, span: BaseSpan) -> dict[str, list[float]]:
    """Return what nobody typed in: the season's hours and crane days, spread over its weeks.

    Hours are the scenario's, or the base's own; how many boats stand at one time nobody knows.
    """
    scenario, season = plan.scenario, plan.scenario_season
    hours, crane = span.base.rigger_hours, None
    if scenario is not None:
        said = ScenarioBase.objects.filter(scenario=scenario, base=span.base).first()
        hours = said.hours[season] if said and said.hours else None
        crane = said.crane_days[season] if said and said.crane_days else None
    masts = [] if crane is None else _spread(crane, span, plan, scenario.boats_a_crane_day)
    return {
        "hours": [] if hours is None else [round(hours / span.whole, 1)] * plan.weeks,
        "masts": masts,
        "berths": [],
    }


def _spread(days: float, span: BaseSpan, plan: YardPlan, boats_a_day: float) -> list[float]:
    """Return boats a week: whole crane days, as evenly as they can lie over the weeks."""
    opens = (span.first - plan.first_monday).days // 7
    share = days / span.whole
    whole = [int(share * (n + 1) + 0.5) - int(share * n + 0.5) for n in range(plan.weeks)]
    return [whole[week - opens] * boats_a_day if week >= opens else 0.0
            for week in range(plan.weeks)]  # fmt: skip
