"""What insurers, owners, flag and class ask for, boat by boat, until they have accepted it."""

from collections.abc import Iterator

from fleet.models import Boat, Fleet
from fleet.templatetags.wording import day

from ..demands import evidence
from ..models import Demand
from .row import Due, Kind, fitted


def demanded(fleet: Fleet, boats: dict[int, Boat]) -> Iterator[Due]:
    """Yield one row a demand and boat, by its deadline, with what is still to be done about it."""
    rows = list(Demand.objects.of(fleet).waiting().prefetch_related("boats"))
    found = evidence.of_demands(rows)
    for demand in rows:
        for boat in demand.boats.all():
            if boat.pk in boats:
                reason = _reason(demand, found[demand.pk][boat.pk])
                yield Due(boats[boat.pk], Kind.DEMAND, demand.deadline, reason, f"{demand.pk}")


def _reason(demand: Demand, answer: evidence.Answer) -> str:
    who = f"{demand.asker_name} ({demand.get_asker_display()})"
    asks = f"{who} asks for {demand.get_wanted_display()}: “{demand.clause}”"
    if demand.state == Demand.State.SENT:
        tail = f" Answered {day(demand.sent_on)}, not accepted yet."
    elif answer.satisfied:
        tail = " On record as done: send the answer."
    else:
        tail = f" {answer.missing}"
    return fitted(asks, tail[:140])
