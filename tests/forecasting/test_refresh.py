"""A refresh on real rows: always an outlook, a refit list and a budget; twice is once."""

import datetime as dt
import io

import numpy as np
import pytest
from django.core.management import CommandError, call_command
from django.db.models import Sum

from fleet.models import Installation
from forecasting import refresh
from forecasting.models import (
    BoatOutlook,
    BudgetFigure,
    ModelRun,
    PartOutlook,
    RefitJob,
)
from inspections.models import InspectBy

from .history import ALL_GOOD, AS_OF, History, age

pytestmark = pytest.mark.django_db
STAYS = ("forestay", "backstay", "inner_forestay", "running_backstay")
TABLES = (PartOutlook, BoatOutlook, InspectBy, RefitJob, BudgetFigure)


def watched(history: History, boats: int, seed: int = 3, eta: float = 11.0) -> None:
    """Boats whose wires are looked at every spring for 14 years and renewed when condemned.

    Wires last Weibull(3, eta) years and go at the lower end, the wire or the upper end six, one and
    a half and two and a half times in ten, as common practice has it. Drawn from a fixed seed.
    """
    rng = np.random.default_rng(seed)
    for n in range(boats):
        boat = history.boat(f"Boat {n}", complete_since="2012-01-01", joined=dt.date(2012, 1, 1))
        for stay in STAYS:
            up_since, part = 2012, history.part(boat, "2012-01-01", stay=stay)
            gone = eta * rng.weibull(3)
            for year in range(2013, 2027):
                if year - up_since < gone:
                    continue
                part.removed_on, part.removal_reason = dt.date(year, 4, 1), "condemned"
                part.removal_spot = rng.choice(list(ALL_GOOD), p=(0.60, 0.15, 0.25))
                part.save()
                part, up_since = history.part(boat, f"{year}-04-01", stay=stay), year
                gone = eta * rng.weibull(3)
        looks_every_spring(history, boat)


def looks_every_spring(history: History, boat) -> None:
    parts = list(Installation.objects.filter(stay__boat=boat))
    for year in range(2013, 2027):
        day = dt.date(year, 4, 1)
        up = [p for p in parts if p.fitted_on < day and not (p.removed_on and p.removed_on < day)]
        gone = [ALL_GOOD | {p.removal_spot: "condemned"} for p in up]
        seen = [(p, g if p.removed_on == day else ALL_GOOD) for p, g in zip(up, gone, strict=True)]
        history.look(day, *seen, boat=boat)


def run(history: History, as_of: dt.date = AS_OF) -> refresh.RefreshResult:
    history.fleet.refresh_from_db()
    return refresh.run(history.fleet, as_of)


def rows(history: History, model) -> list[dict]:
    return list(model.objects.of(history.fleet).order_by("pk").values())


# -- an answer for every fleet


def no_history(history):
    boat = history.boat(build_year=2012)
    for stay in STAYS:
        history.part(boat, None, stay=stay, certainty="unknown")


def one_boat(history):
    wire = history.part(history.boat(complete_since="2005-01-01"), "2010-01-01")
    history.look("2026-05-01", (wire, ALL_GOOD))


def nothing_condemned(history):
    for n in range(4):
        boat = history.boat(f"Boat {n}", complete_since="2005-01-01")
        wires = [history.part(boat, "2012-01-01", stay=stay) for stay in STAYS]
        history.look("2026-05-01", *((wire, ALL_GOOD) for wire in wires))


def everything_condemned(history):
    for n in range(4):
        boat = history.boat(f"Boat {n}", complete_since="2005-01-01")
        wires = [history.part(boat, "2012-01-01", stay=stay) for stay in STAYS]
        history.look("2026-05-01", *((wire, {"lower": "condemned"}) for wire in wires))


@pytest.mark.parametrize("case", [no_history, one_boat, nothing_condemned, everything_condemned])
def test_every_fleet_gets_an_outlook_a_refit_list_and_a_budget(case):
    history = History()
    case(history)
    parts = Installation.objects.of(history.fleet).count()
    result = run(history)
    assert PartOutlook.objects.of(history.fleet).count() == parts == result.parts
    assert BoatOutlook.objects.of(history.fleet).count() == result.boats
    assert InspectBy.objects.of(history.fleet).count() == result.boats
    assert BudgetFigure.objects.of(history.fleet).filter(base=None, boat=None).count() == 10
    wires = result.runs["wire"]
    assert wires.in_force
    if case is everything_condemned:
        assert wires.state == "posterior"
        assert "16 of 16 spots of wires were condemned" in wires.sentence
    else:
        assert wires.state == "rule_of_thumb"
        assert "Rule of thumb" in wires.sentence or "Your boats so far" in wires.sentence


def test_an_empty_fleet_gets_a_budget_of_nothing():
    history = History()
    run(history)
    figures = BudgetFigure.objects.of(history.fleet)
    assert figures.count() == 10
    assert figures.aggregate(total=Sum("mean_minor"))["total"] == 0


def test_a_boat_that_left_is_not_forecast():
    history = History()
    history.part(history.boat(left=dt.date(2020, 1, 1)), "2010-01-01")
    assert run(history).parts == 0


