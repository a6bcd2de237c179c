"""Each row of the method's table of lives, on a record small enough to reckon by hand."""

import datetime as dt

import numpy as np
import pytest

from forecasting import life_data

from .history import ALL_GOOD, AS_OF, WIRE, History, age

pytestmark = pytest.mark.django_db


@pytest.fixture
def history() -> History:
    return History()


@pytest.fixture
def boat(history):
    return history.boat(complete_since="2005-01-01")


def rows(history: History, as_of: dt.date = AS_OF, kind: str = WIRE) -> dict[str, tuple]:
    """Spot -> (entry, good, condemned, weight) of the only row each spot has."""
    table = life_data.lives(history.fleet, kind, as_of).rows
    assert table["spot"].is_unique
    return {r.spot: (r.entry, r.good, r.condemned, r.weight) for r in table.itertuples()}


def left_out(history: History, as_of: dt.date = AS_OF) -> dict[str, float]:
    return life_data.lives(history.fleet, WIRE, as_of).left_out


def alive(good: float, entry: float = 0.0, weight: float = 1.0) -> tuple:
    return pytest.approx((entry, good, np.inf, weight))


def died(good: float, condemned: float, entry: float = 0.0, weight: float = 1.0) -> tuple:
    return pytest.approx((entry, good, condemned, weight))


# -- what inspections say


def test_a_wire_seen_good_is_alive_at_each_spots_own_last_sight(history, boat):
    wire = history.part(boat, "2010-01-01")
    history.look("2012-05-01", (wire, ALL_GOOD))
    history.look("2014-05-01", (wire, {"lower": "good"}), level="deck")
    aloft, deck = age("2010-01-01", "2012-05-01"), age("2010-01-01", "2014-05-01")
    assert rows(history) == {"lower": alive(deck), "run": alive(aloft), "upper": alive(aloft)}


def test_standing_unseen_until_today_says_nothing(history, boat):
    wire = history.part(boat, "2010-01-01")
    history.look("2011-01-01", (wire, ALL_GOOD))
    assert rows(history)["run"] == alive(365 / 365.25)


def test_the_condemned_spot_died_between_its_last_sight_and_that_look(history, boat):
    wire = history.part(boat, "2010-01-01")
    history.look("2012-05-01", (wire, ALL_GOOD))
    history.look("2014-05-01", (wire, {"lower": "condemned"}), level="deck")
    aloft, deck = age("2010-01-01", "2012-05-01"), age("2010-01-01", "2014-05-01")
    assert rows(history) == {
        "lower": died(aloft, deck),
        "run": alive(aloft),
        "upper": alive(aloft),
    }


def test_other_spots_keep_the_sight_of_the_look_that_condemned_the_part(history, boat):
    wire = history.part(boat, "2010-01-01")
    history.look("2012-05-01", (wire, ALL_GOOD))
    history.look("2014-05-01", (wire, ALL_GOOD | {"upper": "condemned"}))
    first, last = age("2010-01-01", "2012-05-01"), age("2010-01-01", "2014-05-01")
    assert rows(history) == {"lower": alive(last), "run": alive(last), "upper": died(first, last)}


def test_two_spots_condemned_at_one_look_both_died(history, boat):
    wire = history.part(boat, "2010-01-01")
    history.look("2014-05-01", (wire, {"lower": "condemned", "run": "good", "upper": "condemned"}))
    found = age("2010-01-01", "2014-05-01")
    assert rows(history) == {
        "lower": died(0, found),
        "run": alive(found),
        "upper": died(0, found),
    }


def test_what_is_seen_of_a_condemned_wire_later_moves_nothing(history, boat):
    wire = history.part(boat, "2010-01-01")
    history.look("2012-05-01", (wire, ALL_GOOD))
    history.look("2013-05-01", (wire, {"lower": "condemned"}))
    history.look("2013-09-01", (wire, {"run": "good", "upper": "condemned"}))
    first, found = age("2010-01-01", "2012-05-01"), age("2010-01-01", "2013-05-01")
    assert rows(history) == {
        "lower": died(first, found),
        "run": alive(first),
        "upper": alive(first),
    }


@pytest.mark.parametrize("state", ["unresolved", "not_seen"])
def test_a_suspect_or_hidden_spot_moves_no_bound(history, boat, state):
    wire = history.part(boat, "2010-01-01")
    history.look("2012-05-01", (wire, ALL_GOOD))
    history.look("2013-05-01", (wire, dict.fromkeys(ALL_GOOD, state)))
    first = age("2010-01-01", "2012-05-01")
    assert rows(history) == dict.fromkeys(ALL_GOOD, alive(first))


