"""What is due on which boat, by when and why: the fleet's own intervals, risk, what was found, what
happened, and what others demand.

Pure questions to the record; the day is an argument. Where several rules ask for the same look the
earliest date counts, and its sentence is the one shown.
"""

import datetime as dt

from fleet.models import Boat, Fleet

from ..aftermath.waiting import waiting
from .demanded import demanded
from .found import events, held, rechecks
from .parts_alike import parts_alike
from .policy import by_insurer, earliest, months_after
from .row import LOOKS, SATISFIED_BY, Due

__all__ = ["LOOKS", "SATISFIED_BY", "Due", "due", "months_after"]


def due(fleet: Fleet, today: dt.date) -> list[Due]:
    """Return what is due on the boats now in the fleet, however far ahead, soonest first."""
    boats = {
        boat.pk: boat for boat in Boat.objects.of(fleet).standing(today).select_related("base")
    }
    after = [Due(boats[each.boat], each.kind, each.on, each.reason) for each in waiting(boats)]
    everything = [
        *earliest(fleet, boats),
        *by_insurer(fleet, boats),
        *rechecks(boats),
        *held(boats),
        *events(boats),
        *parts_alike(fleet, boats, today),
        *demanded(fleet, boats),
        *after,
    ]
    return sorted(everything, key=lambda e: (e.on, e.boat.name, e.kind, e.about, e.boat.pk))
