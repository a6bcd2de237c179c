"""The demonstration's yard: what it has a week, days that are taken, lead times, the first charters
of spring; and the weeks of the off season worked out. Done twice, it changes nothing."""

import datetime as dt
from collections.abc import Iterator

from django.db import transaction

from fleet.models import Boat, Fleet
from inspections.models import Booking

from . import yard_planning
from .models import LeadTime, RefitJob, YardBlock, YardPlan

WIRE, FITTINGS = "Saltern Wire", "Fennrig Fittings"  # invented
LEADS = (
    {"weeks": 2, "supplier": FITTINGS, "order_by": "by Thursday noon"},
    {"weeks": 1, "kind": "wire", "construction": "1x19", "diameter_to": 8, "supplier": WIRE,
     "order_by": "from the drum, by mail"},
    {"weeks": 3, "kind": "wire", "construction": "1x19", "diameter_from": 8.1, "supplier": WIRE,
     "order_by": "with the cut sheet"},
    {"weeks": 5, "kind": "wire", "construction": "compacted", "supplier": WIRE,
     "order_by": "with the cut sheet"},
    {"weeks": 3, "kind": "chainplate", "supplier": FITTINGS, "order_by": "with a drawing"},
)  # fmt: skip
A_CRANE_DAY = 2  # masts down and up: one crane day a week
BERTHS = 3
SPRING = 3  # every third boat is chartered in April


def keep(fleet: Fleet) -> str:
    """Enter all of it and work the weeks out; return what came of it in words."""
    plan = yard_planning.plan_for(fleet)
    if plan.planned_at is None:
        enter(fleet, plan)
    planned = yard_planning.run(plan, fleet.today(), lambda step: None, lambda: None)
    return yard_planning.words(planned).rstrip(".")


@transaction.atomic
def enter(fleet: Fleet, plan: YardPlan) -> None:
    LeadTime.objects.bulk_create([LeadTime(fleet=fleet, **facts) for facts in LEADS])
    if fleet.kind == Fleet.Kind.CHARTER:
        Booking.objects.bulk_create(_spring(fleet))
    rows = yard_planning.rows_of(plan, fleet.today())
    plan.save()
    for row in rows:
        row.masts, row.berths = [A_CRANE_DAY] * plan.weeks, [BERTHS] * plan.weeks
        row.by_hand = True
        row.save()
    YardBlock.objects.bulk_create(_blocks(fleet))


def _blocks(fleet: Fleet) -> Iterator[YardBlock]:
    """Yield the days between the years, and a keel that others mend while the boat is ashore."""
    year = fleet.today().year
    yield YardBlock(fleet=fleet, what=YardBlock.What.SHUT, first=dt.date(year, 12, 21),
                    last=dt.date(year + 1, 1, 3), note="between the years")  # fmt: skip
    job = RefitJob.objects.of(fleet).filter(must=False).select_related("boat__base").first()
    yield YardBlock(
        fleet=fleet, what=YardBlock.What.CONTRACTOR, base=job.boat.base, boat=job.boat,
        first=dt.date(year, 11, 9), last=dt.date(year, 11, 20), berths=1, note="keel bolts drawn",
    )  # fmt: skip


def _spring(fleet: Fleet) -> Iterator[Booking]:
    """Yield the first charters after the winter, a week each, from the first Saturday of April."""
    april = dt.date(fleet.today().year + 1, 4, 1)
    saturday = april + dt.timedelta(days=(5 - april.weekday()) % 7)
    boats = Boat.objects.of(fleet).standing(fleet.today()).order_by("name", "pk")
    for number, boat in enumerate(boats[::SPRING]):
        first = saturday + dt.timedelta(weeks=number % 3)
        yield Booking(boat=boat, first=first, last=first + dt.timedelta(weeks=1),
                      source=Booking.Source.SHEET, reference=f"S-{2000 + number}")  # fmt: skip