@pytest.mark.parametrize(("said", "condemned"), [("good", np.inf), ("condemned", 4.0)])
def test_a_referred_spot_enters_as_what_the_rigger_said_when_he_said_it(
    history, boat, said, condemned
):
    wire = history.part(boat, "2010-01-01")
    history.look("2012-01-01", (wire, ALL_GOOD))
    history.look("2013-05-01", (wire, {"lower": "unresolved"}), level="deck")
    history.look("2014-01-01", (wire, {"lower": said}), level="deck")
    _, good, dead, _ = rows(history)["lower"]
    first, last = age("2010-01-01", "2012-01-01"), age("2010-01-01", "2014-01-01")
    assert good == pytest.approx(last if said == "good" else first)
    assert dead == pytest.approx(condemned if said == "good" else last)


def test_two_looks_on_one_day_leave_an_interval_of_some_length(history, boat):
    wire = history.part(boat, "2010-01-01")
    history.look("2012-05-01", (wire, ALL_GOOD))
    history.look("2014-05-01", (wire, {"lower": "good"}), level="deck")
    history.look("2014-05-01", (wire, {"lower": "condemned", "run": "good"}), level="aloft")
    first, last = age("2010-01-01", "2012-05-01"), age("2010-01-01", "2014-05-01")
    assert rows(history) == {"lower": died(first, last), "run": alive(last), "upper": alive(first)}


def test_a_turnbuckle_has_one_spot(history, boat):
    screw = history.part(boat, "2010-01-01", kind="turnbuckle")
    history.look("2012-05-01", (screw, {"whole": "good"}), level="deck")
    history.look("2013-05-01", (screw, {"whole": "condemned"}), level="deck")
    first, found = age("2010-01-01", "2012-05-01"), age("2010-01-01", "2013-05-01")
    assert rows(history, kind="turnbuckle") == {"whole": died(first, found)}
    assert life_data.lives(history.fleet, "turnbuckle", AS_OF).lives.names[0] == "severity"


# -- what removals say


@pytest.mark.parametrize(
    "reason", ["age_rule", "with_set", "damage", "boat_left", "unknown", "re_terminated"]
)
def test_a_renewal_for_another_reason_is_no_death(history, boat, reason):
    wire = history.part(boat, "2010-01-01", "2020-01-01", reason, place="lower")
    history.look("2018-05-01", (wire, ALL_GOOD))
    last = age("2010-01-01", "2018-05-01")
    assert rows(history) == dict.fromkeys(ALL_GOOD, alive(last))
    assert life_data.lives(history.fleet, WIRE, AS_OF).lives.deaths == 0


def test_the_spot_that_let_go_died_between_its_last_sight_and_that_day(history, boat):
    wire = history.part(boat, "2010-01-01", "2019-07-10", "failed_in_service", place="upper")
    history.look("2018-05-01", (wire, ALL_GOOD))
    history.look("2019-06-01", (wire, {"lower": "good"}), level="deck")
    history.look("2019-07-20", level="aloft", boat=boat)
    seen, deck = age("2010-01-01", "2018-05-01"), age("2010-01-01", "2019-06-01")
    broke = age("2010-01-01", "2019-07-10")
    assert rows(history) == {"lower": alive(deck), "run": alive(seen), "upper": died(seen, broke)}


def test_a_breakage_after_the_boats_last_look_is_counted_but_no_death(history, boat):
    wire = history.part(boat, "2010-01-01", "2019-07-10", "failed_in_service", place="lower")
    history.look("2018-05-01", (wire, ALL_GOOD))
    table = life_data.lives(history.fleet, WIRE, AS_OF)
    assert rows(history) == dict.fromkeys(ALL_GOOD, alive(age("2010-01-01", "2018-05-01")))
    assert table.broke_late == 1
    assert table.lives.deaths == 0


@pytest.mark.parametrize("reason", ["looked_poor", "condemned"])
def test_a_wire_taken_off_because_it_looked_poor_died_that_day(history, boat, reason):
    wire = history.part(boat, "2010-01-01", "2019-07-10", reason, place="lower")
    history.look("2018-05-01", (wire, ALL_GOOD))
    seen, off = age("2010-01-01", "2018-05-01"), age("2010-01-01", "2019-07-10")
    assert rows(history) == {"lower": died(seen, off), "run": alive(seen), "upper": alive(seen)}


