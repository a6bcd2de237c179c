"""Sister boats: the one whose wires went early is told apart, and looked at before the other."""

import pytest

from forecasting import refresh
from forecasting.models import BoatOutlook, ModelRun
from inspections.models import InspectBy

from .history import ALL_GOOD, AS_OF, History

# Statistics of many fits: no database makes a difference to them, so they run on one.
pytestmark = [pytest.mark.django_db, pytest.mark.only_on("sqlite")]
STAYS = ("forestay", "backstay", "inner_forestay", "running_backstay", "intermediate", "cap_shroud")
SPRINGS = range(2015, 2027)


def kept(history: History, name: str, early: bool):
    """A boat seen every spring; her first wires of 2014 went in 2017, or stand to this day."""
    boat = history.boat(name, complete_since="2014-01-01")
    went = ("2017-04-01", "condemned", "lower") if early else (None, "", "")
    first = [history.part(boat, "2014-04-01", *went, stay=stay) for stay in STAYS]
    second = [history.part(boat, "2017-04-01", stay=stay) for stay in STAYS] if early else []
    for year in SPRINGS:
        gone = ALL_GOOD | ({"lower": "condemned"} if early and year == 2017 else {})
        up = second if early and year > 2017 else first
        history.look(f"{year}-04-01", *((part, gone) for part in up))
    return boat


def compared(history: History, boat) -> None:
    """Wires of one age on either boat, seen good on one day."""
    parts = [history.part(boat, "2020-04-01", stay=stay) for stay in ("lower_aft", "diamond")]
    history.look("2025-05-01", *((part, ALL_GOOD) for part in parts))


def test_a_boat_whose_wires_went_early_is_told_apart_from_her_sister():
    history = History()
    short, *others = (kept(history, f"Boat {n}", early=n == 0) for n in range(7))
    for boat in (short, others[0]):
        compared(history, boat)
    refresh.run(history.fleet, AS_OF)
    run = ModelRun.objects.of(history.fleet).in_force().get(kind="wire")
    assert run.model["boat_spread"] > 0.1
    outlooks = {row.boat_id: row for row in BoatOutlook.objects.of(history.fleet)}
    middle, low, high = outlooks[short.pk].life
    assert middle < 0.9
    assert low < middle < high < 1.1

    def chance(boat) -> float:
        parts = boat.part_outlooks.filter(installation__stay__name="lower_aft")
        return parts.get().chance_1y

    assert chance(short) > 1.5 * chance(others[0])
    dates = dict(InspectBy.objects.of(history.fleet).values_list("boat_id", "date"))
    assert dates[short.pk] <= dates[others[0].pk]
