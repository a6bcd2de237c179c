"""Every look a trial: what counts as one, from when to when, and with what was known then."""

import datetime as dt

import pytest

from forecasting import life_data
from forecasting.life_data.trials import between

from .history import ALL_GOOD, History, age

pytestmark = pytest.mark.django_db
TODAY = dt.date(2026, 11, 1)
LOWER_GOOD = {"lower": "good"}
LOWER_GONE = {"lower": "condemned"}


@pytest.fixture
def history() -> History:
    return History()


def looks(history: History, kind: str = "wire"):
    return life_data.looks(life_data.read(history.fleet, TODAY), kind)


def test_a_look_runs_from_the_sight_before_it_spot_by_spot(history):
    wire = history.part(history.boat(complete_since="2005-01-01"), "2010-01-01")
    history.look("2012-01-01", (wire, ALL_GOOD))
    history.look("2013-01-01", (wire, LOWER_GOOD), level="deck")
    history.look("2014-01-01", (wire, ALL_GOOD))
    rows = looks(history)
    lower, upper = rows[rows["spot"] == "lower"], rows[rows["spot"] == "upper"]
    at = [age("2010-01-01", day) for day in ("2012-01-01", "2013-01-01", "2014-01-01")]
    assert lower["start"].tolist() == pytest.approx([0, *at[:2]])
    assert lower["end"].tolist() == pytest.approx(at)
    assert upper["start"].tolist() == pytest.approx([0, at[0]])
    assert upper["end"].tolist() == pytest.approx([at[0], at[2]])
    assert not rows["outcome"].any()


def test_a_spot_that_was_not_seen_is_no_trial(history):
    wire = history.part(history.boat(complete_since="2005-01-01"), "2010-01-01")
    history.look("2012-01-01", (wire, {}))
    assert looks(history).empty


def test_the_look_that_condemns_is_a_trial_of_what_it_saw_and_the_last(history):
    wire = history.part(history.boat(complete_since="2005-01-01"), "2010-01-01")
    history.look("2012-01-01", (wire, ALL_GOOD))
    history.look("2014-01-01", (wire, LOWER_GONE))
    history.look("2015-01-01", (wire, ALL_GOOD))
    rows = looks(history)
    last = rows[rows["day"] > "2013-01-01"]
    assert last[["spot", "outcome"]].to_numpy().tolist() == [["lower", 1.0]]


def test_a_part_older_than_the_record_is_tried_from_the_day_that_begins(history):
    wire = history.part(history.boat(complete_since="2015-01-01"), "2005-01-01")
    history.look("2016-01-01", (wire, LOWER_GOOD))
    assert looks(history)["start"].tolist() == pytest.approx([age("2005-01-01", "2015-01-01")])


@pytest.mark.parametrize("certainty", ["estimated", "unknown"])
def test_a_part_of_unknown_age_is_no_trial(history, certainty):
    boat = history.boat(complete_since="2005-01-01")
    fitted = None if certainty == "unknown" else "2010-01-01"
    wire = history.part(boat, fitted, certainty=certainty)
    history.look("2014-01-01", (wire, ALL_GOOD))
    assert looks(history).empty


def test_a_renewal_by_age_is_no_death_and_a_breakage_before_the_last_look_is_one(history):
    boat = history.boat(complete_since="2005-01-01")
    history.part(boat, "2010-01-01", "2016-01-01", "age_rule", stay="forestay")
    broke = history.part(boat, "2010-01-01", "2016-01-01", "failed_in_service", place="upper")
    later = history.part(boat, "2016-01-01", stay="intermediate")
    history.look("2017-01-01", (later, ALL_GOOD))
    rows = looks(history)
    assert rows[rows["outcome"] > 0][["part", "spot"]].to_numpy().tolist() == [[broke.pk, "upper"]]


def test_a_death_whose_place_nobody_noted_is_one_death_over_three_trials(history):
    boat = history.boat(complete_since="2005-01-01")
    history.part(boat, "2010-01-01", "2016-01-01", "looked_poor")
    rows = looks(history)
    assert sorted(rows["spot"]) == ["lower", "run", "upper"]
    assert rows["outcome"].sum() == pytest.approx(1)


def test_the_rows_of_a_fit_and_the_trials_tell_of_the_same_deaths(history):
    for k in range(6):
        wire = history.part(history.boat(f"Boat {k}", complete_since="2005-01-01"), "2010-01-01")
        history.look("2012-01-01", (wire, ALL_GOOD))
        history.look("2014-01-01", (wire, LOWER_GONE if k < 2 else ALL_GOOD))
    table = life_data.lives(history.fleet, "wire", TODAY)
    assert looks(history)["outcome"].sum() == table.lives.deaths == 2


def test_only_looks_after_the_day_and_up_to_the_other_are_asked_for(history):
    wire = history.part(history.boat(complete_since="2005-01-01"), "2010-01-01")
    for day in ("2015-12-31", "2016-01-01", "2016-12-31", "2017-01-01"):
        history.look(day, (wire, LOWER_GOOD), level="deck")
    rows = between(looks(history), dt.date(2015, 12, 31), dt.date(2016, 12, 31))
    assert [day.isoformat()[:10] for day in rows["day"]] == ["2016-01-01", "2016-12-31"]


def test_a_forecast_knows_the_use_up_to_its_day_and_no_more(history):
    """The boat goes into charter two years after the forecast: no trial may know it."""
    boat = history.boat(complete_since="2005-01-01")
    wire = history.part(boat, "2010-01-01")
    new = history.part(boat, "2015-06-01", stay="forestay")
    history.season(boat, 2014, service="private", miles=3000)
    history.season(boat, 2016, service="charter", miles=12000, mast_down=True)
    history.look("2017-01-01", (wire, LOWER_GOOD), (new, LOWER_GOOD))
    then = life_data.read(history.fleet, dt.date(2014, 12, 31))
    rows = looks(history)
    trials = life_data.foretold(rows, then, "wire")
    assert trials.names == ("run", "upper", *life_data.table.COLUMNS)
    assert not trials.columns(("log2_miles", "unstepped", "charter")).any()
    now = life_data.foretold(rows, life_data.read(history.fleet, TODAY), "wire")
    assert (now.columns(("charter",)) > 0).all()
