"""A board of the yard, as rows."""

import datetime as dt

from django.utils import timezone

from fleet.models import Boat
from forecasting.models import LeadTime, YardBaseWeeks, YardBlock, YardPlan, YardVisit

MONDAY = dt.date(2026, 11, 2)
WEEKS = 6
WEEK = dt.timedelta(weeks=1)


def yard_plan(boat: Boat, **visit) -> YardPlan:
    """Return a board of six weeks with one boat in the second, and who sells it wire."""
    fleet = boat.fleet
    plan = YardPlan.objects.create(
        fleet=fleet, season="2026/27", first_monday=MONDAY, weeks=WEEKS, as_of=fleet.today(),
        planned_at=timezone.now(), asked="f" * 64, made_by=None,
        found={"cost": 12_300, "bound": 12_300, "gap": 0.0, "binding": [], "lacks": []},
    )  # fmt: skip
    open_base(plan, boat.base)
    alongside(plan, boat, **visit)
    LeadTime.objects.create(
        fleet=fleet, supplier=f"{fleet.slug} wire", kind="wire", weeks=3, order_by="by letter"
    )
    return plan


def open_base(plan: YardPlan, base, **limits) -> YardBaseWeeks:
    usual = {"hours": [20.0] * WEEKS, "masts": [1] * WEEKS, "berths": [1] * WEEKS}
    return YardBaseWeeks.objects.create(
        plan=plan, base=base, opens=0, closes=WEEKS, **(usual | limits)
    )


def alongside(plan: YardPlan, boat: Boat, **facts) -> YardVisit:
    usual = {"first_week": 1, "hours": 3.0, "why": "The week that costs least."}
    return YardVisit.objects.create(plan=plan, base=boat.base, boat=boat, **(usual | facts))


def shut(plan: YardPlan, base, week: int, **facts) -> YardBlock:
    """Close the base for that week."""
    first = plan.monday(week)
    usual = {"first": first, "last": first + dt.timedelta(days=4)}
    return YardBlock.objects.create(fleet=plan.fleet, base=base, **(usual | facts))
