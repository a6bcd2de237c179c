"""When the parts of a job are there, by the fleet's lead times."""

import datetime as dt
import math
from collections.abc import Iterable

from fleet.models import Fleet, Installation

from .models import LeadTime
from .planning.yard import Lead, lead_for


def leads_of(fleet: Fleet) -> list[Lead]:
    return [
        Lead(row.weeks, row.kind, row.construction, row.diameter_from, row.diameter_to, row)
        for row in LeadTime.objects.of(fleet)
    ]


def lead_of(leads: list[Lead], part: Installation) -> Lead | None:
    """Return the lead time of a part like that one, told by its wire's or its pin's diameter."""
    return lead_for(leads, part.kind, part.construction, part.diameter_mm or part.pin_mm)


def after(day: dt.date, lead: Lead | None) -> dt.date | None:
    """Return the day a part ordered on that day is there; None where nobody said how long."""
    return None if lead is None else day + dt.timedelta(days=math.ceil(7 * lead.weeks))


def ready_on(as_of: dt.date, leads: list[Lead], parts: Iterable[Installation]) -> dt.date | None:
    """Return the day by which all of them are there, ordered on that day; None where none waits."""
    days = [after(as_of, lead_of(leads, part)) for part in parts]
    last = max((day for day in days if day is not None), default=as_of)
    return last if last > as_of else None
