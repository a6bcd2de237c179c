"""Covariates: how hard a part was used, from fitting to its last sight."""

import datetime as dt

import numpy as np
import pytest

from fleet.models import CruisingGround
from forecasting import life_data

from .history import ALL_GOOD, AS_OF, WIRE, History

pytestmark = pytest.mark.django_db
YEAR_START = "2010-01-01"
THREE_YEARS_ON = "2013-01-01"


@pytest.fixture
def history() -> History:
    return History(corrosivity="C5")


@pytest.fixture
def boat(history):
    return history.boat(complete_since="2005-01-01", service="club", mast_down_off_season=True)


def covariates(history: History, as_of: dt.date = AS_OF) -> dict[str, float]:
    """Covariates of the lower end of the only wire."""
    rows = life_data.lives(history.fleet, WIRE, as_of).rows
    return rows[rows["spot"] == "lower"].iloc[0].to_dict()


def seen_after_three_years(history, boat, **fields):
    wire = history.part(boat, YEAR_START, **fields)
    history.look(THREE_YEARS_ON, (wire, ALL_GOOD))
    return wire


def test_a_boat_without_seasons_is_used_as_its_base_and_the_fleet_are(history, boat):
    seen_after_three_years(history, boat)
    found = covariates(history)
    assert found["severity"] == 1  # C5, one step above C4 (ISO 9223:2012)
    assert found["log2_miles"] == 0  # nobody logged any: the reference boat's 3,000
    assert (found["unstepped"], found["charter"]) == (1, 0)


def test_the_reference_wire_has_all_covariates_0():
    history = History(corrosivity="C4")
    boat = history.boat(complete_since="2005-01-01")
    seen_after_three_years(history, boat, construction="1x19", lower_terminal="swaged")
    names = ("severity", "log2_miles", "rod", "mechanical", "unstepped", "charter")
    assert [covariates(history)[name] for name in names] == [0] * 6


def test_rod_and_a_mechanical_lower_terminal_are_marked(history, boat):
    seen_after_three_years(history, boat, construction="rod", lower_terminal="mechanical")
    assert (covariates(history)["rod"], covariates(history)["mechanical"]) == (1, 1)


def test_grounds_are_averaged_over_the_days_up_to_the_last_sight(history, boat):
    lake = CruisingGround.objects.create(fleet=history.fleet, name="Lake", corrosivity="C2")
    tropics = CruisingGround.objects.create(fleet=history.fleet, name="Reef", corrosivity="CX")
    for year, ground in ((2010, lake), (2011, tropics), (2012, history.ground), (2013, lake)):
        history.season(boat, year, ground=ground)
    seen_after_three_years(history, boat)
    days = np.array([365, 365, 366])  # 2012 was a leap year; 2013 comes after the last sight
    assert covariates(history)["severity"] == pytest.approx(days @ [-2, 2, 1] / days.sum())


def test_before_the_first_season_on_record_the_base_counts(history, boat):
    lake = CruisingGround.objects.create(fleet=history.fleet, name="Lake", corrosivity="C2")
    history.season(boat, 2012, ground=lake, mast_down=False, service="charter")
    seen_after_three_years(history, boat)
    found = covariates(history)
    days = np.array([365, 365, 366])
    assert found["severity"] == pytest.approx(days @ [1, 1, -2] / days.sum())
    assert found["unstepped"] == pytest.approx(730 / 1096)
    assert found["charter"] == pytest.approx(366 / 1096)


def test_after_the_last_season_on_record_it_goes_on_as_in_that_one(history, boat):
    history.season(boat, 2010, miles=6000, service="charter")
    seen_after_three_years(history, boat)
    assert covariates(history)["log2_miles"] == pytest.approx(1)
    assert covariates(history)["charter"] == 1


def test_few_miles_count_as_200_and_unknown_ones_as_the_fleets_median(history, boat):
    sister = history.boat("Birch")
    for year, miles in ((2010, 1500), (2011, 6000), (2012, 12000)):
        history.season(sister, year, miles=miles)
    history.season(boat, 2010, miles=20)
    history.season(boat, 2011, miles=3000)
    history.season(boat, 2012, miles=None)
    seen_after_three_years(history, boat)
    logs = np.log2(np.array([200, 3000, 3000]) / 3000)  # median of 20, 1500, 3000, 6000, 12000
    days = np.array([365, 365, 366])
    assert covariates(history)["log2_miles"] == pytest.approx(days @ logs / days.sum())
    warned = life_data.lives(history.fleet, WIRE, AS_OF).warnings
    assert any("without logged miles" in sentence for sentence in warned)


def test_a_spot_found_dead_at_its_first_sight_has_its_use_up_to_that_day(history, boat):
    history.season(boat, 2010, miles=3000)
    history.season(boat, 2011, miles=12000)
    wire = history.part(boat, YEAR_START)
    history.look("2012-01-01", (wire, {"lower": "condemned"}))
    assert covariates(history)["log2_miles"] == pytest.approx(1)


def test_a_season_after_the_day_asked_for_is_not_known(history, boat):
    wire = history.part(boat, YEAR_START)
    history.look("2011-01-01", (wire, ALL_GOOD))
    history.season(boat, 2010, miles=None)
    history.season(boat, 2013, miles=12000)  # would move the fleet's median
    assert covariates(history, dt.date(2012, 6, 1))["log2_miles"] == 0
    assert covariates(history, dt.date(2013, 6, 1))["log2_miles"] == pytest.approx(2)