def test_a_death_at_a_place_nobody_noted_is_shared_among_the_spots(history, boat):
    """Hazard shares .60, .15, .25 (common practice, no source); all last seen the same day."""
    wire = history.part(boat, "2010-01-01", "2019-07-10", "looked_poor")
    history.look("2018-05-01", (wire, ALL_GOOD))
    table = life_data.lives(history.fleet, WIRE, AS_OF)
    dead = table.rows[np.isfinite(table.rows["condemned"])].set_index("spot")["weight"]
    living = table.rows[np.isinf(table.rows["condemned"])].set_index("spot")["weight"]
    assert dead.to_dict() == pytest.approx({"lower": 0.60, "run": 0.15, "upper": 0.25})
    assert living.to_dict() == pytest.approx({"lower": 0.40, "run": 0.85, "upper": 0.75})
    assert table.lives.deaths == pytest.approx(1)


def test_a_spot_unseen_for_longer_takes_more_of_a_death_nobody_placed(history, boat):
    """Share x growth of t^3 since its last sight: .6 (1 - .9^3), .15 (1 - .5^3), .25 (1 - .5^3)."""
    wire = history.part(boat, "2010-01-01", "2020-01-01", "looked_poor")
    whole = (dt.date(2020, 1, 1) - dt.date(2010, 1, 1)).days
    at = [dt.date(2010, 1, 1) + dt.timedelta(days=whole * tenths // 10) for tenths in (5, 9)]
    history.look(at[0], (wire, ALL_GOOD))
    history.look(at[1], (wire, {"lower": "good"}), level="deck")
    table = life_data.lives(history.fleet, WIRE, AS_OF).rows
    dead = table[np.isfinite(table["condemned"])].set_index("spot")["weight"]
    parts = np.array([0.6 * (1 - 0.9**3), 0.15 * (1 - 0.5**3), 0.25 * (1 - 0.5**3)])
    expected = dict(zip(("lower", "run", "upper"), parts / parts.sum(), strict=True))
    assert dead.to_dict() == pytest.approx(expected, rel=2e-3)


def test_what_follows_a_retermination_stays_out_until_a_new_wire(history, boat):
    old = history.part(boat, "2010-01-01", "2015-01-01", "re_terminated")
    cut = history.part(boat, "2010-01-01", "2020-01-01", "condemned", place="lower")
    new = history.part(boat, "2020-01-01")
    history.look("2014-01-01", (old, ALL_GOOD))
    history.look("2019-01-01", (cut, ALL_GOOD))
    history.look("2021-01-01", (new, ALL_GOOD))
    table = life_data.lives(history.fleet, WIRE, AS_OF)
    assert set(table.rows["part"]) == {old.pk, new.pk}
    assert table.left_out == {"after_retermination": 3.0}


# -- when the record begins


def test_a_part_older_than_the_record_enters_at_its_age_when_that_begins(history):
    boat = history.boat(complete_since="2015-03-01")
    wire = history.part(boat, "2010-01-01")
    history.look("2018-05-01", (wire, ALL_GOOD))
    entry, seen = age("2010-01-01", "2015-03-01"), age("2010-01-01", "2018-05-01")
    assert rows(history) == dict.fromkeys(ALL_GOOD, alive(seen, entry))


def test_the_record_begins_at_the_first_inspection_unless_told_otherwise(history):
    boat = history.boat()
    wire = history.part(boat, "2010-01-01")
    history.look("2013-05-01", (wire, {"lower": "good"}), level="deck")
    history.look("2018-05-01", (wire, {"lower": "condemned"}), level="deck")
    first, found = age("2010-01-01", "2013-05-01"), age("2010-01-01", "2018-05-01")
    assert rows(history) == {"lower": died(first, found, entry=first)}
    assert left_out(history) == {"never_seen_since_entry": 2.0}


def test_a_part_fitted_within_the_record_enters_at_age_0(history):
    boat = history.boat(complete_since="2008-01-01")
    wire = history.part(boat, "2010-01-01")
    history.look("2018-05-01", (wire, ALL_GOOD))
    assert {row[0] for row in rows(history).values()} == {0.0}


def test_what_ended_before_the_record_begins_is_left_out(history):
    boat = history.boat(complete_since="2015-03-01")
    gone = history.part(boat, "2001-01-01", "2012-01-01", "condemned", place="lower")
    history.look("2011-05-01", (gone, ALL_GOOD))
    first_day = history.part(boat, "2012-01-01", stay="forestay")
    history.look("2015-03-01", (first_day, {"lower": "condemned"}))
    assert left_out(history) == {"ended_before_record": 6.0}


def test_a_boat_nobody_ever_looked_at_is_left_out(history):
    history.part(history.boat(), "2010-01-01")
    assert left_out(history) == {"boat_never_inspected": 3.0}


def test_a_spot_never_seen_since_entry_is_left_out_and_counted(history, boat):
    wire = history.part(boat, "2010-01-01")
    history.look("2014-05-01", (wire, {"lower": "good"}), level="deck")
    assert set(rows(history)) == {"lower"}
    assert left_out(history) == {"never_seen_since_entry": 2.0}


# -- how well the fitting date is known


def test_a_part_known_to_the_year_is_used_from_the_middle_of_it_and_flagged(history, boat):
    wire = history.part(boat, "2010-01-01", certainty="year")
    history.look("2014-05-01", (wire, ALL_GOOD))
    assert rows(history)["run"] == alive(age("2010-07-01", "2014-05-01"))
    warned = life_data.lives(history.fleet, WIRE, AS_OF).warnings
    assert any("dated to the year" in sentence for sentence in warned)


@pytest.mark.parametrize(
    ("certainty", "fitted"),
    [("estimated", "2010-01-01"), ("unknown", None), ("unknown", "2010-01-01")],
)
def test_a_part_whose_date_is_not_known_is_left_out_of_the_fit(history, boat, certainty, fitted):
    wire = history.part(boat, fitted, "2019-01-01", "looked_poor", certainty=certainty)
    history.look("2014-05-01", (wire, ALL_GOOD))
    assert left_out(history) == pytest.approx({f"fitted_{certainty}": 3.0})


def test_renewals_long_before_the_age_rule_are_flagged(boat, history):
    history.fleet.age_rule_years = 12
    wire = history.part(boat, "2010-01-01", "2016-01-01", "age_rule")
    history.look("2015-05-01", (wire, ALL_GOOD))
    warned = life_data.lives(history.fleet, WIRE, AS_OF).warnings
    assert any("looked poor" in sentence for sentence in warned)


# -- nothing later than the day asked for


def test_nothing_dated_after_the_day_gets_in(history, boat):
    wire = history.part(boat, "2010-01-01", "2019-07-10", "failed_in_service", place="lower")
    history.look("2014-05-01", (wire, ALL_GOOD))
    as_of = dt.date(2016, 1, 1)
    before = life_data.lives(history.fleet, WIRE, as_of).fingerprint
    history.look("2018-05-01", (wire, {"lower": "condemned"}))
    history.look("2020-05-01", boat=boat)
    history.part(boat, "2019-07-11")
    history.season(boat, 2017, miles=9000)
    assert life_data.lives(history.fleet, WIRE, as_of).fingerprint == before
    assert rows(history, as_of)["lower"] == alive(age("2010-01-01", "2014-05-01"))


def test_a_look_on_the_day_itself_counts(history, boat):
    wire = history.part(boat, "2010-01-01")
    history.look("2016-01-01", (wire, {"lower": "condemned"}))
    assert np.isfinite(rows(history, dt.date(2016, 1, 1))["lower"][2])


def test_a_wire_reterminated_later_was_still_the_old_one(history, boat):
    old = history.part(boat, "2010-01-01", "2018-01-01", "re_terminated")
    cut = history.part(boat, "2010-01-01")
    history.look("2014-01-01", (old, ALL_GOOD))
    history.look("2019-01-01", (cut, ALL_GOOD))
    table = life_data.lives(history.fleet, WIRE, dt.date(2016, 1, 1))
    assert set(table.rows["part"]) == {old.pk}
    assert table.left_out == {}


def test_another_fleets_boats_are_not_read(history, boat):
    other = History("south")
    wire = other.part(other.boat("Birch", complete_since="2005-01-01"))
    other.look("2014-01-01", (wire, ALL_GOOD))
    assert len(life_data.lives(history.fleet, WIRE, AS_OF).lives) == 0


def test_the_rows_say_where_they_come_from(history, boat):
    wire = history.part(boat, "2010-01-01")
    history.look("2014-05-01", (wire, ALL_GOOD))
    table = life_data.lives(history.fleet, WIRE, AS_OF)
    assert list(table.rows["spot"]) == ["lower", "run", "upper"]
    assert set(table.rows["part"]) == {wire.pk}
    assert set(table.rows["boat"]) == {boat.pk}
    assert table.lives.names[:2] == ("run", "upper")
    assert table.lives.X[:, :2].tolist() == [[0, 0], [1, 0], [0, 1]]