def test_an_unknown_age_is_averaged_over_the_years_it_may_have_been_fitted():
    history = History()
    boat = history.boat(build_year=2012)
    history.part(boat, None, certainty="unknown")
    history.part(boat, "2012-01-01", stay="forestay")
    history.part(boat, "2026-10-31", stay="inner_forestay")
    run(history)
    outlook = PartOutlook.objects.of(history.fleet).order_by("installation")
    unknown, oldest, newest = outlook.values_list("chance_now", flat=True)
    assert newest < unknown < oldest
    assert outlook[0].age is None


# -- condemned parts


def test_condemned_wires_stand_apart_and_come_first():
    history = History()
    everything_condemned(history)
    run(history)
    outlooks = PartOutlook.objects.of(history.fleet)
    assert set(outlooks.values_list("condemned", "chance_now", "renew_by")) == {(True, 1.0, AS_OF)}
    jobs = RefitJob.objects.of(history.fleet).exclude(installation=None)
    assert set(jobs.values_list("code", "must", "chance")) == {("condemned", True, 1.0)}
    assert jobs.count() == 16
    assert set(BoatOutlook.objects.of(history.fleet).values_list("chance_now", flat=True)) == {0.0}


def test_a_condemnation_still_to_come_is_not_known_yet():
    history = History()
    everything_condemned(history)
    run(history, dt.date(2026, 4, 30))
    assert not PartOutlook.objects.of(history.fleet).filter(condemned=True).exists()


# -- conditioning


def test_the_chance_rests_on_the_last_sight_of_each_spot_not_on_standing_today():
    history = History()
    boat = history.boat(complete_since="2005-01-01")
    fresh = history.part(boat, "2010-01-01", stay="forestay")
    stale = history.part(boat, "2010-01-01", stay="backstay")
    half = history.part(boat, "2010-01-01", stay="inner_forestay")
    history.look("2018-05-01", (fresh, ALL_GOOD), (stale, ALL_GOOD), (half, ALL_GOOD))
    history.look("2026-10-30", (fresh, ALL_GOOD), (half, {"lower": "good"}))
    run(history)
    now = dict(PartOutlook.objects.of(history.fleet).values_list("installation", "chance_now"))
    assert now[fresh.pk] < 0.05
    assert 10 * now[fresh.pk] < now[half.pk] < now[stale.pk]
    seen = PartOutlook.objects.get(installation=half)
    assert seen.last_good == {"lower": "2026-10-30", "run": "2018-05-01", "upper": "2018-05-01"}
    assert seen.age == pytest.approx(age("2010-01-01", AS_OF))


def test_a_boat_is_the_product_of_its_parts():
    history = History()
    boat = history.boat(complete_since="2005-01-01")
    wires = [history.part(boat, "2012-01-01", stay=stay) for stay in STAYS]
    history.look("2024-05-01", *((wire, ALL_GOOD) for wire in wires))
    run(history)
    part = PartOutlook.objects.of(history.fleet).first().chance_now
    whole = BoatOutlook.objects.get(boat=boat)
    assert part < whole.chance_now <= 1 - (1 - part) ** 4 + 1e-9  # the draws are shared
    assert whole.after_level["mast_down"] == pytest.approx(0, abs=1e-9)
    assert whole.after_level["mast_down"] <= whole.after_level["deck"] < whole.chance_now
    assert 0 < whole.chance_failing < whole.chance_1y


# -- twice is once


def test_refreshing_twice_changes_nothing():
    history = History()
    watched(history, 3)
    assert run(history).rewritten
    before = {model: rows(history, model) for model in (*TABLES, ModelRun)}
    assert run(history).rewritten == 0
    assert {model: rows(history, model) for model in (*TABLES, ModelRun)} == before


def test_a_new_inspection_changes_the_outlook():
    history = History()
    one_boat(history)
    run(history)
    before = rows(history, PartOutlook)
    history.look("2026-10-20", (Installation.objects.of(history.fleet).get(), ALL_GOOD))
    assert run(history).rewritten
    assert rows(history, PartOutlook)[0]["chance_now"] < before[0]["chance_now"]


def test_another_fleets_forecast_is_left_alone():
    north, south = History("north"), History("south")
    for history in (north, south):
        one_boat(history)
        run(history)
    before = {model: rows(south, model) for model in (*TABLES, ModelRun)}
    history = north
    history.look("2026-10-20", (Installation.objects.of(north.fleet).get(), ALL_GOOD))
    run(north)
    assert {model: rows(south, model) for model in (*TABLES, ModelRun)} == before


# -- command and task


def test_the_command_says_each_step_with_counts_and_seconds():
    history = History(as_of=AS_OF)
    one_boat(history)
    out = io.StringIO()
    call_command("refresh", fleet="north", stdout=out)
    said = out.getvalue()
    assert "1 part on 1 boat" in said
    assert " s)" in said
    assert PartOutlook.objects.of(history.fleet).exists()


def test_the_command_names_the_fleets_there_are():
    History()
    with pytest.raises(CommandError, match="north"):
        call_command("refresh", fleet="nowhere")
